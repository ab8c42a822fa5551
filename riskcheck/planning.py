"""Plan a fleet's jobs: assess, settle the weeks, write workbook, calendar, table and picture."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path

import pandas as pd

from riskcheck import assessment, sheets
from riskcheck.actions.known import Memory
from riskcheck.actions.plan import (
    OUTCOME_COLUMNS,
    Asked,
    Effort,
    Odd,
    Plan,
    Returned,
    Weeks,
    Wishes,
    make_plan,
    wishes_of,
)
from riskcheck.actions.plan.shop import with_hours
from riskcheck.assessment import Progress
from riskcheck.errors import InputError, UsageError
from riskcheck.fleet import Fleet
from riskcheck.fleet.model import NO_HOURS
from riskcheck.ledger import Ledger
from riskcheck.reports import plan_book, plan_calendar, plan_picture, plan_table

MOST_WEEKS = 26
WORKBOOK, BEFORE = "plan.xlsx", "plan-before.xlsx"


@dataclass(frozen=True)
class Wanted:
    """What a plan is asked for.

    weeks: how many, from the week of ``start`` (default: the as-of day); customers: only these
    (id or name of customer or fleet; empty: all); wishes: what people settled already; last: the
    workbook of the plan before, with what was typed into it; price_more: solve again for the worth
    of one more of what is short.
    """

    weeks: int = 13
    start: dt.date | None = None
    customers: Sequence[str] = ()
    wishes: Wishes = field(default_factory=Wishes)
    last: Path | None = None
    price_more: bool = False
    effort: Effort = field(default_factory=Effort)


@dataclass(frozen=True, eq=False)
class Planned:
    """An assessment, the plan made of it, and from the last one: notes (by job id) carried over,
    and cells, typed there or in the shop's own sheets, that could not be used as they stand.
    """

    assessment: assessment.Assessment
    plan: Plan
    notes: Mapping[str, str]
    odd: tuple[Odd, ...] = ()


def plan(
    path: str | Path,
    *,
    as_of: dt.date,
    wanted: Wanted | None = None,
    ledger: Ledger | None = None,
    horizon_months: int = 12,
    rules: Sequence[str | Path] = (),
    mapping: Sequence[str] = (),
    progress: Progress = lambda stage: None,
) -> Planned:
    """Assess a fleet, with the corrections on file, and plan its jobs; nothing is written.

    Raises InputError and RulebookError as ``assess`` does, UsageError where the weeks cannot be
    planned or no customer answers to a name.
    """
    wanted = wanted or Wanted()
    if not 1 <= wanted.weeks <= MOST_WEEKS:
        raise UsageError(f"A plan holds 1 to {MOST_WEEKS} weeks, not {wanted.weeks}.")
    start = wanted.start or as_of
    if start < as_of:
        raise UsageError(
            f"The plan would start on {start}, before the day it is judged by ({as_of}). "
            "Choose a later --from, or an earlier --as-of."
        )
    judged = assessment.assess(
        path,
        as_of=as_of,
        horizon_months=horizon_months,
        rules=rules,
        mapping=mapping,
        corrections=None if ledger is None else ledger.corrections(as_of),
        progress=progress,
    )
    typed = Returned() if wanted.last is None else wishes_of(wanted.last)
    check_bays(judged.fleet)
    progress("planning")
    made = make_plan(
        Asked(
            exposures=judged.exposures,
            fleet=judged.fleet,
            usage=judged.usage,
            book=judged.rulebook,
            as_of=as_of,
            weeks=Weeks(start, wanted.weeks),
            horizon_months=horizon_months,
            wishes=wanted.wishes.over(typed.wishes),
            customers=customers_named(judged, wanted.customers),
            effort=wanted.effort,
            outcomes=_outcomes(ledger),
            price_more=wanted.price_more,
            memory=_memory(ledger),
        )
    )
    return Planned(judged, made, typed.notes, (*typed.odd, *_odd_hours(judged.fleet)))


def check_bays(fleet: Fleet) -> None:
    """Raises InputError where there is a bays sheet, but no bay in it that a plan could use."""
    taken = fleet.reports[fleet.reports["taken_for"].eq("bays")]
    if taken.empty or not with_hours(fleet.bays).empty:
        return
    where = f"{taken['file'].iloc[0]}, sheet {taken['sheet'].iloc[0]!r}"
    rows = [f"{cell} ({was})" for _, cell, was in rows_without_hours(fleet)] or ["no row"]
    raise InputError(
        f"{where}: none of its bays can be used: {', '.join(rows)}. Write one row a bay: its name "
        "and the hours a day that it is open (above 0, at most 24), such as 1 and 8. Without a "
        "bays sheet the plan assumes bays that are all alike."
    )


def _odd_hours(fleet: Fleet) -> list[Odd]:
    return [
        Odd(sheet, cell, "", "Hours per day", was, "no_hours")
        for sheet, cell, was in rows_without_hours(fleet)
    ]


def rows_without_hours(fleet: Fleet) -> list[tuple[str, str, str]]:
    """(sheet, cell, what is written) of bays and technicians whose hours a day cannot be used."""
    own = fleet.problems[fleet.problems["reason"].eq(NO_HOURS)]
    return [(str(r["sheet"]), str(r["cell"]), str(r["was"])) for r in own.to_dict("records")]


def _memory(ledger: Ledger | None) -> Memory | None:
    """What the ledger knows of talk with customers; None without one."""
    if ledger is None:
        return None
    return Memory(contacts=ledger.contacts(), consents=ledger.consents())


def _outcomes(ledger: Ledger | None) -> pd.DataFrame:
    """What was found or not, of the ledger; empty without one."""
    if ledger is None:
        return pd.DataFrame({name: pd.Series(dtype=object) for name in OUTCOME_COLUMNS})
    return ledger.outcomes()[list(OUTCOME_COLUMNS)]


def customers_named(judged: assessment.Assessment, names: Sequence[str]) -> tuple[str, ...]:
    """Customer ids for ids, customer names or fleet names; UsageError for one that is not known."""
    people = judged.fleet.customers
    found: list[str] = []
    for name in names:
        lowered = name.casefold().strip()
        own = people[
            people["customer_id"].str.casefold().eq(lowered)
            | people["name"].str.casefold().eq(lowered)
            | people["fleet"].str.casefold().eq(lowered)
        ]
        if own.empty:
            fleets = sorted({str(one) for one in people["fleet"] if one})
            known = f" Fleets on file: {', '.join(fleets)}." if fleets else ""
            raise UsageError(f"No customer or fleet is called {name!r}.{known}")
        found += own["customer_id"].astype(str).tolist()
    return tuple(dict.fromkeys(found))


def write(planned: Planned, out: Path) -> dict[str, Path]:
    """Write plan.xlsx, plan.ics, plan.csv, plan.svg and plan.png into ``out``; name -> path.

    A plan.xlsx that is there already is kept as plan-before.xlsx: it may hold more typing than the
    yellow cells that this plan carried over.
    """
    out.mkdir(parents=True, exist_ok=True)
    plan = planned.plan
    book = out / WORKBOOK
    if book.exists():
        sheets.replace_file(out / BEFORE, book.read_bytes())
    table = plan_table.table(plan)
    return {
        WORKBOOK: sheets.write_workbook(book, plan_book.workbook(plan, planned.notes)),
        "plan.ics": sheets.replace_file(out / "plan.ics", plan_calendar.calendar(plan)),
        "plan.csv": sheets.write_csv(out / "plan.csv", table, decimals=plan_table.DECIMALS),
        "plan.svg": sheets.replace_file(out / "plan.svg", plan_picture.draw(plan, "svg")),
        "plan.png": sheets.replace_file(out / "plan.png", plan_picture.draw(plan, "png")),
    }
