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
from riskcheck.usage.belief import QUANTILES, Z_RANGE, Z_RATES
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

    def since(self, vehicle: Ints, day_lo: Floats, day_hi: Floats, today: float) -> Range:
        """Use from a day in [day_lo, day_hi] to ``today``: (low, middle, high), (m,) each."""
        ...

    def ahead(self, years: Floats) -> Floats:
        """Use gained in the next ``years`` (k,) at the 10, 30, 50, 70, 90 % points, (n, 5, k)."""
        ...


@dataclass(frozen=True)
class MeteredClock:
    """Odometer miles, or engine hours where a meter is read."""

    meter: Meter
    profile: Floats

    def at(self, vehicle: Ints, day_lo: Floats, day_hi: Floats) -> Range:
        """As ``Meter.at``."""
        return self.meter.at(vehicle, day_lo, day_hi)

    def since(self, vehicle: Ints, day_lo: Floats, day_hi: Floats, today: float) -> Range:
        """As ``Meter.since``."""
        return self.meter.since(vehicle, day_lo, day_hi, today)

    def ahead(self, years: Floats) -> Floats:
        """Points of the rate belief times the years, (n, 5, k)."""
        return self.meter.belief.ahead(years).points() * years


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
        guessed = _times(self.miles.at(vehicle, day_lo, day_hi), self.per_mile[vehicle])
        return self._read_or(vehicle, self.hours.at(vehicle, day_lo, day_hi), guessed)

    def since(self, vehicle: Ints, day_lo: Floats, day_hi: Floats, today: float) -> Range:
        """As ``at``: one vehicle's hours per mile are the same then and now."""
        miles = self.miles.since(vehicle, day_lo, day_hi, today)
        metered = self.hours.since(vehicle, day_lo, day_hi, today)
        return self._read_or(vehicle, metered, _times(miles, self.per_mile[vehicle]))

    def ahead(self, years: Floats) -> Floats:
        """As ``at``: of the hour meter's belief, or the miles' times hours per mile, (n, 5, k)."""
        guessed = self.miles.belief.ahead(years).times(self.per_mile).points()
        read = (self.hours.readings.count > 0)[:, None, None]
        return np.where(read, self.hours.belief.ahead(years).points(), guessed) * years

    def _read_or(self, vehicle: Ints, metered: Range, guessed: Range) -> Range:
        own = self.hours.readings.count[vehicle] > 0
        low, middle, high = (np.where(own, m, g) for m, g in zip(metered, guessed, strict=True))
        return low, middle, high


@dataclass(frozen=True)
class ShareClock:
    """A share of the miles: miles with a trailer.  ``share`` (n, 3): low, value, high."""

    miles: Meter
    share: Floats
    profile: Floats

    def at(self, vehicle: Ints, day_lo: Floats, day_hi: Floats) -> Range:
        """Miles times share with both ranges in quadrature."""
        return _times(self.miles.at(vehicle, day_lo, day_hi), self.share[vehicle])

    def since(self, vehicle: Ints, day_lo: Floats, day_hi: Floats, today: float) -> Range:
        """Miles since times share: one vehicle's share is the same then and now."""
        return _times(self.miles.since(vehicle, day_lo, day_hi, today), self.share[vehicle])

    def ahead(self, years: Floats) -> Floats:
        """Points of the miles' belief times the share, both spreads in quadrature, (n, 5, k)."""
        return self.miles.belief.ahead(years).times(self.share).points() * years


@dataclass(frozen=True)
class SeasonClock:
    """Time since the in-service date, gathered by month; ``yearly`` (low, value, high) a year."""

    start: ServiceStart
    yearly: tuple[float, float, float]
    profile: Floats

    def at(self, vehicle: Ints, day_lo: Floats, day_hi: Floats) -> Range:
        """Use between in-service date and day, (m,) each; 0 before it, NaN if it is unknown."""
        middle = (day_lo + day_hi) / 2.0
        years = (
            self._years(self.start.late[vehicle], day_lo),
            self._years(self.start.middle[vehicle], middle),
            self._years(self.start.early[vehicle], day_hi),
        )
        return _times(years, np.array([self.yearly]))

    def since(self, vehicle: Ints, day_lo: Floats, day_hi: Floats, today: float) -> Range:
        """Exact for time, however vague the in-service date; never longer than the vehicle's life.

        The same in-service date stands behind both ends, so only the day itself and the yearly
        figure leave a range.
        """
        end = np.full(len(day_lo), today)
        edges = (day_hi, (day_lo + day_hi) / 2.0, day_lo)
        life = self._years(self.start.early[vehicle], end)
        low, middle, high = (np.fmin(self._years(day, end), life) for day in edges)
        missing = np.isnan(day_lo + day_hi)
        low, middle, high = (np.where(missing, np.nan, edge) for edge in (low, middle, high))
        return _times((low, middle, high), np.array([self.yearly]))

    def _years(self, start: Floats, day: Floats) -> Floats:
        total = seasonal_total(month_position(day), self.profile)
        return np.maximum(total - seasonal_total(month_position(start), self.profile), 0.0)

    def ahead(self, years: Floats) -> Floats:
        """Yearly figure at the five points times the years, the same for all, (n, 5, k)."""
        low, value, high = self.yearly
        below, above = np.log(value / low) / Z_RANGE, np.log(high / value) / Z_RANGE
        row = value * np.exp(Z_RATES * np.where(Z_RATES < 0, below, above))
        n = len(self.start.middle)
        return np.broadcast_to(row[:, None] * years, (n, len(row), len(years))).copy()


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

    def since(self, vehicle: Ints, day_lo: Floats, day_hi: Floats, today: float) -> Range:
        """Events on file after the day, (m,) each."""
        now = self._count(vehicle, np.full(len(vehicle), today))
        low, middle, high = self.at(vehicle, day_lo, day_hi)
        return now - high, now - middle, now - low

    def _count(self, vehicle: Ints, day: Floats) -> Floats:
        order = np.lexsort((self.day, self.vehicle))
        room = 4_000_000.0
        key = self.vehicle[order] * room + self.day[order]
        until = np.searchsorted(key, vehicle * room + day, side="right")
        from_new = np.searchsorted(key, vehicle * room - room / 2, side="right")
        return np.asarray(until - from_new, dtype=np.float64)

    def ahead(self, years: Floats) -> Floats:
        """Gamma posterior of the yearly rate (conjugate to a Poisson count), (n, 5, k)."""
        n = len(self.years)
        count = np.bincount(self.vehicle, minlength=n).astype(np.float64)
        watched = np.where(np.isfinite(self.years), self.years, 0.0)
        exposure = WATER_SHAPE / WATER_RATE.value + watched
        shape = (count + WATER_SHAPE)[:, None]
        rates = np.asarray(gamma.ppf(QUANTILES, shape) / exposure[:, None], dtype=np.float64)
        return rates[:, :, None] * years


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
