"""Dates as intervals: formats are listed, day and month settled per column, nothing guessed."""

from __future__ import annotations

import calendar
import datetime as dt
import re
from dataclasses import dataclass, replace

import numpy as np
import pandas as pd

from riskcheck.fleet.distinct import distinct, marked, spread

Order = str  # "mdy", "dmy", "both" or ""

_MONTHS = {
    name: number
    for number, names in enumerate(
        ("jan january", "feb february", "mar march", "apr april", "may", "jun june", "jul july",
         "aug august", "sep sept september", "oct october", "nov november", "dec december"), 1)
    for name in names.split()
}  # fmt: skip
_MONTH = r"(?P<month>[A-Za-z]{3,9})\.?"
_TIME = (
    r"(?:[T ,]+\d{1,2}:\d{2}(?::\d{2}(?:[.,]\d+)?)?\s*(?:[AaPp]\.?[Mm]\.?)?"
    r"\s*(?:Z|UTC|[+-]\d{2}:?\d{2})?)?"
)
_YEAR = r"(?P<y>\d{4}|'?\d{2})"
_SLASHED = re.compile(rf"^(?P<a>\d{{1,2}})[/.\-](?P<b>\d{{1,2}})[/.\-]{_YEAR}{_TIME}$")
_ISO = re.compile(rf"^(?P<y>\d{{4}})[/.\-](?P<m>\d{{1,2}})[/.\-](?P<d>\d{{1,2}}){_TIME}$")
_COMPACT = re.compile(r"^(?P<y>(?:19|20)\d{2})(?P<m>\d{2})(?P<d>\d{2})$")
_DAY_NAME = re.compile(rf"^(?P<d>\d{{1,2}})(?:st|nd|rd|th)?[ \-/]*{_MONTH}[ ,\-/]*{_YEAR}{_TIME}$")
_NAME_DAY = re.compile(rf"^{_MONTH}[ \-]*(?P<d>\d{{1,2}})(?:st|nd|rd|th)?,?[ \-]+{_YEAR}{_TIME}$")
_NAME_YEAR = re.compile(rf"^{_MONTH}[ ,\-/]*{_YEAR}$")
_MONTH_YEAR = re.compile(r"^(?P<m>\d{1,2})[/.\-](?P<y>\d{4})$")
_YEAR_MONTH = re.compile(r"^(?P<y>\d{4})[/.\-](?P<m>\d{1,2})$")
_YEAR_ONLY = re.compile(r"^(?:ca?\.?|~|about)?\s*(?P<y>(?:19|20)\d{2})$")
_MISSING = re.compile(
    r"^(|n/?a|none|null|nan|nat|unknown|unk|tbd|\?+|-+|\.|0+|0000-00-00.*|1900-01-00.*|"
    r"1899-12-3[01].*|1970-01-01.*|9999-.*|0?1[/.]0?1[/.]1900|0?1[/.]0?0[/.]1900)$",
    re.IGNORECASE,
)
_PLACEHOLDERS = {dt.date(1899, 12, 30), dt.date(1899, 12, 31), dt.date(1900, 1, 1),
                 dt.date(1904, 1, 1), dt.date(1970, 1, 1)}  # fmt: skip
_EARLIEST_YEAR = 1950
_TEXTS_NEEDED, _SHARE_BELOW_13, _SURE_ENOUGH = 2, 12 / 30.4, 0.01
_SERIAL_LOW, _SERIAL_HIGH = 18_264, 73_050  # 1950-01-01 .. 2099-12-31 in the 1900 system


@dataclass(frozen=True)
class DatesRead:
    """One column: ``lo``/``hi`` (datetime64, NaT where missing) of every cell.

    ``reason`` has only the cells about which there is something to say, ``repaired`` whether
    their reading differs from what is written; ``order`` and ``evidence`` say how day and month
    were settled.
    """

    lo: pd.Series
    hi: pd.Series
    reason: pd.Series
    repaired: pd.Series
    order: Order
    evidence: str


@dataclass(frozen=True)
class _Parsed:
    lo: dt.date | None = None
    hi: dt.date | None = None
    slots: tuple[int, int, int] | None = None  # (first, second, year), order open
    reason: str = ""
    repaired: bool = False
    cell: bool = False  # a real date of the spreadsheet, not text


def order_of(values: pd.Series, as_of: dt.date) -> tuple[int, int]:
    """How many cells of a column can only be day-first, and how many only month-first."""
    slots = [p.slots for p in (_parse(v, as_of, False) for v in distinct(values)[1]) if p.slots]
    return sum(a > 12 >= b for a, b, _ in slots), sum(b > 12 >= a for a, b, _ in slots)


def is_date(value: object) -> bool:
    """Whether a cell holds a date in one of the listed formats (a bare number does not count)."""
    if isinstance(value, int | float | np.number):
        return False
    parsed = _parse(value, dt.date.max, False)
    return parsed.lo is not None or parsed.slots is not None


def read_dates(
    values: pd.Series, as_of: dt.date, *, epoch_1904: bool = False, fallback: Order = ""
) -> DatesRead:
    """Read a column of raw cells.  ``fallback`` is the order other columns of the file show."""
    codes, found = distinct(values)
    parsed = [_parse(value, as_of, epoch_1904) for value in found]
    order, evidence = _settle(parsed, fallback)
    parsed = _turned_back(parsed, as_of)
    parsed = [_ordered(item, order, evidence, as_of) for item in parsed]
    reason = marked(codes, [item.reason for item in parsed], values.index)
    repaired = spread(codes, [item.repaired for item in parsed], False, "bool")
    nowhere = np.datetime64("NaT", "s")

    def days(listed: list[dt.date | None]) -> pd.Series:
        stamps = spread(codes, [_stamp(day) for day in listed], nowhere, "datetime64[s]")
        return pd.Series(stamps, index=values.index)

    return DatesRead(
        lo=days([item.lo for item in parsed]),
        hi=days([item.hi for item in parsed]),
        reason=reason,
        repaired=pd.Series(repaired, index=values.index).loc[reason.index],
        order=order,
        evidence=evidence,
    )


def _stamp(day: dt.date | None) -> np.datetime64:
    return np.datetime64("NaT", "s") if day is None else np.datetime64(day, "s")


def _settle(parsed: list[_Parsed], fallback: Order) -> tuple[Order, str]:
    slots = [item.slots for item in parsed if item.slots]
    if not slots:
        return "", ""
    day_first = [s for s in slots if s[0] > 12 >= s[1]]
    month_first = [s for s in slots if s[1] > 12 >= s[0]]
    if day_first and month_first:
        return "both", "this column holds day-first and month-first dates"
    if day_first:
        return "dmy", f"{len(day_first)} different dates can only be day-first"
    if month_first:
        return "mdy", f"{len(month_first)} different dates can only be month-first"
    if fallback:
        return fallback, "settled by the other date columns of the file"
    return "both", "no date in this column settles whether day or month comes first"


def _turned_back(parsed: list[_Parsed], as_of: dt.date) -> list[_Parsed]:
    """Undo what a spreadsheet program does to dates of the other order as they are typed in.

    It turns round those it can (day of 12 or less) and leaves the others as text.  So where every
    text date can only be of one order and no real date has a day beyond 12, the real ones were
    turned round.  Chance alone leaves k real dates so with (12/30.4)^k: below 1 in 100 they are
    turned back, above it both readings are kept.
    """
    slots = [item.slots for item in parsed if item.slots]
    days = {item.lo for item in parsed if item.cell and item.lo}
    one_order = all(a > 12 >= b for a, b, _ in slots) or all(b > 12 >= a for a, b, _ in slots)
    if len(slots) < _TEXTS_NEEDED or not one_order or any(day.day > 12 for day in days):
        return parsed
    turned = {day: dt.date(day.year, day.day, day.month) for day in days}
    if len(days) < 2 or any(day > as_of for day in turned.values()):
        return parsed
    sure = _SHARE_BELOW_13 ** len(days) < _SURE_ENOUGH
    words = (
        f"the {len(slots)} text dates of this column all have a day beyond 12, its {len(days)} "
        "real dates all one of 12 or less: the spreadsheet program turned day and month round"
    )
    return [_turned(item, turned, sure, words) if item.cell and item.lo else item
            for item in parsed]  # fmt: skip


def _turned(item: _Parsed, turned: dict[dt.date, dt.date], sure: bool, words: str) -> _Parsed:
    day = item.lo
    if day is None or turned[day] == day:
        return item
    if sure:
        return _Parsed(turned[day], turned[day], reason=words, repaired=True)
    low, high = sorted((day, turned[day]))
    return _Parsed(low, high, reason=f"two readings kept: perhaps {words}")


def _ordered(item: _Parsed, order: Order, evidence: str, as_of: dt.date) -> _Parsed:
    """Close the day/month question of one value."""
    if item.slots is None:
        return item
    first, second, year = item.slots
    as_dmy, as_mdy = _date(year, second, first), _date(year, first, second)
    if order == "both" and as_dmy and as_mdy and as_dmy != as_mdy:
        low, high = sorted((as_dmy, as_mdy))
        if high > as_of >= low and low.year >= _EARLIEST_YEAR:
            return _Parsed(low, low, reason="the other reading of this date lies in the future")
        return _Parsed(low, high, reason=f"two readings kept: {evidence}")
    chosen = as_dmy if order == "dmy" else as_mdy
    chosen = chosen or as_mdy or as_dmy
    if chosen is None:
        return _Parsed(reason="no such day in the calendar")
    return _Parsed(chosen, chosen)


def _parse(value: object, as_of: dt.date, epoch_1904: bool) -> _Parsed:
    if isinstance(value, dt.datetime):
        return replace(_checked(value.date()), cell=True)
    if isinstance(value, dt.date):
        return replace(_checked(value), cell=True)
    if isinstance(value, bool):
        return _Parsed(reason="yes or no where a date is due")
    if isinstance(value, int | float | np.number):
        return _from_number(float(value), epoch_1904)
    if isinstance(value, dt.time | dt.timedelta):
        return _Parsed(reason="a time of day where a date is due")
    text = " ".join(str(value).replace("\u00a0", " ").strip().strip("'").split())
    if _MISSING.match(text):
        return _Parsed(reason="a placeholder, read as missing" if re.search(r"\d", text) else "")
    return _from_text(text, as_of)


def _from_number(number: float, epoch_1904: bool) -> _Parsed:
    whole = int(number) if number == number and abs(number) < 1e9 else -1
    if _COMPACT.match(str(whole)):
        return _from_text(str(whole), dt.date.max)
    serial = whole + (1462 if epoch_1904 else 0)
    if _SERIAL_LOW <= serial <= _SERIAL_HIGH:
        # Day 60 of the 1900 system (29 February 1900) never was; it lies below our range.
        day = dt.date(1899, 12, 30) + dt.timedelta(days=serial)
        return _Parsed(day, day, reason=f"spreadsheet day number {whole}", repaired=True)
    if _EARLIEST_YEAR <= whole <= 2100:
        return _span(whole, None)
    if whole in (0, 1, 2):
        return _Parsed(reason="a placeholder, read as missing")
    return _Parsed(reason="a number that is no date")


def _from_text(text: str, as_of: dt.date) -> _Parsed:
    if re.fullmatch(r"\d{5}(\.\d+)?", text):
        return _from_number(float(text), False)
    slashed = _SLASHED.match(text)
    if slashed:
        year = _year(slashed["y"], as_of)
        if not _EARLIEST_YEAR <= year <= 2100:
            return _Parsed(reason="the year is out of range")
        return _Parsed(slots=(int(slashed["a"]), int(slashed["b"]), year))
    for pattern in (_ISO, _COMPACT, _DAY_NAME, _NAME_DAY):
        found = pattern.match(text)
        if found:
            parts = found.groupdict()
            month = int(parts["m"]) if parts.get("m") else _MONTHS.get(parts["month"].lower(), 0)
            day = _date(_year(parts["y"], as_of), month, int(parts["d"]))
            if day is None:
                return _Parsed(reason="no such day in the calendar")
            return _checked(day)
    for pattern in (_NAME_YEAR, _MONTH_YEAR, _YEAR_MONTH):
        found = pattern.match(text)
        if found:
            parts = found.groupdict()
            month = int(parts["m"]) if parts.get("m") else _MONTHS.get(parts["month"].lower(), 0)
            if 1 <= month <= 12:
                return _span(_year(parts["y"], as_of), month)
    found = _YEAR_ONLY.match(text)
    if found:
        return _span(int(found["y"]), None)
    return _Parsed(reason="not a date")


def _span(year: int, month: int | None) -> _Parsed:
    if month is None:
        return _Parsed(dt.date(year, 1, 1), dt.date(year, 12, 31), reason="only the year is given")
    last = calendar.monthrange(year, month)[1]
    return _Parsed(
        dt.date(year, month, 1), dt.date(year, month, last), reason="only the month is given"
    )


def _checked(day: dt.date) -> _Parsed:
    if day in _PLACEHOLDERS or day.year >= 9999:
        return _Parsed(reason="a placeholder, read as missing")
    if not _EARLIEST_YEAR <= day.year <= 2100:
        return _Parsed(reason="the year is out of range")
    return _Parsed(day, day)


def _year(text: str, as_of: dt.date) -> int:
    """Four digits as they are; two digits are the nearest century not beyond next year."""
    year = int(text.lstrip("'"))
    if year > 99:
        return year
    return 2000 + year if 2000 + year <= min(as_of.year, 2100) + 1 else 1900 + year


def _date(year: int, month: int, day: int) -> dt.date | None:
    try:
        return dt.date(year, month, day)
    except ValueError:
        return None
