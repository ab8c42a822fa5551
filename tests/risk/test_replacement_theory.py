"""Age replacement, one-off jobs and looks against the theory they rest on, worked apart with scipy.

Age replacement: Barlow & Hunter 1960, Barlow & Proschan 1965 (from memory); the problem of shape
2.5, scale 1000, costs 1 and 5 is printed in a reliability handbook's worked example (optimum
493.0470).  A general-purpose reliability library scans a grid for the optimum: its age is good to
1 part in 1,000 only, its cost to 1 in a million; its other mode ("q = 1") is another model and is
not compared.
"""

from __future__ import annotations

import numpy as np
import pytest
from scipy import integrate, optimize, special, stats

from riskcheck.figures import Figure
from riskcheck.risk import act_by
from riskcheck.risk.beliefs import B10_LOAD, life_belief
from riskcheck.risk.histories import survived
from riskcheck.risk.life import posterior


def certain(shape, scale):
    def sure(value):
        return Figure(value, "1", "published", citation="see module")

    return life_belief(sure(shape), [sure(scale * B10_LOAD ** (1.0 / shape))])


def scheduled(shape, scale, planned, failure, steps=2000):
    part = act_by.survivor(certain(shape, scale), 1.0, np.ones(1), scale / steps, 6.0 * scale)
    return part, act_by.age_replacement(
        part, np.array([float(planned)]), np.array([float(failure)])
    )


# c_p, c_f, scale, shape: the library's age (its own tests assert 493.1851185 to 1 in 10 million)
# and, for the first, its least cost.
LIBRARY = [
    (1, 5, 1000, 2.5, 493.1851185, 0.00346204292), (1, 5, 1000, 1.5, 675.5426, None),
    (1, 5, 1000, 2.0, 510.5811, None), (1, 5, 1000, 3.0, 502.4830, None),
    (1, 5, 1000, 4.0, 538.4745, None), (1, 2, 1000, 2.5, 883.6940, None),
    (1, 10, 1000, 2.5, 354.6175, None), (300, 2500, 150000, 3.0, 61432.0066, None),
]  # fmt: skip


@pytest.mark.parametrize(("planned", "failure", "scale", "shape", "age", "cost"), LIBRARY)
def test_the_librarys_grid_age_is_ours_to_a_part_in_a_thousand(
    planned, failure, scale, shape, age, cost
):
    _, best = scheduled(shape, scale, planned, failure)
    assert best.age[0] == pytest.approx(age, rel=1e-3)
    if cost is not None:
        assert best.cost_rate[0] == pytest.approx(cost, rel=1e-6)


@pytest.mark.parametrize(("planned", "failure", "scale", "shape", "age", "cost"), LIBRARY)
def test_at_the_best_age_the_hazard_times_the_difference_is_the_cost_rate(
    planned, failure, scale, shape, age, cost
):
    """g* = (c_f − c_p)·h(T*), and the mean life ∫S is η·Γ(1 + 1/β)."""
    part, best = scheduled(shape, scale, planned, failure)
    state = posterior(certain(shape, scale), survived([], (0.0,), (0.0,)))
    rate = state.rate(best.age.reshape(1, 1, 1, 1), np.ones((1, 1)))[0, 0]
    assert (failure - planned) * rate == pytest.approx(best.cost_rate[0], rel=2e-4)
    assert part.used[-1] == pytest.approx(scale * special.gamma(1.0 + 1.0 / shape), rel=1e-5)
    tight = stats.weibull_min(shape, scale=scale)
    integral = integrate.quad(tight.sf, 0.0, best.age[0])[0]
    gap = rate * integral - tight.cdf(best.age[0])
    assert gap == pytest.approx(planned / (failure - planned), rel=1e-3)


@pytest.mark.parametrize("shape", [0.5, 0.8, 1.0])
@pytest.mark.parametrize("failure", [2.0, 10.0, 1000.0])
def test_a_part_that_does_not_wear_is_not_replaced_on_age(shape, failure):
    """Shape 1 or less: no finite optimum, whatever a failure costs (Barlow & Proschan 1965)."""
    part, best = scheduled(shape, 100.0, 1.0, failure)
    assert not best.gains[0]
    # Without a schedule the cost is that of running on: C_f over the mean life, in the limit.
    rate = (failure - (failure - 1.0) * part.alive[-1]) / part.used[-1]
    assert best.cost_rate[0] == pytest.approx(rate, rel=1e-12)


@pytest.mark.parametrize("failure", [0.5, 1.0])
def test_a_job_as_dear_as_the_failure_is_never_scheduled(failure):
    assert not scheduled(3.0, 100.0, 1.0, failure)[1].gains[0]


def test_a_schedule_must_gain_three_of_a_hundred():
    """Costs close enough that the best age saves little: 3 % decides (the project's own rule)."""
    part, _ = scheduled(2.5, 1000.0, 1.0, 2.0)
    failure = np.linspace(1.2, 2.0, 200)
    best = act_by.age_replacement(part, np.ones(200), failure)
    rates = (failure[:, None] - (failure - 1.0)[:, None] * part.alive[1:]) / part.used[1:]
    saving = 1.0 - rates.min(axis=1) / rates[:, -1]
    assert best.gains[saving > 0.0301].all()
    assert not best.gains[saving < 0.0299].any()
    assert ((saving > 0.0299) & (saving < 0.031)).any()
    assert (saving < 0.0299).any()


def test_costs_in_another_currency_move_the_rate_and_not_the_age():
    _, best = scheduled(2.5, 1000.0, 1.0, 5.0)
    _, other = scheduled(2.5, 1000.0, 1.3, 6.5)
    assert other.age[0] == pytest.approx(best.age[0], rel=1e-9)
    assert other.cost_rate[0] == pytest.approx(1.3 * best.cost_rate[0], rel=1e-9)


def test_between_the_ages_of_the_grid_the_optimum_is_a_parabolas():
    """Thirty ages a life: the refined age and cost are those of a grid 100 times finer.

    Without the parabola the age could be off by half a step, 1.7 % of the scale.
    """
    for shape, failure in ((2.5, 5.0), (3.0, 8.0), (2.0, 4.0), (4.0, 3.0)):
        coarse = scheduled(shape, 1000.0, 1.0, failure, steps=30)[1]
        fine = scheduled(shape, 1000.0, 1.0, failure, steps=3000)[1]
        assert coarse.age[0] == pytest.approx(fine.age[0], abs=2.0)
        assert coarse.cost_rate[0] == pytest.approx(fine.cost_rate[0], rel=2e-3)


@pytest.mark.parametrize(
    ("shape", "scale", "job", "failure", "interest"),
    [(2.0, 900.0, 700.0, 15_000.0, 3e-4), (3.5, 20.0, 60.0, 600.0, 0.08),
     (2.5, 300.0, 900.0, 6_000.0, 1e-3)],
)  # fmt: skip
def test_a_one_off_job_is_put_off_until_its_present_value_is_least(
    shape, scale, job, failure, interest
):
    """Minimise e^(−rt)·S·C_p + ∫e^(−rx)·C_f·f dx over t, by scipy: there h·(C_f − C_p) = r·C_p."""
    life = stats.weibull_min(shape, scale=scale)

    def present_value(t):
        lost = integrate.quad(lambda x: np.exp(-interest * x) * life.pdf(x), 0.0, t, epsabs=1e-13)
        return np.exp(-interest * t) * life.sf(t) * job + failure * lost[0]

    best = optimize.minimize_scalar(
        present_value, bounds=(1e-6, 2.0 * scale), method="bounded", options={"xatol": 1e-7}
    )
    saved = act_by.one_off_cost_rate(np.array([job]), interest, np.ones(1))
    state = posterior(certain(shape, scale), survived([], (0.0,), (0.0,)))
    ages = np.linspace(1e-4, 2.0 * scale, 20_001)
    rate = state.rate(ages.reshape(1, 1, -1, 1), np.ones((1, 1)))
    reached = act_by.first_reached(rate, ages[None], saved / (failure - job))
    assert reached[0] == pytest.approx(best.x, rel=2e-4)


@pytest.mark.parametrize(
    ("rate", "loss", "look"), [(0.05, 250.0, 60.0), (0.2, 250.0, 60.0), (0.1, 2000.0, 60.0),
                               (0.01, 5000.0, 20.0)],
)  # fmt: skip
def test_looking_when_the_loss_equals_the_look_costs_hardly_more_than_the_best_interval(
    rate, loss, look
):
    """At a constant rate: within 0.2 % of the least (C + L·∫F)/τ, as found by scipy.

    The settings are the project's own; the rule is that of inspection at equal cost (RCM practice,
    SAE JA1011, from memory).
    """

    def gathered(tau):
        return tau + np.expm1(-rate * tau) / rate

    def a_year(tau):
        return (look + loss * gathered(tau)) / tau

    best = optimize.minimize_scalar(a_year, bounds=(1e-3, 100.0), method="bounded")
    state = posterior(certain(1.0, 1.0 / rate), survived([], (0.0,), (0.0,)))
    years = np.arange(0.0, 60.0, 0.005)
    present = state.chance(years.reshape(1, 1, -1, 1))
    due = act_by.first_reached(
        act_by.running_integral(present, years[None]), years[None], np.array([look / loss])
    )[0]
    assert due == pytest.approx(optimize.brentq(lambda t: gathered(t) - look / loss, 0.01, 60),
                                rel=1e-4)  # fmt: skip
    assert a_year(due) <= 1.002 * best.fun


def test_net_of_waiting_and_of_not_looking_are_sums_of_dollars():
    """By hand: 5,000·0.02 − 4·15 = 40; 250·0.3 − 60·(0.5/2) = 60."""
    one = np.ones(1)
    assert act_by.net_of_waiting(5000 * one, 0.02 * one, 4 * one, 15 * one)[0] == 40.0
    assert act_by.net_of_not_looking(250 * one, 0.3 * one, 60 * one, 0.25 * one)[0] == 60.0


def test_a_level_is_reached_between_two_points_in_proportion():
    """0, 2, 6 at 10, 20, 30: level 3 at 22.5, level 2 at 20, level 0 at once, level 7 never."""
    values, at = np.tile([0.0, 2.0, 6.0], (4, 1)), np.tile([10.0, 20.0, 30.0], (4, 1))
    found = act_by.first_reached(values, at, np.array([3.0, 2.0, 0.0, 7.0]))
    assert found[:3].tolist() == [22.5, 20.0, 10.0]
    assert np.isnan(found[3])


def test_two_clocks_are_both_run_through_by_a_new_part():
    """12 months a year against 1 year a year: the clock that is further through decides S.

    By hand: b10 120 and 9, pace (1, 1/12): years lead beyond 12·9 = 108 < 120, so S(120) is that
    of the years clock at 10.
    """

    def sure(value):
        return Figure(value, "1", "published", citation="by hand")

    both = life_belief(sure(3.0), [sure(120.0), sure(9.0)])
    part = act_by.survivor(both, 1.0, np.array([1.0, 1.0 / 12.0]), 1.0, 120.0)
    assert part.alive[-1] == pytest.approx(0.9 ** ((10.0 / 9.0) ** 3), rel=1e-12)


@pytest.mark.parametrize("best", [5.3, 4.75, 6.2])
def test_a_cost_rate_that_is_a_parabola_has_its_exact_lowest_point(best):
    """g(T) = 1 + (T − best)²/100 on whole ages, by ∫S = 1/g with S = 1 and C_p = 1."""
    age = np.arange(31.0)
    rate = 1.0 + (age - best) ** 2 / 100.0
    part = act_by.Survivor(age, np.ones(31), np.concatenate(([0.0], 1.0 / rate[1:])))
    found = act_by.age_replacement(part, np.ones(1), np.array([2.0]))
    assert found.gains[0]
    assert found.age[0] == pytest.approx(best, rel=1e-9)
    assert found.cost_rate[0] == pytest.approx(1.0, rel=1e-9)
