"""What was recorded and what the ledger holds, in lines of at most 80 columns."""

from __future__ import annotations

from collections.abc import Hashable, Iterable, Mapping
from dataclasses import asdict
from typing import Any, Protocol

import pandas as pd

from riskcheck.actions.etiquette import BAY_RESULTS, NEXT_STEPS
from riskcheck.actions.returned import Returned, Typed
from riskcheck.actions.wishes import refused_channels, says_gone
from riskcheck.ledger import Correction, Ledger, LooseRow, Merge, Outcome
from riskcheck.ledger.facts import words_of
from riskcheck.reports import machine, words
from riskcheck.reports.wrapping import wrapped
from riskcheck.rulebook.model import Hazard
from riskcheck.vocabulary import Fact

FIRST = 20
FREE_WORDS = ("Result", "Note")
LOOSE_WORDS = {
    "added": "a row that somebody added",
    "unknown_key": "a row of another list",
    "mixed_up": "a row whose customer and hidden key do not belong together",
    "other_sheet": "a line on another sheet",
}
NO_CONTACT_WORDS = (
    "Read as a wish not to be contacted: no more calls, texts or e-mails until somebody writes "
    "otherwise in that cell; a safety matter goes by letter"
)
DAY_WORDS = (
    "No clear day: it can be read two ways, or lies more than a year ahead. Write it as "
    "2026-10-02; until then the day of recording counts"
)
GONE_WORDS = (
    "Read as a vehicle that is gone. It leaves the list if the customer has one vehicle; of "
    "several, which one? Write its number into the note"
)
JOB_WORDS = (
    "The rules use it; how far the part is through its life is still counted from the service "
    "lines, so write the job down there too."
)


class Recorded(Protocol):
    """What is needed of a recording (see ``remembering.Recorded``)."""

    @property
    def copies(self) -> tuple[Returned, ...]: ...
    @property
    def merge(self) -> Merge: ...
    @property
    def conflicts(self) -> pd.DataFrame: ...
    @property
    def still_open(self) -> tuple[str, ...]: ...
    @property
    def loose(self) -> list[LooseRow]: ...
    def of_kind(self, kind: str) -> list[Typed]: ...


def recorded(done: Recorded) -> list[str]:
    """What recording some copies did, what it could not place, where copies disagree."""
    merge, names = done.merge, ", ".join(copy.path.name for copy in done.copies)
    counts = [
        (merge.count("new"), "new"),
        (merge.count("revised"), "written on or over"),
        (merge.count("conflict"), "in conflict"),
        (merge.count("same"), "known before"),
    ]
    told = ", ".join(f"{count:,} {said}" for count, said in counts if count) or "nothing typed in"
    lines = wrapped(f"{names}: {told}.")
    lines += _conflicts(done)
    lines += _listed("Written over (the earlier words are kept)", _cells(done.of_kind("revised")))
    unclear = [typed for copy in done.copies for typed in copy.unclear]
    days = [one for one in unclear if one.cell.heading == "Date"]
    lines += _listed(DAY_WORDS, _cells(days))
    others = (one for one in unclear if one.cell.heading != "Date")
    lines += _listed("Kept as typed, but none of the listed words", _cells(others))
    fresh = [*done.of_kind("new"), *done.of_kind("revised"), *done.of_kind("conflict")]
    lines += _listed(NO_CONTACT_WORDS, _cells(one for one in fresh if _asks_for_quiet(one)))
    lines += _listed(GONE_WORDS, _cells(one for one in fresh if _says_gone(one)))
    if merge.loose_added:
        lines += _listed("Kept as they are, belonging to no row of ours", map(_loose, done.loose))
    again = [place for copy in done.copies for place in copy.refound]
    lines += _listed("Known again by what is printed in the row", again)
    for name in done.still_open:
        lines += wrapped(f"{name} is open in a spreadsheet program: what is not saved there "
                       "was not recorded. Save it and record again.")  # fmt: skip
    return lines


def recorded_data(done: Recorded) -> dict[str, Any]:
    """The same for machines."""
    return {
        "schema": machine.SCHEMA,
        "files": [copy.path.name for copy in done.copies],
        "runs": sorted({copy.run_id for copy in done.copies}),
        "cells": {kind: done.merge.count(kind) for kind in ("new", "same", "revised", "conflict")},
        "conflicts": machine.records(done.conflicts),
        "unclear": [typed.where for copy in done.copies for typed in copy.unclear],
        "loose_rows": [asdict(row) for row in done.loose],
        "still_open": list(done.still_open),
    }


def _conflicts(done: Recorded) -> list[str]:
    """Cells on which copies disagree, by where they stand in a copy that was just recorded."""
    where = {typed.cell.place: typed.where for copy in done.copies for typed in copy.typed}
    rows = zip(
        *(done.conflicts[n] for n in ("run_id", "row_key", "heading", "values")), strict=True
    )
    return _listed(
        "Copies disagree; both are kept until one copy is changed and recorded again",
        (
            f"{where.get((run_id, key, heading), f'row {key}')}, {heading}: {values}"
            for run_id, key, heading, values in rows
        ),
    )


def _cells(typed: Iterable[Typed]) -> Iterable[str]:
    return (f"{one.where}, {one.cell.heading}: {one.cell.value}" for one in typed)


def _asks_for_quiet(typed: Typed) -> bool:
    cell = typed.cell
    listed = cell.heading == "Result" and cell.meaning == "opt_out"
    return listed or (cell.heading in FREE_WORDS and bool(refused_channels(cell.value)))


def _says_gone(typed: Typed) -> bool:
    cell = typed.cell
    listed = cell.heading == "Result" and cell.meaning == "sold"
    return listed or (cell.heading in FREE_WORDS and says_gone(cell.value))


def _loose(row: LooseRow) -> str:
    said = "; ".join(f"{heading}: {text}" for heading, text in row.cells.items())
    return f"{row.sheet}, {LOOSE_WORDS[row.why]}: {said}"


def corrected(made: Correction, fact: Fact, by: str) -> list[str]:
    """One correction as it now stands."""
    lines = wrapped(
        f"{made.vehicle_id}: {fact.meaning}: {words_of(made.value)} (by {by}, "
        f"because {made.because}). It outranks the record from the next run on."
    )  # fmt: skip
    if fact.derivation.kind in ("since", "count"):
        lines += wrapped(JOB_WORDS)
    return lines


def found(find: Outcome, hazard: Hazard) -> list[str]:
    """One find at the bay as it now stands."""
    took = "" if find.hours is None else f", {find.hours:g} h"
    said = f"{find.vehicle_id}, {hazard.title}: {BAY_RESULTS[find.outcome]}{took}."
    return wrapped(said)


def _promise(row: Mapping[Hashable, Any]) -> dict[str, str]:
    step = NEXT_STEPS.get(str(row["next_step"]), str(row["next_step"]))
    about = str(row["vehicle_id"] or "")
    day = "" if pd.isna(row["due"]) else str(row["due"])[:10]
    return {"contact": str(row["contact"]), "vehicle_id": about, "next_step": step, "said_on": day,
            "note": str(row["note"])}  # fmt: skip


def _promise_line(promise: Mapping[str, str]) -> str:
    about = f", {promise['vehicle_id']}" if promise["vehicle_id"] else ""
    day = f" (said on {promise['said_on']})" if promise["said_on"] else ""
    note = f": {promise['note']}" if promise["note"] else ""
    return f"{promise['contact']}{about}: {promise['next_step']}{day}{note}"


def held(ledger: Ledger) -> dict[str, Any]:
    """What a ledger holds: counts, the last run, what waits for somebody."""
    runs = ledger.runs()
    return {
        "where": ledger.where,
        "runs": len(runs),
        "last_run": "" if runs.empty else str(runs["as_of"].iloc[-1].date()),
        "contacts": len(ledger.contacts()),
        "corrections": len(ledger.corrections()),
        "outcomes": len(ledger.outcomes()),
        "promises": [_promise(row) for row in ledger.promises().to_dict("records")],
        "conflicts": len(ledger.conflicts()),
        "loose_rows": len(ledger.loose_rows()),
        "digest": ledger.digest(),
    }


def held_lines(held: Mapping[str, Any]) -> list[str]:
    """The same in words."""
    run = f", the last for {held['last_run']}" if held["last_run"] else ""
    return [
        *wrapped(str(held["where"])),
        f"  {words.plural(held['runs'], 'run')}{run}",
        f"  {words.plural(held['contacts'], 'written-in row')}, "
        f"{words.plural(held['outcomes'], 'find')}, "
        f"{words.plural(held['corrections'], 'correction')} in force",
        f"  waiting: {words.plural(len(held['promises']), 'promise')}, "
        f"{words.plural(held['conflicts'], 'conflict')}, "
        f"{words.plural(held['loose_rows'], 'row')} that belong to none of ours",
        *_listed("Promised", map(_promise_line, held["promises"])),
    ]


def forgotten(customer_id: str, removed: Mapping[str, int]) -> list[str]:
    """What a purge removed, and what it cannot reach."""
    if not removed:
        return wrapped(
            f"Nobody of the id {customer_id} is known to this ledger; nothing was removed. Ids "
            "are written as in the fleet file."
        )
    counted = words.listing(f"{count:,} from {name}" for name, count in removed.items())
    return [
        *wrapped(f"Removed: {counted or 'nothing'}."),
        *wrapped(
            "Not touched: the fleet file, workbooks and backups made earlier, and copies kept "
            "before a migration (NAME.version-N). Delete those yourself."
        ),
    ]


def _listed(head: str, items: Iterable[str]) -> list[str]:
    told = list(items)
    if not told:
        return []
    lines = wrapped(f"{head} ({len(told):,}):")
    for item in told[:FIRST]:
        lines += wrapped(item, "  ", "    ")
    rest = len(told) - FIRST
    return [*lines, f"  and {rest:,} more"] if rest > 0 else lines
