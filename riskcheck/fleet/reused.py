"""A unit number that two vehicles had one after the other: whose it was on a day."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd

_ALWAYS, _EVER = pd.Timestamp("1678-01-01"), pd.Timestamp("2261-01-01")


@dataclass(frozen=True)
class Span:
    """The days for which it is known that a vehicle was in the fleet; NaT where unknown."""

    first: pd.Timestamp
    last: pd.Timestamp


def spans_of(vehicles: pd.DataFrame) -> dict[str, Span]:
    """What the vehicle sheet says: in service from, and sold or scrapped on."""
    gone = vehicles["state_date"].where(vehicles["state"].isin(["sold", "scrapped"]))
    return {
        vehicle: Span(pd.Timestamp(first), pd.Timestamp(last))
        for vehicle, first, last in zip(
            vehicles["vehicle_id"], vehicles["in_service_lo"], gone, strict=True
        )
    }


def with_seen(
    spans: Mapping[str, Span], vehicle_id: pd.Series, dates: pd.Series
) -> dict[str, Span]:
    """Spans widened by the days on which rows that name the vehicle beyond doubt saw it."""
    seen = dates.groupby(vehicle_id.astype(object)).agg(["min", "max"])
    wider = dict(spans)
    for vehicle, first, last in zip(seen.index, seen["min"], seen["max"], strict=True):
        said = spans.get(vehicle, Span(pd.NaT, pd.NaT))  # type: ignore[arg-type]
        wider[vehicle] = Span(
            first if pd.isna(said.first) else min(first, said.first),
            last if pd.isna(said.last) else said.last,
        )
    return wider


def owner_on(days: pd.Series, candidates: Sequence[str], spans: Mapping[str, Span]) -> list[str]:
    """Whose number it was on each day: "" where the record leaves it open.

    The vehicles are put in order of their first day; before the second one's first day and up to
    the first one's last the number was the first one's, and so on.  Where spans overlap, or a
    day lies between them, nothing is settled.
    """
    known = [(spans[name].first, name) for name in candidates if name in spans]
    if len(known) < len(candidates) or any(pd.isna(first) for first, _ in known):
        return [""] * len(days)
    order = sorted(known)
    begins = [_ALWAYS, *(first for first, _ in order[1:])]
    ends = [_last(spans[name]) for _, name in order[:-1]] + [_EVER]
    inside = np.array(
        [((days >= b) & (days <= e)).to_numpy() for b, e in zip(begins, ends, strict=True)]
    )
    single = inside.sum(axis=0) == 1
    which = inside.argmax(axis=0)
    return [order[place][1] if sure else "" for place, sure in zip(which, single, strict=True)]


def _last(span: Span) -> pd.Timestamp:
    return span.first if pd.isna(span.last) else span.last
