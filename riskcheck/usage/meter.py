"""One metered clock (odometer or engine hours): use since new on any date, past or future.

Between two readings use is interpolated; the range is that of a walk pinned at both
(``Habit.between_readings``) and never leaves the two readings.
After the last reading use is projected with the vehicle's rate belief.  Before the first it starts
from zero at the in-service date, itself a range.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from riskcheck.usage.belief import Z_RANGE, ClassFigures, RateBelief, believe
from riskcheck.usage.calendar import years_between
from riskcheck.usage.evidence import own_rates
from riskcheck.usage.slopes import DAYS_PER_YEAR, Floats, Ints, Series

Range = tuple[Floats, Floats, Floats]
# Keeps (vehicle, day) in one sortable number: room for days from about 970 to 4700 A.D.
_DAY_ROOM, _DAY_SHIFT = 2_000_000.0, 500_000.0


@dataclass(frozen=True)
class ServiceStart:
    """Earliest, middle and latest in-service day, (n,) day numbers; NaN where unknown."""

    early: Floats
    middle: Floats
    late: Floats

    def not_after(self, day: Floats) -> ServiceStart:
        """No vehicle enters service after its first reading; NaN in ``day`` sets no limit."""
        return ServiceStart(
            *(np.where(start > day, day, start) for start in (self.early, self.middle, self.late))
        )


@dataclass(frozen=True)
class Meter:
    """Readings, in-service days and rate belief of one meter for n vehicles."""

    readings: Series
    start: ServiceStart
    belief: RateBelief

    def at(self, vehicle: Ints, day_lo: Floats, day_hi: Floats) -> Range:
        """Use since new on a day known to lie in [day_lo, day_hi]: (low, middle, high), (m,) each.

        Low is taken on the early day, high on the late one.  NaN where neither a reading nor an
        in-service date is known.
        """
        low = self._point(vehicle, day_lo, self.start.late, -Z_RANGE)
        middle = self._point(vehicle, (day_lo + day_hi) / 2.0, self.start.middle, 0.0)
        high = self._point(vehicle, day_hi, self.start.early, Z_RANGE)
        return np.minimum(low, middle), middle, np.maximum(high, middle)

    def since(self, vehicle: Ints, day_lo: Floats, day_hi: Floats, today: float) -> Range:
        """Use from a day in [day_lo, day_hi] to ``today``: (low, middle, high), (m,) each.

        One habit carries a vehicle from its last reading on, so what it gained after that day is
        taken at one pace; before the last reading the two ends err apart (in quadrature).
        """
        end = np.full(len(vehicle), today)
        ends = self.at(vehicle, end, end)
        begins = self.at(vehicle, day_lo, day_hi)
        last = np.append(self.readings.day, np.nan)[self.readings.last_row()][vehicle]
        middle = ends[1] - begins[1]
        apart = (
            middle - np.hypot(ends[1] - ends[0], begins[2] - begins[1]),
            middle,
            middle + np.hypot(ends[2] - ends[1], begins[1] - begins[0]),
        )
        paced = [
            self._gain(vehicle, years_between(day, end), z, np.nan_to_num(years_between(last, day)))
            for day, z in (
                (np.fmax(day_hi, self.start.late[vehicle]), -Z_RANGE),
                (np.fmax((day_lo + day_hi) / 2.0, self.start.middle[vehicle]), 0.0),
                (np.fmax(day_lo, self.start.early[vehicle]), Z_RANGE),
            )
        ]
        read_after = last > (day_lo + day_hi) / 2.0
        unknown = ~np.isfinite(day_lo + day_hi)
        low, mid, high = (
            np.where(unknown, np.nan, np.maximum(np.where(read_after, one, other), 0.0))
            for one, other in zip(apart, paced, strict=True)
        )
        return np.minimum(low, mid), mid, np.maximum(mid, high)

    def _gain(self, vehicle: Ints, years: Floats, z: float, gap: Floats | float = 0.0) -> Floats:
        """Use gained in ``years`` (m,) that begin ``gap`` years after (or end before) a reading."""
        pace = self.belief.over(vehicle, np.broadcast_to(gap, years.shape), years)
        return np.asarray(pace.at_z(z) * years, dtype=np.float64)

    def _point(self, vehicle: Ints, day: Floats, start_day: Floats, z: float) -> Floats:
        day_before, before, day_after, after = self._neighbours(vehicle, day, start_day)
        gap = years_between(day_before, day)
        ahead = before + self._gain(vehicle, gap, z)
        span = years_between(day_before, day_after)
        share = np.divide(gap, span, out=np.ones_like(gap), where=span > 0)
        inner = np.clip(share, 0.0, 1.0)
        spread = np.sqrt(self.belief.habit.between_readings(vehicle, inner, span))
        unit = np.divide(spread, span, out=np.zeros_like(gap), where=span > 0)
        inside = before + (after - before) * (share + z * unit)
        inside = np.clip(inside, np.minimum(before, after), np.maximum(before, after))
        back = self._gain(vehicle, years_between(day, day_after), -z)
        behind = np.maximum(after - back, 0.0)
        has_before, has_after = np.isfinite(before), np.isfinite(after)
        value = np.where(has_before, np.where(has_after, inside, ahead), behind)
        started = np.isnan(start_day[vehicle]) | (day >= start_day[vehicle])
        return np.where(started | ~np.isfinite(day), value, np.where(np.isnan(value), value, 0.0))

    def _neighbours(
        self, vehicle: Ints, day: Floats, start_day: Floats
    ) -> tuple[Floats, Floats, Floats, Floats]:
        """Day and value of the last reading at or before ``day`` and of the first one after it."""
        readings = self.readings
        key = readings.vehicle * _DAY_ROOM + readings.day + _DAY_SHIFT
        wanted = vehicle * _DAY_ROOM + np.where(np.isfinite(day), day, 0.0) + _DAY_SHIFT
        row = np.searchsorted(key, wanted, side="right")
        has_before = row > readings.start[vehicle]
        has_after = row < readings.start[vehicle + 1]
        padded_day = np.append(readings.day, np.nan)
        padded_value = np.append(readings.value, np.nan)
        missing = len(readings.day)
        earlier = np.where(has_before, row - 1, missing)
        later = np.where(has_after, row, missing)
        day_before = np.where(has_before, padded_day[earlier], start_day[vehicle])
        new = np.where(np.isfinite(start_day[vehicle]), 0.0, np.nan)
        before = np.where(has_before, padded_value[earlier], new)
        unknown = ~np.isfinite(day)
        before = np.where(unknown, np.nan, before)
        after = np.where(unknown, np.nan, padded_value[later])
        return day_before, before, padded_day[later], after


def meter(
    readings: Series, start: ServiceStart, duty: Ints, figures: ClassFigures, as_of_day: float
) -> Meter:
    """Learn every vehicle's rate from its readings, its lifetime average and its duty.

    ``duty`` (n,) int groups, ``figures`` the policy's class figures, ``as_of_day`` a day number;
    readings later than that must have been left out by the caller.
    """
    padded_day = np.append(readings.day, np.nan)
    start = start.not_after(padded_day[readings.first_row()])
    since = np.maximum(as_of_day - padded_day[readings.last_row()], 0.0) / DAYS_PER_YEAR
    service = (start.early, start.middle, start.late)
    own = own_rates(readings, service, figures)
    return Meter(readings, start, believe(own, np.nan_to_num(since), duty, figures))
