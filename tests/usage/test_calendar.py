"""Month walking and ages against the standard library's calendar and day-by-day sums."""

from __future__ import annotations

import datetime as dt

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from usage_frames import FROST, dates, vehicles

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
