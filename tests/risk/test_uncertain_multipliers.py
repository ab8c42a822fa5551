"""A rate multiplier has a range of its own, and the range of a chance must hold that too.

Product of log-normals: ln m and ln (v/B10)^shape are normal, their variances add (any text on
probability; Ang & Tang 1975, from memory).
"""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest

from riskcheck.figures import Figure
from riskcheck.risk.beliefs import Z_95, life_belief
from riskcheck.risk.factors import widths
from riskcheck.risk.histories import survived
from riskcheck.risk.life import posterior

C = -np.log(0.9)


def figure(value, low=None, high=None):
    return Figure(value, "1", "invented", low, high)


def factor(finding, group, value, low, high, acts="always"):
    return SimpleNamespace(
        finding=finding, group=group, multiplier=figure(value, low, high), acts=acts
    )


def width(low, high):
    return np.log(high / low) / Z_95


def spread(belief, age, multiplier=1.0):
    state = posterior(belief, survived([((0,), (0,))], (0,), (0,), multiplier))
    return state.chance_with_range(np.array([[[[age]]]]))


def test_a_certain_life_has_exactly_the_range_of_its_multiplier():
    """m 2 (1.2 to 3): the 5 and 95 % points of p are those of 1 − exp(−m·c·(v/B10)^β)."""
    sides = np.array([[width(2.0, 3.0), width(1.2, 2.0)]])
    belief = life_belief(figure(2.0), [figure(10.0)]).widened(sides)
    p, (low, high) = (each[0] for each in spread(belief, 12.0, 2.0))
    load = C * 1.2**2
    assert (low, high) == pytest.approx(
        (-np.expm1(-1.2 * load), -np.expm1(-3.0 * load)), rel=1.2e-2
    )
    rng = np.random.default_rng(5)
    z = rng.standard_normal(400_000)
    m = 2.0 * np.exp(z * np.where(z > 0.0, *sides[0]))
    assert p == pytest.approx((-np.expm1(-m * load)).mean(), rel=2e-3)


@pytest.mark.parametrize("own", [0.1, 0.3, 0.6])
def test_variances_add(own):
    """Symmetric in the logarithm on both sides: the load's own 5 and 95 % points are exact."""
    belief = life_belief(figure(2.0), [figure(10.0, 8.0, 12.5)])
    sides = np.array([[own, own]])
    low, high = spread(belief.widened(sides), 5.0)[1][0]
    whole = np.hypot(2.0 * width(10.0, 12.5), own)
    for end, z in ((low, -Z_95), (high, Z_95)):
        assert end == pytest.approx(-np.expm1(-C * 0.25 * np.exp(whole * z)), rel=1.2e-2)


def test_certain_multipliers_change_nothing():
    belief = life_belief(figure(2.0, 1.6, 2.8), [figure(10.0, 8.0, 14.0)])
    assert belief.widened(np.zeros((3, 2))) is belief
    both = belief.widened(np.array([[0.0, 0.0], [0.4, 0.4]]))
    assert both.scale[0, 0] == pytest.approx(belief.scale[0], rel=1e-12)


def test_each_exposure_has_its_own_width_and_two_clocks_share_it():
    years, miles = figure(9.0, 7.0, 11.0), figure(110.0, 85.0, 140.0)
    belief = life_belief(figure(4.0, 3.0, 6.0), [miles, years])
    sides = np.array([[0.0, 0.0], [0.5, 0.5]])
    usage = np.array([[100.0, 8.0], [100.0, 8.0]])
    both = belief.widened(sides).load(usage)
    assert both[0] == pytest.approx(belief.load(usage[0]), rel=1e-12)
    assert both[1].max() > both[0].max()
    assert both[1].min() < both[0].min()


def test_widths_of_the_factors_that_act():
    factors = [
        factor("salt", "climate", 1.7, 1.3, 2.2),
        factor("heat", "climate", 1.4, 1.1, 1.8),
        factor("towing", "duty", 1.5, 1.1, 2.0),
        factor("drags", "condition", 6.0, 3.0, 10.0, acts="from_seen"),
    ]
    holds = {
        "salt": np.array([0, 1, 1, -1], dtype=np.int8),
        "heat": np.array([0, 1, 1, 1], dtype=np.int8),
        "towing": np.array([0, 0, 1, -1], dtype=np.int8),
        "drags": np.ones(4, dtype=np.int8),
    }
    found = widths(factors, holds, 4)
    salt = np.array([width(1.7, 2.2), width(1.3, 1.7)])
    heat = np.array([width(1.4, 1.8), width(1.1, 1.4)])
    towing = np.array([width(1.5, 2.0), width(1.1, 1.5)])
    assert found == pytest.approx(
        np.array([[0.0, 0.0], salt, np.hypot(salt, towing), heat]), rel=1e-12
    )
