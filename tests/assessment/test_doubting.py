"""A doubtful odometer is shown where it decides a place in the list, and only there."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import pytest

from riskcheck import doubting
from riskcheck.assessment import assess
from riskcheck.cli import run as command

AS_OF = dt.date(2026, 10, 1)
VEHICLES = """Unit,Make,Model,Year,Duty,timing drive,interference
T1,Sturven,Shuttle,2020,van,dry_belt,yes
T2,Sturven,Shuttle,2015,bus,chain,no
"""
LINES = """Unit,Date,Odometer,Work
T1,2021-03-01,18000,oil change
T1,2023-09-01,59000,oil change
T1,2026-03-01,100000,oil change
T1,2026-09-20,{last},oil change
T2,2016-03-01,20000,oil change
T2,2020-03-01,60000,oil change
T2,2026-09-20,125000,oil change
"""


def shop(folder: Path, last: int) -> Path:
    folder.mkdir(exist_ok=True)
    (folder / "vehicles.csv").write_text(VEHICLES)
    (folder / "service.csv").write_text(LINES.format(last=last))
    return folder


@pytest.fixture(scope="module")
def tenfold(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """1,740,000 cannot follow 100,000 within half a year; 174,000 could: a digit too many."""
    return shop(tmp_path_factory.mktemp("tenfold"), 1_740_000)


def test_the_belt_moves_up_if_the_reading_means_what_would_fit(tenfold: Path) -> None:
    moved = doubting.moved_by_doubt(assess(tenfold, as_of=AS_OF))
    row = moved.iloc[0]
    assert row["hazard_id"] == "timing-belt-overdue"
    assert set(moved["vehicle_id"]) == {"T1"}
    # A belt with 174,000 miles on it is more of a matter than one with some 109,000.
    assert row["probability_proposed"] > row["probability_used"] > 0.0
    assert row["tier_proposed"] < row["tier_used"]
    assert row["cells"] == "service!C5"


def test_a_reading_that_fits_is_not_in_doubt(tmp_path: Path) -> None:
    moved = doubting.moved_by_doubt(assess(shop(tmp_path / "fits", 112_000), as_of=AS_OF))
    assert moved.empty
    assert list(moved.columns) == doubting.COLUMNS


def test_the_command_names_the_cell_to_look_at(
    tenfold: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    code = command(["assess", str(tenfold), "--as-of", "2026-10-01", "--out", str(tmp_path)])
    assert code == 0
    assert "look at T1 (service!C5)" in " ".join(capsys.readouterr().out.split())
