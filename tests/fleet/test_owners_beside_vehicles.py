"""Telephone and opt-out on the vehicle sheet itself reach the customer they belong to."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

from riskcheck.assessment import load_rules, read

SHEET = """Unit,Make,Model,Year,Odometer,Owner Name,Ph.,Do Not Call
T1,Tovask,Carrier,2015,120000,Wren Alder,406-555-0101,
T2,Tovask,Carrier,2016,90000,Wren Alder,,x
T3,Tovask,Carrier,2016,80000,Ilse Birch,406-555-0102,
"""


def test_an_opt_out_beside_any_of_the_vehicles_counts(tmp_path: Path) -> None:
    (tmp_path / "fleet.csv").write_text(SHEET, encoding="utf-8")
    fleet = read(tmp_path / "fleet.csv", load_rules([]), dt.date(2026, 10, 1))
    found = fleet.customers.set_index("customer_id")
    assert found["phone"].to_dict() == {
        "Wren Alder": "+14065550101",
        "Ilse Birch": "+14065550102",
    }
    assert found.loc["Wren Alder", "opt_out"] not in ("", "no")
    assert found.loc["Ilse Birch", "opt_out"] in ("", "no")
