"""Recording what people bring back: workbooks, corrections, finds at the bay."""

from __future__ import annotations

import datetime as dt
import hashlib
import platform
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import pandas as pd

from riskcheck.actions.etiquette import BAY_RESULTS
from riskcheck.actions.returned import Returned, Typed, read_returned, unrecorded
from riskcheck.errors import InputError, UsageError
from riskcheck.ledger import Correction, Ledger, LooseRow, Merge, Outcome
from riskcheck.reasoning.silence import code_of_words
from riskcheck.rulebook import Rulebook
from riskcheck.rulebook.checks.values import constant_faults
from riskcheck.rulebook.validate import suggestion
from riskcheck.rulebook.worksheet import value_of
from riskcheck.sheets import one_line
from riskcheck.sheets.open_elsewhere import open_elsewhere

COPY_DIGITS = 16


@dataclass(frozen=True)
class Recorded:
    """What recording some copies did.

    ``merge`` has the kind of each cell; ``conflicts`` the cells on which copies disagree (all of
    the runs concerned: run_id, row_key, heading, values); ``still_open`` names copies that a
    spreadsheet program has open, so that unsaved typing may be missing.
    """

    copies: tuple[Returned, ...]
    merge: Merge
    conflicts: pd.DataFrame
    still_open: tuple[str, ...]

    def of_kind(self, kind: str) -> list[Typed]:
        """The typed cells that were new, same, revised or in conflict."""
        return [
            typed
            for copy in self.copies
            for typed in copy.typed
            if self.merge.kinds[(*typed.cell.place, typed.cell.copy_id)] == kind
        ]

    @property
    def loose(self) -> list[LooseRow]:
        """Rows that belong to no row we sent out; they are kept as they are."""
        return [row for copy in self.copies for row in copy.loose]


def copy_id_of(path: Path) -> str:
    """Names one copy of a workbook: by machine and place, so that its later states follow it."""
    said = f"{platform.node()}|{path.resolve()}"
    return hashlib.sha256(said.encode()).hexdigest()[:COPY_DIGITS]


def record_workbooks(
    ledger: Ledger, paths: Sequence[Path], *, at: dt.datetime, by: str
) -> Recorded:
    """Take worked-in workbooks back, all of them in one transaction.

    Raises InputError if one of them cannot be read (then none is recorded) or holds no row that
    people write into.
    """
    issued = ledger.issued()
    copies = [read_returned(path, copy_id_of(path), issued, at.date()) for path in paths]
    for copy in copies:
        if not copy.has_rows:
            raise InputError(
                f"{copy.path.name} has no sheet with the headings Result, Date, Note, Next step: "
                "it is not an outreach workbook. Nothing was recorded."
            )
    for copy in copies:
        if copy.run_id and len(copy.issue):
            ledger.record_issue(copy.run_id, copy.issue)
    merge = ledger.record_typed(
        [cell for copy in copies for cell in copy.cells],
        [row for copy in copies for row in copy.loose],
        source=", ".join(copy.path.name for copy in copies),
        at=at,
        by=by,
    )
    runs = {copy.run_id for copy in copies}
    conflicts = ledger.conflicts()
    return Recorded(
        tuple(copies),
        merge,
        conflicts[conflicts["run_id"].isin(runs)].reset_index(drop=True),
        tuple(copy.path.name for copy in copies if open_elsewhere(copy.path)),
    )


def holds_unrecorded(ledger: Ledger, path: Path, as_of: dt.date) -> bool:
    """Whether a workbook at ``path`` holds typing that was not recorded; False if there is none.

    A file that cannot be read counts as holding some: it is not ours to overwrite.
    """
    if not path.exists():
        return False
    try:
        return unrecorded(path, ledger, copy_id_of(path), as_of)
    except InputError:
        return True


def record_statement(
    ledger: Ledger, book: Rulebook, vehicle_id: str, statement: str, because: str,
    *, at: dt.datetime, by: str,
) -> Correction:  # fmt: skip
    """Keep ``fact=value`` of a vehicle, with the reason; it outranks the record from now on.

    Raises UsageError for a fact or value that the vocabulary does not know, or no reason.
    """
    name, value = stated_fact(book, statement)
    if not because.strip():
        raise UsageError('Say why: --because "what you saw, measured or were told".')
    correction = Correction(vehicle_id, name, value, one_line(because).strip())
    ledger.add_correction(correction, at=at, by=by)
    return correction


def stated_fact(book: Rulebook, statement: str) -> tuple[str, bool | str | float]:
    """``name=value`` as a fact of the vocabulary and one of its values."""
    name, equals, text = (part.strip() for part in statement.partition("="))
    if not equals or not text:
        raise UsageError(f"{statement!r} is not of the form fact=value.")
    if name not in book.vocabulary:
        raise UsageError(
            f"There is no fact {name!r}; {suggestion(name, list(book.vocabulary))}. A find at the "
            f"bay is recorded as HAZARD={'|'.join(BAY_RESULTS)}."
        )
    fact = book.vocabulary[name]
    code = None if fact.kind == "number" else code_of_words(fact, text)
    value = value_of(fact, text if code is None else fact.codes[code])
    for what, instead in constant_faults(fact, value):
        raise UsageError(f"{statement}: {what}; {instead}")
    return name, value


def is_outcome(book: Rulebook, statement: str) -> bool:
    """Whether a statement speaks of a hazard (a find), not of a fact (a correction)."""
    return statement.partition("=")[0].strip() in book.hazards


def checked_find(statement: str, blank: Outcome) -> Outcome:
    """``HAZARD=found|not_found|other|failed`` put into ``blank`` (vehicle, date, hours, note).

    Raises UsageError for another word.
    """
    hazard_id, _, word = (part.strip() for part in statement.partition("="))
    if word not in BAY_RESULTS:
        raise UsageError(f"{statement}: say one of {', '.join(BAY_RESULTS)}.")
    return Outcome(blank.vehicle_id, hazard_id, blank.date, word, blank.hours, blank.note)


def record_find(
    ledger: Ledger, statement: str, blank: Outcome, *, at: dt.datetime, by: str
) -> Outcome:
    """Keep what the bay found (see ``checked_find``)."""
    find = checked_find(statement, blank)
    ledger.add_outcome(find, at=at, by=by)
    return find
