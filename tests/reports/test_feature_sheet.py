"""The feature worksheet goes out with drop-downs and comes back with its own row numbers.

openpyxl, an independent reader, opens what was written.
"""

from __future__ import annotations

from pathlib import Path

import openpyxl
import pandas as pd

from riskcheck import rulebook, sheets
from riskcheck.reports.feature_sheet import feature_workbook, filled_rows
from riskcheck.rulebook.worksheet import features

VEHICLES = pd.DataFrame(
    {
        "vehicle_id": ["1", "2"],
        "make": ["Zorvane", "Zorvane"],
        "model": ["Low", "High"],
        "engine": ["", ""],
        "model_year": pd.array([2011, 2013], dtype="Int64"),
    }
)


def test_a_filled_worksheet_comes_back_as_platforms(tmp_path: Path) -> None:
    book = rulebook.load()
    asked = features(book)
    groups = rulebook.platform_groups(VEHICLES, book, {"2": 50.0})
    path = sheets.write_workbook(tmp_path / "features.xlsx", feature_workbook(groups, asked))
    filled = openpyxl.load_workbook(path)
    sheet = filled["Features"]
    (heading_row,) = [cell.row for cell in sheet["A"] if cell.value == "Make"]
    column = [cell.value for cell in sheet[heading_row]].index("Timing drive") + 1
    lists = [rule.formula1 for rule in sheet.data_validations.dataValidation]
    assert any("dry_belt" in str(formula) for formula in lists)
    assert sheet.cell(heading_row + 1, 2).value == "High"
    sheet.cell(heading_row + 1, column).value = "chain"
    sheet.cell(heading_row + 2, column).value = "chian"
    filled.save(path)
    answers = rulebook.read_groups(filled_rows(path, asked), book)
    assert [(p.model, p.features) for p in answers.platforms] == [
        ("High", {"timing_drive": "chain"})
    ]
    (problem,) = answers.problems
    assert problem.startswith(f"row {heading_row + 2}, timing_drive: ")
    assert "did you mean 'chain'?" in problem
