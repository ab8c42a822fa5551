"""A sheet as it was found: raw cells with their addresses, nothing interpreted yet."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

import pandas as pd

Cell = tuple[int, int]  # (row, column), both counted from 0 within Grid.cells


def column_letters(column: int) -> str:
    """Spreadsheet letters of a column counted from 0: 0 -> A, 26 -> AA."""
    letters = ""
    column += 1
    while column:
        column, rest = divmod(column - 1, 26)
        letters = chr(ord("A") + rest) + letters
    return letters


def column_number(letters: str) -> int:
    """Column counted from 0 of spreadsheet letters: A -> 0, AA -> 26."""
    number = 0
    for letter in letters:
        number = number * 26 + ord(letter) - ord("A") + 1
    return number - 1


@dataclass(frozen=True)
class Grid:
    """One sheet (or one CSV or Parquet file).

    ``cells``: frame with columns 0..n-1 and a RangeIndex; str, float, int, bool, date or
    datetime as found, "" or None where blank.  ``first_row`` and ``first_column`` (from 0) say
    where the frame's corner lies on the sheet.  ``errors`` holds cells that show an error
    ("#N/A"), ``uncomputed`` formulas that were never calculated; both are blank in ``cells``.
    ``merged`` ranges are (top, left, bottom, right), inclusive.  All cell coordinates are
    relative to ``cells``.
    """

    file: str
    sheet: str
    cells: pd.DataFrame
    first_row: int = 0
    first_column: int = 0
    merged: tuple[tuple[int, int, int, int], ...] = ()
    errors: Mapping[Cell, str] = field(default_factory=dict)
    uncomputed: frozenset[Cell] = frozenset()
    hidden: bool = False
    hidden_rows: int = 0
    hidden_columns: int = 0
    epoch_1904: bool = False
    notes: tuple[str, ...] = ()

    def row_number(self, row: int) -> int:
        """The row's number as the spreadsheet shows it, from 1."""
        return self.first_row + int(row) + 1

    def letters(self, column: int) -> str:
        """The column's letters as the spreadsheet shows them."""
        return column_letters(self.first_column + int(column))

    def address(self, row: int, column: int) -> str:
        """The cell's address as the spreadsheet shows it, such as "B7"."""
        return f"{self.letters(column)}{self.row_number(row)}"

    @property
    def where(self) -> str:
        """File and sheet for messages; the sheet only where a file has several."""
        return f"{self.file}, sheet {self.sheet!r}" if self.sheet else self.file
