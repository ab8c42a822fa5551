"""The life curve of one hazard for one vehicle, with the vehicle's place on it."""

from __future__ import annotations

import math
from functools import lru_cache

import numpy as np

from riskcheck.explain.view import Curve
from riskcheck.risk.beliefs import Floats, LifeBelief
from riskcheck.risk.life import RANGE_QUANTILES
from riskcheck.risk.percentiles import percentiles

POINTS = 49
REACH = 2.0  # the curve runs to twice the B10 life, or a little past the vehicle if further
PACE_STEPS = 10.0  # paces within 10 % of each other share a curve


def life_curve(
    belief: LifeBelief, multiplier: float, age: Floats, unit: str, end: float = math.inf
) -> Curve:
    """Share of such vehicles that have had the event by a use, given nothing about this one.

    ``age`` (C,): the vehicle's virtual age per clock; with two clocks the curve follows the
    vehicle's own proportion between them.  ``multiplier`` m acts throughout; ``end``: where the
    watch ends.  F = Σ w·(1 − exp(−m·H)), NIST/SEMATECH e-Handbook 8.1.6.2 for H.
    """
    pace = _pace(age)
    last = min(float(max(REACH * belief.middle_b10[0], 1.1 * age[0])), max(end, age[0]))
    lines = _lines(belief, multiplier, _rounded_up(last), tuple(pace.tolist()))
    here = -np.expm1(-belief.load(age[:1] * pace, multiplier)) @ belief.flat_weight
    return Curve(unit, *lines, now=float(age[0]), now_share=float(here))


@lru_cache(maxsize=2048)
def _lines(
    belief: LifeBelief, multiplier: float, last: float, pace: tuple[float, ...]
) -> tuple[tuple[float, ...], tuple[float, ...], tuple[float, ...], tuple[float, ...]]:
    """usage, mean share and its 5 and 95 % points, (t,) each; many vehicles share them."""
    usage = last * np.linspace(0.0, 1.0, POINTS)
    failed = -np.expm1(-belief.load(usage[:, None] * np.array(pace), multiplier))
    weights = np.broadcast_to(belief.flat_weight, failed.shape)
    band = percentiles(failed, weights, np.zeros(len(failed)), RANGE_QUANTILES)
    columns = (usage, failed @ belief.flat_weight, band[:, 0], band[:, 1])
    first, second, third, fourth = (tuple(column.tolist()) for column in columns)
    return first, second, third, fourth


def _pace(age: Floats) -> Floats:
    """Use of each clock per unit of the first, rounded to steps of a tenth."""
    ratio = age / max(float(age[0]), 1e-9)
    log = np.log(np.maximum(ratio, 1e-12))
    return np.asarray(np.exp(np.round(log * PACE_STEPS) / PACE_STEPS), dtype=np.float64)


def _rounded_up(value: float) -> float:
    """The next of 1, 1.5, 2, 3, 4, 5, 6, 8, 10 times a power of ten: few curves, round ends."""
    if value <= 0.0 or not math.isfinite(value):
        return 1.0
    power = 10.0 ** math.floor(math.log10(value))
    steps = (1.0, 1.5, 2.0, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0)
    return next(step * power for step in steps if step * power >= value * (1.0 - 1e-9))
