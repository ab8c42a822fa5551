"""Jobs after their latest date: by how many days, and the limit that keeps each from it."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pandas as pd

from riskcheck.actions.plan.build import Setup
from riskcheck.actions.plan.problem import Ints
from riskcheck.actions.plan.reasons import limit_of
from riskcheck.actions.plan.room import Room
from riskcheck.actions.plan.weeks import WORK_DAYS, Weeks
from riskcheck.actions.plan.wishes import Wishes

Limit = tuple[str, str]  # code, and whose or what ("" where the code says it all)


def late_days(frame: pd.DataFrame) -> Ints:
    """Days by which each job's date comes after its latest date (j,), 0 where it does not."""
    days = (frame["date"] - pd.to_datetime(frame["latest"])).dt.days
    return np.asarray(days.fillna(0).clip(lower=0), dtype=np.int64)


def with_lateness(
    frame: pd.DataFrame,
    setup: Setup,
    room: Room,
    weeks: Weeks,
    wishes: Wishes,
    pushed: Sequence[tuple[int, int, int]],
) -> pd.DataFrame:
    """Jobs with ``late_days`` and ``late_why``: the limits that bind, first to last, as (code, of).

    The room is left as it was found.  ``pushed``: (job, week before, week after) of what found no
    bay-day.
    """
    days = late_days(frame)
    squeezed = frozenset((job, week) for job, week, _ in pushed)
    case = _Case(frame, setup, room, weeks, wishes, squeezed)
    why = [case.limits(job) if days[job] else () for job in range(len(frame))]
    return frame.assign(late_days=days, late_why=pd.Series(why, index=frame.index, dtype=object))


class _Case:
    """Everything that is asked when one late job is explained."""

    def __init__(
        self,
        frame: pd.DataFrame,
        setup: Setup,
        room: Room,
        weeks: Weeks,
        wishes: Wishes,
        squeezed: frozenset[tuple[int, int]],
    ) -> None:
        self.frame, self.setup, self.room = frame, setup, room
        self.weeks, self.wishes, self.squeezed = weeks, wishes, squeezed

    def limits(self, job: int) -> tuple[Limit, ...]:
        """The limits that keep a job from an earlier day, without repeats."""
        job_id, own = str(self.frame.at[job, "job_id"]), int(self.room.week[job])
        latest, date = self._date(job, "latest"), self._date(job, "date")
        if self.wishes.pinned.get(job_id) and self.setup.problem.allowed[job].sum() <= 1:
            return (("by_hand", ""),)
        first = self._first_day(job)
        found: list[Limit] = []
        if first > latest:
            found.append(self._start(job))
        begins = max(0, self.weeks.week_of(first.date()))
        for week in range(begins, own):
            limit = self._in_week(job, week)
            if limit not in found:
                found.append(limit)
        if not found or (len(found) == 1 and first > latest and first < date and begins == own):
            found.append(self._in_own_week(job, max(first, self._monday(own))))
        return tuple(found)

    def _date(self, job: int, column: str) -> pd.Timestamp:
        return pd.Timestamp(self.frame[column].iloc[job])

    def _monday(self, week: int) -> pd.Timestamp:
        return pd.Timestamp(self.weeks.week_start(week))

    def _in_own_week(self, job: int, first: pd.Timestamp) -> Limit:
        """What keeps the job from an earlier day of its own week, from ``first`` on."""
        date = self._date(job, "date")
        last = self.wishes.last.get(str(self.frame.at[job, "job_id"]))
        if last is not None and last.day == date.date():
            return ("kept", "")
        vehicle, group = self.setup.problem.vehicle, self.setup.problem.spare_group
        spare = int(group[vehicle[job]])
        if spare >= 0:
            customer, kind, most = self.setup.spare_names[spare]
            own = self.frame[group[vehicle] == spare]
            out = own.groupby("date")["vehicle_id"].nunique()
            days = pd.bdate_range(first, date, inclusive="left")
            if len(days) and (out.reindex(days, fill_value=0) >= most).all():
                return ("spares", f"{kind} of {customer}")
        return ("no_earlier_day", "")

    def _first_day(self, job: int) -> pd.Timestamp:
        """The first working day of the plan that notice, parts and window allow."""
        open_days = np.flatnonzero(self.weeks.open_days())
        number = max(int(self.setup.earliest_day[job]), int(open_days[0]))
        return pd.Timestamp(self.weeks.day(min(number, self.weeks.count * WORK_DAYS - 1)))

    def _start(self, job: int) -> Limit:
        """Why the first possible day is after the latest date already."""
        if not self._date(job, "earliest") > self._date(job, "latest"):
            return ("plan_begins", "")
        code = str(self.frame.at[job, "waits_for"])
        return (code, str(self.frame.at[job, "part"]) if code == "parts" else "")

    def _in_week(self, job: int, week: int) -> Limit:
        """What keeps the job, else its visit, out of one earlier week."""
        if (job, week) in self.squeezed:
            return ("no_bay_day", "")
        room, own = self.room, int(self.room.week[job])
        room.take(job)
        found = limit_of(self.setup, room, job, week, "")
        room.put(job, own)
        return found if found[0] else self._of_visit(job, week)

    def _of_visit(self, job: int, week: int) -> Limit:
        """The job alone would fit: what keeps its vehicle's whole visit out of that week."""
        room, own = self.room, int(self.room.week[job])
        vehicle = self.setup.problem.vehicle
        members = np.flatnonzero((vehicle == vehicle[job]) & (room.week == own)).tolist()
        for one in members:
            room.take(one)
        limit: Limit = ("dearer", "")
        put: list[int] = []
        for one in members:
            refused = limit_of(self.setup, room, one, week, "")
            if refused[0]:
                limit = refused
                break
            room.put(one, week)
            put.append(one)
        for one in put:
            room.take(one)
        for one in members:
            room.put(one, own)
        return limit
