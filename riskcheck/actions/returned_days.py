"""Days typed into a returned workbook: day and month in the shop's order, no day out of reach."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Callable, Sequence

import pandas as pd

from riskcheck.actions.returned_sheets import ABOUT_HEADINGS, Table
from riskcheck.fleet.dates import read_dates

ContactDays = Callable[[Table], list[str]]
# A day further ahead is a slip of the pen (common practice, no source).
DAYS_AHEAD = 366
_TWO_WAYS = re.compile(r"\s*\d{1,2}[/.\-]\d{1,2}[/.\-]'?(?:\d{2}|\d{4})\s*")


def contact_days(tables: Sequence[Table], as_of: dt.date) -> ContactDays:
    """How the days of one workbook are read: a function from a table to its days, ISO.

    A day with two readings has the order that all dates of the workbook show; failing that, the
    one reading that is not before the list itself nor after ``as_of``, the day of recording.  ""
    where there is no day, where both remain possible, or more than a year ahead.
    """
    everything = [row.cells.get("Date") for t in tables if t.takes_typing for row in t.rows]
    order = read_dates(_series(everything), as_of).order
    fallback = order if order in ("dmy", "mdy") else ""
    begun = _list_as_of(tables)

    def days(table: Table) -> list[str]:
        raw = _series([row.cells.get("Date") for row in table.rows])
        read = read_dates(raw, as_of, fallback=fallback)
        lines = zip(raw, read.lo, read.hi, strict=True)
        return [_day(said, low, high, begun, as_of) for said, low, high in lines]

    return days


def _series(cells: list[object]) -> pd.Series:
    raw = pd.Series(cells, dtype=object)
    return raw.where(raw.notna(), "")


def _day(
    said: object, low: pd.Timestamp, high: pd.Timestamp, begun: dt.date | None, as_of: dt.date
) -> str:
    if pd.isna(low) or pd.isna(high):
        return ""
    readings = {low.date(), high.date()}
    if len(readings) > 1:
        if begun is None or not _TWO_WAYS.fullmatch(str(said)):
            return ""
        readings = {day for day in readings if begun <= day <= as_of}
    if len(readings) != 1:
        return ""
    day = readings.pop()
    return "" if (day - as_of).days > DAYS_AHEAD else day.isoformat()


def _list_as_of(tables: Sequence[Table]) -> dt.date | None:
    """The day for which the workbook was made, as its hidden sheet says."""
    for table in tables:
        if set(ABOUT_HEADINGS) <= set(table.headings):
            for row in table.rows:
                if row.text("What") == "As of":
                    try:
                        return dt.date.fromisoformat(row.text("Value"))
                    except ValueError:
                        return None
    return None
