"""Facts that rest on readings: latest measured value, difference of two, fault codes."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np
import pandas as pd

from riskcheck.reasoning.bands import Bools, Ints
from riskcheck.reasoning.derived import Derived
from riskcheck.reasoning.record import NEVER, Record, whole_days
from riskcheck.reasoning.sets import category_set
from riskcheck.reasoning.silence import numbers_or_silence, silent_weights
from riskcheck.vocabulary import Fact

_DAYS_PER_YEAR = 365.25


def latest_value(fact: Fact, record: Record) -> Derived:
    """The latest measured value that counts, in the fact's unit.

    Several readings on one day: the last in reading order of each sheet.
    """
    params = fact.derivation.params
    found = _readings(record, params["quantity"])
    found = found[_counts(record, params, found)]
    if params.get("percent_of"):
        found = _percent_of(found, _readings(record, params["percent_of"]))
    found = _latest(found)
    if params.get("years_ago"):
        low, high = _years_ago(record, found["value"].to_numpy(dtype=np.float64))
    else:
        low = high = found["value"].to_numpy(dtype=np.float64)
    return _numbers(fact, record, found, low, high)


def difference(fact: Fact, record: Record) -> Derived:
    """Minuend minus subtrahend on the latest day that has both."""
    params = fact.derivation.params
    first = _last_of_day(_readings(record, params["minuend"]))
    second = _last_of_day(_readings(record, params["subtrahend"]))
    both = first.merge(second[["place", "day", "value"]], on=["place", "day"], suffixes=("", "_2"))
    both = both[_counts(record, params, both)]
    both = both.assign(value=both["value"] - both["value_2"])
    latest = _latest(both)
    value = latest["value"].to_numpy(dtype=np.float64)
    return _numbers(fact, record, latest, value, value)


def code(fact: Fact, record: Record) -> Derived:
    """Yes where one of these fault codes is on file and counts."""
    params, frame = fact.derivation.params, record.fleet.codes
    wanted = {str(name).strip().upper() for name in params["codes"]}
    found = _placed(record, frame[frame["code"].astype(str).str.strip().str.upper().isin(wanted)])
    found = found[_counts(record, params, found)].drop_duplicates("place", keep="last")
    row = np.full(record.size, 0, dtype=np.int64)
    if fact.silence == "at_random":
        row[:] = 2
    elif fact.silence == "coverage":
        row[~record.whole_life_seen] = 2
    row[found["place"].to_numpy(dtype=np.int64)] = 1
    rows = [[1.0, np.nan], [np.nan, 1.0], silent_weights(fact)]
    return Derived(category_set(rows, row), sources=_sources(found))


def _placed(record: Record, frame: pd.DataFrame) -> pd.DataFrame:
    """With ``place`` and ``day``, known vehicles only, ordered by day, then reading order."""
    found = frame.assign(place=record.places(frame["vehicle_id"]), day=whole_days(frame["date"]))
    return found[found["place"] >= 0].sort_values("day", kind="stable")


def _readings(record: Record, quantity: str) -> pd.DataFrame:
    frame = record.fleet.measurements
    found = frame[(frame["quantity"] == quantity) & frame["value"].notna()]
    return _placed(record, found)


def _counts(record: Record, params: Mapping[str, Any], found: pd.DataFrame) -> Bools:
    """Which readings count, given ``after`` (on or after) and ``since_last`` (later days)."""
    place, day = (found[name].to_numpy(dtype=np.int64) for name in ("place", "day"))
    counts = np.ones(len(found), dtype=np.bool_)
    if params.get("after"):
        last = record.events.last(params["after"])[place]
        counts &= (last >= 0) & (day >= _day_of_event(record, last))
    if params.get("since_last"):
        last = record.events.last(params["since_last"])[place]
        counts &= (last < 0) | (day > _day_of_event(record, last))
    return counts


def _day_of_event(record: Record, place: Ints) -> Ints:
    """Last possible day of each event, ``NEVER`` where there is none."""
    days: Ints = np.append(record.events.day_hi, NEVER)[place]
    return days


def _last_of_day(found: pd.DataFrame) -> pd.DataFrame:
    return found.drop_duplicates(["place", "day"], keep="last")


def _latest(found: pd.DataFrame) -> pd.DataFrame:
    """Readings of each vehicle's latest day: the last one of each sheet."""
    newest = found.groupby("place")["day"].transform("max")
    return found[found["day"] == newest].drop_duplicates(["place", "sheet"], keep="last")


def _percent_of(found: pd.DataFrame, whole: pd.DataFrame) -> pd.DataFrame:
    """Values as percent of the other quantity's latest value on or before the same day."""
    if found.empty or whole.empty:
        return found.iloc[:0]
    right = _last_of_day(whole)[["place", "day", "value"]].sort_values("day", kind="stable")
    joined = pd.merge_asof(
        found.sort_values("day", kind="stable"),
        right.rename(columns={"value": "whole"}),
        on="day",
        by="place",
    )
    joined = joined[joined["whole"] > 0]
    return joined.assign(value=100.0 * joined["value"] / joined["whole"])


def _years_ago(record: Record, year: Any) -> tuple[Any, Any]:
    """Years from some day of that calendar year to the as-of date."""
    first = np.array([_day_in(value, 1, 1) for value in year], dtype=np.float64)
    last = np.array([_day_in(value, 12, 31) for value in year], dtype=np.float64)
    low, high = ((record.as_of_day - edge) / _DAYS_PER_YEAR for edge in (last, first))
    return np.maximum(low, 0.0), np.maximum(high, 0.0)


def _day_in(year: float, month: int, day: int) -> int:
    return int(np.datetime64(f"{int(year):04d}-{month:02d}-{day:02d}", "D").astype(np.int64))


def _numbers(fact: Fact, record: Record, found: pd.DataFrame, low: Any, high: Any) -> Derived:
    place = found["place"].to_numpy(dtype=np.int64)
    # What lies outside the fact's range is no reading of it; the reader reports such cells.
    usable = (high >= fact.low) & (low <= fact.high)
    first, last = (
        np.rint(np.clip(edge[usable], fact.low, fact.high) / fact.resolution).astype(np.int64)
        for edge in (low, high)
    )
    place = place[usable]
    silent = np.ones(record.size, dtype=np.bool_)
    silent[place] = False
    numbers = numbers_or_silence(fact, place, first, last, np.ones(len(place)), silent)
    return Derived(numbers, sources=_sources(found[usable]))


def _sources(found: pd.DataFrame) -> pd.DataFrame:
    dates = [str(np.datetime64(int(day), "D")) if day != NEVER else "" for day in found["day"]]
    return found.assign(date=dates)[["place", "words", "file", "sheet", "cell", "date"]]
