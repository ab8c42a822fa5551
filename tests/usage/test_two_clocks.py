"""Two clocks on one life: whichever is further through, with one strength of the part behind both.

Belt as in the shipped rules' kind: shape 4 (3 to 6), B10 110,000 miles (85,000 to 140,000) or 9
years (7 to 11).  Expected loads are written out from the definition c * max(v1/B1, v2/B2)^shape.
"""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from usage_frames import usage, vehicles

from riskcheck.figures import Figure
from riskcheck.risk.beliefs import life_belief

NAN = float("nan")
Z_95 = 1.6448536269514722
SHAPE = Figure(4.0, "1", "invented", 3.0, 6.0)
MILES = Figure(110_000.0, "mi", "invented", 85_000.0, 140_000.0)
YEARS = Figure(9.0, "y", "invented", 7.0, 11.0)
BOTH = life_belief(SHAPE, [MILES, YEARS])


def at(figure: Figure, z: np.ndarray) -> np.ndarray:
    low, high = figure.range
    side = np.where(z < 0, np.log(figure.value / low), np.log(high / figure.value))
    return figure.value * np.exp(side * z / Z_95)


def load(belief, *use: float) -> np.ndarray:
    """Cumulative hazard at the nodes, B10 points by shape points."""
    return belief.spread(belief.compact(np.array([list(use)])))[0].reshape(belief.weight.shape)


@settings(max_examples=100, deadline=None)
@given(st.floats(0, 300_000), st.floats(0, 30))
def test_the_load_is_that_of_the_clock_further_through_at_one_common_z(miles, years):
    z = np.linspace(-4, 4, 41)
    shape = at(SHAPE, np.linspace(-4, 4, 21))
    through = np.maximum(miles / at(MILES, z), years / at(YEARS, z))
    expected = -np.log(0.9) * through[:, None] ** shape
    np.testing.assert_allclose(load(BOTH, miles, years), expected, rtol=1e-9, atol=1e-300)


def test_at_the_boundary_either_clock_alone_says_the_same():
    """110,000 miles and 9 years: both are just at the B10 of a middling part."""
    middle = BOTH.weight.shape[0] // 2
    alone = load(life_belief(SHAPE, [MILES]), 110_000.0), load(life_belief(SHAPE, [YEARS]), 9.0)
    for single in alone:
        np.testing.assert_allclose(load(BOTH, 110_000.0, 9.0)[middle], single[middle], rtol=1e-12)
    np.testing.assert_allclose(load(BOTH, 110_000.0, 9.0), np.maximum(*alone), rtol=1e-12)


@pytest.mark.parametrize("step", [1e-6, 1e-3, 0.1])
def test_past_the_boundary_only_the_clock_in_front_counts(step):
    middle = BOTH.weight.shape[0] // 2
    there = load(BOTH, 110_000.0, 9.0)[middle]
    np.testing.assert_allclose(load(BOTH, 110_000.0 * (1 - step), 9.0)[middle], there, rtol=1e-12)
    np.testing.assert_allclose(load(BOTH, 110_000.0, 9.0 * (1 - step))[middle], there, rtol=1e-12)
    shape = at(SHAPE, np.linspace(-4, 4, 21))
    more = there * (1 + step) ** shape
    np.testing.assert_allclose(load(BOTH, 110_000.0 * (1 + step), 9.0)[middle], more, rtol=1e-9)
    np.testing.assert_allclose(load(BOTH, 110_000.0, 9.0 * (1 + step))[middle], more, rtol=1e-9)


def test_the_clocks_of_a_vehicle_at_the_boundary():
    """In service on 1 October 2017, 110,000 miles today: 9 years and 110,000 miles, by calendar."""
    fleet = vehicles(in_service_lo=["2017-10-01"], in_service_hi=["2017-10-01"])
    known = usage(fleet, [("v0", "2026-10-01", 110_000.0, NAN)])
    miles, years = (known.now(clock)[1][0] for clock in ("miles", "years"))
    assert (miles, years) == pytest.approx((110_000.0, 9.0))
    ahead = [known.ahead(clock, np.array([12.0]))[0, 2, 0] for clock in ("miles", "years")]
    through = [(miles + ahead[0]) / 110_000, (years + ahead[1]) / 9]
    assert ahead[1] == 1.0
    # 12,222 miles a year so far, drawn a little toward the class's 12,000: years lead by a hair.
    assert 0.99 * through[1] < through[0] < through[1]
