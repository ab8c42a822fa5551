"""A described workbook as .xlsx bytes: inert text, same description, same bytes."""

from __future__ import annotations

import copy
import datetime as dt
import io
import re
import zipfile
from collections.abc import Sequence
from pathlib import Path
from typing import cast

import openpyxl
import pandas as pd
from openpyxl.cell.cell import Cell
from openpyxl.styles import Alignment, Border, Font, PatternFill, Side
from openpyxl.utils import get_column_letter
from openpyxl.worksheet.datavalidation import DataValidation
from openpyxl.worksheet.header_footer import HeaderFooterItem, _HeaderFooterPart
from openpyxl.worksheet.page import PageMargins
from openpyxl.worksheet.properties import PageSetupProperties
from openpyxl.worksheet.worksheet import Worksheet

from riskcheck.sheets.description import DEFAULT_STYLES, Column, Sheet, Style, Value, Workbook
from riskcheck.sheets.files import replace_file
from riskcheck.sheets.inert import MAX_CELL_CHARACTERS, clean_text, starts_like_formula

_FIXED_TIME = (1980, 1, 1, 0, 0, 0)  # the earliest a zip entry can carry
_FIXED_STAMP = b"2000-01-01T00:00:00Z"
_STAMPS = re.compile(rb"(<dcterms:(created|modified)[^>]*>)[^<]*(</dcterms:)")
_SHEET_NAME_FORBIDDEN = re.compile(r"[\[\]:*?/\\]")


def write_workbook(path: Path | str, workbook: Workbook) -> Path:
    """Write ``workbook`` to ``path`` (atomically) and return the path written."""
    return replace_file(Path(path), workbook_bytes(workbook))


def workbook_bytes(workbook: Workbook) -> bytes:
    """The .xlsx file as bytes: equal descriptions give equal bytes."""
    book = openpyxl.Workbook()
    del book[book.sheetnames[0]]
    looks = _Looks(dict(DEFAULT_STYLES) | dict(workbook.styles))
    for sheet in workbook.sheets:
        _write_sheet(book.create_sheet(_sheet_name(sheet.name)), sheet, looks)
    book.properties.creator = "riskcheck"
    book.properties.title = clean_text(workbook.title)
    raw = io.BytesIO()
    book.save(raw)
    return _normalise(raw.getvalue())


def _sheet_name(name: str) -> str:
    return _SHEET_NAME_FORBIDDEN.sub("-", clean_text(name))[:31] or "Sheet"


class _Looks:
    """Style objects made once each and shared by all cells that use them."""

    def __init__(self, styles: dict[str, Style]) -> None:
        self._styles = styles
        self._made: dict[tuple[str, str, bool], object] = {}

    def apply(self, cell: Cell, name: str, column: Column) -> None:
        # Setting a style object looks it up among all others; the finished numbers are copied.
        quoted = bool(cell.quotePrefix)
        key = (name, f"{column.wrap}|{column.align}|{column.number_format}", quoted)
        if key not in self._made:
            for attribute, value in self._make(self._styles[name], column).items():
                setattr(cell, attribute, value)
            self._made[key] = copy.copy(cell._style)  # type: ignore[attr-defined]
        cell._style = copy.copy(self._made[key])  # type: ignore[attr-defined]

    @staticmethod
    def _make(style: Style, column: Column) -> dict[str, object]:
        made: dict[str, object] = {
            "font": Font(
                bold=style.bold,
                italic=style.italic,
                size=style.size or 11,
                color=style.colour or None,
            ),
            "alignment": Alignment(
                wrap_text=column.wrap, vertical="top", horizontal=column.align or None
            ),
        }
        if style.fill:
            made["fill"] = PatternFill("solid", fgColor=style.fill)
        if style.border:
            side = Side(style="thin", color="B8C0C4")
            made["border"] = Border(left=side, right=side, top=side, bottom=side)
        if column.number_format:
            made["number_format"] = column.number_format
        return made


def _write_sheet(target: Worksheet, sheet: Sheet, looks: _Looks) -> None:
    plain = Column("", align="left")
    for line, text in enumerate(sheet.title, start=1):
        cell = _cell(target, line, 1)
        _put(cell, text)
        looks.apply(cell, "title" if line == 1 else "note", plain)
    heading_row = len(sheet.title) + (1 if sheet.show_headings else 0)
    if sheet.show_headings:
        for number, column in enumerate(sheet.columns, start=1):
            cell = _cell(target, heading_row, number)
            _put(cell, column.heading)
            looks.apply(cell, "heading", Column(column.heading, wrap=True))
    for row, values in enumerate(sheet.rows):
        _write_row(target, sheet, looks, (row, heading_row + 1 + row), values)
    _write_columns(target, sheet, heading_row)
    _write_page(target, sheet, heading_row)


def _write_row(
    target: Worksheet, sheet: Sheet, looks: _Looks, at: tuple[int, int], values: Sequence[Value]
) -> None:
    row, line = at
    for number, (column, value) in enumerate(zip(sheet.columns, values, strict=True)):
        cell = _cell(target, line, number + 1)
        _put(cell, value)
        fallback = "input" if column.input_cell else "body"
        name = sheet.cell_styles.get((row, number)) or sheet.row_styles.get(row) or fallback
        looks.apply(cell, name, column)
    if row in sheet.row_heights:
        target.row_dimensions[line].height = sheet.row_heights[row]


def _cell(target: Worksheet, row: int, column: int) -> Cell:
    return cast(Cell, target.cell(row, column))


def _put(cell: Cell, value: Value) -> None:
    """The value as data: text stays text whatever it starts with."""
    if value is None or value is pd.NA or value is pd.NaT or value != value:
        return
    if isinstance(value, str):
        text = clean_text(value)[:MAX_CELL_CHARACTERS]
        if not text:
            return
        cell.value = text
        cell.data_type = "s"
        if starts_like_formula(text):
            cell.quotePrefix = True
    elif isinstance(value, bool):
        cell.value = "yes" if value else "no"
    elif isinstance(value, dt.datetime):
        cell.value = value.replace(tzinfo=None)
    elif isinstance(value, dt.date):
        cell.value = value
    else:
        number = float(value)  # type: ignore[arg-type]
        cell.value = int(number) if number.is_integer() else number


def _write_columns(target: Worksheet, sheet: Sheet, heading_row: int) -> None:
    first, last = heading_row + 1, heading_row + max(1, len(sheet.rows)) + sheet.spare_rows
    for number, column in enumerate(sheet.columns, start=1):
        letter = get_column_letter(number)
        target.column_dimensions[letter].width = column.width
        target.column_dimensions[letter].hidden = column.hidden
        if column.choices or column.choices_from or column.hint:
            target.add_data_validation(_validation(column, f"{letter}{first}:{letter}{last}"))
        if column.number_format:
            for line in range(heading_row + 1 + len(sheet.rows), last + 1):
                target.cell(line, number).number_format = column.number_format


def _validation(column: Column, cells: str) -> DataValidation:
    """A drop-down (other entries are asked about, not refused) or only a hint on entry."""
    if column.choices or column.choices_from:
        listed = ",".join(choice.replace(",", " ").replace('"', "'") for choice in column.choices)
        source = column.choices_from or f'"{listed}"'
        rule = DataValidation(type="list", formula1=source, allow_blank=True)
        rule.errorStyle = "warning"
        rule.error = "This is not one of the listed answers. Keep it anyway?"
    else:
        rule = DataValidation(allow_blank=True)
    if column.hint:
        rule.promptTitle, rule.prompt = column.heading[:32], clean_text(column.hint)[:255]
        rule.showInputMessage = True
    rule.add(cells)
    return rule


def _write_page(target: Worksheet, sheet: Sheet, heading_row: int) -> None:
    last_letter = get_column_letter(max(1, len(sheet.columns)))
    if sheet.show_headings:
        target.freeze_panes = f"{get_column_letter(sheet.freeze_columns + 1)}{heading_row + 1}"
        target.print_title_rows = f"{heading_row}:{heading_row}"
        if sheet.filters and sheet.rows:
            last = heading_row + len(sheet.rows)
            target.auto_filter.ref = f"A{heading_row}:{last_letter}{last}"
    if sheet.print_columns:
        last = heading_row + max(1, len(sheet.rows))
        target.print_area = f"A1:{get_column_letter(sheet.print_columns)}{last}"
    target.page_setup.orientation = "landscape" if sheet.landscape else "portrait"
    target.page_margins = PageMargins(
        left=0.4, right=0.4, top=0.5, bottom=0.7, header=0.3, footer=0.3
    )
    target.page_setup.fitToWidth, target.page_setup.fitToHeight = 1, 0
    target.sheet_properties.pageSetUpPr = PageSetupProperties(fitToPage=True)
    if sheet.tab_colour:
        target.sheet_properties.tabColor = sheet.tab_colour
    target.oddFooter = HeaderFooterItem(
        left=_HeaderFooterPart(text="&A"), right=_HeaderFooterPart(text="&P / &N")
    )
    target.sheet_state = "hidden" if sheet.hidden else "visible"


def _normalise(raw: bytes) -> bytes:
    """The same zip with fixed times and order: openpyxl stamps the clock into it."""
    out = io.BytesIO()
    with (
        zipfile.ZipFile(io.BytesIO(raw)) as source,
        zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as target,
    ):
        names = sorted(source.namelist(), key=lambda name: (name != "[Content_Types].xml", name))
        for name in names:
            data = source.read(name)
            if name == "docProps/core.xml":
                data = _STAMPS.sub(rb"\g<1>" + _FIXED_STAMP + rb"\g<3>", data)
            entry = zipfile.ZipInfo(name, _FIXED_TIME)
            entry.compress_type, entry.create_system, entry.external_attr = 8, 3, 0o644 << 16
            target.writestr(entry, data)
    return out.getvalue()
