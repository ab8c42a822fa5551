"""A plan workbook that comes back: what was pinned, forbidden, moved by hand, and told."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable
from pathlib import Path

import pandas as pd

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
    "NOT_THIS_WEEK", "PLANNED", "RULED_OUT", "TOLD", "wishes_of",
]  # fmt: skip
NEEDED = (JOB_ID, PLANNED, KEEP)


def wishes_of(path: Path) -> tuple[Wishes, dict[str, str]]:
    """Wishes and notes (by job id) typed into a plan workbook, wherever its sheets were moved to.

    Raises InputError where the file cannot be read.  A workbook without such a sheet gives none.
    """
    pinned: dict[str, dt.date] = {}
    forbidden: dict[str, frozenset[dt.date]] = {}
    last: dict[str, Planned] = {}
    notes: dict[str, str] = {}
    for row in _rows(read_grids(path)):
        job_id = _text(row.get(JOB_ID))
        day, move = _day(row.get(PLANNED)), _day(row.get(MOVE))
        wish = _text(row.get(KEEP)).casefold()
        told = _text(row.get(TOLD)).casefold() in ("yes", "y", "x", "told")
        if note := _text(row.get(NOTE)):
            notes[job_id] = note
        if day is not None:
            last[job_id] = Planned(day, told)
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
    return Wishes(pinned, forbidden, last), notes


def _rows(grids: Iterable[Grid]) -> Iterable[dict[str, object]]:
    """Rows of every sheet that has the needed headings, as heading to cell."""
    for grid in grids:
        cells = grid.cells
        for place in range(min(len(cells), 12)):
            names = [_text(value) for value in cells.iloc[place]]
            if all(name in names for name in NEEDED):
                for values in cells.iloc[place + 1 :].itertuples(index=False):
                    row = dict(zip(names, values, strict=True))
                    if _text(row.get(JOB_ID)):
                        yield row
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
        return dt.date.fromisoformat(_text(value)[:10])
    except ValueError:
        return None
