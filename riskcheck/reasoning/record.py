"""The record of n vehicles in arrays: who is where, events in order, coverage, platforms."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from functools import cached_property
from typing import Any

import numpy as np
import pandas as pd

from riskcheck.fleet.events import in_order
from riskcheck.fleet.model import Fleet
from riskcheck.reasoning.bands import Bools, Floats, Ints
from riskcheck.rulebook.model import Platform
from riskcheck.usage import Usage
from riskcheck.vocabulary import MARK_ORDER, Vocabulary

NEVER = np.iinfo(np.int64).min
# A first visit within a year of first use, and a last one within a year of today, count as
# having seen the whole life (common practice, no source).
COVERAGE_GRACE_DAYS = 366


@dataclass(frozen=True)
class Record:
    """One fleet's record with what is needed to read facts out of it."""

    fleet: Fleet
    usage: Usage
    vocabulary: Vocabulary
    platforms: tuple[Platform, ...]
    as_of: date

    @cached_property
    def vehicle_ids(self) -> tuple[str, ...]:
        """Vehicle ids in the order of the vehicles frame."""
        return tuple(str(name) for name in self.fleet.vehicles["vehicle_id"])

    @property
    def size(self) -> int:
        """How many vehicles there are."""
        return len(self.vehicle_ids)

    @cached_property
    def position(self) -> Mapping[str, int]:
        """Vehicle id to its place."""
        return {name: place for place, name in enumerate(self.vehicle_ids)}

    @property
    def as_of_day(self) -> int:
        """The as-of date in days since 1970-01-01."""
        return int(np.datetime64(self.as_of, "D").astype(np.int64))

    def places(self, names: pd.Series) -> Ints:
        """Places of vehicle ids, -1 for strangers."""
        return np.asarray(names.map(self.position).fillna(-1), dtype=np.int64)

    @cached_property
    def events(self) -> Events:
        """Events of known vehicles, first to last."""
        frame = in_order(self.fleet.events)
        places = self.places(frame["vehicle_id"])
        known = places >= 0
        frame = frame[known].reset_index(drop=True)
        ranks = {mark: rank for rank, mark in enumerate(MARK_ORDER)}
        return Events(
            frame,
            places[known],
            whole_days(frame["date_lo"]),
            whole_days(frame["date_hi"]),
            frame["odometer_mi"].to_numpy(dtype=np.float64, na_value=np.nan),
            np.asarray(frame["mark"].map(ranks).fillna(-1), dtype=np.int64),
            frame["topic"].astype(str).to_numpy(),
            frame["mark"].astype(str).to_numpy(),
            self.size,
        )

    @cached_property
    def covered_from(self) -> Ints:
        """First covered day of each vehicle (n,), a far day where there is no coverage."""
        return self._coverage("from_date", "min", np.iinfo(np.int64).max)

    @cached_property
    def whole_life_seen(self) -> Bools:
        """Whether the coverage spans the vehicle's whole life, within a year at both ends."""
        began = whole_days(self.fleet.vehicles["in_service_lo"])
        ends = self._coverage("to_date", "max", NEVER)
        seen: Bools = (
            (began != NEVER)
            & (self.covered_from <= began + COVERAGE_GRACE_DAYS)
            & (ends >= self.as_of_day - COVERAGE_GRACE_DAYS)
        )
        return seen

    def _coverage(self, column: str, how: str, missing: int) -> Ints:
        frame = self.fleet.coverage
        days = pd.Series(whole_days(frame[column]), index=self.places(frame["vehicle_id"]))
        days = days[(days.index >= 0) & (days != NEVER)]
        edge = days.groupby(level=0).agg(how)
        return edge.reindex(range(self.size), fill_value=missing).to_numpy(dtype=np.int64)


@dataclass(frozen=True)
class Events:
    """Events in order; all arrays (e,), days since 1970 (``NEVER`` if undated)."""

    frame: pd.DataFrame
    vehicle: Ints
    day_lo: Ints
    day_hi: Ints
    odometer_mi: Floats
    rank: Ints
    topic: Any
    mark: Any
    vehicles: int

    def matching(self, reference: Mapping[str, Sequence[str]]) -> Ints:
        """Places of the events of these topics and marks, in order."""
        marks = list(reference.get("marks", ()))
        keep = self._of_topics(tuple(reference["topics"]))
        return keep[np.isin(self.mark[keep], marks)] if marks else keep

    def last(
        self, reference: Mapping[str, Sequence[str]], complaints_from: int | None = None
    ) -> Ints:
        """Place of the last matching event of each vehicle (n,), -1 where there is none.

        Complaints dated before the day ``complaints_from`` no longer count.
        """
        last = np.full(self.vehicles, -1, dtype=np.int64)
        found = self.matching(reference)
        if complaints_from is not None:
            stale = (self.mark[found] == "complaint") & (self.day_hi[found] != NEVER)
            found = found[~(stale & (self.day_hi[found] < complaints_from))]
        np.maximum.at(last, self.vehicle[found], found)
        return last

    def later(self, first: Ints, second: Ints) -> tuple[Bools, Bools]:
        """(surely later, possibly later): event ``first`` against ``second``, places (m,).

        On one exact day the odometer decides, then the rank of the mark; a tie is "before".
        """
        undated = (self.day_hi[first] == NEVER) | (self.day_hi[second] == NEVER)
        after = (self.day_lo[first] > self.day_hi[second]) & ~undated
        before = (self.day_hi[first] < self.day_lo[second]) & ~undated
        same_day = (
            ~undated
            & (self.day_lo[first] == self.day_hi[first])
            & (self.day_lo[second] == self.day_hi[second])
            & (self.day_lo[first] == self.day_lo[second])
        )
        miles = self.odometer_mi[first] - self.odometer_mi[second]
        by_miles = ~np.isnan(miles) & (miles != 0)
        wins = np.where(by_miles, miles > 0, self.rank[first] > self.rank[second])
        sure = after | (same_day & wins)
        return sure, sure | ~(before | same_day)

    @cached_property
    def _places_of_topic(self) -> Mapping[str, Ints]:
        names, codes = np.unique(self.topic.astype(str), return_inverse=True)
        order = np.argsort(codes, kind="stable")
        ends = np.cumsum(np.bincount(codes, minlength=len(names)))
        starts = np.concatenate([[0], ends[:-1]]) if len(names) else ends
        return {
            str(name): order[start:end]
            for name, start, end in zip(names, starts, ends, strict=True)
        }

    def _of_topics(self, topics: tuple[str, ...]) -> Ints:
        none = np.empty(0, dtype=np.int64)
        parts = [self._places_of_topic.get(topic, none) for topic in topics]
        return np.sort(np.concatenate(parts)) if parts else none


def whole_days(dates: pd.Series) -> Ints:
    """Dates as days since 1970-01-01, ``NEVER`` for missing ones."""
    stamps = pd.to_datetime(dates).to_numpy(dtype="datetime64[D]")
    return np.where(np.isnat(stamps), NEVER, stamps.astype(np.int64))
