"""Facts that rest on events: ever, open, after, since, count."""

from __future__ import annotations

from typing import Any

import numpy as np

from riskcheck.reasoning.bands import Bools, Floats, Ints
from riskcheck.reasoning.derived import Derived, pieces_of_range
from riskcheck.reasoning.record import NEVER, Record
from riskcheck.reasoning.sets import FactSet, category_set
from riskcheck.reasoning.silence import numbers_or_silence, silent_weights
from riskcheck.vocabulary import ClockName, Fact

COMPLAINT_LAPSES_MONTHS = 12  # common practice, no source
_NO, _YES, _EITHER, _SILENT = range(4)


def ever(fact: Fact, record: Record) -> Derived:
    """Yes where some such event is on file."""
    last = record.events.last(fact.derivation.params)
    return _flag(fact, record, last, last >= 0, last >= 0)


def later_than(fact: Fact, record: Record, other: str) -> Derived:
    """Yes where the last event is later than the last of ``params[other]``, or there is none.

    An owner's complaint lapses after a year: what nobody mentioned again is no sign today.
    """
    events = record.events
    last = events.last(fact.derivation.params, _months_before(record, COMPLAINT_LAPSES_MONTHS))
    rival = events.last(fact.derivation.params[other])
    sure, possible = last >= 0, last >= 0
    both = (last >= 0) & (rival >= 0)
    surely_later, possibly_later = events.later(last[both], rival[both])
    sure, possible = sure.copy(), possible.copy()
    sure[both], possible[both] = surely_later, possibly_later
    decided_by = np.where(both & ~possible, rival, last)
    return _flag(fact, record, decided_by, sure, possible)


def since(fact: Fact, record: Record) -> Derived:
    """Usage on a clock since the last such event."""
    params = fact.derivation.params
    last = record.events.last(params)
    seen = np.flatnonzero(last >= 0)
    low, middle, high = _usage_since(record, params["clock"], last[seen], seen)
    vehicle, first, end, share, unknown = pieces_of_range(fact, seen, low, middle, high)
    silent = last < 0
    numbers: FactSet = numbers_or_silence(fact, vehicle, first, end, share, silent)
    return Derived(numbers, last, unknown)


def count(fact: Fact, record: Record) -> Derived:
    """Distinct days with such an event in the last so many months."""
    params, events = fact.derivation.params, record.events
    found = events.matching(params)
    start = _months_before(record, int(params["months"]))
    possibly = found[(events.day_hi[found] >= start) | (events.day_hi[found] == NEVER)]
    surely = possibly[events.day_lo[possibly] >= start]
    most = _distinct_days(events.vehicle[possibly], events.day_hi[possibly], record.size)
    least = _distinct_days(events.vehicle[surely], events.day_lo[surely], record.size)
    everyone = np.arange(record.size)
    step = [
        np.array([fact.steps(float(v)) for v in edge], dtype=np.int64) for edge in (least, most)
    ]
    known = (most > 0) | (fact.silence == "on_file") | (record.covered_from <= start)
    known |= record.whole_life_seen
    numbers = numbers_or_silence(
        fact, everyone[known], step[0][known], step[1][known], np.ones(int(known.sum())), ~known
    )
    return Derived(numbers, np.where(most > 0, events.last(params), -1), np.zeros(0, np.int64))


def _flag(fact: Fact, record: Record, place: Ints, sure: Bools, possible: Bools) -> Derived:
    row = np.where(sure, _YES, np.where(possible, _EITHER, _NO))
    unseen = place < 0
    quiet = unseen & (
        (fact.silence == "at_random") | ((fact.silence == "coverage") & ~record.whole_life_seen)
    )
    row = np.where(quiet, _SILENT, row)
    rows = [[1.0, np.nan], [np.nan, 1.0], [0.5, 0.5], silent_weights(fact)]
    return Derived(category_set(rows, row), place, np.zeros(0, np.int64))


def _usage_since(
    record: Record, clock: ClockName, place: Ints, vehicle: Ints
) -> tuple[Floats, Floats, Floats]:
    frame = record.events.frame.iloc[place]
    gained = record.usage.since(clock, vehicle, frame["date_lo"], frame["date_hi"])
    column = {"miles": "odometer_mi", "engine_hours": "engine_hours"}.get(clock)
    if column is not None:
        written = frame[column].to_numpy(dtype=np.float64, na_value=np.nan)
        now = [edge[vehicle] for edge in record.usage.now(clock)]
        read = [edge - written for edge in now]
        pairs = zip(read, gained, strict=True)
        low, middle, high = (np.where(np.isnan(written), g, r) for r, g in pairs)
    else:
        low, middle, high = gained
    return np.maximum(low, 0.0), np.maximum(middle, 0.0), np.maximum(high, 0.0)


def _distinct_days(vehicle: Ints, day: Ints, size: int) -> Ints:
    pairs = np.unique(np.column_stack([vehicle, day]), axis=0)
    return np.bincount(pairs[:, 0], minlength=size)


def _months_before(record: Record, months: int) -> int:
    today = np.datetime64(record.as_of, "D")
    month = today.astype("datetime64[M]") - np.timedelta64(months, "M")
    day = min(int((today - today.astype("datetime64[M]")).astype(int)), 27)
    start: Any = month.astype("datetime64[D]") + np.timedelta64(day, "D")
    return int(start.astype(np.int64))
