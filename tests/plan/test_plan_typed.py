"""What people type into the plan's Jobs sheet: nothing that is not understood vanishes."""

from __future__ import annotations

import datetime as dt
import sys
from pathlib import Path

import openpyxl
import pytest

sys.path.insert(0, str(Path(__file__).parent))

import made_up

from riskcheck import assessment, planning
from riskcheck.actions.plan import Weeks, make_plan, returned, wishes_of
from riskcheck.actions.plan.shop import shop_of
from riskcheck.errors import InputError
from riskcheck.fleet import Fleet
from riskcheck.reports import plan_book, plan_json, plan_text
from riskcheck.sheets import write_workbook


def test_each_cell_that_is_not_used_as_it_stands_is_listed(tmp_path: Path) -> None:
    """18 October 2026 is a Sunday."""
    plan = make_plan(made_up.asked(11, 14, 5))
    path = write_workbook(tmp_path / "plan.xlsx", plan_book.workbook(plan))
    book = openpyxl.load_workbook(path)
    sheet = book["Jobs"]
    at = {cell.value: cell.column for cell in sheet[3]}
    sheet.cell(4, at[returned.MOVE], "next tuesday")
    sheet.cell(5, at[returned.MOVE], dt.datetime(2026, 10, 18))
    sheet.cell(6, at[returned.KEEP], "pls keep")
    sheet.cell(7, at[returned.TOLD], "maybe")
    sheet.cell(8, at[returned.MOVE], dt.datetime(2026, 10, 20))
    sheet.cell(8, at[returned.KEEP], returned.NOT_AT_ALL)
    book.save(path)
    back = wishes_of(path)
    assert [(one.heading, one.why) for one in back.odd] == [
        (returned.MOVE, "no_date"),
        (returned.MOVE, "weekend"),
        (returned.KEEP, "no_choice"),
        (returned.TOLD, "no_yes_no"),
        (returned.KEEP, "move_wins"),
    ]
    cells = [sheet.cell(row, at[heading]).coordinate for row, heading in
             ((4, returned.MOVE), (5, returned.MOVE), (6, returned.KEEP), (7, returned.TOLD),
              (8, returned.KEEP))]  # fmt: skip
    assert [one.cell for one in back.odd] == cells
    said = " ".join(" ".join(plan_text.summary(plan, Path("f"), {}, back.odd)).split())
    assert f"Jobs {cells[0]}" in said
    assert "'next tuesday' is no date" in said
    assert "the week of 2026-10-12 is kept to" in said
    assert len(plan_json.summary(plan, {}, back.odd)["typed_not_used"]) == 5


def fleet_of_sheets(path: Path, bays: list, people: list) -> Fleet:
    book = openpyxl.Workbook()
    cars = book.active
    cars.title = "Vehicles"
    cars.append(["Vehicle ID", "Unit", "Make", "Model", "Model year", "Odometer", "Customer ID"])
    cars.append(["V1", "U1", "Sturven", "Shuttle", 2018, 90_000, "C1"])
    for name, headings, rows in (
        ("Bays", ["Bay", "Hours per day", "Equipment", "Max weight"], bays),
        ("Technicians", ["Technician", "Skills", "Hours per day"], people),
    ):
        sheet = book.create_sheet(name)
        for row in (headings, *rows):
            sheet.append(row)
    book.save(path)
    return assessment.read(path, made_up.BOOK, made_up.AS_OF)


def test_hours_that_are_none_are_named_with_their_cell(tmp_path: Path) -> None:
    people = [["DK", "A brakes", "-5 h"], ["MO", "B", "9999 h"], ["RJ", "C", "eight"],
              ["TS", "C", None], ["UV", "C", 7]]  # fmt: skip
    fleet = fleet_of_sheets(tmp_path / "f.xlsx", [["1", 8], ["2", 0], ["3", -3]], people)
    cells = [(sheet, cell) for sheet, cell, _ in planning.rows_without_hours(fleet)]
    assert cells == [("Bays", "B3"), ("Bays", "B4"), ("Technicians", "C2"), ("Technicians", "C3"),
                     ("Technicians", "C4")]  # fmt: skip
    shop = shop_of(fleet, made_up.BOOK.policy, Weeks(made_up.AS_OF, 2))
    assert [one.name for one in shop.technicians] == ["TS", "UV"]
    assert [bay.name for bay in shop.bays] == ["bay 1"]
    planning.check_bays(fleet)


@pytest.mark.parametrize("bays", [[], [["1", 0], ["2", -3]]])
def test_a_bays_sheet_without_a_usable_bay_is_an_error(tmp_path: Path, bays: list) -> None:
    fleet = fleet_of_sheets(tmp_path / "f.xlsx", bays, [])
    with pytest.raises(InputError, match=r"Bays.*none of its bays can be used.*hours a day"):
        planning.check_bays(fleet)


def test_paper_gets_the_columns_to_read_and_not_those_to_type_into(tmp_path: Path) -> None:
    plan = make_plan(made_up.asked(11, 14, 5))
    path = write_workbook(tmp_path / "plan.xlsx", plan_book.workbook(plan))
    sheet = openpyxl.load_workbook(path)["Jobs"]
    printed = [cell.value for cell in sheet[sheet.print_area.split("!")[1]][2]]
    assert printed[0] == "Vehicle"
    assert printed[-1] == plan_book.LATE
    assert not {returned.KEEP, returned.MOVE, returned.JOB_ID} & set(printed)
    assert sheet.page_setup.orientation == "landscape"
    assert sheet.page_setup.fitToWidth == 1
