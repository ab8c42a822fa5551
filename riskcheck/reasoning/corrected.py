"""Corrections: what a person knows better than the record, and when newer lines say otherwise.

A correction outranks the record, before any rule and before any fact computed from it.  It lapses
for a fact that rests on service lines or readings once one dated after it leaves its value
impossible.  A correction of "usage since a job" goes on counting from the day it was made.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd

from riskcheck.errors import UsageError
from riskcheck.reasoning.bands import Bools, Floats, Ints
from riskcheck.reasoning.derived import PROVENANCE_COLUMNS, Derived, pieces_of_range
from riskcheck.reasoning.record import NEVER, Record, whole_days
from riskcheck.reasoning.sets import CategorySet, FactSet
from riskcheck.reasoning.silence import (
    code_of_words,
    numbers_or_silence,
    overridden,
    set_of_values,
    steps_of_words,
)
from riskcheck.vocabulary import Fact

LEDGER = "ledger"
EXPIRED_COLUMNS = ["correction_id", "vehicle_id", "fact", "value", "ended_by"]
PLAIN_WORDS = "recorded correction"


@dataclass(frozen=True)
class Corrected:
    """The sets with corrections in force, their provenance, and corrections that lapsed."""

    sets: FactSet
    provenance: pd.DataFrame
    expired: pd.DataFrame


def corrected(fact: Fact, derived: Derived, record: Record, own: pd.DataFrame) -> Corrected:
    """Apply the corrections ``own`` (vehicle_id, fact, value, words, at; all of this fact).

    ``at`` is ISO text or a date; without one a correction never lapses.  The last row about a
    vehicle counts.  Raises UsageError for a value that does not fit the fact.
    """
    known = own[own["vehicle_id"].astype(str).isin(record.position)]
    known = known.drop_duplicates("vehicle_id", keep="last")
    place = record.places(known["vehicle_id"].astype(str))
    made = _days(known)
    newest = _newest_day(fact, derived, record)[place]
    newer = (made != NEVER) & (newest > made)
    held = [
        _possible(fact, derived.sets, int(where), value)
        for where, value in zip(place, known["value"], strict=True)
    ]
    lapsed: Bools = newer & ~np.array(held, dtype=np.bool_)
    in_force = ~lapsed
    sets = _override(fact, derived.sets, record, known[in_force], place[in_force], made[in_force])
    return Corrected(sets, _provenance(known[in_force]), _expired(known[lapsed], newest[lapsed]))


def none_expired() -> pd.DataFrame:
    """No lapsed correction."""
    return pd.DataFrame({name: pd.Series(dtype=object) for name in EXPIRED_COLUMNS})


def _days(corrections: pd.DataFrame) -> Ints:
    if "at" not in corrections:
        return np.full(len(corrections), NEVER, dtype=np.int64)
    return whole_days(pd.to_datetime(corrections["at"]).astype("datetime64[s]"))


def _override(
    fact: Fact, sets: FactSet, record: Record, known: pd.DataFrame, place: Ints, made: Ints
) -> FactSet:
    if not len(known):
        return sets
    chosen: Bools = np.zeros(record.size, dtype=np.bool_)
    chosen[place] = True
    values: list[Any] = [None] * record.size
    for where, value in zip(place, known["value"], strict=True):
        values[where] = value
    try:
        stated = set_of_values(fact, values)
    except ValueError as error:
        raise UsageError(f"a recorded correction does not fit: {error}") from error
    if fact.derivation.kind == "since":
        stated = _gone_on(fact, record, known, place, made)
    return overridden(sets, stated, chosen)


def _gone_on(fact: Fact, record: Record, known: pd.DataFrame, place: Ints, made: Ints) -> FactSet:
    """Usage since a job as stated, with what has been added since the day it was stated."""
    order = np.argsort(place, kind="stable")
    place, made = place[order], made[order]
    value = known["value"].to_numpy(dtype=np.float64)[order]
    days = np.where(made == NEVER, record.as_of_day, made).astype("datetime64[D]")
    dates = pd.Series(days.astype("datetime64[s]"))
    gained = record.usage.since(fact.derivation.params["clock"], place, dates, dates)
    edges: list[Floats] = [value + np.maximum(np.nan_to_num(edge), 0.0) for edge in gained]
    low, middle, high = edges
    vehicle, first, last, share, _ = pieces_of_range(fact, place, low, middle, high)
    silent = np.ones(record.size, dtype=np.bool_)
    silent[place] = False
    return numbers_or_silence(fact, vehicle, first, last, share, silent)


def _possible(fact: Fact, sets: FactSet, vehicle: int, value: Any) -> bool:
    """Whether the record leaves the stated value possible for one vehicle."""
    if isinstance(sets, CategorySet):
        code = code_of_words(fact, value)
        return code is not None and bool(sets.rows.possible[sets.rows.row[vehicle], code])
    steps = steps_of_words(fact, value)
    start, end = np.searchsorted(sets.vehicle, [vehicle, vehicle + 1])
    low, high = sets.low[start:end], sets.high[start:end]
    return steps is not None and bool(((low <= steps) & (steps <= high)).any())


def _newest_day(fact: Fact, derived: Derived, record: Record) -> Ints:
    """The day of the newest line or reading that this fact could rest on, (n,)."""
    newest = np.full(record.size, NEVER, dtype=np.int64)
    events = record.events
    for reference in _references(fact.derivation.params):
        found = events.matching(reference)
        np.maximum.at(newest, events.vehicle[found], events.day_lo[found])
    if derived.sources is not None and "date" in derived.sources and len(derived.sources):
        days = whole_days(pd.to_datetime(derived.sources["date"].replace("", None)))
        np.maximum.at(newest, derived.sources["place"].to_numpy(dtype=np.int64), days)
    return newest


def _references(params: Mapping[str, Any]) -> Iterator[Mapping[str, Any]]:
    """Every set of topics and marks that a derivation names, nested ones too."""
    if "topics" in params:
        yield params
    for value in params.values():
        if isinstance(value, Mapping):
            yield from _references(value)


def _provenance(known: pd.DataFrame) -> pd.DataFrame:
    words = PLAIN_WORDS + (": " + known["words"].astype(str) if "words" in known else "")
    made = known["at"].astype(str).str[:10] if "at" in known else ""
    frame = known[["vehicle_id", "fact"]].assign(
        value_words=known["value"].astype(str),
        words=words,
        file=LEDGER,
        sheet="",
        cell="",
        date=made,
    )
    return frame.assign(sheet="", cell="")[PROVENANCE_COLUMNS].reset_index(drop=True)


def _expired(lapsed: pd.DataFrame, newest: Ints) -> pd.DataFrame:
    if not len(lapsed):
        return none_expired()
    dates = newest.astype("datetime64[D]").astype(str)
    ended = [f"contradicted by the record of {date}" for date in dates]
    numbers = lapsed.get("correction_id", 0)
    frame = lapsed.assign(correction_id=numbers, ended_by=ended)
    return frame[EXPIRED_COLUMNS].astype(object).reset_index(drop=True)
