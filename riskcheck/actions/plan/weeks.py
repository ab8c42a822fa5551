"""Weeks of a plan and the working days in them."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass

import numpy as np
import pandas as pd

from riskcheck.actions.plan.problem import Bools, Floats

WORK_DAYS = 5


@dataclass(frozen=True)
class Weeks:
    """``count`` weeks from the Monday of the week that ``start`` lies in; a weekend start moves on.

    Days before ``start`` are gone.  Days are numbered through all weeks, five a week.
    """

    start: dt.date
    count: int

    @property
    def monday(self) -> dt.date:
        """Monday of the first week."""
        weekday = self.start.weekday()
        return self.start + dt.timedelta(days=-weekday if weekday < WORK_DAYS else 7 - weekday)

    def week_start(self, week: int) -> dt.date:
        """Monday of a week."""
        return self.monday + dt.timedelta(weeks=week)

    def day(self, number: int) -> dt.date:
        """Date of working day ``number`` (0 is the first Monday)."""
        return self.week_start(number // WORK_DAYS) + dt.timedelta(days=number % WORK_DAYS)

    @property
    def days(self) -> list[dt.date]:
        """All working days, five a week (days,)."""
        return [self.day(number) for number in range(self.count * WORK_DAYS)]

    def open_days(self) -> Bools:
        """Which of the days are not gone (days,)."""
        return np.array([day >= self.start for day in self.days], dtype=bool)

    def week_of(self, when: dt.date) -> int:
        """Week in which a date lies: negative before the plan, ``count`` or more after it."""
        return (when - self.monday).days // 7

    def per_week(self, days: Floats | Bools) -> Floats:
        """Sum over the working days of each week: (..., days) to (..., w)."""
        shape = (*days.shape[:-1], self.count, WORK_DAYS)
        return np.asarray(days.reshape(shape).sum(axis=-1), dtype=np.float64)

    def days_away(self, spans: pd.DataFrame) -> Bools:
        """Days covered by rows with from_date and to_date (to_date missing: that day only)."""
        away = np.zeros(self.count * WORK_DAYS, dtype=bool)
        days = np.array(self.days, dtype="datetime64[D]")
        first = spans["from_date"].to_numpy().astype("datetime64[D]")
        last = spans["to_date"].fillna(spans["from_date"]).to_numpy().astype("datetime64[D]")
        for start, end in zip(first, last, strict=True):
            away |= (days >= start) & (days <= end)
        return away
