"""Worth of asking: what an answer is worth before it is known (expected value of information).

Actions: leave it, look, or fix without looking.  Per world w: V(leave) = 0; V(fix) = W if exposed,
else minus the cost of finding out at the bench; V(look) = max(0, W) − C_look.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from riskcheck.risk.beliefs import Floats

Ints = NDArray[np.int64]
MINUTES_A_QUESTION = 2.0  # common practice, no source


def values(
    gain: Floats, exposed: NDArray[np.bool_], look_cost: Floats, bench_cost: Floats
) -> Floats:
    """V(action, world): (3, w) for leave, look, fix.  ``gain`` = W if exposed (w,) in USD."""
    leave = np.zeros(len(gain))
    look = np.where(exposed, np.maximum(gain, 0.0), 0.0) - look_cost
    fix = np.where(exposed, gain, -bench_cost)
    return np.stack([leave, look, fix])


def worth(vehicle: Ints, weight: Floats, value: Floats, answer: Ints) -> Floats:
    """E_f[max_a Σ π(w|f)·V] − max_a Σ π(w)·V per vehicle, USD.

    ``vehicle`` (w,) 0..n−1, ``weight`` (w,) summing to one per vehicle, ``value`` (3, w),
    ``answer`` (w,) code of the answer that each world gives.  Returns (n,), never below zero.
    """
    count = int(np.max(vehicle)) + 1 if len(vehicle) else 0
    together = _best(vehicle, weight, value, count)
    pair = vehicle * (int(np.max(answer)) + 1 if len(answer) else 1) + answer
    unique, place = np.unique(pair, return_inverse=True)
    apart = _best(place, weight, value, len(unique))
    owner = np.zeros(len(unique), dtype=np.int64)
    owner[place] = vehicle
    return np.maximum(np.bincount(owner, apart, count) - together, 0.0)


def _best(group: Ints, weight: Floats, value: Floats, count: int) -> Floats:
    """max over actions of Σ weight·value in each group (count,)."""
    sums = [np.bincount(group, weight * action, count) for action in value]
    return np.asarray(np.max(np.stack(sums), axis=0), dtype=np.float64)
