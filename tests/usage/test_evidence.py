"""What a record says of a rate, and how it is shrunk, against brute force and worked examples."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from riskcheck.usage.belief import (
    CENTRE_WORTH,
    DRIFT,
    YEAR_TO_YEAR,
    ClassFigures,
    Habit,
    Own,
    believe,
)
from riskcheck.usage.evidence import (
    LEAST_READINGS,
    own_rates,
    slope_variance,
    window_rows,
)
from riskcheck.usage.slopes import DAYS_PER_YEAR, series

ONE = np.array([0])


def figures(n: int = 1, value: float = 12_000.0) -> ClassFigures:
    return ClassFigures(*(np.full(n, share * value) for share in (1.0, 0.5, 2.0)))


def habit(own_var: float = 0.02, away: float = 0.5) -> Habit:
    own = Own(np.array([away]), np.array([own_var]), np.array([own_var]), np.zeros(1))
    return Habit(own, np.zeros(1), np.array([0.09]), np.array([8.0]))


def test_a_slope_errs_as_a_straight_line_through_a_wandering_habit_does():
    """Least-squares slopes of simulated odometers: log rate = random walk + white noise.

    8,000 lives a span; the standard error of a variance is 1.6 %, the tolerance 8 %.
    """
    rng = np.random.default_rng(5)
    steps, n = 60, 8_000
    for years in (0.5, 2.0, 6.0):
        dt = years / steps
        walk = np.cumsum(rng.normal(0, DRIFT.value * np.sqrt(dt), (n, steps)), axis=1)
        rate = 1.0 + walk + rng.normal(0, YEAR_TO_YEAR.value / np.sqrt(dt), (n, steps))
        miles = np.concatenate([np.zeros((n, 1)), np.cumsum(rate * dt, axis=1)], axis=1)
        t = np.linspace(0, years, steps + 1) - years / 2
        slope = miles @ t / (t @ t)
        error = np.var(slope - 1.0 - walk[:, -1])
        assert slope_variance(np.array([years]))[0] == pytest.approx(error, rel=0.08)


@settings(max_examples=60, deadline=None)
@given(st.floats(0, 6), st.floats(0.05, 12), st.floats(0.001, 0.5))
def test_mean_and_variance_ahead_are_those_of_normal_regression(gap, years, own_var):
    """Brute force: the habit at 400 moments, its covariance matrix, conditioning by hand."""
    lasts, between = 8.0, 0.09
    t = np.concatenate([[0.0], gap + years * (np.arange(400) + 0.5) / 400])
    covariance = between * np.exp(-np.abs(t[:, None] - t[None, :]) / lasts)
    mean = np.concatenate([[0.0], np.full(400, 1 / 400)])
    with_own = mean @ covariance[:, 0]
    weight = with_own / (between + own_var)
    variance = mean @ covariance @ mean - weight * with_own
    _, at, spread, share = habit(own_var).over(ONE, np.array([gap]), np.array([years]))
    assert share[0] == pytest.approx(weight, abs=1e-4)
    assert at[0] == pytest.approx(0.5 * weight, abs=1e-4)
    assert spread[0] == pytest.approx(variance, abs=1e-4)


@settings(max_examples=40, deadline=None)
@given(st.floats(0.2, 15), st.floats(0.02, 0.98))
def test_use_between_two_readings_is_a_pinned_process(years, share):
    """Brute force: 200 slices of habit and scatter, conditioned on what they add up to."""
    slices = 200
    at = round(share * slices)
    dt = years / slices
    t = (np.arange(slices) + 0.5) * dt
    habits = 0.09 * np.exp(-np.abs(t[:, None] - t[None, :]) / 8.0)
    covariance = habits * dt**2 + np.eye(slices) * YEAR_TO_YEAR.value**2 * dt
    # The mean rate is read off the two ends: what counts is how the part departs from its share.
    parts = (np.arange(slices) < at) - at / slices
    expected = parts @ covariance @ parts
    found = habit().between_readings(ONE, np.array([at / slices]), np.array([years]))
    assert found[0] == pytest.approx(expected, rel=0.01, abs=1e-5)


def test_shrinkage_is_that_of_the_normal_hierarchy_on_eight_schools():
    """Eight schools (Rubin 1981; Gelman et al., Bayesian Data Analysis, table 5.2, from memory).

    Conditioning the joint normal of centre, habits and records by matrix algebra, with the spread
    between schools known: the same centre and the same shrunken effects.
    """
    effect = np.array([28.0, 8.0, -3.0, 7.0, -1.0, 1.0, 18.0, 12.0]) / 30.0
    error = np.array([15.0, 10.0, 16.0, 11.0, 9.0, 11.0, 10.0, 18.0]) / 30.0
    n, flat = len(effect), figures(8)
    between = flat.between[0]
    own = Own(np.log(12_000) + effect, error**2, error**2, np.zeros(n))
    known = believe(own, np.zeros(n), np.zeros(n, dtype=np.int64), flat).habit
    centre_var = between / CENTRE_WORTH.value
    habits = between * np.eye(n) + centre_var
    gain = habits @ np.linalg.inv(habits + np.diag(error**2))
    centre = np.full(n, centre_var) @ np.linalg.inv(habits + np.diag(error**2)) @ effect
    np.testing.assert_allclose(known.log_centre - np.log(12_000), centre, rtol=1e-9)
    none = np.zeros(n)
    mean = known.over(np.arange(n), none, none)[1] - np.log(12_000)
    np.testing.assert_allclose(mean, gain @ effect, atol=5e-4)


def test_the_class_figure_comes_back_whole_for_a_vehicle_nobody_has_read():
    lopsided = ClassFigures(np.array([12_000.0]), np.array([6_000.0]), np.array([18_000.0]))
    nothing = Own(np.array([np.nan]), np.array([np.inf]), np.array([np.inf]), np.zeros(1))
    pace = believe(nothing, np.zeros(1), np.zeros(1, dtype=np.int64), lopsided).next_year()
    z = 1.6448536269514722
    found = [float(pace.at_z(point)[0]) for point in (-z, 0.0, z)]
    assert found == pytest.approx([6_000, 12_000, 18_000], rel=1e-9)


def read(days: list[float], miles: list[float]):
    return series(np.zeros(len(days), dtype=np.int64), np.array(days), np.array(miles), 1)


def nobody_knows() -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    return tuple(np.array([np.nan]) for _ in range(3))


@settings(max_examples=100, deadline=None)
@given(st.lists(st.integers(0, 4000), min_size=1, max_size=30, unique=True))
def test_the_window_is_the_best_of_all_starts(days):
    """Brute force over every start that leaves five readings (or all of them)."""
    days = sorted(map(float, days))
    last_start = max(len(days) - LEAST_READINGS, 0)
    starts = [
        slope_variance(np.array([(days[-1] - day) / DAYS_PER_YEAR]))[0]
        for day in days[: last_start + 1]
    ]
    found = window_rows(read(days, list(days)))
    assert found[0] == int(np.argmin(starts))


def test_a_changed_pace_is_followed_within_two_years():
    """10,000 a year for six years, 20,000 a year for the last two, read every quarter."""
    days = [91.31 * i for i in range(33)]
    miles = [10_000 * min(d / 365.2425, 6) + 20_000 * max(d / 365.2425 - 6, 0) for d in days]
    own = own_rates(read(days, miles), nobody_knows(), figures())
    assert np.exp(own.log_rate[0]) == pytest.approx(20_000, rel=1e-6)


def test_slope_and_earlier_life_are_mixed_by_generalised_least_squares():
    """Half a year of readings after five years of life: the textbook formula with its matrix."""
    days, start = [1826.0, 1917.0, 2008.0], np.zeros(1)
    miles = [50_000.0, 53_739.0, 57_478.0]
    own = own_rates(read(days, miles), (start, start, start), figures())
    span, life = 182 / DAYS_PER_YEAR, 1826 / DAYS_PER_YEAR
    c2, d2, lasts = YEAR_TO_YEAR.value**2, DRIFT.value**2, figures().lasts[0]
    walk = life / 3 * (1 + life / (4 * lasts))
    matrix = np.array(
        [
            [1.2 * c2 / span + 13 / 35 * d2 * span, d2 * span / 2],
            [d2 * span / 2, c2 / life + d2 * (span + walk)],
        ]
    )
    inverse = np.linalg.inv(matrix)
    weights = inverse.sum(axis=0) / inverse.sum()
    logs = np.log([3_739 / 91 * DAYS_PER_YEAR, 50_000 / life])
    assert own.log_rate[0] == pytest.approx(weights @ logs, rel=1e-9)
    assert own.variance[0] == pytest.approx(1 / inverse.sum(), rel=1e-9)
