"""Robust slopes against scipy.stats.theilslopes (reference library) and worked examples."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import theilslopes

from riskcheck.usage.slopes import DAYS_PER_YEAR, grouped_median, robust_rates, series, thinned


def one_vehicle(day: list[float], value: list[float]) -> float:
    n = len(day)
    read = series(np.zeros(n, dtype=np.int64), np.array(day), np.array(value), 1)
    return float(robust_rates(read)[0])


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
    assert one_vehicle(day, value) == pytest.approx(expected, rel=1e-9, abs=1e-9)


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
