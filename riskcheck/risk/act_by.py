"""When to act: age replacement, one-off jobs, looks, and what waiting costs.

Barlow & Hunter 1960 (age replacement, from memory); RCM looks per SAE JA1011 (from memory).
Usage is in units of the first clock, money in USD, time in years.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from riskcheck.risk.beliefs import Floats, LifeBelief

GAIN_NEEDED = 0.97  # a schedule must beat running to failure by 3 % to be worth its trouble
_CHUNK = 256


class Survivor(NamedTuple):
    """Mean survival of a new part: ``age`` (t,), ``alive`` (t,) and its integral ``used`` (t,)."""

    age: Floats
    alive: Floats
    used: Floats


class Schedule(NamedTuple):
    """Best replacement age and cost rate per exposure (n,); ``gains`` False: none is worth it.

    Where no schedule gains, ``cost_rate`` is that of the longest age considered.
    """

    age: Floats
    cost_rate: Floats
    gains: np.ndarray[tuple[int], np.dtype[np.bool_]]


def survivor(
    belief: LifeBelief, multiplier: float, pace: Floats, step: float, end: float
) -> Survivor:
    """S̄(T) = Σ w exp(−m·H(T)) from 0 to ``end``, and ∫₀ᵀ S̄ by the trapezoid rule.

    ``pace`` (C,): use of each clock per unit of the first.
    """
    age = np.arange(round(end / step) + 1, dtype=np.float64) * step
    alive = np.empty_like(age)
    for start in range(0, len(age), _CHUNK):
        part = slice(start, start + _CHUNK)
        load = belief.load(age[part, None] * pace)
        alive[part] = np.exp(-multiplier * load) @ belief.flat_weight
    used = np.concatenate(([0.0], np.cumsum((alive[1:] + alive[:-1]) * 0.5 * step)))
    return Survivor(age, alive, used)


def age_replacement(part: Survivor, cost_planned: Floats, cost_failure: Floats) -> Schedule:
    """Age that minimises g(T) = (C_p·S̄(T) + C_f·(1 − S̄(T))) / ∫₀ᵀ S̄ per exposure.

    ``cost_planned``, ``cost_failure`` (n,) USD.  No gain where g* > 0.97·g(end): always so for
    shape ≤ 1 or C_f ≤ C_p.  The minimum is refined by a parabola through three ages.
    """
    alive, used = part.alive[1:], part.used[1:]
    rate = (cost_failure[:, None] - (cost_failure - cost_planned)[:, None] * alive) / used
    best = np.clip(rate.argmin(axis=1), 1, len(used) - 2)
    row = np.arange(len(rate))
    before, at, after = rate[row, best - 1], rate[row, best], rate[row, best + 1]
    bend = before - 2.0 * at + after
    shift = np.divide(0.5 * (before - after), bend, out=np.zeros(len(rate)), where=bend > 0.0)
    shift = np.clip(shift, -0.5, 0.5)
    lowest = at - 0.25 * (before - after) * shift
    gains = (lowest <= GAIN_NEEDED * rate[:, -1]) & (cost_failure > cost_planned)
    step = part.age[1]
    return Schedule(
        age=part.age[1:][best] + shift * step,
        cost_rate=np.where(gains, lowest, rate[:, -1]),
        gains=gains,
    )


def one_off_cost_rate(cost_planned: Floats, deferral_rate: float, usage_a_year: Floats) -> Floats:
    """s = r·C_p/ū: what putting off a one-off job saves per unit of use (USD)."""
    return np.asarray(deferral_rate * cost_planned / np.maximum(usage_a_year, 1e-9))


def net_of_waiting(loss: Floats, chance: Floats, saved_rate: Floats, used: Floats) -> Floats:
    """W(Δ) = (C_f − C_p)·p(Δ) − s·∫S̄: loss expected less what waiting saves (USD).

    ``loss`` = C_f − C_p; ``used`` = expected use until Δ or the event.
    """
    return np.asarray(loss * chance - saved_rate * used, dtype=np.float64)


def net_of_not_looking(
    loss_a_year: Floats, present_years: Floats, look_cost: Floats, look_share: Floats
) -> Floats:
    """W = L·∫F̄ − C_look·Δt/τ for a hidden event (USD).

    ``present_years`` = ∫F̄ dt, ``look_share`` = Δt/τ with τ the look interval.
    """
    return np.asarray(loss_a_year * present_years - look_cost * look_share, dtype=np.float64)


def running_integral(values: Floats, at: Floats) -> Floats:
    """Trapezoid integral of ``values`` (n, t) over ``at`` (n, t) from the first point: (n, t)."""
    pieces = 0.5 * (values[:, 1:] + values[:, :-1]) * np.diff(at, axis=1)
    start = np.zeros((len(values), 1))
    return np.concatenate((start, np.cumsum(pieces, axis=1)), axis=1)


def first_reached(values: Floats, at: Floats, level: Floats) -> Floats:
    """First point of ``at`` (n, t) where ``values`` (n, t) are at least ``level`` (n,).

    Linear between neighbours; NaN where the level is never reached.
    """
    over = values >= level[:, None]
    upper = over.argmax(axis=1)
    row = np.arange(len(values))
    lower = np.maximum(upper - 1, 0)
    rise = values[row, upper] - values[row, lower]
    share = np.divide(level - values[row, lower], rise, out=np.ones(len(values)), where=rise > 0.0)
    found = at[row, lower] + np.clip(share, 0.0, 1.0) * (at[row, upper] - at[row, lower])
    return np.asarray(np.where(over.any(axis=1), found, np.nan), dtype=np.float64)


def first_gathered(gathered: Floats, pace: Floats, at: Floats, level: Floats) -> Floats:
    """First point of ``at`` (n, t) where what is ``gathered`` (n, t) reaches ``level`` (n,).

    ``pace`` (n, t): its slope at the points; between two of them a parabola that leaves the first
    at its own slope and meets the second.  NaN where the level is never reached.
    """
    over = gathered >= level[:, None]
    upper = over.argmax(axis=1)
    lower, row = np.maximum(upper - 1, 0), np.arange(len(gathered))
    gap = at[row, upper] - at[row, lower]
    left = np.where(over.any(axis=1), level, 0.0) - gathered[row, lower]
    slope = pace[row, lower]
    rise = gathered[row, upper] - gathered[row, lower] - slope * gap
    bend = np.divide(rise, gap**2, out=np.zeros(len(gap)), where=gap > 0.0)
    root = np.sqrt(np.maximum(slope**2 + 4.0 * bend * left, 0.0))
    step = np.divide(2.0 * left, slope + root, out=np.zeros(len(gap)), where=slope + root > 0.0)
    found = at[row, lower] + np.clip(step, 0.0, gap)
    return np.asarray(np.where(over.any(axis=1), found, np.nan), dtype=np.float64)
