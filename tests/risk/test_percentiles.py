"""The fast percentiles are the plain ones: on the awkward rows that life beliefs really make.

Reference: ``percentiles_by_sorting``, the rule written out row by row on numpy's argsort and
interp; it is itself held to numpy's own quantiles in ``test_life_identities``.
"""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from riskcheck.risk.percentiles import (
    BLOCK,
    percentiles,
    percentiles_by_sorting,
    percentiles_with_given,
)

ENDS = (0.05, 0.95)
# Around whole blocks of weights, where an index one off would show.
lengths = st.sampled_from([1, 2, 3, BLOCK - 1, BLOCK, BLOCK + 1, 2 * BLOCK, 100, 861])
seeds = st.integers(0, 2**32 - 1)
# Irregular shares at zero: a percentile that falls exactly on a point's edge has two answers.
shares_at_zero = st.sampled_from([0.0, 0.0137, 0.0493, 0.4391, 0.9717])


def weights_of(rng, kind: str, rows: int, points: int, zero: float):
    weights = rng.random((rows, points)) + 1e-6
    if kind == "some are nothing" and points > 2:
        weights[:, 1:] *= rng.random((rows, points - 1)) < 0.3
    if kind == "one has nearly all":
        weights[np.arange(rows), rng.integers(0, points, rows)] = 1e9
    if kind == "over many powers of ten":
        weights = 10.0 ** rng.uniform(-30, 0, (rows, points))
    return weights * (1.0 - zero) / weights.sum(axis=1, keepdims=True)


def values_of(rng, kind: str, rows: int, points: int):
    values = rng.random((rows, points))
    if kind == "ties":
        return np.floor(values * 4) / 4
    if kind == "spike at zero":
        return np.where(values < 0.6, 0.0, values)
    if kind == "spike at one":
        return np.where(values > 0.3, 1.0, values)
    if kind == "over many powers of ten":
        return 10.0 ** (-300.0 * values)
    return values


weight_kinds = st.sampled_from(
    ["plain", "some are nothing", "one has nearly all", "over many powers of ten"]
)
value_kinds = st.sampled_from(
    ["plain", "ties", "spike at zero", "spike at one", "over many powers of ten"]
)


@settings(max_examples=300, deadline=None)
@given(seeds, lengths, shares_at_zero, weight_kinds, value_kinds)
def test_every_kind_of_row(seed, points, zero, weight_kind, value_kind):
    rng = np.random.default_rng(seed)
    values, weights = (
        values_of(rng, value_kind, 4, points),
        weights_of(rng, weight_kind, 4, points, zero),
    )
    at_zero, kept = np.full(4, zero), values.copy()
    plain = percentiles_by_sorting(values, weights, at_zero, ENDS)
    fast = percentiles(values, weights, at_zero, ENDS)
    assert fast == pytest.approx(plain, rel=1e-9, abs=1e-12)
    assert np.array_equal(values, kept)


@settings(max_examples=100, deadline=None)
@given(seeds, lengths, shares_at_zero, weight_kinds, value_kinds)
def test_days_share_weights_and_the_given_range_leaves_the_weight_at_zero_out(
    seed, points, zero, weight_kind, value_kind
):
    rng = np.random.default_rng(seed)
    values = values_of(rng, value_kind, 6, points).reshape(2, 3, points)
    weights = weights_of(rng, weight_kind, 2, points, zero)
    at_zero = np.array([zero, zero])
    found, alone = percentiles_with_given(values.copy(), weights, at_zero, ENDS)
    whole = weights / weights.sum(axis=1, keepdims=True)
    for day in range(3):
        row = values[:, day]
        assert found[:, day] == pytest.approx(
            percentiles_by_sorting(row, weights, at_zero, ENDS), rel=1e-9, abs=1e-12
        )
        assert alone[:, day] == pytest.approx(
            percentiles_by_sorting(row, whole, np.zeros(2), ENDS), rel=1e-9, abs=1e-12
        )


def test_worked_by_hand():
    """Weights 0.2, 0.5, 0.3 sit at 0.1, 0.45, 0.85; 0.4 lies 6/7 of the way from 1 to 2."""
    values, weights = np.array([[3.0, 1.0, 2.0]]), np.array([[0.3, 0.2, 0.5]])
    ours = percentiles(values, weights, np.zeros(1), (0.05, 0.1, 0.4, 0.65, 0.95))[0]
    assert ours == pytest.approx([1.0, 1.0, 1.0 + 6 / 7, 2.5, 3.0])
