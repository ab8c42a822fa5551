"""Taking a worked-in outreach workbook back: whose rows they are and what was typed into them.

A row is known by its hidden key, checked against what was printed in it; a row whose key was lost
or sorted away from it is known by what is printed in it; everything else is kept as it came.
"""

from __future__ import annotations

import datetime as dt
import hashlib
import json
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

import pandas as pd

from riskcheck.actions import etiquette
from riskcheck.actions.returned_days import ContactDays, contact_days
from riskcheck.actions.returned_known import ISSUE_COLUMNS, SHEET_KIND, Known
from riskcheck.actions.returned_sheets import (
    ABOUT_HEADINGS,
    CHANNEL,
    FLEET_AT,
    INPUTS,
    KEYS_HEADINGS,
    LEDGER_AT,
    ROW_KEY,
    Row,
    Table,
    folded,
    table_of,
    text_of,
)
from riskcheck.ledger import Ledger, LooseRow, TypedCell
from riskcheck.sheets import read_grids

# A key counts only if most of the row is what was printed beside it (common practice, no source).
SAME_ROW = 0.5
_KEY = re.compile("[0-9a-f]{12}")


@dataclass(frozen=True)
class Typed:
    """One cell that somebody wrote into, and where it stands ("sheet, K5")."""

    cell: TypedCell
    where: str


@dataclass(frozen=True)
class Returned:
    """One copy of a workbook as it came back.

    ``issue``: the rows it was sent out with, as its own hidden sheet has them (ISSUE_COLUMNS);
    ``refound``: places of rows known by their print, not by their key; ``unclear``: entries of a
    drop-down or day column that are none of its words.
    """

    path: Path
    run_id: str
    typed: tuple[Typed, ...]
    loose: tuple[LooseRow, ...]
    issue: pd.DataFrame
    refound: tuple[str, ...]
    unclear: tuple[Typed, ...]
    has_rows: bool

    @property
    def cells(self) -> list[TypedCell]:
        """What was typed, as the ledger takes it."""
        return [typed.cell for typed in self.typed]


def read_returned(path: Path, copy_id: str, issued: pd.DataFrame, as_of: dt.date) -> Returned:
    """Read one returned copy.

    ``copy_id``: names this copy among others; ``issued``: the ledger's rows of what was sent out
    (``Ledger.issued()``), empty if it knows none; ``as_of``: the day by which dates are read.
    Raises InputError if the file cannot be read.
    """
    tables = [table_of(grid) for grid in read_grids(path)]
    run_id = _run_id(tables)
    known = Known.of(issued[issued["run_id"] == run_id], _own_issue(tables))
    reading = _Reading(run_id, copy_id, contact_days(tables, as_of), known)
    for table in tables:
        if table.takes_typing:
            reading.take(table)
        elif known.marks and not _is_ours(table):
            reading.take_other(table)
    return reading.result(path, has_rows=any(table.takes_typing for table in tables))


def origin_of(path: Path) -> tuple[Path | None, Path | None]:
    """(fleet file, ledger file) that a workbook says it was made from; None where there is none.

    Both are looked for from the workbook's own folder, then from the working folder.  Raises
    InputError if the file cannot be read.
    """
    said = {
        row.text("What"): row.text("Value").strip()
        for table in (table_of(grid) for grid in read_grids(path))
        if set(ABOUT_HEADINGS) <= set(table.headings)
        for row in table.rows
    }
    return _found(path, said.get(FLEET_AT, "")), _found(path, said.get(LEDGER_AT, ""))


def _found(workbook: Path, place: str) -> Path | None:
    options = (workbook.resolve().parent / place, Path.cwd() / place)
    return next((one.resolve() for one in options if place and one.exists()), None)


def read_issue(path: Path) -> tuple[str, pd.DataFrame]:
    """Run id and rows (ISSUE_COLUMNS) of a workbook as it was just written, with what is printed.

    The sheets themselves are among the rows, of kind ``sheet``, so that a sheet which a person
    adds is known for one.
    """
    tables = [table_of(grid) for grid in read_grids(path)]
    own = _own_issue(tables).set_index("row_key", drop=False)
    printed = {
        row.text(ROW_KEY): _as_json(_printed(row))
        for table in tables
        if table.takes_typing
        for row in table.rows
        if row.text(ROW_KEY)
    }
    rows = pd.DataFrame({"row_key": list(printed), "printed": list(printed.values())})
    names = [name for name in ISSUE_COLUMNS if name != "printed"]
    whole = (
        own.reindex(rows["row_key"])[names].astype(object).fillna("").assign(row_key=list(printed))
    )
    whole["printed"] = list(printed.values())
    rest = own[~own["row_key"].isin(rows["row_key"])]
    sheets = pd.DataFrame(
        [
            {"row_key": f"sheet{n:07d}", "kind": SHEET_KIND, "printed": _sheet_as_json(table)}
            for n, table in enumerate(tables)
        ]
    )
    everything = pd.concat([whole, rest, sheets], ignore_index=True).astype(object).fillna("")
    return _run_id(tables), everything[ISSUE_COLUMNS]


def unrecorded(path: Path, ledger: Ledger, copy_id: str, as_of: dt.date) -> bool:
    """Whether a workbook holds typing that the ledger does not: then it must not be overwritten."""
    back = read_returned(path, copy_id, ledger.issued(), as_of)
    return ledger.unrecorded(back.cells, back.loose)


def _sheet_as_json(table: Table) -> str:
    """A sheet's name and a mark of each of its rows; of sheets for typing the name only."""
    rows = [] if table.takes_typing else sorted({_mark(row) for row in table.rows})
    return json.dumps({"sheet": table.sheet, "rows": rows}, ensure_ascii=False)


def _mark(row: Row) -> str:
    said = "\x1f".join(folded(text_of(cell)) for cell in row.cells.values()).strip("\x1f")
    return hashlib.sha256(said.encode()).hexdigest()[:12]


def _run_id(tables: Sequence[Table]) -> str:
    for table in tables:
        if set(ABOUT_HEADINGS) <= set(table.headings):
            for row in table.rows:
                if row.text("What") == "Run" and _KEY.fullmatch(row.text("Value")):
                    return row.text("Value")
    return ""


def _is_ours(table: Table) -> bool:
    return any(set(names) <= set(table.headings) for names in (ABOUT_HEADINGS, KEYS_HEADINGS))


def _own_issue(tables: Sequence[Table]) -> pd.DataFrame:
    """The rows of the workbook's own hidden sheet of keys."""
    names = dict(zip(KEYS_HEADINGS, ISSUE_COLUMNS[:6], strict=True))
    rows = [
        {name: row.text(heading) for heading, name in names.items()}
        | {"channel": row.text(CHANNEL)}
        for table in tables
        if set(KEYS_HEADINGS) <= set(table.headings) and not table.takes_typing
        for row in table.rows
    ]
    found = pd.DataFrame(rows, columns=ISSUE_COLUMNS).astype(object).fillna("")
    return found.drop_duplicates("row_key").reset_index(drop=True)


def _printed(row: Row) -> dict[str, str]:
    """What is printed in a row: everything but its key and the columns meant for typing."""
    return {
        heading: folded(text_of(cell))
        for heading, cell in row.cells.items()
        if heading not in (ROW_KEY, *INPUTS) and text_of(cell).strip()
    }


def _as_json(printed: Mapping[str, str]) -> str:
    return json.dumps(dict(printed), ensure_ascii=False, sort_keys=True)


class _Reading:
    """Collects what one copy says, table by table."""

    def __init__(self, run_id: str, copy_id: str, days: ContactDays, known: Known) -> None:
        self._run_id, self._copy_id, self._days_of, self._known = run_id, copy_id, days, known
        self._typed: list[Typed] = []
        self._loose: list[LooseRow] = []
        self._refound: list[str] = []
        self._unclear: list[Typed] = []

    def result(self, path: Path, *, has_rows: bool) -> Returned:
        return Returned(
            path,
            self._run_id,
            tuple(self._typed),
            tuple(self._loose),
            self._known.issue,
            tuple(self._refound),
            tuple(self._unclear),
            has_rows,
        )

    def take(self, table: Table) -> None:
        """Read one table that people write into."""
        days = self._days_of(table)
        printed_headings = {h for said in self._known.printed.values() for h in said}
        for row, day in zip(table.rows, days, strict=True):
            meanings = _meanings(row, day)
            key, why = self._key_of(row)
            if why:
                self._take_loose(row, why, meanings)
            else:
                self._take_known(row, key, meanings, printed_headings)

    def take_other(self, table: Table) -> None:
        """Keep every row of another sheet that is not as we wrote it (a person's own sheet too)."""
        for row in table.rows:
            if _mark(row) not in self._known.marks:
                self._take_loose(row, "other_sheet", {})

    def _key_of(self, row: Row) -> tuple[str, str]:
        """(row key, "") of a row of ours, else ("", why it is not)."""
        key, printed, known = row.text(ROW_KEY).strip(), _printed(row), self._known
        if key in known.keys or (_KEY.fullmatch(key) and not known.keys):
            if known.share(key, printed) >= SAME_ROW:
                return key, ""
            again, why = known.by_print(printed), "mixed_up"
        else:
            again, why = known.by_print(printed), "unknown_key" if key else "added"
        if again:
            self._refound.append(f"{row.sheet}, row {row.number}")
            return again, ""
        return "", why

    def _take_known(
        self, row: Row, key: str, meanings: Mapping[str, str], printed_headings: set[str]
    ) -> None:
        for heading in row.cells:
            said = row.text(heading)
            if heading == ROW_KEY or not said.strip():
                continue
            if heading not in INPUTS and not self._is_typed(key, heading, said, printed_headings):
                continue
            cell = TypedCell(
                self._run_id, key, heading, self._copy_id, said, meanings.get(heading, "")
            )
            typed = Typed(cell, f"{row.sheet}, {row.places[heading]}")
            self._typed.append(typed)
            if heading in INPUTS and heading != "Note" and not cell.meaning:
                self._unclear.append(typed)

    def _is_typed(self, key: str, heading: str, said: str, printed_headings: set[str]) -> bool:
        """Whether a cell outside the input columns differs from what was printed."""
        printed = self._known.printed.get(key)
        if printed is None:
            return False  # nobody knows what was printed here
        if heading in printed:
            return folded(said) != printed[heading]
        return bool(printed) or heading not in printed_headings

    def _take_loose(self, row: Row, why: str, meanings: Mapping[str, str]) -> None:
        cells = {h: row.text(h) for h in row.cells if h != ROW_KEY and row.text(h).strip()}
        if not cells or all(folded(text) == heading for heading, text in cells.items()):
            return
        if why == "mixed_up" and not set(INPUTS) & set(cells):
            return
        said = [folded(text) for text in cells.values()]
        vehicle = next((text for text in said if text in self._known.vehicles), "")
        person = next((text for text in said if text in self._known.people), "")
        self._loose.append(
            LooseRow(
                self._run_id,
                row.sheet,
                why,
                cells,
                person or self._known.vehicles.get(vehicle, ""),
                vehicle,
                {heading: code for heading, code in meanings.items() if code},
            )
        )


def _meanings(row: Row, day: str) -> dict[str, str]:
    return {
        "Date": day,
        "Result": etiquette.code_of(row.text("Result"), etiquette.RESULTS),
        "Next step": etiquette.code_of(row.text("Next step"), etiquette.NEXT_STEPS),
    }
