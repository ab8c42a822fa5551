"""What people have settled already: pins, forbidden weeks, last plan's weeks, dates told."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import pandas as pd

from riskcheck.rulebook.model import Hazard

FOREVER = dt.date.min  # a forbidden "week" that means every week


@dataclass(frozen=True)
class Planned:
    """Where the last plan had a job, and whether the customer was told."""

    day: dt.date
    told: bool


@dataclass(frozen=True)
class Wishes:
    """``pinned``: day in the week that a job must have; ``forbidden``: days in weeks that it must
    not have (``FOREVER``: any); ``last``: where the last plan had it.  By job id.
    """

    pinned: Mapping[str, dt.date] = field(default_factory=dict)
    forbidden: Mapping[str, frozenset[dt.date]] = field(default_factory=dict)
    last: Mapping[str, Planned] = field(default_factory=dict)

    def over(self, other: Wishes) -> Wishes:
        """These wishes, and those of ``other`` where these are silent."""
        forbidden = dict(other.forbidden)
        for job, days in self.forbidden.items():
            forbidden[job] = forbidden.get(job, frozenset()) | days
        return Wishes({**other.pinned, **self.pinned}, forbidden, {**other.last, **self.last})


def pins_of(
    pins: pd.DataFrame, jobs: pd.DataFrame, hazards: Mapping[str, Hazard]
) -> tuple[Wishes, list[int]]:
    """Wishes of a pins sheet, and the places of the rows that no job answers to.

    A row without a job speaks for all jobs of its vehicle; one without a date forbids every week.
    """
    pinned: dict[str, dt.date] = {}
    forbidden: dict[str, frozenset[dt.date]] = {}
    idle = []
    for place, row in enumerate(pins.to_dict("records")):
        own = [
            str(job["job_id"])
            for job in jobs[jobs["vehicle_id"] == row["vehicle_id"]].to_dict("records")
            if _named(str(row["job"]), str(job["job_id"]), job["hazard_ids"], hazards)
        ]
        day = None if pd.isna(row["date"]) else pd.Timestamp(row["date"]).date()
        if (
            not own
            or row["pin"] not in ("pinned", "forbidden")
            or (row["pin"] == "pinned" and day is None)
        ):
            idle.append(place)
            continue
        for job_id in own:
            if row["pin"] == "pinned" and day is not None:
                pinned[job_id] = day
            else:
                forbidden[job_id] = forbidden.get(job_id, frozenset()) | {day or FOREVER}
    return Wishes(pinned, forbidden), idle


def _named(
    words: str, job_id: str, hazard_ids: Sequence[str], hazards: Mapping[str, Hazard]
) -> bool:
    wanted = words.casefold().strip()
    if not wanted or wanted == job_id.casefold():
        return True
    names = {name.casefold() for name in hazard_ids}
    names |= {hazards[name].title.casefold() for name in hazard_ids if name in hazards}
    names |= {hazards[name].job.title.casefold() for name in hazard_ids if name in hazards}
    return wanted in names or wanted.replace(" ", "-") in names
