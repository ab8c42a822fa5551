"""A vehicle is found by any of its names; an ambiguous name lists the candidates."""

import pandas as pd
import pytest

from riskcheck.errors import UsageError
from riskcheck.explain.find import find_vehicle

VEHICLES = pd.DataFrame(
    {
        "vehicle_id": ["BUS-07", "VAN-3", "T1", "T2"],
        "unit": ["7", "3", "14", "14"],
        "plate": ["QX 1207", "", "", ""],
        "vin": ["1ZZAA1AA0AA000005", "1ZZAA1AA1AA000014", "", ""],
    }
)


@pytest.mark.parametrize(
    "name", ["BUS-07", "bus 07", "7", "qx1207", "1ZZAA1AA0AA000005", "aa000005"]
)
def test_any_name_finds_the_vehicle(name: str) -> None:
    assert find_vehicle(VEHICLES, name) == "BUS-07"


def test_an_ambiguous_name_lists_the_candidates() -> None:
    with pytest.raises(UsageError, match="T1, T2"):
        find_vehicle(VEHICLES, "14")


@pytest.mark.parametrize("name", ["BUS-70", "", "  "])
def test_an_unknown_name_says_so(name: str) -> None:
    with pytest.raises(UsageError, match="No vehicle answers"):
        find_vehicle(VEHICLES, name)
