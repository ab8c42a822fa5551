"""Percentiles of weighted points, many rows at once."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from riskcheck.risk.beliefs import Floats


class Points(NamedTuple):
    """Ranked points of n rows: cumulative weight, own weight and value, (n, P) each."""

    gathered: Floats
    own: Floats
    values: Floats


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

    Args and result as there; values are 0 or more, and exact to 1 part in 10^10.
    """
    points = _ranked(values, weights)
    return _at(points, quantiles, at_zero)


def percentiles_with_given(
    values: Floats, weights: Floats, at_zero: Floats, quantiles: Sequence[float]
) -> tuple[Floats, Floats]:
    """What ``percentiles`` gives, and the same of the points alone, without the weight at zero."""
    points = _ranked(values, weights)
    found = _at(points, quantiles, at_zero)
    if not at_zero.any():
        return found, found
    shares = [quantile * (1.0 - at_zero) for quantile in quantiles]
    nothing = np.zeros(len(at_zero))
    given = [_interpolate(points, wanted, nothing) for wanted in shares]
    return found, np.stack(given, axis=1)


def _at(points: Points, quantiles: Sequence[float], at_zero: Floats) -> Floats:
    found = [_interpolate(points, quantile - at_zero, at_zero) for quantile in quantiles]
    return np.stack(found, axis=1)


def _ranked(values: Floats, weights: Floats) -> Points:
    """The points of each row in order.

    Numbers from 0 up sort like their bit patterns, so each point's place is written into the last
    bits of its value and whole numbers are sorted in one go; that costs 1 part in 10^10 of a value
    and saves the slow indirect sort.
    """
    rows, points = values.shape
    place_bits = (1 << points.bit_length()) - 1
    keys = (np.ascontiguousarray(values).view(np.int64) & ~place_bits) | np.arange(points)
    keys.sort(axis=1)
    place = keys & place_bits
    keys &= ~place_bits
    place += (np.arange(rows) * points)[:, None]
    own = np.take(weights.reshape(-1), place)
    return Points(np.cumsum(own, axis=1), own, keys.view(np.float64))


def _interpolate(points: Points, wanted: Floats, at_zero: Floats) -> Floats:
    """Value where the weight gathered over the points reaches ``wanted`` (n,).

    A point's position lies between the cumulative weights before and after it, so only one
    position has to be looked at to know how many lie below.  Below all points it is zero where
    weight sits there (``at_zero``), else the first point.
    """
    gathered, own, values = points
    row, last = np.arange(len(values)), values.shape[1] - 1

    def position(at: NDArray[np.int64]) -> Floats:
        return np.asarray(gathered[row, at] - 0.5 * own[row, at])

    # Two apart, the rows make one rising line of weights to search: each spans one at most.
    apart = 2.0 * row
    found = np.searchsorted((gathered + apart[:, None]).reshape(-1), wanted + apart)
    below = found - row * values.shape[1]
    passed = below + ((below <= last) & (position(np.minimum(below, last)) < wanted))
    upper, lower = np.minimum(passed, last), np.maximum(passed - 1, 0)
    left_at, left = position(lower), values[row, lower]
    from_zero = (passed == 0) & (at_zero > 0.0)
    left_at, left = np.where(from_zero, 0.0, left_at), np.where(from_zero, 0.0, left)
    gap = position(upper) - left_at
    share = np.divide(wanted - left_at, gap, out=np.ones(len(row)), where=gap > 0.0)
    result = left + np.clip(share, 0.0, 1.0) * (values[row, upper] - left)
    return np.asarray(np.where(wanted <= 0.0, 0.0, result), dtype=np.float64)
