"""The clocks a hazard can run on, each with the same four answers.

miles, engine_hours   metered (``meter``); engine hours without a meter follow the miles
years, winters        time from the in-service date; winters gather by month
cold_starts           yearly figure of the policy, gathered by month
towing_miles          the share of the miles with a trailer
water_events          times in deep water on file
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

import numpy as np
from scipy.stats import gamma

from riskcheck.figures import Figure
from riskcheck.usage.belief import QUANTILES, Z_RANGE, Z_RATES, ClassFigures
from riskcheck.usage.calendar import month_position, seasonal_total
from riskcheck.usage.meter import Meter, Range, ServiceStart
from riskcheck.usage.slopes import Floats, Ints

WATER_RATE = Figure(0.05, "times in deep water a year", "invented")
# The prior is worth half an event, so one wading on file outweighs it.
WATER_SHAPE = 0.5


class Clock(Protocol):
    """What ``Usage`` asks of any clock."""

    @property
    def profile(self) -> Floats:
        """Share of a year's use gained in January to December, (12,), summing to 1."""
        ...

    def at(self, vehicle: Ints, day_lo: Floats, day_hi: Floats) -> Range:
        """Use since new on a day in [day_lo, day_hi]: (low, middle, high), (m,) each."""
        ...

    def rates(self) -> Floats:
        """Use a year at the 10, 30, 50, 70 and 90 % points, (n, 5)."""
        ...


@dataclass(frozen=True)
class MeteredClock:
    """Odometer miles, or engine hours where a meter is read."""

    meter: Meter
    profile: Floats

    def at(self, vehicle: Ints, day_lo: Floats, day_hi: Floats) -> Range:
        """As ``Meter.at``."""
        return self.meter.at(vehicle, day_lo, day_hi)

    def rates(self) -> Floats:
        """Quantiles of the rate belief, (n, 5)."""
        return self.meter.belief.quantiles()


@dataclass(frozen=True)
class HoursClock:
    """Engine hours: from the hour meter where it was ever read, else from the miles.

    ``per_mile`` (n, 3): hours per mile of the vehicle's duty, low, value, high.
    """

    hours: Meter
    miles: Meter
    per_mile: Floats
    profile: Floats

    def at(self, vehicle: Ints, day_lo: Floats, day_hi: Floats) -> Range:
        """Metered hours, or miles times hours per mile with both ranges in quadrature."""
        metered = self.hours.at(vehicle, day_lo, day_hi)
        guessed = _times(self.miles.at(vehicle, day_lo, day_hi), self.per_mile[vehicle])
        own = self.hours.readings.count[vehicle] > 0
        low, middle, high = (np.where(own, m, g) for m, g in zip(metered, guessed, strict=True))
        return low, middle, high

    def rates(self) -> Floats:
        """Quantiles of the rate belief, (n, 5)."""
        return self.hours.belief.quantiles()


@dataclass(frozen=True)
class ShareClock:
    """A share of the miles: miles with a trailer.  ``share`` (n, 3): low, value, high."""

    miles: Meter
    share: Floats
    profile: Floats

    def at(self, vehicle: Ints, day_lo: Floats, day_hi: Floats) -> Range:
        """Miles times share with both ranges in quadrature."""
        return _times(self.miles.at(vehicle, day_lo, day_hi), self.share[vehicle])

    def rates(self) -> Floats:
        """Two-piece log-normal with both spreads in quadrature, (n, 5)."""
        low, value, high = self.share.T
        belief = self.miles.belief
        below = np.hypot(belief.below, np.log(value / low) / Z_RANGE)
        above = np.hypot(belief.above, np.log(high / value) / Z_RANGE)
        side = np.where(Z_RATES < 0, below[:, None], above[:, None])
        rates = (belief.middle * value)[:, None] * np.exp(Z_RATES * side)
        return np.asarray(rates, dtype=np.float64)


@dataclass(frozen=True)
class SeasonClock:
    """Time since the in-service date, gathered by month; ``yearly`` (low, value, high) a year."""

    start: ServiceStart
    yearly: tuple[float, float, float]
    profile: Floats

    def at(self, vehicle: Ints, day_lo: Floats, day_hi: Floats) -> Range:
        """Use between in-service date and day, (m,) each; 0 before it, NaN if it is unknown."""
        low, value, high = self.yearly
        return (
            low * self._years(self.start.late[vehicle], day_lo),
            value * self._years(self.start.middle[vehicle], (day_lo + day_hi) / 2.0),
            high * self._years(self.start.early[vehicle], day_hi),
        )

    def between(self, day_lo: Floats, day_hi: Floats, until: float) -> Range:
        """Use from a day in [day_lo, day_hi] to the day ``until``: (low, middle, high), (m,)."""
        low, value, high = self.yearly
        end = np.full(len(day_lo), until)
        middle = (day_lo + day_hi) / 2.0
        return (
            low * self._years(day_hi, end),
            value * self._years(middle, end),
            high * self._years(day_lo, end),
        )

    def _years(self, start: Floats, day: Floats) -> Floats:
        total = seasonal_total(month_position(day), self.profile)
        return np.maximum(total - seasonal_total(month_position(start), self.profile), 0.0)

    def rates(self) -> Floats:
        """Yearly figure at the five points, the same for every vehicle, (n, 5)."""
        low, value, high = self.yearly
        below, above = np.log(value / low) / Z_RANGE, np.log(high / value) / Z_RANGE
        row = value * np.exp(Z_RATES * np.where(Z_RATES < 0, below, above))
        return np.broadcast_to(row, (len(self.start.middle), len(row))).copy()


@dataclass(frozen=True)
class EventClock:
    """Counted events: ``vehicle`` and ``day`` (e,) of each, ``years`` (n,) watched so far."""

    vehicle: Ints
    day: Floats
    years: Floats
    profile: Floats

    def at(self, vehicle: Ints, day_lo: Floats, day_hi: Floats) -> Range:
        """Events on file up to the day; the count is taken as it stands, (m,) each."""
        low, high = self._count(vehicle, day_lo), self._count(vehicle, day_hi)
        return low, self._count(vehicle, (day_lo + day_hi) / 2.0), high

    def _count(self, vehicle: Ints, day: Floats) -> Floats:
        order = np.lexsort((self.day, self.vehicle))
        room = 4_000_000.0
        key = self.vehicle[order] * room + self.day[order]
        until = np.searchsorted(key, vehicle * room + day, side="right")
        from_new = np.searchsorted(key, vehicle * room - room / 2, side="right")
        return np.asarray(until - from_new, dtype=np.float64)

    def rates(self) -> Floats:
        """Gamma posterior of the yearly rate (conjugate to a Poisson count) at the five points."""
        n = len(self.years)
        count = np.bincount(self.vehicle, minlength=n).astype(np.float64)
        watched = np.where(np.isfinite(self.years), self.years, 0.0)
        exposure = WATER_SHAPE / WATER_RATE.value + watched
        shape = (count + WATER_SHAPE)[:, None]
        return np.asarray(gamma.ppf(QUANTILES, shape) / exposure[:, None], dtype=np.float64)


def ratio_of(numerator: ClassFigures, denominator: ClassFigures) -> Floats:
    """(n, 3) low, value, high of a class ratio such as hours per mile.

    The range is the numerator's own: how much the ratio varies between vehicles of one duty.
    """
    columns = [
        figure / denominator.value for figure in (numerator.low, numerator.value, numerator.high)
    ]
    return np.column_stack(columns)


def _times(use: Range, factor: Floats) -> Range:
    """Product of two ranges, log distances from the middle added in quadrature."""
    low, middle, high = use
    share_low, share, share_high = factor.T
    tiny = 1e-9
    down = np.hypot(
        np.log(np.maximum(middle, tiny) / np.maximum(low, tiny)), np.log(share / share_low)
    )
    up = np.hypot(
        np.log(np.maximum(high, tiny) / np.maximum(middle, tiny)), np.log(share_high / share)
    )
    product = middle * share
    return product * np.exp(-down), product, product * np.exp(up)
