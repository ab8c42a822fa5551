"""A fact names the very cell that states it, in a vehicle sheet and in a flat export."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import pytest

from riskcheck import assessment
from riskcheck.fleet import Fleet

AS_OF = dt.date(2026, 10, 1)
SHEET = """Unit,Make,Model,Year,Odometer,Road salt,Tows
T1,Tovask,Carrier,2015,120000,Yes,N
T2,Tovask,Carrier,2016,90000,?,Y
"""
FLAT = """Unit,Make,Model,Year,Date,Odometer,Description,Road salt
T1,Tovask,Carrier,2015,2024-03-01,100000,oil change,N
T1,Tovask,Carrier,2015,2025-03-01,110000,oil change,Yes
T1,Tovask,Carrier,2015,2026-03-01,120000,oil change,
"""


def fleet_of(text: str, folder: Path) -> Fleet:
    file = folder / "fleet.csv"
    file.write_text(text, encoding="utf-8")
    return assessment.read(file, assessment.load_rules([]), AS_OF)


def cell(fleet: Fleet, fact: str, place: int) -> tuple[object, object, object]:
    row = fleet.written[fact].iloc[place]
    return row["words"], row["letters"], row["row"]


def test_the_words_stay_as_written_beside_what_was_read(tmp_path: Path) -> None:
    fleet = fleet_of(SHEET, tmp_path)
    assert fleet.vehicles["road_salt"].iloc[0] == "yes"
    assert cell(fleet, "road_salt", 0) == ("Yes", "F", 2)
    assert cell(fleet, "tows_often", 1) == ("Y", "G", 3)


def test_a_cell_that_says_nothing_is_not_quoted(tmp_path: Path) -> None:
    fleet = fleet_of(SHEET, tmp_path)
    assert fleet.written["road_salt"].iloc[1].isna().all()


def test_in_a_flat_export_the_row_is_that_of_the_last_filled_cell(tmp_path: Path) -> None:
    fleet = fleet_of(FLAT, tmp_path)
    assert fleet.vehicles["road_salt"].tolist() == ["yes"]
    assert cell(fleet, "road_salt", 0) == ("Yes", "H", 3)


@pytest.mark.parametrize("text", [SHEET, FLAT])
def test_the_export_of_vehicles_is_not_widened(text: str, tmp_path: Path) -> None:
    assert not [name for name in fleet_of(text, tmp_path).vehicles if "written" in str(name)]
