"""Identities that hold whatever the figures: no published value needed, hypothesis draws them."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from riskcheck.figures import Figure
from riskcheck.risk.beliefs import life_belief
from riskcheck.risk.histories import survived
from riskcheck.risk.life import posterior
from riskcheck.risk.percentiles import percentiles, percentiles_by_sorting

SIZE = (21, 11)
shapes = st.floats(0.4, 5.0)
ages = st.floats(0.0, 3.0)
gains = st.floats(0.01, 1.0)
factors = st.floats(0.2, 6.0)


def belief(shape, unit=1.0):
    shape_figure = Figure(shape, "1", "invented", shape * 0.8, shape * 1.3)
    b10 = Figure(unit, "1", "invented", unit * 0.6, unit * 1.7)
    return life_belief(shape_figure, [b10], size=SIZE)


def chance(life, past, end):
    p, spread = posterior(life, past).chance_with_range(np.array([[[[end]]]]))
    return float(p[0]), spread[0]


def revealed(age, m=1.0, unit=1.0):
    return survived([((0.0,), (age * unit,))], (age * unit,), (age * unit,), m)


def hidden(looked, age, m=1.0):
    return survived([((0.0,), (looked,))], (looked,), (age,), m)


@settings(max_examples=60, deadline=None)
@given(shapes, ages, gains, factors)
def test_horizon_zero(shape, age, gain, m):
    """Nothing happens at once to what reveals itself; what is hidden may already be there."""
    life = belief(shape)
    assert chance(life, revealed(age, m), age)[0] == pytest.approx(0.0, abs=1e-12)
    past = hidden(age, age + gain, m)
    state = posterior(life, past)
    assert chance(life, past, age + gain)[0] == pytest.approx(state.chance_now()[0], abs=1e-12)


@settings(max_examples=60, deadline=None)
@given(shapes, ages, gains, factors)
def test_longer_and_harsher_is_likelier(shape, age, gain, m):
    """p rises with the horizon, and with m where nothing was survived (m acts on both sides)."""
    life = belief(shape)
    assert chance(life, revealed(age, m), age + gain)[0] <= (
        chance(life, revealed(age, m), age + 2 * gain)[0] + 1e-12
    )
    assert chance(life, revealed(0.0, m), gain)[0] <= (
        chance(life, revealed(0.0, m * 1.5), gain)[0] + 1e-12
    )


@settings(max_examples=60, deadline=None)
@given(shapes, st.floats(0.1, 2.0), gains, factors)
def test_a_remedy_that_keeps_all_age_changes_nothing_and_one_that_keeps_none_forgets(
    shape, age, gain, m
):
    life = belief(shape)
    plain = chance(life, revealed(age, m), age + gain)
    kept = survived([((0,), (age / 2,)), ((age / 2,), (age,))], (age,), (age,), m)
    assert chance(life, kept, age + gain)[0] == pytest.approx(plain[0], rel=1e-9)
    fresh = survived([], (0.0,), (0.0,), m)
    new = survived([((0.0,), (0.0,))], (0.0,), (0.0,), m)
    assert chance(life, fresh, gain)[0] == pytest.approx(chance(life, new, gain)[0], rel=1e-12)


@settings(max_examples=60, deadline=None)
@given(shapes, ages, gains, factors)
def test_miles_and_kilometres_agree(shape, age, gain, m):
    miles = chance(belief(shape), revealed(age, m), age + gain)
    km = 1.609344
    metric = chance(belief(shape, km), revealed(age, m, km), (age + gain) * km)
    assert metric[0] == pytest.approx(miles[0], rel=1e-9, abs=1e-12)
    assert metric[1] == pytest.approx(miles[1], rel=1e-6, abs=1e-9)


@settings(max_examples=60, deadline=None)
@given(shapes, ages, gains, factors)
def test_hidden_is_never_below_revealed_and_a_good_look_never_raises(shape, age, gain, m):
    """At m fixed and the same life survived up to the look."""
    life = belief(shape)
    unseen = chance(life, hidden(0.0, age, m), age + gain)[0]
    looked = chance(life, hidden(age, age, m), age + gain)[0]
    assert unseen >= looked - 1e-12
    halfway = chance(life, hidden(age / 2, age, m), age + gain)[0]
    assert unseen >= halfway - 1e-12 >= looked - 2e-12


@pytest.mark.parametrize("clocks", [1, 2])
@pytest.mark.parametrize("finds", [1.0, 0.7])
def test_compact_loads_give_what_every_node_gives_by_itself(clocks, finds):
    """The module's formulas node by node, H(v) = m·c·max (v/B10)^shape written out in full."""
    shape = Figure(2.5, "1", "invented", 1.8, 4.0)
    b10s = [Figure(v, "1", "invented", v * 0.6, v * 1.7) for v in (1.0, 6.0)[:clocks]]
    life = life_belief(shape, b10s, size=SIZE)

    def load(*age):
        ratios = np.array(age)[:clocks, None] / life.b10
        return -np.log(0.9) * (ratios[:, :, None] ** life.shape).max(axis=0).reshape(-1)

    m, start, ok, now, ahead = 1.6, (0.3, 1.0), (0.7, 3.5), (0.9, 5.0), (1.3, 6.2)
    alive = np.exp(-m * (load(*ok) - load(*start)))
    kept = alive if finds == 1.0 else 1.0 - finds * (1.0 - alive)
    weight = life.flat_weight * kept / (life.flat_weight * kept).sum()
    past = survived([(start[:clocks], ok[:clocks])], ok[:clocks], now[:clocks], m)
    state = posterior(life, past, finds)
    days = np.array([ok, now, ahead])[None, None, :, :clocks]
    clear = np.stack([alive / kept * np.exp(-m * (load(*day) - load(*ok)))
                      for day in (ok, now, ahead)])  # fmt: skip
    assert state.clear(days)[0, 0] == pytest.approx(clear, rel=1e-10)
    assert state.chance(days)[0] == pytest.approx(1.0 - clear @ weight, abs=1e-12)
    # Ranges of several days at once are those of each day alone, sorted the plain way.
    together = state.ranges_of(state.clear(days)[:, :, :, None])[0][0]
    plain = percentiles_by_sorting(1.0 - clear, np.tile(weight, (3, 1)), np.zeros(3), (0.05, 0.95))
    assert together == pytest.approx(plain, rel=1e-8, abs=1e-12)
    pace = np.array([[1.0, 4.0][:clocks]])
    step = 1e-6
    further, before = (
        state.clear(days + sign * step * pace[:, None, None])[0, 0] @ weight for sign in (1, -1)
    )
    numeric = (before - further) / (2 * step) / (clear @ weight)
    assert state.rate(days, pace)[0] == pytest.approx(numeric, rel=1e-6)


@settings(max_examples=40, deadline=None)
@given(st.integers(0, 10_000), st.floats(0.0, 0.9), st.integers(1, 400))
def test_the_fast_percentiles_are_the_plain_ones(seed, zero, points):
    rng = np.random.default_rng(seed)
    values = rng.random((3, points)) ** rng.integers(1, 12)
    weights = rng.random((3, points)) + 1e-9
    weights *= (1 - zero) / weights.sum(axis=1, keepdims=True)
    at_zero = np.full(3, zero)
    quantiles = (0.05, 0.5, 0.95)
    fast = percentiles(values, weights, at_zero, quantiles)
    assert fast == pytest.approx(
        percentiles_by_sorting(values, weights, at_zero, quantiles), abs=1e-9
    )


def test_percentiles_of_equal_weights_lie_at_midpoints():
    """Position of a point is cumulative weight less half its own: Hazen's rule in numpy."""
    values = np.sort(np.random.default_rng(5).random((1, 101)))
    weights = np.full((1, 101), 1 / 101)
    ours = percentiles(values, weights, np.zeros(1), (0.05, 0.5, 0.95))[0]
    assert ours == pytest.approx(np.quantile(values, [0.05, 0.5, 0.95], method="hazen"), rel=1e-9)
