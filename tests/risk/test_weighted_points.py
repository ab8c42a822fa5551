"""Percentiles of weighted points against their definition, written out point by point here.

Position of a point = weight gathered up to it less half its own; between two positions in
proportion, outside flat; further weight may sit at exactly zero.  With equal weights that is
Hazen's rule (``numpy.quantile(method="hazen")``).
"""

from __future__ import annotations

import itertools

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from riskcheck.risk.percentiles import (
    percentiles,
    percentiles_by_sorting,
    percentiles_with_given,
)

ENDS = (0.05, 0.5, 0.95)


def by_definition(values, weights, zero, q):
    """One row, one percentile."""
    points = sorted(zip(values, weights, strict=True))
    places, gathered = ([(0.0, 0.0), (zero, 0.0)] if zero > 0.0 else []), zero
    for value, weight in points:
        places.append((gathered + 0.5 * weight, value))
        gathered += weight
    for (a, low), (b, high) in itertools.pairwise(places):
        if a <= q <= b:
            return high if b == a else low + (high - low) * (q - a) / (b - a)
    return places[0][1] if q < places[0][0] else places[-1][1]


@settings(max_examples=80, deadline=None)
@given(st.integers(0, 10_000), st.sampled_from([0.0, 0.02, 0.3, 0.94, 0.97]),
       st.sampled_from([1, 2, 3, 31, 32, 33, 64, 200]))  # fmt: skip
def test_both_ways_are_the_definition(seed, zero, count):
    """Few points, whole blocks, one more and one fewer; some nearly without weight."""
    rng = np.random.default_rng(seed)
    values = rng.random((2, count)) ** 4
    weights = rng.random((2, count)) ** rng.integers(1, 9) + 1e-12
    weights *= (1.0 - zero) / weights.sum(axis=1, keepdims=True)
    at_zero = np.full(2, zero)
    expected = [[by_definition(values[row], weights[row], zero, q) for q in ENDS]
                for row in range(2)]  # fmt: skip
    plain = percentiles_by_sorting(values, weights, at_zero, ENDS)
    assert plain == pytest.approx(np.array(expected), rel=1e-9, abs=1e-12)
    assert percentiles(values, weights, at_zero, ENDS) == pytest.approx(
        np.array(expected), rel=1e-8, abs=1e-12
    )


@settings(max_examples=40, deadline=None)
@given(st.integers(0, 10_000), st.sampled_from([0.0, 0.02, 0.3, 0.94, 0.97]))
def test_the_points_alone_are_those_with_their_weights_made_one(seed, zero):
    rng = np.random.default_rng(seed)
    values = rng.random((3, 2, 70)) ** 3
    weights = rng.random((3, 70)) ** 3 + 1e-12
    weights *= (1.0 - zero) / weights.sum(axis=1, keepdims=True)
    found, given_ = percentiles_with_given(values.copy(), weights, np.full(3, zero), ENDS)
    for row in range(3):
        for day in range(2):
            share = weights[row] / weights[row].sum()
            alone = [by_definition(values[row, day], share, 0.0, q) for q in ENDS]
            mixed = [by_definition(values[row, day], weights[row], zero, q) for q in ENDS]
            assert given_[row, day] == pytest.approx(alone, rel=1e-8, abs=1e-12)
            assert found[row, day] == pytest.approx(mixed, rel=1e-8, abs=1e-12)


def test_by_hand():
    """0.2 at zero, then 0.3, 0.1, 0.4 at 1, 2, 5: positions 0.35, 0.55, 0.80.

    0.275 lies half way from 0.2 (zero) to 0.35 (one); 0.45 half way from 1 to 2; 0.9 beyond.
    """
    values, weights = np.array([[5.0, 1.0, 2.0]]), np.array([[0.4, 0.3, 0.1]])
    found = percentiles(values, weights, np.array([0.2]), (0.1, 0.275, 0.45, 0.9))[0]
    assert found.tolist() == pytest.approx([0.0, 0.5, 1.5, 5.0], rel=1e-9)
