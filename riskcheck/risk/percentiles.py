"""Percentiles of weighted points, many rows at once."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from riskcheck.risk.beliefs import Floats


def percentiles_by_sorting(
    values: Floats, weights: Floats, at_zero: Floats, quantiles: Sequence[float]
) -> Floats:
    """Weighted percentiles row by row, the plain way.

    Sort; position of a point = cumulative weight − half its own weight; linear in between, flat
    outside.  ``at_zero`` (n,) is further weight sitting at exactly zero, below all points.

    Args: values, weights (n, P); weights of a row plus its at_zero sum to one.
    Returns (n, number of quantiles).
    """
    order = np.argsort(values, axis=1, kind="stable")
    ranked = np.take_along_axis(values, order, axis=1)
    own = np.take_along_axis(weights, order, axis=1)
    position = np.cumsum(own, axis=1) - 0.5 * own + at_zero[:, None]
    out = np.empty((values.shape[0], len(quantiles)))
    for row in range(values.shape[0]):
        zero = float(at_zero[row])
        start = ([0.0, zero], [0.0, 0.0]) if zero > 0.0 else ([], [])
        places = np.concatenate((start[0], position[row]))
        out[row] = np.interp(quantiles, places, np.concatenate((start[1], ranked[row])))
    return out


def percentiles(
    values: Floats, weights: Floats, at_zero: Floats, quantiles: Sequence[float]
) -> Floats:
    """The same numbers as ``percentiles_by_sorting``, several times faster.

    Numbers from 0 up sort like their bit patterns, so each point's place is written into the last
    bits of its value and whole numbers are sorted in one go; that costs 1 part in 10^10 of a value
    and saves the slow indirect sort.  Args and result as there; values are 0 or more.
    """
    rows, points = values.shape
    place_bits = (1 << points.bit_length()) - 1
    keys = (np.ascontiguousarray(values).view(np.int64) & ~place_bits) | np.arange(points)
    keys.sort(axis=1)
    place = keys & place_bits
    keys &= ~place_bits
    ranked = keys.view(np.float64)
    place += (np.arange(rows) * points)[:, None]
    own = np.take(weights.reshape(-1), place)
    position = np.cumsum(own, axis=1)
    own *= 0.5
    position -= own
    position += at_zero[:, None]
    found = [_interpolate(position, ranked, at_zero, quantile) for quantile in quantiles]
    return np.stack(found, axis=1)


def _interpolate(position: Floats, ranked: Floats, at_zero: Floats, quantile: float) -> Floats:
    """Value at one quantile in each row (n,)."""
    row = np.arange(len(ranked))
    passed = (position < quantile).sum(axis=1)
    upper = np.minimum(passed, ranked.shape[1] - 1)
    lower = np.maximum(passed - 1, 0)
    left_at, left = position[row, lower], ranked[row, lower]
    from_zero = (passed == 0) & (at_zero > 0.0)
    left_at, left = np.where(from_zero, at_zero, left_at), np.where(from_zero, 0.0, left)
    gap = position[row, upper] - left_at
    share = np.divide(quantile - left_at, gap, out=np.ones(len(row)), where=gap > 0.0)
    result = left + np.clip(share, 0.0, 1.0) * (ranked[row, upper] - left)
    return np.asarray(np.where(quantile <= at_zero, 0.0, result), dtype=np.float64)
