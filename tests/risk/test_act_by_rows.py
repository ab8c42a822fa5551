"""When to act, against published age-replacement problems and stated worked values.

Published: Barlow & Hunter 1960 in the form of a reliability handbook's worked problem (shape 2.5,
scale 1000, costs 1 and 5; printed optimum 493.0470); the other rows solve the same published
equation h(T)·∫R − F(T) = c_p/(c_f − c_p) by root finding here, with scipy.
"""

from __future__ import annotations

import numpy as np
import pytest
from scipy import integrate, optimize, stats

from riskcheck.figures import Figure
from riskcheck.risk import act_by
from riskcheck.risk.beliefs import B10_LOAD, life_belief
from riskcheck.risk.histories import survived
from riskcheck.risk.life import posterior


def sure(value):
    return Figure(value, "1", "published", citation="see module")


def weibull(shape, scale):
    return life_belief(sure(shape), [sure(scale * B10_LOAD ** (1.0 / shape))])


def spread(value, low, high):
    return Figure(value, "1", "from_memory", low, high)


# c_p, c_f, scale, shape, exact T*, g*, run-to-failure rate
PUBLISHED = [
    (1, 5, 1000, 2.5, 493.04696, 0.003462043, 0.005635302),
    (1, 5, 1000, 1.5, 675.49199, 0.004931299, 0.005538661),
    (1, 5, 1000, 2.0, 510.65522, 0.004085242, 0.005641896),
    (1, 5, 1000, 3.0, 502.60958, 0.003031397, 0.005599233),
    (1, 5, 1000, 4.0, 538.40212, 0.002497125, 0.005516313),
    (1, 2, 1000, 2.5, 883.60168, 0.002076466, 0.002254121),
    (1, 10, 1000, 2.5, 354.57441, 0.004750547, 0.011270605),
    (300, 2500, 150000, 3.0, 61453.63869, 0.007385253, 0.018664109),
]


@pytest.mark.parametrize(("planned", "failure", "scale", "shape", "age", "cost", "ruin"), PUBLISHED)
def test_published_age_replacement(planned, failure, scale, shape, age, cost, ruin):
    part = act_by.survivor(weibull(shape, scale), 1.0, np.ones(1), scale / 2000, 6.0 * scale)
    best = act_by.age_replacement(part, np.array([float(planned)]), np.array([float(failure)]))
    assert best.age[0] == pytest.approx(age, rel=1e-3)
    assert best.cost_rate[0] == pytest.approx(cost, rel=1e-6)
    assert failure / part.used[-1] == pytest.approx(ruin, rel=1e-4)


@pytest.mark.parametrize(
    ("planned", "failure", "scale", "shape", "age", "cost"), [row[:6] for row in PUBLISHED]
)
def test_the_published_rows_solve_the_published_equation(planned, failure, scale, shape, age, cost):
    """Solved here with scipy alone: h·∫R − F = c_p/(c_f − c_p)."""
    life = stats.weibull_min(shape, scale=scale)

    def hazard(t):
        return shape / scale * (t / scale) ** (shape - 1)

    def gap(t):
        return (
            hazard(t) * integrate.quad(life.sf, 0, t)[0]
            - life.cdf(t)
            - planned / (failure - planned)
        )

    root = optimize.brentq(gap, scale * 0.05, scale * 3)
    assert root == pytest.approx(age, rel=1e-6)
    assert (failure - planned) * hazard(root) == pytest.approx(cost, rel=1e-6)


BELT = life_belief(spread(4, 3, 6), [spread(110, 85, 140)])
STUD = life_belief(spread(2, 1.6, 2.8), [spread(300, 180, 500)])
HOSE = life_belief(spread(3.5, 2.5, 4.5), [spread(10, 7, 14)])


def wait(belief, now, ahead, multiplier=1.0, steps=300):
    """(p, expected use) over the next ``ahead`` for a part that reveals its own failure."""
    state = posterior(belief, survived([((0,), (now,))], (now,), (now,), multiplier))
    gain = np.linspace(0.0, ahead, steps + 1)
    chance = state.chance((now + gain).reshape(1, 1, -1, 1))
    used = act_by.running_integral(1.0 - chance, gain[None])
    return float(chance[0, -1]), float(used[0, -1])


def test_belt_schedule():
    """Job 900, failure 6,000: best at 90.50 k mi for 13.264061 $/k mi, 0.943800 still alive."""
    part = act_by.survivor(BELT, 1.0, np.ones(1), 0.05, 660.0)
    best = act_by.age_replacement(part, np.array([900.0]), np.array([6000.0]))
    assert best.gains[0]
    assert best.age[0] == pytest.approx(90.50, abs=0.05)
    assert best.cost_rate[0] == pytest.approx(13.264061, rel=2e-7)
    assert np.interp(90.50, part.age, part.alive) == pytest.approx(0.943800, abs=6e-7)


@pytest.mark.parametrize(
    ("now", "ahead", "chance", "used", "net"),
    [(70, 15, 0.023879, 14.838126, -75.0295), (120, 15, 0.104525, 14.243433, 344.1500),
     (120, 1.25, 0.007839, 1.245119, 23.4628)],
)  # fmt: skip
def test_waiting_with_a_belt(now, ahead, chance, used, net):
    p, use = wait(BELT, float(now), ahead)
    assert (p, use) == pytest.approx((chance, used), abs=2e-6)
    assert act_by.net_of_waiting(5100.0, p, 13.264061, use) == pytest.approx(net, abs=2e-3)


def test_what_waiting_risks_and_saves_in_dollars():
    """At 120 k mi, waiting 15 k mi risks 5,100 · 0.1045 = 533 and saves 13.26 · 14.24 = 189."""
    p, use = wait(BELT, 120.0, 15.0)
    assert act_by.net_of_waiting(5100.0, p, 0.0, use) == pytest.approx(533, abs=0.5)
    assert -act_by.net_of_waiting(0.0, p, 13.264061, use) == pytest.approx(189, abs=0.5)


@pytest.mark.parametrize(
    ("now", "m", "chance", "net"),
    [(30, 1, 0.001575, -33.4329), (150, 1, 0.006538, 37.6779), (150, 3, 0.018863, 214.2556)],
)
def test_waiting_with_a_one_off_job(now, m, chance, net):
    """Stud, 700 against 15,000, interest 0.08 a year, 15 k mi a year: s = 3.733333 $/k mi."""
    saved = act_by.one_off_cost_rate(np.array([700.0]), 0.08, np.array([15.0]))
    assert saved[0] == pytest.approx(3.733333, abs=1e-6)
    p, use = wait(STUD, float(now), 15.0, m)
    assert p == pytest.approx(chance, abs=6e-7)
    assert act_by.net_of_waiting(14300.0, p, saved[0], use) == pytest.approx(net, abs=2e-3)


@pytest.mark.parametrize(("m", "usage"), [(1, 95.70), (3, 30.65)])
def test_one_off_act_by_usage(m, usage):
    state = posterior(STUD, survived([], (0,), (0,), m))
    ages = np.arange(0.05, 150.0, 0.05)
    rate = state.rate(ages.reshape(1, 1, -1, 1), np.ones((1, 1)))
    reached = act_by.first_reached(rate, ages[None], np.array([700 * 0.08 / 15 / 14300]))
    assert reached[0] == pytest.approx(usage, abs=0.05)


def test_the_renewing_act_by_usage_is_the_best_replacement_age():
    """90.5 both ways: the argmin of g, and the age where h̄·(C_f − C_p) reaches g*."""
    state = posterior(BELT, survived([], (0,), (0,)))
    ages = np.arange(0.05, 200.0, 0.05)
    rate = state.rate(ages.reshape(1, 1, -1, 1), np.ones((1, 1)))
    reached = act_by.first_reached(rate, ages[None], np.array([13.264061 / 5100.0]))
    assert reached[0] == pytest.approx(90.5, abs=0.05)


@pytest.mark.parametrize(
    ("shape", "b10", "planned", "failure"),
    [((4, 3, 6), (110, 85, 140), 900, 950), ((4, 3, 6), (110, 85, 140), 900, 1200),
     ((0.7, 0.5, 0.9), (60, 40, 90), 100, 1000), ((1.0, 0.8, 1.4), (60, 40, 90), 100, 1000),
     ((1.3, 1.0, 1.8), (60, 40, 90), 100, 1000)],
)  # fmt: skip
def test_no_gain_from_scheduling(shape, b10, planned, failure):
    belief = life_belief(spread(*shape), [spread(*b10)])
    part = act_by.survivor(belief, 1.0, np.ones(1), b10[0] / 1000, 6.0 * b10[0])
    best = act_by.age_replacement(part, np.array([float(planned)]), np.array([float(failure)]))
    assert not best.gains[0]


@pytest.mark.parametrize(
    ("looked", "money", "people"),
    [(0, 8.43, 5.81), (3, 5.65, 3.24), (6, 3.75, 1.89), (9, 2.70, 1.28), (12, 2.16, 0.99)],
)
def test_when_the_next_look_is_due(looked, money, people):
    """Hose, m 1.7: 250 $ a year unfound against a 60 $ look; harm 2e-4 a year against 1e-5."""
    looked = float(looked)
    past = survived([((0,), (looked,))], (looked,), (looked,), 1.7)
    state = posterior(HOSE, past)
    years = np.arange(0.0, 12.0, 0.005)
    present = state.chance((looked + years).reshape(1, 1, -1, 1))
    gathered = act_by.running_integral(present, years[None])
    due = act_by.first_reached(gathered, years[None], np.array([60 / 250]))[0]
    line = act_by.first_reached(gathered, years[None], np.array([1e-5 / 2e-4]))[0]
    # The stated values are the first hundredth of a year at or past the point.
    assert -1e-3 <= money - due <= 0.011
    assert -1e-3 <= people - line <= 0.011


def test_waiting_nothing_costs_nothing():
    p, use = wait(BELT, 120.0, 0.0)
    assert act_by.net_of_waiting(5100.0, p, 13.26, use) == pytest.approx(0.0, abs=1e-9)


def test_waiting_until_the_act_by_usage_never_costs():
    """W(Δ) <= 0 while v0 + Δ <= act-by; and where act-by is today W rises at once."""
    for now in (20.0, 50.0, 80.0):
        for until in np.linspace(now, 90.5, 5)[1:]:
            p, use = wait(BELT, now, until - now)
            assert act_by.net_of_waiting(5100.0, p, 13.264061, use) <= 1e-6
    p, use = wait(BELT, 91.0, 0.01)
    assert act_by.net_of_waiting(5100.0, p, 13.264061, use) >= 0.0


@pytest.mark.parametrize("level", [0.0, 0.3, 2.0, 7.9, 12.5])
def test_a_due_date_between_far_points_is_exact_where_the_pace_is_straight(level):
    """Gathered t²/2 from a pace of t: reached at √(2·level), by hand; never beyond the last."""
    at = np.array([[0.0, 1.0, 5.0]])
    found = act_by.first_gathered(at**2 / 2.0, at, at, np.array([level]))[0]
    assert found == pytest.approx(np.sqrt(2.0 * level), abs=1e-12)
    assert np.isnan(act_by.first_gathered(at**2 / 2.0, at, at, np.array([12.6]))[0])
    # An even pace has no bend to divide by.
    assert act_by.first_gathered(at, np.ones_like(at), at, np.array([2.5]))[0] == 2.5
