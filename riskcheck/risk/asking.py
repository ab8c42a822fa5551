"""Worth of asking: what an answer is worth before it is known (expected value of information).

Actions: leave it, look, or fix without looking.  Per world w: V(leave) = 0; V(fix) = W if exposed,
else minus the cost of finding out at the bench (``bench_cost``); V(look) = max(0, W) − C_look.
One question at a time; where no single answer would change what is done but two together would,
the pair is named.
"""

from __future__ import annotations

import itertools
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from riskcheck.figures import Figure
from riskcheck.reasoning.reasoned import VehicleWorlds
from riskcheck.risk.beliefs import Floats
from riskcheck.risk.lines import LEAST_VISIT_HOURS
from riskcheck.rulebook.model import Hazard, Policy

Ints = NDArray[np.int64]
MINUTES_A_QUESTION = 2.0  # common practice, no source
LEAST_WORTH_USD = 0.005  # less than half a cent is nothing


class Asked(NamedTuple):
    """Best question per vehicle (n,): its worth in USD, the minutes it takes, the facts asked."""

    worth: Floats
    minutes: Floats
    facts: list[str]


def opening_share(hazard: Hazard, policy: Policy) -> tuple[str, Figure]:
    """The policy's share of the job's hours that opening up takes, and the name it goes by."""
    shares, teardown = policy.plan.opening_share, hazard.job.teardown
    name = teardown if teardown in shares else "default"
    return name, shares[name]


def bench_cost(hazard: Hazard, policy: Policy) -> float:
    """USD lost where the job was booked and the vehicle turns out not to have the part.

    The visit itself (``LEAST_VISIT_HOURS``: call, write-up, moving the vehicle; common practice, no
    source) and the opening up and closing again that nobody pays for: the job's hours by the
    policy's ``opening_share`` (common practice) of its teardown, both at the labour rate.  The rest
    of the slot is not counted: other work takes it.  Parts go back on the shelf.
    """
    _, share = opening_share(hazard, policy)
    hours = LEAST_VISIT_HOURS + share.value * hazard.job.hours.value
    return float(hours * policy.labour_rate.value)


def best_questions(worlds: VehicleWorlds, gain: Floats, look_cost: float, at_bench: float) -> Asked:
    """The question worth most, or the pair where only a pair is worth anything.

    ``gain`` (n,): W in USD if exposed; ``at_bench``: what ``bench_cost`` gives.  Without any
    question on file the worth is that of knowing the status itself, and no fact is named.
    """
    n = len(gain)
    best, facts = np.zeros(n), np.full(n, "", dtype=object)
    minutes = np.full(n, MINUTES_A_QUESTION)
    if not len(worlds.vehicle):
        return Asked(best, minutes, facts.tolist())
    look, bench = (np.full(len(worlds.vehicle), cost) for cost in (look_cost, at_bench))
    value = values(gain[worlds.vehicle], worlds.exposed, look, bench)
    splits = {name: np.asarray(codes, dtype=np.int64) + 1 for name, codes in worlds.answers.items()}
    singles = splits or {"": worlds.exposed.astype(np.int64)}
    for name, codes in singles.items():
        _take(best, facts, name, _padded(worlds, value, codes, n))
    pairs = list(itertools.combinations(splits, 2)) if (best <= LEAST_WORTH_USD).any() else []
    alone = best.copy()
    for one, other in pairs:
        both = splits[one] * (int(np.max(splits[other])) + 1) + splits[other]
        together = np.where(alone <= LEAST_WORTH_USD, _padded(worlds, value, both, n), 0.0)
        better = together > np.maximum(best, LEAST_WORTH_USD)
        _take(best, facts, f"{one}; {other}", np.where(better, together, 0.0))
        minutes[better] = 2.0 * MINUTES_A_QUESTION
    return Asked(best, minutes, facts.tolist())


def _padded(worlds: VehicleWorlds, value: Floats, codes: Ints, n: int) -> Floats:
    """Worth per vehicle (n,); the last vehicles may hold no world."""
    found = worth(worlds.vehicle, worlds.weight, value, codes)
    return np.concatenate((found, np.zeros(n - len(found))))


def _take(best: Floats, facts: NDArray[np.object_], name: str, found: Floats) -> None:
    better = found > best
    best[better], facts[better] = found[better], name


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
