"""Finding the tables of a returned workbook: by their headings, wherever they have been moved."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from riskcheck.actions.row_keys import HEADING
from riskcheck.sheets import Grid

ROW_KEY = HEADING
INPUTS = ("Result", "Date", "Note", "Next step")
_NO_TEXT = re.compile("[\x00\ud800-\udfff]")
HEADING_ROWS = 30  # how far down a heading row is looked for
ABOUT_HEADINGS = ("What", "Value")
FLEET_AT, LEDGER_AT = "Fleet file at", "Ledger at"
CHANNEL = "Channel"  # of the hidden keys; lists sent out by earlier versions have none
KEYS_HEADINGS = (ROW_KEY, "Contact", "Customer", "Vehicle id", "Hazard", "Sheet kind")


@dataclass(frozen=True)
class Row:
    """One row of a sheet: raw cells by heading, and where each stands."""

    sheet: str
    number: int
    cells: Mapping[str, Any]
    places: Mapping[str, str]

    def text(self, heading: str) -> str:
        """The cell as text; "" where it is blank or there is no such column."""
        return text_of(self.cells.get(heading))


@dataclass(frozen=True)
class Table:
    """One sheet read by its heading row."""

    sheet: str
    headings: tuple[str, ...]
    rows: tuple[Row, ...]

    @property
    def takes_typing(self) -> bool:
        """A table that people write into: our key and an input column, or two input columns."""
        inputs = sum(heading in self.headings for heading in INPUTS)
        return inputs >= 2 or (ROW_KEY in self.headings and inputs >= 1)


def text_of(value: Any) -> str:
    """A cell as text, the same whichever program saved it: ISO days, whole numbers without .0."""
    if value is None or value != value:
        return ""
    if isinstance(value, dt.datetime):
        midnight = value.time() == dt.time()
        return value.date().isoformat() if midnight else value.isoformat(sep=" ")
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        # Spreadsheet programs keep 15 digits or fewer: what both write is the same number.
        return str(int(value)) if value.is_integer() and abs(value) < 1e15 else f"{value:.12g}"
    text = str(value).replace("\r\n", "\n").replace("\r", "\n")
    # No spreadsheet cell holds these; a database refuses them.
    return _NO_TEXT.sub("", text)


def folded(text: str) -> str:
    """Text for comparing: programs differ in blanks and line ends only."""
    return " ".join(text.split())


def table_of(grid: Grid) -> Table:
    """The sheet as a table; without a heading row of ours, its rows by column letters."""
    raw = grid.cells.to_numpy(dtype=object).tolist()
    top = _heading_row(raw)
    headings = _named(raw[top] if top >= 0 else [], grid)
    rows = tuple(_rows(raw, top + 1, headings, grid))
    return Table(grid.sheet, tuple(headings), rows)


def _heading_row(raw: list[list[Any]]) -> int:
    """The row with the most headings of ours, at least two; -1 if there is none."""
    wanted = {*INPUTS, *KEYS_HEADINGS, *ABOUT_HEADINGS}
    best, count = -1, 1
    for number, row in enumerate(raw[:HEADING_ROWS]):
        found = len({_heading(cell) for cell in row} & wanted)
        if found > count:
            best, count = number, found
    return best


def _heading(cell: Any) -> str:
    """Our own spelling of a heading, whatever was done to its case and blanks."""
    said = folded(text_of(cell))
    return _OURS.get(said.casefold(), said)


_OURS = {name.casefold(): name for name in (*INPUTS, *KEYS_HEADINGS, *ABOUT_HEADINGS)}


def _named(cells: list[Any], grid: Grid) -> list[str]:
    """One name a column: its heading, numbered if it comes twice, else "column K"."""
    names: list[str] = []
    for column in range(grid.cells.shape[1]):
        said = _heading(cells[column]) if column < len(cells) else ""
        name = said or f"column {grid.letters(column)}"
        names.append(name if name not in names else f"{name} ({grid.letters(column)})")
    return names


def _rows(raw: list[list[Any]], first: int, headings: list[str], grid: Grid) -> Iterator[Row]:
    for number in range(first, len(raw)):
        cells = dict(zip(headings, raw[number], strict=False))
        if any(text_of(cell).strip() for cell in cells.values()):
            places = {
                heading: grid.address(number, column) for column, heading in enumerate(headings)
            }
            yield Row(grid.sheet, grid.row_number(number), cells, places)
