"""Designs in doubt and lives on two clocks: what the weights and the leading clock must do."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from riskcheck.figures import Figure
from riskcheck.risk.beliefs import life_belief
from riskcheck.risk.histories import survived
from riskcheck.risk.life import posterior

STUD = life_belief(
    Figure(2.0, "1", "invented", 1.6, 2.8), [Figure(300.0, "1", "invented", 180.0, 500.0)]
)
BELT = life_belief(
    Figure(4.0, "1", "invented", 3.0, 6.0),
    [Figure(110.0, "1", "invented", 85.0, 140.0), Figure(9.0, "1", "invented", 7.0, 11.0)],
)


def doubted(past, weight):
    return replace(past, prior=np.array([[weight]]), absent=np.array([1.0 - weight]))


@pytest.mark.parametrize("weight", [1.0, 0.7, 0.2])
def test_having_got_this_far_is_told_of_those_with_the_design(weight):
    """R1: 0.969451 of studs get to 150, however likely the design (worked out apart)."""
    past = survived([((0.0,), (150.0,))], (150.0,), (150.0,))
    assert posterior(STUD, doubted(past, weight)).survival[0] == pytest.approx(0.969451, abs=6e-7)


@pytest.mark.parametrize("weight", [0.01, 0.02, 0.03, 0.04, 0.045, 0.05, 0.055, 0.06, 0.08, 0.15])
@pytest.mark.parametrize("end", [155.0, 165.0, 600.0])
def test_a_range_holds_its_mean_around_one_in_twenty(weight, end):
    """Where the 95 % point leaves the zeros: above it the range is the mixture's own."""
    past = doubted(survived([((0.0,), (150.0,))], (150.0,), (150.0,)), weight)
    state = posterior(STUD, past)
    p, (low, high) = (out[0] for out in state.chance_with_range(np.array([[[[end]]]])))
    assert low <= p <= high * (1.0 + 1e-9)
    assert p > 0.0
    assert high > 0.0


@settings(max_examples=60, deadline=None)
@given(st.floats(20.0, 140.0), st.floats(0.985, 1.015), st.floats(8.0, 20.0))
def test_the_mixture_hazard_follows_the_clock_that_leads(miles, lead, a_year):
    """Both clocks within 1.5 % of the same share of B10: h̄ is the slope of the mean survival.

    Differences over a step so small that no node changes its clock within it.
    """
    assume(abs(lead - 1.0) > 1e-4)  # on a tie the leading clock changes within the step
    years = miles / 110.0 * 9.0 * lead
    past = survived([((0.0, 0.0), (miles, years))], (miles, years), (miles, years))
    state = posterior(BELT, past)
    pace = np.array([[1.0, 1.0 / a_year]])
    at = np.array([miles, years])

    def clear(step):
        return float(state.clear((at + step * pace[0])[None, None, None])[0, 0, 0] @
                     state.weight[0, 0])  # fmt: skip

    step = 1e-6
    later = (clear(0.0) - clear(step)) / step
    rate = state.rate(at[None, None, None], pace)[0, 0]
    assert rate == pytest.approx(later, rel=1e-4)


def test_a_life_on_two_clocks_is_as_far_as_the_one_that_is_further():
    """Not their sum: at 55 of 110 and 4.5 of 9 the load is that of half a life on either."""
    both = BELT.load(np.array([[55.0, 4.5], [55.0, 0.0], [0.0, 4.5]]))
    assert both[0] == pytest.approx(np.maximum(both[1], both[2]), rel=1e-12)
    only = life_belief(
        Figure(4.0, "1", "invented", 3.0, 6.0), [Figure(110.0, "1", "invented", 85.0, 140.0)]
    )
    assert both[1] == pytest.approx(only.load(np.array([55.0])), rel=1e-12)
