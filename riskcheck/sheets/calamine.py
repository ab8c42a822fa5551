"""Spreadsheet files through python-calamine, after pre-flight found them fit to be read.

Files whose extent pre-flight cannot measure (.xls, .ods, .xlsb) are read in a child process, so
that a library that aborts takes the child with it and not us.
"""

from __future__ import annotations

import pickle
import re
import subprocess
import sys
from pathlib import Path
from typing import Any
from xml.sax.saxutils import unescape

import pandas as pd

from riskcheck.errors import InputError
from riskcheck.sheets.calamine_child import RawSheet, read_all
from riskcheck.sheets.grid import Cell, Grid
from riskcheck.sheets.preflight import Examined, Kind
from riskcheck.sheets.sheet_xml import SheetFacts

_CHILD_SECONDS = 120
_ATTRIBUTE = re.compile(r"""([\w:]+)\s*=\s*["']([^"']*)["']""")


def read_spreadsheet(path: Path, found: Examined) -> list[Grid]:
    """Every sheet of a workbook that holds cells; chart sheets give none."""
    measured = found.kind is Kind.XLSX and bool(found.sheets)
    sheets = _read_here(path) if measured else _read_in_child(path)
    facts = found.tables or _facts_by_name(found)
    return [_grid(path, raw, facts.get(raw.name, SheetFacts()), found) for raw in sheets]


def _grid(path: Path, raw: RawSheet, facts: SheetFacts, found: Examined) -> Grid:
    first_row, first_column = raw.start
    rows = _with_room(raw, facts)

    def here(cell: Cell) -> Cell:
        return cell[0] - first_row, cell[1] - first_column

    return Grid(
        file=path.name,
        sheet=raw.name,
        cells=pd.DataFrame(rows, dtype=object),
        first_row=first_row,
        first_column=first_column,
        merged=tuple((*here((a, b)), *here((c, d))) for a, b, c, d in [*raw.merged, *facts.merged]),
        errors={
            here(cell): text
            for cell, text in {**facts.errors, **raw.errors}.items()
            if min(here(cell)) >= 0
        },
        uncomputed=frozenset(here(c) for c in facts.uncomputed if min(here(c)) >= 0),
        hidden=raw.hidden,
        hidden_rows=facts.hidden_rows,
        hidden_columns=facts.hidden_columns,
        epoch_1904=found.epoch_1904 or raw.epoch_1904,
    )


def _with_room(raw: RawSheet, facts: SheetFacts) -> list[list[Any]]:
    """Rows of the fast reader, widened so that cells it leaves blank at the edge have a place."""
    lost = [*facts.errors, *raw.errors, *facts.uncomputed]
    lost = [cell for cell in lost if cell[0] >= raw.start[0] and cell[1] >= raw.start[1]]
    if not lost or not raw.rows:
        return raw.rows
    height = max(len(raw.rows), max(row for row, _ in lost) - raw.start[0] + 1)
    width = max(len(raw.rows[0]), max(column for _, column in lost) - raw.start[1] + 1)
    rows = [row + [""] * (width - len(row)) for row in raw.rows]
    return rows + [[""] * width for _ in range(height - len(rows))]


def _read_here(path: Path) -> list[RawSheet]:
    try:
        return read_all(str(path))
    except (KeyboardInterrupt, SystemExit, MemoryError):
        raise
    except BaseException as error:  # a panic of the library is no Exception
        raise _unreadable(path, type(error).__name__) from error


def _read_in_child(path: Path) -> list[RawSheet]:
    child = Path(__file__).with_name("calamine_child.py")
    try:
        done = subprocess.run(
            [sys.executable, "-I", str(child), str(path.resolve())],
            capture_output=True,
            timeout=_CHILD_SECONDS,
            check=False,
        )
    except subprocess.TimeoutExpired as error:
        raise _unreadable(path, "it takes too long") from error
    if done.returncode:
        words = done.stderr.decode("utf-8", "replace").strip().splitlines()
        raise _unreadable(path, words[-1][:80] if words else "the reader stopped")
    return [RawSheet(*fields) for fields in pickle.loads(done.stdout)]


def _unreadable(path: Path, why: str) -> InputError:
    if "Password" in why or "password" in why:
        return InputError(
            f"{path.name} has a password. Open it, save a copy without the password, use that."
        )
    return InputError(
        f"{path.name} looks like a spreadsheet but cannot be read ({why}). It may be cut short or "
        "damaged: open it in a spreadsheet program and save it again as .xlsx."
    )


def _facts_by_name(found: Examined) -> dict[str, SheetFacts]:
    """Facts of each sheet by its name, by way of the workbook's relations."""
    targets = {}
    for tag in re.findall(
        r"<(?:\w+:)?Relationship\s[^>]*>", found.relations_xml.decode("utf-8", "replace")
    ):
        parts = dict(_ATTRIBUTE.findall(tag))
        target = parts.get("Target", "")
        name = target.lstrip("/") if target.startswith("/") else f"xl/{target}"
        targets[parts.get("Id", "")] = name
    facts = {}
    for tag in re.findall(
        r"<(?:\w+:)?sheet\s[^>]*>", found.workbook_xml.decode("utf-8", "replace")
    ):
        parts = dict(_ATTRIBUTE.findall(tag))
        relation = next((value for key, value in parts.items() if key.endswith(":id")), "")
        part = found.sheets.get(targets.get(relation, ""))
        if part is not None:
            name = unescape(parts.get("name", ""), {"&quot;": '"', "&apos;": "'"})
            facts[name] = part
    return facts


def _tags(name: str, xml: bytes) -> list[str]:
    return re.findall(rf"<(?:\w+:)?{name}\s[^>]*>", xml.decode("utf-8", "replace"))
