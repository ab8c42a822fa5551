"""A hazard for buses only: the use column of the vehicle sheet as a fact of the shipped rules."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import pytest

from riskcheck import assessment, fleet, rulebook, sheets

SHEET = """\
unit,make,model,year,use
A,Nomake,One,2012,Bus
B,Nomake,One,2012,van
C,Nomake,One,2012,
D,Nomake,One,2012,snow plough
"""


@pytest.fixture(scope="module")
def statuses(tmp_path_factory: pytest.TempPathFactory) -> dict[str, str]:
    root = tmp_path_factory.mktemp("buses")
    (root / "hazards").mkdir()
    text = rulebook.skeleton("bus-step").replace(
        "{hydraulic_brakes: true, road_salt: true}", "{used_as: bus}"
    )
    (root / "hazards/bus-step.yaml").write_text(text, encoding="utf-8")
    (root / "fleet.csv").write_text(SHEET, encoding="utf-8")
    run = assessment.assess(
        root / "fleet.csv", as_of=dt.date(2026, 10, 1), rules=[root], only=["bus-step"]
    )
    return dict(zip(run.exposures["vehicle_id"], run.exposures["status"], strict=True))


def test_only_a_bus_can_have_it_and_a_blank_or_strange_word_leaves_it_open(
    statuses: dict[str, str],
) -> None:
    assert statuses == {
        "A": "exposed",
        "B": "not_applicable",
        "C": "unknown",
        "D": "unknown",
    }


def test_the_blank_workbook_asks_for_the_use_once(tmp_path: Path) -> None:
    path = fleet.write_blank_workbook(tmp_path / "blank.xlsx", rulebook.load().vocabulary)
    (cells,) = (g.cells for g in sheets.read_grids(path) if g.sheet == "Vehicles")
    headings = {str(cell) for row in cells.head(6).to_numpy() for cell in row}
    assert "Duty" in headings
    assert "Used as" not in headings
