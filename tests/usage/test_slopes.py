"""Robust slopes against scipy.stats.theilslopes (reference library) and worked examples."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import theilslopes

from riskcheck.usage.slopes import (
    DAYS_PER_YEAR,
    LEAST_APART,
    from_row,
    grouped_median,
    robust_levels,
    robust_rates,
    series,
    thinned,
)


def one_vehicle(day: list[float], value: list[float], least_apart: float = LEAST_APART) -> float:
    n = len(day)
    read = series(np.zeros(n, dtype=np.int64), np.array(day), np.array(value), 1)
    return float(robust_rates(read, least_apart)[0])


@settings(max_examples=200, deadline=None)
@given(
    st.lists(
        st.tuples(st.integers(0, 6000), st.integers(0, 300_000)),
        min_size=2,
        max_size=25,
        unique=True,
    )
)
def test_the_rate_is_the_theil_sen_slope_of_the_readings(rows):
    """Source: scipy.stats.theilslopes on the same points, any mess of readings."""
    day, value = (list(map(float, column)) for column in zip(*rows, strict=True))
    if len(set(day)) < 2:
        assert np.isnan(one_vehicle(day, value))
        return
    expected = theilslopes(value, day).slope * DAYS_PER_YEAR
    assert one_vehicle(day, value, 0.0) == pytest.approx(expected, rel=1e-9, abs=1e-9)
    span = max(day) - min(day)
    far = [
        (value[j] - value[i]) / (day[j] - day[i])
        for i in range(len(day))
        for j in range(len(day))
        if day[j] - day[i] >= span / 4
    ]
    expected = np.median(far) * DAYS_PER_YEAR
    assert one_vehicle(day, value) == pytest.approx(expected, rel=1e-9, abs=1e-9)


@settings(max_examples=200, deadline=None)
@given(
    st.integers(5, 20),
    st.randoms(use_true_random=False),
    st.integers(-10_000_000, 10_000_000),
)
def test_one_absurd_reading_leaves_the_rate_among_those_of_the_right_readings(n, random, wrong):
    """The stated bound: of five or more evenly spaced readings one may be wrong by anything, and
    the rate still lies between the least and the greatest rate of two right readings (brute force).
    """
    day = [90.0 * i for i in range(n)]
    value = [40.0 * d + random.uniform(-400, 400) for d in day]
    bad = random.randrange(n)
    pairs = [
        (value[j] - value[i]) / (day[j] - day[i])
        for i in range(n)
        for j in range(i + 1, n)
        if bad not in (i, j) and day[j] - day[i] >= LEAST_APART * day[-1]
    ]
    value[bad] = float(wrong)
    rate = one_vehicle(day, value) / DAYS_PER_YEAR
    assert min(pairs) - 1e-9 <= rate <= max(pairs) + 1e-9


def test_the_line_tells_what_a_wrong_first_reading_should_have_been():
    """Worked by hand: 10 a day from 5,000 on; the first reading says 90,000."""
    day = np.array([0.0, 100.0, 200.0, 300.0, 400.0])
    value = np.array([90_000.0, 6_000.0, 7_000.0, 8_000.0, 9_000.0])
    read = series(np.zeros(5, dtype=np.int64), day, value, 1)
    assert robust_levels(read, robust_rates(read))[0] == pytest.approx(5_000)


def test_readings_from_a_row_on():
    vehicle, day = np.array([0, 0, 0, 2, 2]), np.array([1.0, 2.0, 3.0, 4.0, 5.0])
    kept = from_row(series(vehicle, day, day * 10, 3), np.array([1, -1, 4]))
    np.testing.assert_array_equal(kept.day, [2.0, 3.0, 5.0])
    np.testing.assert_array_equal(kept.start, [0, 2, 2, 3])


def test_one_wild_reading_of_five_does_not_move_the_rate():
    """Worked by hand: 10 a day; of ten pairs the four with the wild reading are outvoted."""
    day = [0.0, 100.0, 200.0, 300.0, 400.0]
    value = [0.0, 1_000.0, 20_000.0, 3_000.0, 4_000.0]
    assert one_vehicle(day, value) == pytest.approx(10 * DAYS_PER_YEAR)


def test_many_vehicles_at_once_equal_each_vehicle_alone():
    rng = np.random.default_rng(3)
    vehicle = np.repeat(np.arange(50), rng.integers(0, 9, 50))
    day = rng.integers(0, 4000, len(vehicle)).astype(float)
    value = rng.uniform(0, 2e5, len(vehicle))
    together = robust_rates(series(vehicle, day, value, 50))
    for i in range(50):
        mine = vehicle == i
        alone = one_vehicle(list(day[mine]), list(value[mine]))
        assert together[i] == pytest.approx(alone, nan_ok=True)


def test_a_daily_log_is_thinned_to_its_first_last_and_evenly_between():
    day = np.arange(1000.0)
    read = thinned(series(np.zeros(1000, dtype=np.int64), day, day * 40, 1))
    assert read.count[0] == 60
    assert (read.day[0], read.day[-1]) == (0.0, 999.0)
    assert np.diff(read.day).max() <= 18
    assert robust_rates(read)[0] == pytest.approx(40 * DAYS_PER_YEAR)


def test_grouped_median_of_even_odd_and_empty_groups():
    """Worked by hand: 1 2 9 -> 2; 4 8 -> 6; nothing -> not known."""
    median = grouped_median(np.array([0, 0, 0, 1, 1]), np.array([9.0, 1.0, 2.0, 8.0, 4.0]), 3)
    np.testing.assert_array_equal(median, [2.0, 6.0, np.nan])
