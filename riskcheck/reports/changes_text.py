"""What changed since a run and what came of the calls, in lines of at most 80 columns."""

from __future__ import annotations

from collections.abc import Hashable, Mapping, Sequence
from dataclasses import asdict
from typing import Any

import pandas as pd

from riskcheck.actions.etiquette import BAY_RESULTS, CONTACT_RESULTS
from riskcheck.reports import machine, words
from riskcheck.reports.outreach_book import vehicle_names
from riskcheck.reports.run import Run
from riskcheck.reports.withdrawal import Draft
from riskcheck.reports.wrapping import wrapped

FIRST = 20
CHANGE_WORDS = {"new": "new", "gone": "gone", "up": "up", "down": "down"}
BECAUSE_WORDS = {
    "evidence": "the record says something new",
    "rules": "the rules changed",
    "correction": "somebody corrected a fact",
    "clock": "time and miles passed",
    "vehicle_new": "the vehicle is new on the list",
    "vehicle_gone": "the vehicle is no longer on the list",
    "hazard_new": "the hazard is new in the rules",
    "hazard_gone": "the hazard is no longer in the rules",
}
Row = Mapping[Hashable, Any]


def changed(changes: Any, run: Run, *, every: bool = False) -> list[str]:
    """What is new, gone, up or down since a run, each with why."""
    rows, before = changes.rows, changes.before
    counts = rows["change"].value_counts()
    told = ", ".join(f"{counts[code]:,} {CHANGE_WORDS[code]}" for code in CHANGE_WORDS
                     if code in counts)  # fmt: skip
    head = (
        f"Since the run for {before['as_of'].date().isoformat()} ({before['run_id']}), "
        f"judged for {run.as_of.isoformat()}: {told or 'nothing moved'}."
    )
    names = vehicle_names(run.fleet.vehicles)
    shown = rows if every else rows.head(FIRST)
    lines = [*wrapped(head), ""]
    for row in shown.to_dict("records"):
        lines += _change(row, names, run)
    if len(rows) > len(shown):
        lines.append(f"and {len(rows) - len(shown):,} more: see them with --all")
    for row in changes.expired.to_dict("records"):
        lines += wrapped(
            f"Correction lapsed: {row['vehicle_id']} {row['fact']}={row['value']}, "
            f"{row['ended_by']}."
        )
    return lines


def _change(row: Row, names: Mapping[str, str], run: Run) -> list[str]:
    hazard = run.rulebook.hazards.get(row["hazard_id"])
    title = hazard.title if hazard else row["hazard_id"]
    why = words.listing(BECAUSE_WORDS[code] for code in str(row["because"]).split("; "))
    where = f"{_place(row, 'before')} -> {_place(row, 'today')}"
    if _place(row, "before") == _place(row, "today"):
        where = f"{_place(row, 'today')}: {_moved_place(row)}"
    vehicle = names.get(row["vehicle_id"], row["vehicle_id"])
    return [
        *wrapped(f"{vehicle}: {title}", f"{CHANGE_WORDS[row['change']]:<5}"),
        *wrapped(f"{where}; {why}", "     "),
    ]


def _moved_place(row: Row) -> str:
    """Places then and now, unless what moved around this row hides which way it went itself."""
    before, today = (int(row[f"rank_{when}"]) for when in ("before", "today"))
    if (today < before) == (row["change"] == "up") and today != before:
        return f"place {before:,} -> {today:,} of all"
    more = "more" if row["change"] == "up" else "less"
    return f"{more} pressing than before, though others moved past it"


def _place(row: Row, when: str) -> str:
    tier, status = row[f"tier_{when}"], row[f"status_{when}"]
    if pd.notna(tier):
        return words.TIER_WORDS[int(tier)].lower()
    return words.STATUS_WORDS[status] if isinstance(status, str) and status else "not on the list"


def came_of(tally: Any) -> list[str]:
    """What came of the calls: counts, finds, hours, find rate beside the estimate."""
    if not tally.calls and not tally.outcomes:
        return ["", "Nothing has been recorded of calls or finds since."]
    lines = ["", f"What came of it, {tally.since.isoformat()} to {tally.until.isoformat()}"]
    results = ", ".join(f"{CONTACT_RESULTS[c]} {n:,}" for c, n in tally.results.items())
    lines += wrapped(
        f"{words.plural(tally.calls, 'contact')}, {tally.reached:,} reached"
        + (f": {results}" if results else ""),
        "  ",
    )
    if tally.outcomes:
        finds = ", ".join(f"{BAY_RESULTS[c]} {n:,}" for c, n in tally.outcomes.items())
        hours = f"{tally.hours:g} h written down"
        rest = f", {tally.without_hours:,} without hours" if tally.without_hours else ""
        lines += wrapped(f"{finds}; {hours}{rest}", "  ")
        lines += _rate(tally.rate)
    return lines


RATE_WORDS = {
    "above": "we estimated more than is found",
    "below": "we estimated less than is found",
    "within": "the two agree as far as so few looks can tell",
}


def _rate(rate: Any) -> list[str]:
    """Find rate with its Wilson interval, and the estimate for the same looks."""
    of = 100
    low, high = (words.count_of(edge, of) for edge in (rate.low, rate.high))
    told = (
        f"found on {rate.found} of {words.plural(rate.looks, 'look')}: of {of} such looks "
        f"{low} to {high} would find it (90 % score interval, Wilson 1927)"
    )
    lines = wrapped(told, "  ")
    if rate.compared:
        said = (
            f"for {words.plural(rate.compared, 'look')} there was an estimate: {rate.expected:.1f} "
            f"finds expected, {rate.compared_found} made; {RATE_WORDS[rate.verdict]}"
        )
        lines += wrapped(said, "  ")
    return lines


def changes_data(changes: Any, tally: Any, letters: Sequence[Draft]) -> dict[str, Any]:
    """The same for machines."""
    return {
        "schema": machine.SCHEMA,
        "run": str(changes.before["run_id"]),
        "changes": machine.records(changes.rows),
        "expired": machine.records(changes.expired),
        "withdrawals": [
            {**asdict(letter), "faults": [fault.words() for fault in letter.faults]}
            for letter in letters
        ],
        "tally": {
            **asdict(tally),
            "since": tally.since.isoformat(),
            "until": tally.until.isoformat(),
        },
    }
