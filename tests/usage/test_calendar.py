"""Month walking and ages against the standard library's calendar and day-by-day sums."""

from __future__ import annotations

import datetime as dt

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from usage_frames import FROST, dates, events, policy, readings, vehicles

from riskcheck import rulebook
from riskcheck.usage import clocks
from riskcheck.usage.calendar import (
    day_of_position,
    days,
    in_service,
    month_position,
    seasonal_months,
    seasonal_total,
    to_dates,
)

PROFILE = np.array(FROST)
DAY = st.dates(dt.date(1980, 1, 1), dt.date(2060, 12, 31))


def share_of(day: dt.date) -> float:
    """A day's share of the year: its month's share over the days of that month (brute force)."""
    first = day.replace(day=1)
    after = (first + dt.timedelta(days=32)).replace(day=1)
    return FROST[day.month - 1] / (after - first).days


@settings(max_examples=60, deadline=None)
@given(DAY, st.integers(0, 900))
def test_seasonal_gain_is_the_sum_of_its_days(first, length):
    last = first + dt.timedelta(days=length)
    by_day = sum(share_of(first + dt.timedelta(days=i)) for i in range(length))
    ends = month_position(days(np.array([first, last], dtype="datetime64[D]")))
    total = seasonal_total(ends, PROFILE)
    assert total[1] - total[0] == pytest.approx(by_day, abs=1e-9)


@settings(max_examples=100, deadline=None)
@given(DAY, st.floats(0.001, 20))
def test_walking_months_reaches_exactly_the_gain(first, gain):
    start = month_position(days(np.array([first], dtype="datetime64[D]")))
    months = seasonal_months(start, np.array([gain]), PROFILE)
    reached = seasonal_total(start + months, PROFILE) - seasonal_total(start, PROFILE)
    assert reached[0] == pytest.approx(gain, abs=1e-9)


def test_worked_walk_through_a_summer():
    """From 1 March: March gives 0.10, April to September nothing, October 0.05, then 0.10.

    A gain of 0.10 is full on 31 March, one of 0.20 half way through November.
    """
    start = month_position(days(dates("2026-03-01", "2026-03-01", "2026-03-01")))
    months = seasonal_months(start, np.array([0.0, 0.10, 0.20]), PROFILE)
    np.testing.assert_allclose(months, [0.0, 1.0, 8.5], atol=1e-9)


@given(DAY)
def test_day_numbers_and_month_positions_come_back(day):
    number = days(np.array([day], dtype="datetime64[D]"))
    assert day_of_position(month_position(number))[0] == pytest.approx(number[0], abs=1e-6)
    assert to_dates(number)[0] == np.datetime64(day)


def test_missing_dates_stay_missing():
    number = days(dates("NaT"))
    assert np.isnan(number[0])
    assert np.isnan(month_position(number)[0])
    assert np.isnat(to_dates(number)[0])


def test_a_model_year_alone_spans_two_years_about_it():
    """July before to June after the model year: common practice, no source."""
    early, middle, late = in_service(vehicles(model_year=[2018]))
    assert str(to_dates(early)[0]) == "2017-07-01"
    assert str(to_dates(late)[0]) == "2019-06-30"
    assert str(to_dates(middle)[0]) == "2018-06-30"


def test_an_in_service_date_beats_the_model_year():
    fleet = vehicles(in_service_lo=["2018-11-03"], in_service_hi=["2018-11-03"], model_year=[2019])
    assert [str(to_dates(day)[0]) for day in in_service(fleet)] == ["2018-11-03"] * 3


@pytest.mark.parametrize("name", ["monthly_winter", "monthly_cold_starts"])
def test_the_shipped_profiles_gain_one_year_in_twelve_months(name):
    """Any twelve months hold every month once, leap years and days in mid-month included."""
    profile = np.array(getattr(rulebook.load(rulebook.shipped_dir()).policy, name))
    assert profile.sum() == pytest.approx(1.0, abs=1e-12)
    assert (profile >= 0.0).all()
    day = days(dates("2023-10-17", "2024-02-29", "2024-03-01", "2023-12-31", "2026-07-04"))
    start = month_position(day)
    gained = seasonal_total(start + 12.0, profile) - seasonal_total(start, profile)
    np.testing.assert_allclose(gained, 1.0, atol=1e-9)


def test_a_leap_day_carries_its_share_of_february():
    """February gives 0.20: a day of 2024 gives 0.20/29 of a year, one of 2023 0.20/28."""
    day = days(dates("2024-02-28", "2024-03-01", "2023-02-28", "2023-03-01"))
    total = seasonal_total(month_position(day), PROFILE)
    assert total[1] - total[0] == pytest.approx(2 * 0.20 / 29)
    assert total[3] - total[2] == pytest.approx(0.20 / 28)


@settings(max_examples=40, deadline=None)
@given(st.dates(dt.date(2020, 1, 1), dt.date(2030, 12, 31)), st.integers(0, 24))
def test_use_ahead_from_any_day_is_the_sum_of_its_days(as_of, months):
    """Brute force day by day from a day in mid-month to the same share of a later month."""
    fleet = vehicles(in_service_lo=["2018-10-01"], in_service_hi=["2018-10-01"])
    known = clocks(fleet, readings([]), events([]), policy(), as_of)  # type: ignore[arg-type]
    ahead = float(known.ahead("winters", np.array([float(months)]))[0, 2, 0])
    position = float(month_position(days(np.array([as_of], dtype="datetime64[D]")))[0])
    last = float(day_of_position(np.array([position + months]))[0])
    epoch = dt.date(1970, 1, 1)
    whole = [epoch + dt.timedelta(days=i) for i in range((as_of - epoch).days, int(last))]
    part = share_of(epoch + dt.timedelta(days=int(last))) * (last - int(last))
    assert ahead == pytest.approx(sum(map(share_of, whole)) + part, abs=1e-6)
