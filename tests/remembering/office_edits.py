"""Edits a workbook as a person would, in a real LibreOffice: sort, filter, type, move, add.

Run with the Python that has LibreOffice's ``uno`` module:
python3 office_edits.py PIPE IN OUT EDITS.json

EDITS is a list of lists: ["sort", sheet, heading, descending], ["filter", sheet, heading, text],
["type", sheet, heading, nth data row from 1, text], ["add_row", sheet, {heading: text}],
["move_sheet", sheet, position], ["move_column", sheet, heading, position],
["delete_column", sheet, heading], ["add_sheet", name, [[...]]], ["copy_row", sheet, nth].
"""

import json
import sys
import time
from pathlib import Path

import uno
from com.sun.star.beans import PropertyValue
from com.sun.star.sheet import TableFilterField
from com.sun.star.sheet.FilterOperator import EQUAL
from com.sun.star.table import CellRangeAddress, TableSortField

INPUTS = {"Result", "Date", "Note", "Next step", "Row key"}
SECONDS = 60


def value(name, content):
    made = PropertyValue()
    made.Name, made.Value = name, content
    return made


def desktop(pipe):
    context = uno.getComponentContext()
    resolver = context.ServiceManager.createInstanceWithContext(
        "com.sun.star.bridge.UnoUrlResolver", context
    )
    end = time.monotonic() + SECONDS
    while True:
        try:
            remote = resolver.resolve(f"uno:pipe,name={pipe};urp;StarOffice.ComponentContext")
            break
        except Exception:
            if time.monotonic() > end:
                raise
            time.sleep(0.1)
    return remote.ServiceManager.createInstanceWithContext("com.sun.star.frame.Desktop", remote)


class Table:
    """The used part of a sheet from its heading row down."""

    def __init__(self, sheet):
        cursor = sheet.createCursor()
        cursor.gotoEndOfUsedArea(False)
        self.sheet = sheet
        self.last = cursor.RangeAddress.EndRow
        self.right = cursor.RangeAddress.EndColumn
        for row in range(30):
            texts = [sheet.getCellByPosition(c, row).String for c in range(self.right + 1)]
            if len(INPUTS & set(texts)) >= 2:
                self.top, self.headings = row, texts
                return
        raise SystemExit(f"no heading row on {sheet.Name}")

    def column(self, heading):
        return self.headings.index(heading)

    def cells(self):
        return self.sheet.getCellRangeByPosition(0, self.top, self.right, self.last)


def sort(table, heading, descending):
    field = TableSortField()
    field.Field, field.IsAscending = table.column(heading), not descending
    table.cells().sort(
        (
            value("SortFields", uno.Any("[]com.sun.star.table.TableSortField", (field,))),
            value("ContainsHeader", True),
        )
    )


def only(table, heading, text):
    cells = table.cells()
    descriptor = cells.createFilterDescriptor(True)
    descriptor.ContainsHeader = True
    field = TableFilterField()
    field.Field, field.Operator = table.column(heading), EQUAL
    field.IsNumeric, field.StringValue = False, text
    descriptor.setFilterFields((field,))
    cells.filter(descriptor)


def typed(table, heading, nth, text):
    cell = table.sheet.getCellByPosition(table.column(heading), table.top + nth)
    if text.startswith("="):
        cell.String = text
    else:
        cell.FormulaLocal = text  # as if typed: dates become dates


def add_row(table, cells):
    for heading, text in cells.items():
        cell = table.sheet.getCellByPosition(table.column(heading), table.last + 1)
        cell.FormulaLocal = text


def copy_row(table, nth):
    source = CellRangeAddress()
    source.Sheet = table.sheet.RangeAddress.Sheet
    source.StartRow = source.EndRow = table.top + nth
    source.StartColumn, source.EndColumn = 0, table.right
    target = table.sheet.getCellByPosition(0, table.last + 1).CellAddress
    table.sheet.copyRange(target, source)


def move_column(table, heading, position):
    columns, width = table.sheet.Columns, table.sheet.Columns
    columns.insertByIndex(position, 1)
    source = CellRangeAddress()
    source.Sheet = table.sheet.RangeAddress.Sheet
    at = table.column(heading) + (1 if table.column(heading) >= position else 0)
    source.StartColumn = source.EndColumn = at
    source.StartRow, source.EndRow = 0, table.last
    table.sheet.moveRange(table.sheet.getCellByPosition(position, 0).CellAddress, source)
    width.removeByIndex(at, 1)


def edit(document, what, name, *rest):
    sheets = document.Sheets
    if what == "add_sheet":
        sheets.insertNewByName(name, sheets.Count)
        for row, cells in enumerate(rest[0]):
            for column, text in enumerate(cells):
                sheets.getByName(name).getCellByPosition(column, row).String = text
    elif what == "move_sheet":
        sheets.moveByName(name, rest[0])
    elif what == "delete_column":
        table = Table(sheets.getByName(name))
        table.sheet.Columns.removeByIndex(table.column(rest[0]), 1)
    else:
        verbs = {"sort": sort, "filter": only, "type": typed, "add_row": add_row,
                 "copy_row": copy_row, "move_column": move_column}  # fmt: skip
        verbs[what](Table(sheets.getByName(name)), *rest)


def main():
    pipe, source, target, edits = sys.argv[1:5]
    document = desktop(pipe).loadComponentFromURL(
        Path(source).resolve().as_uri(), "_blank", 0, (value("Hidden", True),)
    )
    for step in json.loads(Path(edits).read_text(encoding="utf-8")):
        edit(document, *step)
    kinds = {".xlsx": "Calc MS Excel 2007 XML", ".ods": "calc8", ".xls": "MS Excel 97"}
    kind = kinds[Path(target).suffix]
    document.storeToURL(Path(target).resolve().as_uri(), (value("FilterName", kind),))
    document.close(True)


main()
