"""Robust yearly rates from meter readings: the median of pair slopes, for all vehicles at once.

Method: Theil (1950) and Sen (1968) as in ``scipy.stats.theilslopes``: the median of
(y_j - y_i) / (t_j - t_i) over all pairs of readings taken on different days.  Half of the pairs
may be wrong by any amount before the median follows them (29 % of the readings, strictly).

Two readings taken close together say next to nothing of a year, so only pairs are asked that lie
at least a quarter of the window apart.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

DAYS_PER_YEAR = 365.2425
# Pairs grow with the square of the readings: daily telematics are thinned to this many a vehicle.
MOST_READINGS = 60
# Pairs nearer to each other than this share of the window are left out.
LEAST_APART = 0.25


@dataclass(frozen=True)
class Series:
    """Readings of one meter, sorted by (vehicle, day, value).

    ``vehicle`` (m,) int index, ``day`` (m,) float days since 1970-01-01, ``value`` (m,) in meter
    units, ``start`` (n + 1,) int: readings of vehicle i are rows start[i] to start[i + 1].
    """

    vehicle: Ints
    day: Floats
    value: Floats
    start: Ints

    @property
    def count(self) -> Ints:
        """Readings per vehicle, (n,) int."""
        return np.diff(self.start)

    def first_row(self) -> Ints:
        """Row of each vehicle's first reading, (n,) int; -1 without readings."""
        return np.where(self.count > 0, self.start[:-1], -1)

    def last_row(self) -> Ints:
        """Row of each vehicle's last reading, (n,) int; -1 without readings."""
        return np.where(self.count > 0, self.start[1:] - 1, -1)


def series(vehicle: Ints, day: Floats, value: Floats, n_vehicles: int) -> Series:
    """Sort readings into a Series; rows with a missing day or value are left out.

    Rows may come in any order.  Identical rows count once, so a reading copied onto five lines of
    one invoice weighs as much as any other reading.
    """
    keep = (vehicle >= 0) & np.isfinite(day) & np.isfinite(value)
    vehicle, day, value = vehicle[keep], day[keep], value[keep]
    order = np.lexsort((value, day, vehicle))
    vehicle, day, value = vehicle[order], day[order], value[order]
    repeated = np.zeros(len(vehicle), dtype=bool)
    repeated[1:] = (vehicle[1:] == vehicle[:-1]) & (day[1:] == day[:-1]) & (value[1:] == value[:-1])
    vehicle, day, value = vehicle[~repeated], day[~repeated], value[~repeated]
    start = np.searchsorted(vehicle, np.arange(n_vehicles + 1))
    return Series(vehicle, day, value, start.astype(np.int64))


def thinned(readings: Series, most: int = MOST_READINGS) -> Series:
    """At most ``most`` readings a vehicle, evenly spread in order, first and last kept."""
    count = readings.count
    if len(count) == 0 or np.max(count) <= most:
        return readings
    order = np.arange(len(readings.vehicle)) - readings.start[readings.vehicle]
    last = count[readings.vehicle] - 1
    crowded = count[readings.vehicle] > most
    slot = np.where(crowded, order * (most - 1) // np.maximum(last, 1), order)
    keep = np.ones(len(order), dtype=bool)
    same = (readings.vehicle[1:] == readings.vehicle[:-1]) & (slot[1:] == slot[:-1])
    keep[1:] = ~same
    return series(readings.vehicle[keep], readings.day[keep], readings.value[keep], len(count))


def from_row(readings: Series, first: Ints) -> Series:
    """The readings of each vehicle from row ``first`` (n,) on; -1 for a vehicle without any."""
    keep = np.arange(len(readings.vehicle)) >= first[readings.vehicle]
    start = np.concatenate([[0], np.cumsum(keep)])[readings.start].astype(np.int64)
    return Series(readings.vehicle[keep], readings.day[keep], readings.value[keep], start)


def pair_slopes(readings: Series, least_apart: float = 0.0) -> tuple[Ints, Floats]:
    """(vehicle, value gained per year) of every pair of readings taken on different days.

    Pairs nearer than ``least_apart`` of the time between a vehicle's first and last reading are
    left out.  Returns two arrays (pairs,): vehicle index and slope in meter units a year.
    """
    later = readings.start[1:][readings.vehicle] - np.arange(len(readings.vehicle)) - 1
    first = np.repeat(np.arange(len(later)), later)
    step = np.arange(len(first)) - np.repeat(np.cumsum(later) - later, later) + 1
    second = first + step
    days = readings.day[second] - readings.day[first]
    padded = np.append(readings.day, np.nan)
    span = padded[readings.last_row()] - padded[readings.first_row()]
    apart = (days > 0) & (days >= least_apart * span[readings.vehicle[first]])
    first, second, days = first[apart], second[apart], days[apart]
    gain = readings.value[second] - readings.value[first]
    return readings.vehicle[first], gain / days * DAYS_PER_YEAR


def grouped_median(group: Ints, value: Floats, n_groups: int) -> Floats:
    """Median of ``value`` within each group, (n_groups,); NaN for an empty group."""
    order = np.lexsort((value, group))
    group, value = group[order], value[order]
    start = np.searchsorted(group, np.arange(n_groups + 1))
    size = np.diff(start)
    median = np.full(n_groups, np.nan)
    some = size > 0
    low = start[:-1][some] + (size[some] - 1) // 2
    high = start[:-1][some] + size[some] // 2
    median[some] = (value[low] + value[high]) / 2.0
    return median


def robust_rates(readings: Series, least_apart: float = LEAST_APART) -> Floats:
    """Median of pair slopes per vehicle, (n,) meter units a year; NaN below two days read."""
    vehicle, slope = pair_slopes(thinned(readings), least_apart)
    return grouped_median(vehicle, slope, len(readings.count))


def robust_levels(readings: Series, rate: Floats) -> Floats:
    """What the meter showed on the day of each vehicle's first reading, by the line, (n,).

    The median over all readings of value less ``rate`` (n,) times the years since the first one:
    one wrong first reading of many does not move it.  A lone reading is taken as it stands.
    """
    padded = np.append(readings.day, np.nan)
    years = (readings.day - padded[readings.first_row()][readings.vehicle]) / DAYS_PER_YEAR
    slope = np.where(np.isfinite(rate), rate, 0.0)[readings.vehicle]
    return grouped_median(readings.vehicle, readings.value - slope * years, len(readings.count))
