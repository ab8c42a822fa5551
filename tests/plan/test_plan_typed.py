"""What people type into the plan's Jobs sheet: nothing that is not understood vanishes."""

from __future__ import annotations

import datetime as dt
import sys
from pathlib import Path

import openpyxl

sys.path.insert(0, str(Path(__file__).parent))

import made_up

from riskcheck.actions.plan import make_plan, returned, wishes_of
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
