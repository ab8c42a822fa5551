"""``Usage``: how far every vehicle is through every clock, then, now and later."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import pandas as pd

from riskcheck.usage.calendar import (
    Dates,
    day_of_position,
    days,
    month_position,
    seasonal_months,
    seasonal_total,
    to_dates,
)
from riskcheck.usage.clocks import Clock
from riskcheck.usage.meter import Range
from riskcheck.usage.slopes import Floats, Ints
from riskcheck.vocabulary import ClockName

_MIDDLE = 2


@dataclass(frozen=True)
class Usage:
    """Every clock of n vehicles, in the units of ``vocabulary.CLOCK_UNITS``.

    ``vehicle_ids`` (n,) in the order of the vehicles frame; every array follows that order.
    ``as_of_day`` is a day number since 1970-01-01.
    """

    vehicle_ids: tuple[str, ...]
    as_of_day: float
    by_name: Mapping[ClockName, Clock]

    def now(self, clock: ClockName) -> Range:
        """Use since new today: 5 %, middle and 95 % points, (n,) floats each; NaN if unknown."""
        everyone = np.arange(len(self.vehicle_ids))
        today = np.full(len(everyone), self.as_of_day)
        return self.by_name[clock].at(everyone, today, today)

    def rates(self, clock: ClockName) -> Floats:
        """Next year's use at the 10, 30, 50, 70 and 90 % points of the belief, (n, 5) floats."""
        return self.by_name[clock].ahead(np.ones(1))[:, :, 0]

    def at(
        self,
        clock: ClockName,
        vehicle_index: Ints,
        dates_lo: pd.Series | Dates,
        dates_hi: pd.Series | Dates,
    ) -> Range:
        """Use since new of vehicle ``vehicle_index[j]`` on a date in [dates_lo[j], dates_hi[j]].

        Dates are datetime64 arrays or Series (m,), past or future.  Returns low, middle, high
        (m,) floats; NaN for a missing date or where nothing is known of the vehicle.
        """
        index = np.asarray(vehicle_index, dtype=np.int64)
        return self.by_name[clock].at(index, days(dates_lo), days(dates_hi))

    def since(
        self,
        clock: ClockName,
        vehicle_index: Ints,
        dates_lo: pd.Series | Dates,
        dates_hi: pd.Series | Dates,
    ) -> Range:
        """Use of vehicle ``vehicle_index[j]`` from a date in [dates_lo[j], dates_hi[j]] to today.

        As ``at``; never below 0.  What stands behind both ends (an in-service date, a habit, a
        share of the miles) is the same then and now, so the range is of what happened between.
        """
        index = np.asarray(vehicle_index, dtype=np.int64)
        clock_of = self.by_name[clock]
        return clock_of.since(index, days(dates_lo), days(dates_hi), self.as_of_day)

    def ahead(self, clock: ClockName, months: Floats) -> Floats:
        """Use gained in the ``months`` (k,) after today, at the five points: (n, 5, k).

        Seasonal clocks gain by their month profile, the others evenly.  Months may be fractions.
        A part of a year scatters more about the habit than a year, several years less.
        """
        profile = self.by_name[clock].profile
        start = month_position(np.array([self.as_of_day]))
        gained = seasonal_total(start + np.asarray(months, dtype=np.float64), profile)
        years = gained - seasonal_total(start, profile)
        return self.by_name[clock].ahead(np.asarray(years, dtype=np.float64))

    def date_of(self, clock: ClockName, vehicle_index: Ints, gain: Floats) -> Dates:
        """Date on which each vehicle has gained ``gain`` (m,) more use at its middle rate.

        Found by walking months with the clock's profile; datetime64[D] (m,), the whole day before
        the gain is full; today for a gain of 0 or less, NaT if unknown or beyond 200 years.
        """
        index = np.asarray(vehicle_index, dtype=np.int64)
        rate = self.rates(clock)[index, _MIDDLE]
        wanted = np.asarray(gain, dtype=np.float64)
        years = np.divide(wanted, rate, out=np.full(len(index), np.nan), where=rate > 0)
        start = np.broadcast_to(month_position(np.array([self.as_of_day])), years.shape)
        months = seasonal_months(start, years, self.by_name[clock].profile)
        # A billionth of a month keeps a whole number of months from landing a day early.
        return to_dates(day_of_position(start + months + 1e-9))
