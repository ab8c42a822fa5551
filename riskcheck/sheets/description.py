"""What a workbook to be written looks like, said without any spreadsheet library."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Literal

Value = object  # str, int, float, bool, date, datetime or None


@dataclass(frozen=True)
class Style:
    """Looks of a cell; colours as "RRGGBB", "" for none."""

    bold: bool = False
    italic: bool = False
    size: float = 0.0
    colour: str = ""
    fill: str = ""
    border: bool = False


@dataclass(frozen=True)
class Column:
    """One column: ``width`` in characters, ``number_format`` as spreadsheets write it.

    ``choices`` become a drop-down list (255 signs in all); longer lists stand in a range of
    another sheet, ``choices_from`` ("'Topics'!$A$2:$A$90"); ``hint`` is shown when a cell is
    entered; a ``hidden`` column holds the key by which rows are found again when the workbook
    comes back.
    """

    heading: str
    width: float = 14.0
    number_format: str = ""
    wrap: bool = False
    align: Literal["", "left", "right", "center"] = ""
    choices: tuple[str, ...] = ()
    choices_from: str = ""
    hint: str = ""
    hidden: bool = False
    input_cell: bool = False


@dataclass(frozen=True)
class Sheet:
    """One sheet: optional ``title`` lines, a heading row, ``rows`` of values.

    ``row_styles`` and ``cell_styles`` name a style of the workbook by row (from 0) or by
    (row, column).  ``spare_rows`` extends drop-downs and formats below the last row.
    ``row_heights`` fixes the height (points) of rows with wrapped text.  ``print_columns``: only
    so many, from the left, go on paper (0: all).
    """

    name: str
    columns: Sequence[Column]
    rows: Sequence[Sequence[Value]]
    title: Sequence[str] = ()
    row_styles: Mapping[int, str] = field(default_factory=dict)
    cell_styles: Mapping[tuple[int, int], str] = field(default_factory=dict)
    row_heights: Mapping[int, float] = field(default_factory=dict)
    freeze_columns: int = 0
    show_headings: bool = True
    filters: bool = True
    landscape: bool = True
    spare_rows: int = 0
    hidden: bool = False
    tab_colour: str = ""
    print_columns: int = 0


DEFAULT_STYLES: dict[str, Style] = {
    "title": Style(bold=True, size=14),
    "note": Style(italic=True, colour="555555"),
    "heading": Style(bold=True, colour="FFFFFF", fill="3B4A54", border=True),
    "input": Style(fill="FFF9E5", border=True),
    "body": Style(),
    "strong": Style(bold=True),
}


@dataclass(frozen=True)
class Workbook:
    """All sheets, the named styles they use and the title shown in the file's properties."""

    sheets: Sequence[Sheet]
    title: str = ""
    styles: Mapping[str, Style] = field(default_factory=dict)
