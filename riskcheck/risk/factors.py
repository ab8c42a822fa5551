"""Rate multipliers of a hazard, centred on the population that its B10 speaks of."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from riskcheck.risk.beliefs import Z_95, Floats
from riskcheck.rulebook.model import Factor

CAP = 6.0  # common practice, no source: related stories told twice must not run away


def multiplier(
    factors: Sequence[Factor],
    holds: Mapping[str, NDArray[np.int8]],
    count: int,
    acts: str = "always",
) -> Floats:
    """m = Π over groups of m_g / (1 + Σ share·(m − 1)), the largest that acts in a group.

    ``holds``: finding -> 1 true, 0 false, −1 unknown, (n,) each.  A group in which nothing acts
    gives 1/(1 + Σ share·(m − 1)); a group with an unknown and nothing that acts gives 1.  Always
    factors are capped at 6 after centring; those from_seen are a physical finding and are not.
    Returns (n,).
    """
    product = np.ones(count)
    chosen = [factor for factor in factors if factor.acts == acts]
    for group in sorted({factor.group for factor in chosen}):
        product *= _group([factor for factor in chosen if factor.group == group], holds, count)
    return np.minimum(product, CAP) if acts == "always" else product


def without_findings(
    factors: Sequence[Factor], holds: Mapping[str, NDArray[np.int8]], count: int
) -> Floats:
    """m of the same vehicles before anything was seen (n,): Π 1/centre over the from_seen groups.

    A vehicle of which it is known that nothing was seen has run at this rate all along; where it is
    not known, 1.
    """
    product = np.ones(count)
    chosen = [factor for factor in factors if factor.acts == "from_seen"]
    for group in sorted({factor.group for factor in chosen}):
        members = [factor for factor in chosen if factor.group == group]
        states = [holds.get(one.finding, np.full(count, -1, dtype=np.int8)) for one in members]
        known = np.all([state != -1 for state in states], axis=0)
        known |= np.any([state == 1 for state in states], axis=0)
        product *= np.where(known, 1.0 / _centre(members), 1.0)
    return product


def _centre(factors: Sequence[Factor]) -> float:
    """Mean multiplier of a group over the population: 1 + Σ share·(m − 1)."""
    return 1.0 + sum(f.share.value * (f.multiplier.value - 1.0) for f in factors)


def widths(factors: Sequence[Factor], holds: Mapping[str, NDArray[np.int8]], count: int) -> Floats:
    """Standard deviations of ln m above and below its value, (n, 2), from the acting factors.

    Groups are independent, so their variances add.  Only factors that act always: those from_seen
    act on a part of the load.  A centre's own range is left out (shares are small).
    """
    variance = np.zeros((count, 2))
    chosen = [factor for factor in factors if factor.acts == "always"]
    for group in sorted({factor.group for factor in chosen}):
        most = np.full(count, -np.inf)
        own = np.zeros((count, 2))
        for factor in chosen:
            if factor.group != group or factor.finding not in holds:
                continue
            value, (low, high) = factor.multiplier.value, factor.multiplier.range
            leads = (holds[factor.finding] == 1) & (value > most)
            most = np.where(leads, value, most)
            own[leads] = math.log(high / value) / Z_95, math.log(value / low) / Z_95
        variance += own**2
    return np.sqrt(variance)


def _group(factors: Sequence[Factor], holds: Mapping[str, NDArray[np.int8]], count: int) -> Floats:
    acting = np.full(count, -np.inf)
    unknown = np.zeros(count, dtype=bool)
    centre = _centre(factors)
    for factor in factors:
        state = holds.get(factor.finding, np.full(count, -1, dtype=np.int8))
        acting = np.where(state == 1, np.maximum(acting, factor.multiplier.value), acting)
        unknown |= state == -1
    acts = np.isfinite(acting)
    return np.where(
        acts, np.where(acts, acting, 1.0) / centre, np.where(unknown, 1.0, 1.0 / centre)
    )


def acting(
    factors: Sequence[Factor], holds: Mapping[str, NDArray[np.int8]], count: int
) -> list[str]:
    """Names of the factor findings that act, "; " joined, per vehicle."""
    columns = [(f.finding, holds[f.finding] == 1) for f in factors if f.finding in holds]
    return ["; ".join(name for name, state in columns if state[row]) for row in range(count)]
