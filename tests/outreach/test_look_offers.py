"""What a visit on the lift is said to cost: one figure, and nothing for our own work.

Prices are those of the shipped rules; the shared one is what risk.looks gives, by hand here.
"""

from __future__ import annotations

import math

import pandas as pd
import pytest

from riskcheck.reports.outreach_cells import look_line, look_price
from riskcheck.reports.outreach_rows import is_free, names_for_owners
from riskcheck.rulebook import load, shipped_dir

HAZARDS = load(shipped_dir()).hazards
HOSE, BREATHER, OURS = (
    "brake-hose-ageing", "crankcase-breather-restricted", "replacement-heater-no-ground",
)  # fmt: skip


def visit(*rows: tuple[str, float, bool]) -> pd.DataFrame:
    """Offered looks of one vehicle as (hazard, shared price or NaN, free)."""
    frame = pd.DataFrame(rows, columns=["hazard_id", "look_cost", "free"])
    return frame.assign(
        vehicle_id="1149", vehicle_short="2011 Brackmoor Trail, plate Z1", hours=0.5
    )


def price_of(hazard_id: str) -> float:
    look = HAZARDS[hazard_id].look
    assert look is not None
    return look.cost.value


def test_looks_put_together_have_the_shared_price_whatever_stands_first() -> None:
    shared = [(HOSE, 77.0, False), (BREATHER, 77.0, False)]
    assert look_price(visit(*shared), HAZARDS) == 77.0
    first = (OURS, math.nan, True)
    assert look_price(visit(first, *shared), HAZARDS) == 77.0
    alone = (OURS, math.nan, False)
    assert look_price(visit(alone, *shared), HAZARDS) == pytest.approx(77.0 + price_of(OURS))


def test_our_own_work_is_re_checked_without_a_price() -> None:
    line = look_line(visit((OURS, math.nan, True)), HAZARDS)
    assert "no charge" in line
    assert "$" not in line
    assert line.startswith("Look at 2011 Brackmoor Trail, plate Z1, about")
    half = look_price(visit((HOSE, 77.0, False), (BREATHER, 77.0, True)), HAZARDS)
    assert half == pytest.approx(77.0 * price_of(HOSE) / (price_of(HOSE) + price_of(BREATHER)))
    assert is_free({"need": "ours", "status": "exposed", "evidence": "none"})
    assert is_free({"status": "unproven", "evidence": "none"})
    assert not is_free({"need": "look", "status": "exposed", "evidence": "none"})


def test_an_owner_hears_of_his_vehicle_by_what_he_knows() -> None:
    vehicles = pd.DataFrame(
        {"vehicle_id": ["1149", "7", "8"], "model_year": [2011, None, None],
         "make": ["Brackmoor", None, ""], "model": ["Trail", None, ""],
         "plate": ["Z1", "Q9", None]}
    )  # fmt: skip
    assert names_for_owners(vehicles) == {
        "1149": "2011 Brackmoor Trail, plate Z1", "7": "plate Q9", "8": "vehicle 8",
    }  # fmt: skip
