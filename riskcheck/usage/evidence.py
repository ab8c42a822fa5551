"""What a vehicle's own meter readings say of its yearly rate as of its last reading.

A habit drifts (log sd ``d`` in a year) and years scatter about it (log sd ``c``), so old readings
say less of today's habit than new ones.  The slope is therefore taken over the *window* of latest
readings whose slope is closest to today's habit.  A slope over T years of readings errs by

    v(T) = 6/5 c^2 / T + 13/35 d^2 T

(a least-squares slope weighs the rates within its window by 6 u (1 - u), u = 0 to 1; the two terms
are the white noise and the random walk under those weights; the first falls and the second rises
with T, least near 1.8 years for c = d).  The life before the window is a second source: the mean
rate from the first day in service to the window.  Both share the walk within the window, and are
combined by their two variances and their covariance (generalised least squares, any textbook).
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from riskcheck.usage.belief import (
    DRIFT,
    YEAR_TO_YEAR,
    ClassFigures,
    Own,
)
from riskcheck.usage.calendar import years_between
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


def slope_variance(years: Floats) -> Floats:
    """Log variance of the slope over readings that span ``years``, as of the last; any shape."""
    scatter = SLOPE_SCATTER * YEAR_TO_YEAR.value**2 / span_or_day(years)
    return np.asarray(scatter + SLOPE_WALK * DRIFT.value**2 * years)


def span_or_day(years: Floats) -> Floats:
    """``years``, at least one day."""
    return np.maximum(years, 1.0 / 365.0)


def window_rows(readings: Series) -> Ints:
    """First row of each vehicle's window, (n,) int; -1 without readings.

    The start with the least ``slope_variance`` among those that leave at least five readings, or
    the first reading of a vehicle with fewer.
    """
    rows = np.arange(len(readings.vehicle))
    last = np.append(readings.day, np.nan)[readings.last_row()]
    error = slope_variance(years_between(readings.day, last[readings.vehicle]))
    first = readings.first_row()
    latest_start = np.maximum(readings.start[1:] - LEAST_READINGS, first)
    error = np.where(rows <= latest_start[readings.vehicle], error, np.inf)
    order = np.lexsort((rows, error, readings.vehicle))
    best = np.append(rows[order], -1)[np.where(first >= 0, readings.start[:-1], -1)]
    return np.asarray(best, dtype=np.int64)


def own_rates(
    readings: Series, service: tuple[Floats, Floats, Floats], figures: ClassFigures
) -> Own:
    """Each vehicle's own record: its rate, how sure it is and how much time stands behind it.

    ``service``: earliest, middle and latest first day in service, (n,) day numbers, NaN where
    unknown; ``figures``: of each vehicle's class.
    """
    start_early, start_middle, start_late = service
    window = from_row(readings, window_rows(readings))
    padded = np.append(window.day, np.nan)
    begin, end = padded[window.first_row()], padded[window.last_row()]
    slope, span = robust_rates(window), years_between(begin, end)
    life = years_between(start_middle, begin)
    level = robust_levels(window, slope)
    before = np.divide(level, life, out=np.full(len(life), np.nan), where=life > 0)
    vague = years_between(start_early, start_late) / np.sqrt(12.0)
    drift, scatter = DRIFT.value**2, YEAR_TO_YEAR.value**2
    lived = span_or_day(life)
    # Over a long life the habit has also come back to its likes, and its mean says less of now.
    walk = lived / 3.0 * (1.0 + lived / (4.0 * figures.lasts))
    steady = (scatter * SLOPE_SCATTER / span_or_day(span), scatter / lived + (vague / lived) ** 2)
    walked = (drift * SLOPE_WALK * span, drift * (span + walk), drift * span / 2.0)
    logs = [np.log(believable(rate, figures)) for rate in (slope, before)]
    weight = _weight_of_life(logs, steady, walked)
    return _mixed(logs, weight, steady, walked, (span, span + lived))


def believable(rate: Floats, figures: ClassFigures) -> Floats:
    """``rate`` (n,) within a fiftieth to 25 times the class figure; NaN stays NaN."""
    return np.clip(rate, LEAST_SHARE_OF_CLASS * figures.value, MOST_SHARE_OF_CLASS * figures.value)


Pair = tuple[Floats, Floats]


def _weight_of_life(
    logs: list[Floats], steady: Pair, walked: tuple[Floats, Floats, Floats]
) -> Floats:
    """Share of the earlier life in the best mix of slope and life, (n,); NaN where both are silent.

    The log errors of the two have variances ``steady + walked`` and share ``walked[2]``.
    """
    slope, life = (np.isfinite(log) for log in logs)
    errors = [still + walk for still, walk in zip(steady, walked[:2], strict=True)]
    with np.errstate(invalid="ignore"):
        best = (errors[0] - walked[2]) / (errors[0] + errors[1] - 2.0 * walked[2])
    alone = np.where(slope, 0.0, np.where(life, 1.0, np.nan))
    return np.where(slope & life, np.clip(best, 0.0, 1.0), alone)


def _mixed(
    logs: list[Floats],
    weight: Floats,
    steady: Pair,
    walked: tuple[Floats, Floats, Floats],
    covers: Pair,
) -> Own:
    silent = np.isnan(weight)
    other = np.where(silent, 0.0, weight)
    one = np.where(silent, 0.0, 1.0 - weight)

    def mix(parts: Sequence[Floats], power: int) -> Floats:
        pairs = zip((one**power, other**power), parts, strict=True)
        return np.asarray(sum(np.where(share > 0, part, 0.0) * share for share, part in pairs))

    still = mix(steady, 2)
    walk = mix(walked[:2], 2) + np.where(one * other > 0, 2.0 * one * other * walked[2], 0.0)
    return Own(
        log_rate=mix(logs, 1),
        variance=np.where(silent, np.inf, still + walk),
        steady=np.where(silent, np.inf, still),
        covers=mix(covers, 1),
    )
