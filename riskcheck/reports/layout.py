"""Row heights for wrapped text: spreadsheet programs do not all fit rows on opening."""

from __future__ import annotations

import textwrap
from dataclasses import replace

from riskcheck.sheets import Column, Sheet

LINE_POINTS = 13.5
LARGEST_POINTS = 400.0
# Body text averages a little less than one column-width unit a letter.
LETTERS_PER_UNIT = 1.2


def fitted(sheet: Sheet) -> Sheet:
    """The same sheet with each row as high as its longest wrapped cell needs."""
    heights = {}
    for place, row in enumerate(sheet.rows):
        lines = max(
            (
                _lines(str(value), column)
                for value, column in zip(row, sheet.columns, strict=True)
                if column.wrap and value is not None
            ),
            default=1,
        )
        heights[place] = min(LARGEST_POINTS, max(1, lines) * LINE_POINTS + 2.0)
    return replace(sheet, row_heights=heights)


def ruled(sheet: Sheet, style: str = "plain") -> Sheet:
    """The same sheet with every cell in ``style`` but those that a person fills in."""
    printed = [at for at, column in enumerate(sheet.columns) if not column.input_cell]
    styles = {(row, at): style for row in range(len(sheet.rows)) for at in printed}
    return replace(sheet, cell_styles={**styles, **sheet.cell_styles})


def _lines(text: str, column: Column) -> int:
    width = max(4, int(column.width * LETTERS_PER_UNIT))
    return sum(max(1, len(textwrap.wrap(line, width))) for line in text.split("\n"))
