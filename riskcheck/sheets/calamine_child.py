"""The call into python-calamine itself; also run alone, as a child process, on risky files."""

from __future__ import annotations

import contextlib
import pickle
import sys
from typing import Any, NamedTuple

import python_calamine

_CHILD_BYTES = 4_000_000_000


class RawSheet(NamedTuple):
    """One sheet as the library gives it; ``merged`` ranges as (top, left, bottom, right)."""

    name: str
    hidden: bool
    start: tuple[int, int]
    rows: list[list[Any]]
    merged: list[tuple[int, int, int, int]]


def read_all(path: str) -> list[RawSheet]:
    """Every worksheet of a file, charts left out.  Raises what the library raises."""
    book = python_calamine.CalamineWorkbook.from_path(path)
    sheets = []
    for number, meta in enumerate(book.sheets_metadata):
        if not str(meta.typ).endswith("WorkSheet"):
            continue
        sheet = book.get_sheet_by_index(number)
        merged = [(*top, *bottom) for top, bottom in sheet.merged_cell_ranges or []]
        hidden = not str(meta.visible).endswith(".Visible")
        sheets.append(RawSheet(meta.name, hidden, sheet.start or (0, 0), sheet.to_python(), merged))
    return sheets


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
