"""What a vehicle's own meter readings say of its yearly rate: its latest years and those before.

A habit strays (log variance ``d^2`` in its first year) and years scatter about it (``c^2``), so old
readings say less of today's habit than new ones.  The slope is therefore taken over the *window*
of latest readings whose slope is closest to today's habit.  A slope over T years of readings errs
about today's habit by

    v(T) = 6/5 c^2 / T + 13/35 d^2 T

(a least-squares slope weighs the rates within its window by 6 u (1 - u), u = 0 to 1; the two terms
are the white noise and the random walk under those weights; the first falls and the second rises
with T).  The life before the window is a second source: the mean rate from the first day in service
to the window.  ``belief`` weighs the two.
"""

from __future__ import annotations

import numpy as np

from riskcheck.usage.belief import ClassFigures
from riskcheck.usage.calendar import years_between
from riskcheck.usage.habit import (
    HABIT_LASTS,
    SILENT,
    STAYS,
    YEAR_TO_YEAR,
    Own,
    Stretch,
)
from riskcheck.usage.slopes import (
    Floats,
    Ints,
    Series,
    from_row,
    robust_levels,
    robust_rates,
)

# A parked vehicle still moves a little and the log scale has no zero; beyond 25 times its class
# (300,000 miles a year in a class of 12,000) no meter is believed.
LEAST_SHARE_OF_CLASS, MOST_SHARE_OF_CLASS = 0.02, 25.0
# Fewer readings than this and one wrong one carries the median of the pairs with it.
LEAST_READINGS = 5
SLOPE_SCATTER, SLOPE_WALK = 6.0 / 5.0, 13.0 / 35.0


def slope_variance(years: Floats, between: Floats) -> Floats:
    """Log variance of the slope over readings that span ``years`` about the habit at the last one.

    ``between``: tau^2 of the vehicle's class; any shapes that broadcast.
    """
    strays = 2.0 * (1.0 - STAYS.value) * between / HABIT_LASTS.value
    return np.asarray(_slope_noise(years) + SLOPE_WALK * strays * years)


def _slope_noise(years: Floats) -> Floats:
    return np.asarray(SLOPE_SCATTER * YEAR_TO_YEAR.value**2 / span_or_day(years))


def span_or_day(years: Floats) -> Floats:
    """``years``, at least one day."""
    return np.maximum(years, 1.0 / 365.0)


def window_rows(readings: Series, between: Floats) -> Ints:
    """First row of each vehicle's window, (n,) int; -1 without readings.

    The start with the least ``slope_variance`` among those that leave at least five readings, or
    the first reading of a vehicle with fewer.  ``between`` (n,): tau^2 of its class.
    """
    rows = np.arange(len(readings.vehicle))
    last = np.append(readings.day, np.nan)[readings.last_row()]
    years = years_between(readings.day, last[readings.vehicle])
    error = slope_variance(years, between[readings.vehicle])
    first = readings.first_row()
    latest_start = np.maximum(readings.start[1:] - LEAST_READINGS, first)
    error = np.where(rows <= latest_start[readings.vehicle], error, np.inf)
    order = np.lexsort((rows, error, readings.vehicle))
    best = np.append(rows[order], -1)[np.where(first >= 0, readings.start[:-1], -1)]
    return np.asarray(best, dtype=np.int64)


def own_rates(
    readings: Series, service: tuple[Floats, Floats, Floats], figures: ClassFigures
) -> Own:
    """Each vehicle's own record: its rate over the window and over its life before that.

    ``service``: earliest, middle and latest first day in service, (n,) day numbers, NaN where
    unknown; ``figures``: of each vehicle's class.
    """
    start_early, start_middle, start_late = service
    window = from_row(readings, window_rows(readings, figures.between))
    padded = np.append(window.day, np.nan)
    begin, end = padded[window.first_row()], padded[window.last_row()]
    slope, span = robust_rates(window), years_between(begin, end)
    life = years_between(start_middle, begin)
    level = robust_levels(window, slope)
    lived = span_or_day(life)
    mean = np.where(life > 0, level / lived, np.nan)
    vague = years_between(start_early, start_late) / np.sqrt(12.0)
    noise = YEAR_TO_YEAR.value**2 / lived + (vague / lived) ** 2
    return Own(
        latest=_stretch(slope, _slope_noise(span), span, figures),
        before=_stretch(mean, noise, lived, figures),
    )


def _stretch(rate: Floats, noise: Floats, years: Floats, figures: ClassFigures) -> Stretch:
    """A record without a ``rate`` (NaN) reads as the class figure, with no weight."""
    silent = np.isnan(rate)
    log_rate = np.log(np.where(silent, figures.value, believable(rate, figures)))
    return Stretch(log_rate, np.where(silent, SILENT, noise), np.nan_to_num(years))


def believable(rate: Floats, figures: ClassFigures) -> Floats:
    """``rate`` (n,) within a fiftieth to 25 times the class figure; NaN stays NaN."""
    return np.clip(rate, LEAST_SHARE_OF_CLASS * figures.value, MOST_SHARE_OF_CLASS * figures.value)
