"""Types into a written workbook as a person would, by openpyxl (not by riskcheck's own writer)."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

import openpyxl

INPUTS = {"Result", "Date", "Note", "Next step"}


def typing_sheets(book: Any) -> Iterator[tuple[Any, int, dict[str, int]]]:
    """(sheet, heading row, heading -> column) of every sheet that people write into."""
    for sheet in book.worksheets:
        for row in sheet.iter_rows(min_row=1, max_row=10):
            headings = {cell.value: cell.column for cell in row if cell.value}
            if set(headings) >= INPUTS:
                yield sheet, row[0].row, headings
                break


def type_into(
    source: Path, target: Path, cells: Mapping[str, Any], *, rows: int = 3, added: bool = False
) -> list[str]:
    """Write ``cells`` (heading -> value) into the first ``rows`` rows of every sheet for typing.

    Text gets the row's number, so that every cell differs.  ``added``: one more row below, without
    a key.  Returns the keys of the rows that were written into.
    """
    book = openpyxl.load_workbook(source)
    keys = []
    for sheet, top, headings in typing_sheets(book):
        for line in range(top + 1, min(top + rows, sheet.max_row) + 1):
            keys.append(str(sheet.cell(line, headings["Row key"]).value))
            for heading, value in cells.items():
                said = f"{value} {line}" if heading == "Note" else value
                sheet.cell(line, headings[heading]).value = said
        if added:
            sheet.cell(sheet.max_row + 1, headings["Note"]).value = f"new on {sheet.title}"
    book.save(target)
    return keys
