"""What a record says of a rate, and how it is shrunk, against brute force and worked examples."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import multivariate_normal

from riskcheck.usage.belief import CENTRE_WORTH, ClassFigures, believe
from riskcheck.usage.evidence import (
    LEAST_READINGS,
    own_rates,
    slope_variance,
    window_rows,
)
from riskcheck.usage.habit import (
    HABIT_LASTS,
    SILENT,
    STAYS,
    YEAR_TO_YEAR,
    Habit,
    Own,
    Stretch,
    averaged,
    faded,
)
from riskcheck.usage.slopes import DAYS_PER_YEAR, series

ONE = np.array([0])
LASTS, BETWEEN = HABIT_LASTS.value, 0.09


def figures(n: int = 1, value: float = 12_000.0) -> ClassFigures:
    return ClassFigures(*(np.full(n, share * value) for share in (1.0, 0.5, 2.0)))


def stretch(log_rate: object, noise: object, years: object) -> Stretch:
    parts = np.broadcast_arrays(*(np.atleast_1d(part) for part in (log_rate, noise, years)))
    return Stretch(*(part.astype(np.float64) for part in parts))


def covariance(alike: np.ndarray) -> np.ndarray:
    return BETWEEN * (STAYS.value + (1 - STAYS.value) * alike)


def alike(one: np.ndarray, other: np.ndarray) -> np.ndarray:
    """Correlation of passing habits at two sets of moments (years), from its definition."""
    return np.exp(-np.abs(one[:, None] - other[None, :]) / LASTS)


def test_a_slope_errs_as_a_straight_line_through_a_wandering_habit_does():
    """Least-squares slopes of simulated odometers: log rate = random walk + white noise.

    8,000 lives a span; the standard error of a variance is 1.6 %, the tolerance 8 %.
    """
    rng = np.random.default_rng(5)
    steps, n = 60, 8_000
    strays = 2 * (1 - STAYS.value) * BETWEEN / LASTS
    for years in (0.5, 2.0, 6.0):
        dt = years / steps
        walk = np.cumsum(rng.normal(0, np.sqrt(strays * dt), (n, steps)), axis=1)
        rate = 1.0 + walk + rng.normal(0, YEAR_TO_YEAR.value / np.sqrt(dt), (n, steps))
        miles = np.concatenate([np.zeros((n, 1)), np.cumsum(rate * dt, axis=1)], axis=1)
        t = np.linspace(0, years, steps + 1) - years / 2
        slope = miles @ t / (t @ t)
        error = np.var(slope - 1.0 - walk[:, -1])
        assert slope_variance(np.array([years]), BETWEEN)[0] == pytest.approx(error, rel=0.08)


@settings(max_examples=60, deadline=None)
@given(
    gap=st.floats(0, 6),
    years=st.floats(0.05, 12),
    latest=st.tuples(st.floats(-1, 1), st.floats(0.001, 0.5), st.floats(0.1, 6)),
    before=st.tuples(st.floats(-1, 1), st.floats(0.001, 0.5), st.floats(0.1, 15)),
)
def test_pace_ahead_is_that_of_two_stories_weighed_by_the_record(gap, years, latest, before):
    """Brute force: the habit at 600 moments, conditioned by matrix algebra, once given that it was
    never drawn anew within the record and once that it was; mixed by scipy's normal densities."""
    moments = (np.arange(200) + 0.5) / 200
    record = np.concatenate([-latest[2] - before[2] * moments, -latest[2] * moments])
    ahead = gap + years * moments
    unbroken = np.exp(-(latest[2] + before[2]) / LASTS)
    mean = np.kron(np.eye(3), np.full(200, 1 / 200))
    noise, read = np.diag([before[1], latest[1]]), np.array([before[0], latest[0]])
    stories = []
    for chance, given_it in (
        (unbroken, np.ones_like),
        (1 - unbroken, lambda part: (part - unbroken) / (1 - unbroken)),
    ):
        later = given_it(np.exp(record / LASTS))[:, None] * np.exp(-ahead / LASTS)
        both = np.block([[given_it(alike(record, record)), later], [later.T, alike(ahead, ahead)]])
        known = mean @ covariance(both) @ mean.T
        seen = known[:2, :2] + noise
        gain = np.linalg.solve(seen, known[:2, 2])
        likely = chance * multivariate_normal.pdf(read, np.zeros(2), seen)
        stories.append((likely, gain @ read, known[2, 2] - gain @ known[:2, 2], gain.sum()))
    share, middles, variances, gains = np.array(stories).T
    share = share / share.sum()
    own = Habit(Own(stretch(*latest), stretch(*before)), np.zeros(1), np.array([BETWEEN]))
    middle, variance, weight = own.over(ONE, np.array([gap]), np.array([years]))
    expected = share @ middles
    assert middle[0] == pytest.approx(expected, abs=1e-3)
    assert variance[0] == pytest.approx(
        share @ (variances + middles**2) - expected**2, rel=0.01, abs=1e-4
    )
    assert weight[0] == pytest.approx(share @ gains, abs=1e-3)


def test_what_a_broken_record_tells_is_that_of_habits_drawn_anew():
    """Habits drawn anew once in L years, simulated by the month; covariances of the two stretches
    and the moment at their end among those that were drawn anew.  Standard error 0.004."""
    rng = np.random.default_rng(3)
    n, months, late = 150_000, 120, 36
    drawn, anew = rng.standard_normal((n, months)), rng.random((n, months)) < 1 / (12 * LASTS)
    anew[:, 0] = True
    start = np.maximum.accumulate(np.where(anew, np.arange(months), 0), axis=1)
    habits = np.take_along_axis(drawn, start, axis=1)[anew[:, 1:].any(axis=1)]
    before, latest = habits[:, :-late].mean(axis=1), habits[:, -late:].mean(axis=1)
    own = Own(stretch(0, 0, late / 12), stretch(0, 0, (months - late) / 12))
    for one, other, at_large in (
        (before, before, averaged(own.before.years)),
        (latest, latest, averaged(own.latest.years)),
        (latest, before, faded(own.latest.years) * faded(own.before.years)),
        (latest, habits[:, -1], faded(own.latest.years)),
    ):
        assert own.broken(at_large)[0] == pytest.approx(np.mean(one * other), abs=0.015)


@settings(max_examples=40, deadline=None)
@given(st.floats(0.2, 15), st.floats(0.02, 0.98))
def test_use_between_two_readings_is_a_pinned_process(years, share):
    """Brute force: 200 slices of habit and scatter, conditioned on what they add up to."""
    slices = 200
    at = round(share * slices)
    dt = years / slices
    t = (np.arange(slices) + 0.5) * dt
    scatter = np.eye(slices) * YEAR_TO_YEAR.value**2 * dt
    both = covariance(alike(t, t)) * dt**2 + scatter
    # The mean rate is read off the two ends: what counts is how the part departs from its share.
    parts = (np.arange(slices) < at) - at / slices
    expected = parts @ both @ parts
    silent = stretch(0.0, SILENT, 0.0)
    own = Habit(Own(silent, silent), np.zeros(1), np.array([BETWEEN]))
    found = own.between_readings(ONE, np.array([at / slices]), np.array([years]))
    assert found[0] == pytest.approx(expected, rel=0.01, abs=1e-5)


def test_shrinkage_is_that_of_the_normal_hierarchy_on_eight_schools():
    """Eight schools (Rubin 1981; Gelman et al., Bayesian Data Analysis, table 5.2, from memory).

    Conditioning the joint normal of centre, habits and records by matrix algebra, with the spread
    between schools known: the same centre and the same shrunken effects, but for the day that the
    shortest stretch lasts.
    """
    effect = np.array([28.0, 8.0, -3.0, 7.0, -1.0, 1.0, 18.0, 12.0]) / 30.0
    error = np.array([15.0, 10.0, 16.0, 11.0, 9.0, 11.0, 10.0, 18.0]) / 30.0
    n, flat = len(effect), figures(8)
    between = flat.between[0]
    own = Own(
        stretch(np.log(12_000) + effect, error**2, 0.0), stretch(np.full(n, 9.0), SILENT, 0.0)
    )
    known = believe(own, np.zeros(n), np.zeros(n, dtype=np.int64), flat).habit
    centre_var = between / CENTRE_WORTH.value
    habits = between * np.eye(n) + centre_var
    gain = habits @ np.linalg.inv(habits + np.diag(error**2))
    centre = np.full(n, centre_var) @ np.linalg.inv(habits + np.diag(error**2)) @ effect
    np.testing.assert_allclose(known.log_centre - np.log(12_000), centre, atol=2e-5)
    none = np.zeros(n)
    mean = known.over(np.arange(n), none, none)[0] - np.log(12_000)
    np.testing.assert_allclose(mean, gain @ effect, atol=2e-5)


def test_the_class_figure_comes_back_whole_for_a_vehicle_nobody_has_read():
    lopsided = ClassFigures(np.array([12_000.0]), np.array([6_000.0]), np.array([18_000.0]))
    nothing = own_rates(read([], []), nobody_knows(), lopsided)
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
        slope_variance(np.array([(days[-1] - day) / DAYS_PER_YEAR]), BETWEEN)[0]
        for day in days[: last_start + 1]
    ]
    found = window_rows(read(days, list(days)), np.array([BETWEEN]))
    assert found[0] == int(np.argmin(starts))


def test_a_changed_pace_is_followed_within_two_years():
    """10,000 a year for six years, 20,000 a year for the last two, read every quarter."""
    days = [91.31 * i for i in range(33)]
    miles = [10_000 * min(d / 365.2425, 6) + 20_000 * max(d / 365.2425 - 6, 0) for d in days]
    own = own_rates(read(days, miles), nobody_knows(), figures())
    assert np.exp(own.latest.log_rate[0]) == pytest.approx(20_000, rel=1e-4)


def test_a_record_is_told_as_its_latest_slope_and_the_life_before():
    """Half a year of readings after five years of life, the first of which is not known exactly."""
    days, start = [1826.0, 1917.0, 2008.0], np.zeros(1)
    miles = [50_000.0, 53_739.0, 57_478.0]
    latest, before = own_rates(read(days, miles), (start - 100, start, start + 100), figures())
    span, life = 182 / DAYS_PER_YEAR, 1826 / DAYS_PER_YEAR
    assert latest.log_rate[0] == pytest.approx(np.log(3_739 / 91 * DAYS_PER_YEAR), rel=1e-9)
    assert before.log_rate[0] == pytest.approx(np.log(50_000 / life), rel=1e-9)
    assert (latest.years[0], before.years[0]) == pytest.approx((span, life))
    # A straight line's slope scatters by 6/5 of a mean's; a flat date of 200 days by 200 / sqrt 12.
    c2, vague = YEAR_TO_YEAR.value**2, 200 / DAYS_PER_YEAR / np.sqrt(12)
    assert latest.noise[0] == pytest.approx(1.2 * c2 / span)
    assert before.noise[0] == pytest.approx(c2 / life + (vague / life) ** 2)


def test_a_lone_reading_tells_of_the_life_before_it_only():
    start = np.zeros(1)
    latest, before = own_rates(read([1826.0], [50_000.0]), (start, start, start), figures())
    assert latest.noise[0] == SILENT
    assert latest.years[0] == 0.0
    assert before.log_rate[0] == pytest.approx(np.log(50_000 / 1826 * DAYS_PER_YEAR))
