"""The call into python-calamine itself; also run alone, as a child process, on risky files."""

from __future__ import annotations

import contextlib
import io
import pickle
import struct
import sys
from typing import Any, NamedTuple

import python_calamine

_CHILD_BYTES = 4_000_000_000
_OLE = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"


class RawSheet(NamedTuple):
    """One sheet as the library gives it; ``merged`` ranges as (top, left, bottom, right)."""

    name: str
    hidden: bool
    start: tuple[int, int]
    rows: list[list[Any]]
    merged: list[tuple[int, int, int, int]]
    errors: dict[tuple[int, int], str]
    epoch_1904: bool


def read_all(path: str) -> list[RawSheet]:
    """Every worksheet of a file, charts left out.  Raises what the library raises."""
    book = python_calamine.CalamineWorkbook.from_path(path)
    errors, epoch_1904 = _errors_of_xls(path)
    sheets = []
    for number, meta in enumerate(book.sheets_metadata):
        if not str(meta.typ).endswith("WorkSheet"):
            continue
        sheet = book.get_sheet_by_index(number)
        merged = [(*top, *bottom) for top, bottom in sheet.merged_cell_ranges or []]
        hidden = not str(meta.visible).endswith(".Visible")
        sheets.append(
            RawSheet(
                meta.name,
                hidden,
                sheet.start or (0, 0),
                sheet.to_python(),
                merged,
                errors.get(meta.name, {}),
                epoch_1904,
            )
        )
    return sheets


def _errors_of_xls(path: str) -> tuple[dict[str, dict[tuple[int, int], str]], bool]:
    """Error cells by sheet, and the date system, of an old binary workbook.

    The fast reader leaves error cells blank; whatever else it reads well is not read twice.
    """
    with open(path, "rb") as file:
        if file.read(8) != _OLE:
            return {}, False
    import xlrd

    try:
        book = xlrd.open_workbook(path, logfile=io.StringIO(), ragged_rows=True)
    except (xlrd.XLRDError, ValueError, IndexError, KeyError, AssertionError, struct.error):
        return {}, False
    found = {
        sheet.name: {
            (row, column): xlrd.error_text_from_code.get(sheet.cell_value(row, column), "#?")
            for row in range(sheet.nrows)
            for column, kind in enumerate(sheet.row_types(row))
            if kind == xlrd.XL_CELL_ERROR
        }
        for sheet in book.sheets()
    }
    return found, book.datemode == 1


def _main() -> None:
    with contextlib.suppress(ImportError, ValueError, OSError):  # no such limits on Windows
        import resource

        resource.setrlimit(resource.RLIMIT_AS, (_CHILD_BYTES, _CHILD_BYTES))
    try:
        sheets = read_all(sys.argv[1])
    except BaseException as error:
        sys.stderr.write(type(error).__name__)
        sys.exit(1)
    sys.stdout.buffer.write(pickle.dumps([tuple(sheet) for sheet in sheets]))


if __name__ == "__main__":
    _main()
