"""Spreadsheet files through python-calamine, after pre-flight found them fit to be read."""

from __future__ import annotations

from pathlib import Path

import pandas as pd
import python_calamine

from riskcheck.errors import InputError
from riskcheck.sheets.grid import Cell, Grid
from riskcheck.sheets.preflight import Examined


def read_spreadsheet(path: Path, found: Examined) -> list[Grid]:
    """Every sheet of a workbook that holds cells; chart sheets and blank sheets give none."""
    book = _open(path)
    grids = []
    for number, meta in enumerate(book.sheets_metadata):
        if str(meta.typ) not in ("SheetTypeEnum.WorkSheet", "WorkSheet"):
            continue
        sheet = book.get_sheet_by_index(number)
        start = sheet.start or (0, 0)
        rows = sheet.to_python()
        grids.append(
            Grid(
                file=path.name,
                sheet=meta.name,
                cells=pd.DataFrame(rows, dtype=object),
                first_row=start[0],
                first_column=start[1],
                merged=_merged(sheet, start),
                hidden=not str(meta.visible).endswith(".Visible"),
            )
        )
    return grids


def _open(path: Path) -> python_calamine.CalamineWorkbook:
    try:
        return python_calamine.CalamineWorkbook.from_path(str(path))
    except python_calamine.PasswordError as error:
        raise InputError(
            f"{path.name} has a password. Open it, save a copy without the password, use that."
        ) from error
    except Exception as error:
        raise InputError(
            f"{path.name} looks like a spreadsheet but cannot be read ({type(error).__name__}). "
            "It may be cut short or damaged: open it in a spreadsheet program and save it again."
        ) from error


def _merged(
    sheet: python_calamine.CalamineSheet, start: Cell
) -> tuple[tuple[int, int, int, int], ...]:
    ranges = sheet.merged_cell_ranges or []
    return tuple(
        (top - start[0], left - start[1], bottom - start[0], right - start[1])
        for (top, left), (bottom, right) in ranges
    )
