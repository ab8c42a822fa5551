"""The letter that takes back what a customer was told, once a correction has lowered it.

Drafts only: a person reads and sends them.  One denominator a letter, as everywhere.
"""

from __future__ import annotations

import textwrap
from collections.abc import Hashable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Protocol

import pandas as pd

from riskcheck import calm
from riskcheck.reports import chances, words
from riskcheck.reports.outreach_book import vehicle_names
from riskcheck.reports.run import Run
from riskcheck.reports.wrapping import WIDTH, wrapped
from riskcheck.rulebook.model import Hazard
from riskcheck.sheets import one_line

Row = Mapping[Hashable, Any]


class Withdrawn(Protocol):
    """What is needed of the changes since a run."""

    @property
    def withdrawals(self) -> pd.DataFrame: ...
    @property
    def corrections(self) -> pd.DataFrame: ...
    @property
    def before(self) -> Any: ...


@dataclass(frozen=True)
class Draft:
    """One letter: to whom, about which vehicle and hazard, its text, and faults of its language."""

    customer_id: str
    name: str
    vehicle_id: str
    hazard_id: str
    text: str
    faults: tuple[calm.Fault, ...]


def drafts(changes: Withdrawn, run: Run) -> list[Draft]:
    """A letter for every row of ``changes.withdrawals``."""
    customers = run.fleet.customers.drop_duplicates("customer_id").set_index("customer_id")["name"]
    names = vehicle_names(run.fleet.vehicles)
    made = []
    for row in changes.withdrawals.to_dict("records"):
        hazard = run.rulebook.hazards[row["hazard_id"]]
        vehicle = names.get(row["vehicle_id"], row["vehicle_id"])
        name = str(customers.get(row["customer_id"], ""))
        text = "\n\n".join(
            (
                f"Dear {name}," if name else "Good day,",
                _what_was_said(row, hazard, vehicle, changes.before["as_of"].date().isoformat()),
                _why(row, changes.corrections, run),
                _what_is_so(row, run.horizon_months),
                "We are sorry for the worry. This speaks of this one point only; it tells nothing "
                "about the rest of the vehicle, which we have not looked at for this letter. If "
                "you have booked because of it, or notice anything unusual, please call us.",
            )
        )
        faults = calm.faults(text, names=(name, vehicle))
        made.append(Draft(row["customer_id"], name, row["vehicle_id"], hazard.id, text, faults))
    return made


def _what_was_said(row: Row, hazard: Hazard, vehicle: str, day: str) -> str:
    told = _frequencies(row)[0]
    if row["evidence_before"] == "confirmed":
        said = "that our record said it had been found"
    elif row["status_before"] == "unknown":
        said = "that we did not know whether it concerns your vehicle, and asked to find out"
    elif told:
        said = f"that we expected it on {told}"
    else:
        said = "that we did not know how likely it is on your vehicle, and asked for a look"
    return (
        f"After our list of {day} we spoke with you about your {vehicle}: "
        f"{hazard.title[:1].lower() + hazard.title[1:]}. What we told you was {said}."
    )


def _why(row: Row, corrections: pd.DataFrame, run: Run) -> str:
    numbers = str(row["corrections_today"] or "").split("; ")
    own = corrections[corrections["correction_id"].astype(str).isin(numbers)]
    if "correction" in str(row["because"]) and len(own):
        told = [
            f'"{run.rulebook.vocabulary[fact].meaning}": {str(value).replace("_", " ")}'
            for fact, value in zip(own["fact"], own["value"], strict=True)
        ]
        return f"Since then we have put our own record right. It now says, on {'; '.join(told)}."
    if "correction" in str(row["because"]):
        return "Since then an entry in our own record, on which this rested, was taken back."
    return "Since then we have put right how we estimate this."


def _what_is_so(row: Row, months: int) -> str:
    status = row["status_today"]
    if pd.isna(status) or status == "not_applicable":
        return "By what is on file now, this point does not concern your vehicle."
    if status == "closed":
        return "By what is on file now, this point is settled for your vehicle."
    if status == "unknown":
        return "By what is on file now we do not know whether it concerns your vehicle."
    now = _frequencies(row)[1]
    if not now:
        return "By what is on file now, nothing has been found on your vehicle."
    return f"By what is on file now we expect it on {now} within {words.period(months)}."


def _frequencies(row: Row) -> tuple[str, str]:
    """The chance then and today, with one denominator; "" where there is no figure."""
    names = ("probability", "probability_low", "probability_high")
    then, today = ([row[f"{name}_{when}"] for name in names] for when in ("before", "today"))
    known = [figure for figure in (*then, *today) if pd.notna(figure)]
    of = words.denominator(known)

    def told(figures: list[float]) -> str:
        # "40 of 100 (0 to 100)" would tell the reader nothing.
        if any(pd.isna(figure) for figure in figures) or (
            figures[2] - figures[1] > chances.WIDEST_RANGE
        ):
            return ""
        many, low, high = figures
        return words.frequency(many, low, high, of, "such vehicles")

    return told(then), told(today)


def as_text(letters: Sequence[Draft]) -> str:
    """All drafts as one text file, one after the other."""
    pages = []
    for letter in letters:
        body = "\n\n".join(textwrap.fill(part, WIDTH) for part in letter.text.split("\n\n"))
        head = f"Draft for {letter.customer_id or letter.vehicle_id}, {letter.hazard_id}"
        notes = "".join(f"\nCheck: {fault.words()}" for fault in letter.faults)
        pages.append(f"{head}\n{'-' * len(head)}\n{body}\n{notes}".rstrip() + "\n")
    return "\n\n".join(pages)


def lines(letters: Sequence[Draft]) -> list[str]:
    """The drafts for the terminal, after a line that says what they are."""
    if not letters:
        return []
    count = words.plural(len(letters), "customer was told something", "times a customer was told "
                         "something")  # fmt: skip
    head = f"{count} that a correction has lowered since. Drafts, to be read before sending:"
    drafted = [one_line(line) for line in as_text(letters).splitlines()]
    return ["", *wrapped(head), "", *drafted]
