"""Percentiles of weighted points, many rows at once."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from riskcheck.risk.beliefs import Floats

_MANTISSA_BITS = 4  # 16 bins per octave
_SHIFT = 52 - _MANTISSA_BITS
_OCTAVES = 40  # values below 2^-40 share the lowest bin
_BINS = (_OCTAVES + 2) << _MANTISSA_BITS
_BASE = (1023 - _OCTAVES) << _MANTISSA_BITS


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
        out[row] = _inside(quantiles, position[row], ranked[row], float(at_zero[row]))
    return out


def _inside(quantiles: Sequence[float], position: Floats, values: Floats, zero: float) -> Floats:
    """Percentiles from sorted points; the weight at zero holds positions up to ``zero``."""
    if zero > 0.0:
        position = np.concatenate(([0.0, zero], position))
        values = np.concatenate(([0.0, 0.0], values))
    return np.asarray(np.interp(quantiles, position, values), dtype=np.float64)


def percentiles(
    values: Floats, weights: Floats, at_zero: Floats, quantiles: Sequence[float]
) -> Floats:
    """The same numbers as ``percentiles_by_sorting``, several times faster.

    A histogram over the leading bits of the values finds the bin that holds each quantile; only
    the points in and next to it are sorted.  Args and result as there; values lie in [0, 1].
    """
    rows = values.shape[0]
    bins: NDArray[np.int64] = np.maximum((values.view(np.int64) >> _SHIFT) - _BASE, 0)
    slots = bins + (np.arange(rows) * _BINS)[:, None]
    counted = np.bincount(slots.reshape(-1), weights.reshape(-1), rows * _BINS)
    mass: Floats = np.asarray(counted, dtype=np.float64).reshape(rows, _BINS)
    below: Floats = np.cumsum(mass, axis=1) + at_zero[:, None]
    out = np.empty((rows, len(quantiles)))
    for column, quantile in enumerate(quantiles):
        out[:, column] = _refine(values, weights, at_zero, (bins, below), quantile)
    return out


def _refine(
    values: Floats,
    weights: Floats,
    at_zero: Floats,
    histogram: tuple[NDArray[np.int64], Floats],
    quantile: float,
) -> Floats:
    """One quantile per row: sort only the points from one occupied bin below to one above."""
    bins, below = histogram
    rows, width = below.shape
    hit = np.minimum((below < quantile).sum(axis=1), width - 1)
    # Empty bins repeat the running sum, so comparing sums steps over them.
    under = np.where(hit > 0, _at(below, np.maximum(hit - 1, 0)), at_zero)
    first = np.where(under > at_zero, (below < under[:, None]).sum(axis=1), 0)
    last = np.minimum((below <= _at(below, hit)[:, None]).sum(axis=1), width - 1)
    near = (bins >= first[:, None]) & (bins <= last[:, None])
    start = np.where(first > 0, _at(below, np.maximum(first - 1, 0)), at_zero)
    row, column = np.nonzero(near)
    value, weight = values[row, column], weights[row, column]
    order = np.lexsort((value, row))
    row, value, weight = row[order], value[order], weight[order]
    return _interpolate_rows(row, value, weight, (start, at_zero, quantile, rows))


def _at(table: Floats, column: NDArray[np.int64]) -> Floats:
    return np.asarray(np.take_along_axis(table, column[:, None], axis=1)[:, 0], dtype=np.float64)


def _interpolate_rows(
    row: NDArray[np.int64], value: Floats, weight: Floats, frame: tuple[Floats, Floats, float, int]
) -> Floats:
    """Linear interpolation at one quantile within each row's sorted points."""
    start, at_zero, quantile, rows = frame
    total = np.cumsum(weight)
    counts = np.bincount(row, minlength=rows)
    begin = np.concatenate(([0], np.cumsum(counts)[:-1]))
    before = np.where(begin > 0, total[np.maximum(begin - 1, 0)], 0.0)
    position = total - before[row] + start[row] - 0.5 * weight
    passed = np.bincount(row, position < quantile, rows).astype(np.int64)
    upper = begin + np.minimum(passed, counts - 1)
    lower = begin + np.maximum(passed - 1, 0)
    left_at, left = position[lower], value[lower]
    from_zero = (passed == 0) & (at_zero > 0.0)
    left_at, left = np.where(from_zero, at_zero, left_at), np.where(from_zero, 0.0, left)
    gap = position[upper] - left_at
    share = np.clip(np.divide(quantile - left_at, gap, out=np.ones(rows), where=gap > 0.0), 0, 1)
    result = left + share * (value[upper] - left)
    return np.asarray(np.where(quantile <= at_zero, 0.0, result), dtype=np.float64)
