"""A plan workbook that comes back: what was pinned, forbidden, moved by hand, and told."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path

import pandas as pd

from riskcheck.actions.plan.weeks import WORK_DAYS
from riskcheck.actions.plan.wishes import FOREVER, Planned, Wishes
from riskcheck.sheets import Grid, read_grids

JOB_ID, PLANNED, KEEP, MOVE, TOLD, NOTE = (
    "Job id", "Planned day", "Keep or avoid", "Move to", "Customer told", "Note",
)  # fmt: skip
RULED_OUT = "Weeks ruled out"
KEEP_HERE, NOT_THIS_WEEK, NOT_AT_ALL = "keep this week", "not this week", "not in this plan"
CHOICES = (KEEP_HERE, NOT_THIS_WEEK, NOT_AT_ALL)
__all__ = [
    "CHOICES", "FOREVER", "JOB_ID", "KEEP", "KEEP_HERE", "MOVE", "NOTE", "NOT_AT_ALL",
    "NOT_THIS_WEEK", "PLANNED", "RULED_OUT", "TOLD", "Odd", "Returned", "wishes_of",
]  # fmt: skip
TOLD_YES, TOLD_NO = ("yes", "y", "x", "told"), ("no", "n")
NEEDED = (JOB_ID, PLANNED, KEEP)


@dataclass(frozen=True)
class Odd:
    """A typed cell that was not understood, or not taken as it stands: where, what and why (code):
    no_date, no_choice, no_yes_no, no_day_to_keep, weekend, move_wins.
    """

    sheet: str
    cell: str
    job_id: str
    heading: str
    text: str
    why: str


@dataclass(frozen=True)
class Returned:
    """What was typed into a plan workbook: wishes, notes by job id, and what could not be used."""

    wishes: Wishes = field(default_factory=Wishes)
    notes: Mapping[str, str] = field(default_factory=dict)
    odd: tuple[Odd, ...] = ()


def wishes_of(path: Path) -> Returned:
    """What was typed into a plan workbook, wherever its sheets were moved to.

    Raises InputError where the file cannot be read.  A workbook without such a sheet gives none.
    """
    pinned: dict[str, dt.date] = {}
    forbidden: dict[str, frozenset[dt.date]] = {}
    last: dict[str, Planned] = {}
    notes: dict[str, str] = {}
    odd: list[Odd] = []
    for row, place in _rows(read_grids(path)):
        job_id = _text(row.get(JOB_ID))
        day, move = _day(row.get(PLANNED)), _day(row.get(MOVE))
        wish, told = _text(row.get(KEEP)).casefold(), _text(row.get(TOLD)).casefold()
        for heading, why in _odd(row, day, move):
            sheet, cell = place[heading]
            odd.append(Odd(sheet, cell, job_id, heading, _text(row.get(heading)), why))
        if note := _text(row.get(NOTE)):
            notes[job_id] = note
        if day is not None:
            last[job_id] = Planned(day, told in TOLD_YES)
        if move is not None:
            pinned[job_id] = move
        elif wish == KEEP_HERE and day is not None:
            pinned[job_id] = day
        elif wish == NOT_THIS_WEEK and day is not None:
            forbidden[job_id] = frozenset({day})
        elif wish == NOT_AT_ALL:
            forbidden[job_id] = frozenset({FOREVER})
        earlier = {_day(part) for part in _text(row.get(RULED_OUT)).split(";")} - {None}
        if earlier:
            days = frozenset(one for one in earlier if one is not None)
            forbidden[job_id] = forbidden.get(job_id, frozenset()) | days
    return Returned(Wishes(pinned, forbidden, last), notes, tuple(odd))


def _odd(
    row: Mapping[str, object], day: dt.date | None, move: dt.date | None
) -> Iterator[tuple[str, str]]:
    """Headings of a row whose cell is not understood or not taken as it stands, and why."""
    wish, told = _text(row.get(KEEP)).casefold(), _text(row.get(TOLD)).casefold()
    if _text(row.get(MOVE)) and move is None:
        yield MOVE, "no_date"
    elif move is not None and move.weekday() >= WORK_DAYS:
        yield MOVE, "weekend"
    if wish and wish not in CHOICES:
        yield KEEP, "no_choice"
    elif wish in (KEEP_HERE, NOT_THIS_WEEK) and day is None and move is None:
        yield KEEP, "no_day_to_keep"
    elif wish and move is not None:
        yield KEEP, "move_wins"
    if told and told not in (*TOLD_YES, *TOLD_NO):
        yield TOLD, "no_yes_no"
    if any(part.strip() and _day(part) is None for part in _text(row.get(RULED_OUT)).split(";")):
        yield RULED_OUT, "no_date"


def _rows(
    grids: Iterable[Grid],
) -> Iterator[tuple[dict[str, object], dict[str, tuple[str, str]]]]:
    """Rows of every sheet that has the needed headings: heading to cell, heading to its place."""
    for grid in grids:
        cells = grid.cells
        for place in range(min(len(cells), 12)):
            names = [_text(value) for value in cells.iloc[place]]
            if all(name in names for name in NEEDED):
                for number in range(place + 1, len(cells)):
                    row = dict(zip(names, cells.iloc[number], strict=True))
                    if _text(row.get(JOB_ID)):
                        yield (
                            row,
                            {n: (grid.sheet, grid.address(number, c)) for c, n in enumerate(names)},
                        )
                break


def _text(value: object) -> str:
    return "" if value is None or value is pd.NaT or value != value else str(value).strip()


def _day(value: object) -> dt.date | None:
    """A date cell, or text that starts with an ISO date; None for anything else."""
    if isinstance(value, dt.datetime):
        return None if pd.isna(value) else value.date()
    if isinstance(value, dt.date):
        return value
    try:
        return dt.date.fromisoformat(_text(value)[:10].strip())
    except ValueError:
        return None
