"""Dates as numbers: days, positions in months, ages, and clocks that follow the seasons.

A *month position* is a float: whole months since January 1970 plus the share of the month that
has passed at the start of the day.  A seasonal clock gains ``profile[month]`` of its yearly use
evenly within each calendar month.
"""

from __future__ import annotations

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from riskcheck.usage.slopes import DAYS_PER_YEAR, Floats

Dates = NDArray[np.datetime64]
EVEN_PROFILE: Floats = np.full(12, 1.0 / 12.0)
# A model year may lead or lag the first day in service: sold from July of the year before to June
# of the year after (common practice, no source).  In months from 1 January of the model year.
MODEL_YEAR_FROM = -6.0
MODEL_YEAR_TO = 18.0
# Sums of shares are rounded: a month filled to within this is full.
ROUNDING = 1e-12
FURTHEST_MONTHS = 12 * 200


def days(dates: pd.Series | Dates) -> Floats:
    """Days since 1970-01-01 as floats, (m,); NaN for a missing date."""
    stamps = np.asarray(dates, dtype="datetime64[D]")
    number = stamps.astype(np.int64).astype(np.float64)
    number[np.isnat(stamps)] = np.nan
    return number


def to_dates(day: Floats) -> Dates:
    """The reverse of ``days``: datetime64[D] (m,), part days dropped; NaT for NaN."""
    known = np.isfinite(day)
    dates = np.floor(np.where(known, day, 0.0)).astype(np.int64).astype("datetime64[D]")
    dates[~known] = np.datetime64("NaT", "D")
    return dates


def month_position(day: Floats) -> Floats:
    """Month position of each day number, (m,); NaN stays NaN."""
    known = np.isfinite(day)
    floor = np.floor(np.where(known, day, 0.0))
    stamps = floor.astype(np.int64).astype("datetime64[D]")
    months = stamps.astype("datetime64[M]")
    first = months.astype("datetime64[D]").astype(np.int64)
    after = (months + np.timedelta64(1, "M")).astype("datetime64[D]").astype(np.int64)
    share = (np.where(known, day, 0.0) - first) / (after - first)
    return np.where(known, months.astype(np.int64) + share, np.nan)


def day_of_position(position: Floats) -> Floats:
    """The reverse of ``month_position``: day numbers (m,), with fractions."""
    known = np.isfinite(position)
    whole = np.floor(np.where(known, position, 0.0)).astype(np.int64)
    months = whole.astype("datetime64[M]")
    first = months.astype("datetime64[D]").astype(np.int64)
    after = (months + np.timedelta64(1, "M")).astype("datetime64[D]").astype(np.int64)
    share = np.where(known, position, 0.0) - whole
    return np.where(known, first + share * (after - first), np.nan)


def seasonal_total(position: Floats, profile: Floats) -> Floats:
    """Yearly shares gained from January 1970 up to each month position, any shape.

    ``profile`` (12,) shares of January to December that sum to 1.  Differences of this function
    are the years' worth of a seasonal clock between two positions.
    """
    known = np.isfinite(position)
    whole = np.floor(np.where(known, position, 0.0))
    month = whole.astype(np.int64)
    before = np.concatenate([[0.0], np.cumsum(profile)])
    inside = (np.where(known, position, 0.0) - whole) * profile[month % 12]
    return np.where(known, month // 12 + before[month % 12] + inside, np.nan)


def seasonal_months(start: Floats, gain: Floats, profile: Floats) -> Floats:
    """Months from each ``start`` position until ``gain`` yearly shares are gained, (m,).

    Walks whole months until the gain lies inside one; NaN where it is never reached within 200
    years or an input is missing, 0 where nothing is left to gain.
    """
    reachable = np.isfinite(start) & np.isfinite(gain) & (gain < FURTHEST_MONTHS / 12)
    total = seasonal_total(start, profile) - ROUNDING
    target = total + np.maximum(np.where(reachable, gain, 0.0), 0.0)
    year = np.ceil(np.where(reachable, target, 0.0)) - 1.0
    share = np.where(reachable, target, 0.0) - year
    before = np.concatenate([[0.0], np.cumsum(profile)])
    # The first month whose end holds the target.  Idle months are walked through, and a target
    # met exactly at a month's end is met there, not after the idle months that follow.
    month = np.clip(np.searchsorted(before, share, side="left") - 1, 0, 11)
    within = np.where(profile[month] > 0, (share - before[month]) / profile[month].clip(1e-300), 0)
    found = year * 12 + month + np.clip(within, 0.0, 1.0)
    return np.where(reachable, np.maximum(found - start, 0.0), np.nan)


def years_between(first_day: Floats, last_day: Floats) -> Floats:
    """Mean Gregorian years (365.2425 days) from first to last, never below 0."""
    return np.maximum(last_day - first_day, 0.0) / DAYS_PER_YEAR


def in_service(vehicles: pd.DataFrame) -> tuple[Floats, Floats, Floats]:
    """Earliest, middle and latest day each vehicle can have entered service, (n,) day numbers.

    From ``in_service_lo``/``in_service_hi``; where they are missing from the model year, which
    may lead or lag.  NaN where neither is known.
    """
    early, late = days(vehicles["in_service_lo"]), days(vehicles["in_service_hi"])
    early, late = np.where(np.isnan(early), late, early), np.where(np.isnan(late), early, late)
    year = vehicles["model_year"].astype("Float64").to_numpy(dtype=np.float64, na_value=np.nan)
    new_year = np.asarray((year - 1970.0) * 12.0, dtype=np.float64)
    early = np.where(np.isnan(early), day_of_position(new_year + MODEL_YEAR_FROM), early)
    late = np.where(np.isnan(late), day_of_position(new_year + MODEL_YEAR_TO) - 1, late)
    return early, np.floor((early + late) / 2.0), late
