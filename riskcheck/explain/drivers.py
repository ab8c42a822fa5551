"""What moves one vehicle's chance, and what makes its range wide, largest first.

Both are read off the load H(v) = m·c·(v/B10)^β by the middle figures: a driver multiplies the load
(or, where the event shows itself, the rate dH/dv), an unknown spreads it.  They order what is told;
the chance itself is worked out in ``risk``, on every node of the belief.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from riskcheck.explain.view import Driver, Row, Unknown
from riskcheck.figures import Figure
from riskcheck.risk.beliefs import B10_LOAD, Z_95, Floats
from riskcheck.risk.factors import CAP
from riskcheck.rulebook.model import Factor, Hazard, WeibullLife

LEAST_TIMES = 1.05  # what moves a load by less than this is not told
LEAST_SPREAD = 0.05
NO_LOAD = 0.01  # a part with less of the load than this counts as new
QUARTERS_A_YEAR = 4


@dataclass(frozen=True, eq=False)
class Stand:
    """Where one vehicle stands on the clocks (C,) of one hazard.

    now, ok_at: virtual age today and at the last good look (revealed: today); b10: middle B10;
    renewed_at (s,): use on the first clock at which it may have been renewed before the record
    began, with ``renewed_weight`` for all of them together; use (C, 2): 5 and 95 % points of its
    age today, None where they are near each other; a_year: use of the first clock a year.
    """

    now: Floats
    ok_at: Floats
    b10: Floats
    renewed_at: Floats
    renewed_weight: float
    use: Floats | None
    a_year: float

    @property
    def lead(self) -> int:
        """The clock that is further through."""
        return int(np.argmax(self.now / self.b10))

    @property
    def through(self) -> float:
        """v/B10 of that clock, just above zero at least."""
        return max(float(np.max(self.now / self.b10)), 1e-9)


def drivers_of(hazard: Hazard, row: Row, stand: Stand) -> tuple[Driver, ...]:
    """What raises or lowers the chance; ``times`` acts on the load, or on what applies at all."""
    if not isinstance(hazard.life, WeibullLife):
        found = [*_conditions(hazard, row), _applies(row)]
    else:
        found = [
            Driver("use", "", stand.through ** _power(hazard)),
            *_conditions(hazard, row),
            *_looked(hazard, stand),
            Driver("renewed", "", _renewed(hazard, stand)),
            *_silent(hazard, row, stand),
            _applies(row),
        ]
    told = [one for one in found if abs(math.log(one.times)) >= math.log(LEAST_TIMES)]
    return tuple(sorted(told, key=lambda one: -abs(math.log(one.times))))


def unknowns_of(hazard: Hazard, row: Row, stand: Stand) -> tuple[Unknown, ...]:
    """What spreads the load, as standard deviations of its logarithm."""
    factors = [
        Unknown("factor", f.multiplier.range, "1", _log_deviation(f.multiplier), f.finding)
        for f in _acting(hazard, row)
    ]
    if not isinstance(hazard.life, WeibullLife):
        share = hazard.life.share
        own = Unknown("share", share.range, share.unit, _log_deviation(share))
        return _widest([own, *factors])
    clock, shape = hazard.life.clocks[stand.lead], hazard.life.shape
    power = shape.value
    by_shape = abs(math.log(stand.through)) * (shape.range[1] - shape.range[0]) / (2.0 * Z_95)
    by_b10 = power * _log_deviation(clock.b10)
    life = Unknown("life", clock.b10.range, clock.b10.unit, math.hypot(by_b10, by_shape))
    found = [life, *factors]
    if stand.use is not None:
        low, high = (max(float(edge), 1e-9) for edge in stand.use[stand.lead])
        spread = power * math.log(high / low) / (2.0 * Z_95)
        found.append(Unknown("use", (low, high), clock.b10.unit, spread))
    if stand.renewed_weight > 0.0:
        weight = stand.renewed_weight
        kept = np.log(np.maximum(_kept(stand) ** power, NO_LOAD))
        mean = weight * float(kept.mean())
        spread = math.sqrt(weight * float((kept**2).mean()) - mean**2)
        found.append(Unknown("renewed", (weight, weight), "1", spread))
    return _widest(found)


def _widest(found: list[Unknown]) -> tuple[Unknown, ...]:
    told = [one for one in found if one.spread >= LEAST_SPREAD]
    return tuple(sorted(told, key=lambda one: -one.spread))


def _applies(row: Row) -> Driver:
    return Driver("applies", "", max(float(row["exposed_weight"]), 1e-6))


def _power(hazard: Hazard) -> float:
    """By which power of use the load grows, or the rate where the event shows itself."""
    assert isinstance(hazard.life, WeibullLife)
    shape = hazard.life.shape.value
    return shape if hazard.reveals == "by_looking" else shape - 1.0


def _conditions(hazard: Hazard, row: Row) -> Iterator[Driver]:
    """Acting factors, centred on the population of the B10, and what the others' absence does."""
    told = always = 1.0
    for most in _acting(hazard, row):
        alike = [f for f in hazard.factors if (f.acts, f.group) == (most.acts, most.group)]
        centre = 1.0 + sum(f.share.value * (f.multiplier.value - 1.0) for f in alike)
        times = most.multiplier.value / centre
        told *= times
        always *= times if most.acts == "always" else 1.0
        yield Driver("factor", most.finding, times)
    rest = float(row["x_m"]) / told
    if rest > 0.0:
        yield Driver("capped" if always > CAP else "elsewhere", "", rest)


def _acting(hazard: Hazard, row: Row) -> list[Factor]:
    """The strongest acting factor of each group."""
    acting = set(str(row["x_factors"] or "").split("; "))
    groups: dict[tuple[str, str], list[Factor]] = {}
    for factor in hazard.factors:
        if factor.finding in acting:
            groups.setdefault((factor.acts, factor.group), []).append(factor)
    return [max(held, key=lambda factor: factor.multiplier.value) for held in groups.values()]


def _looked(hazard: Hazard, stand: Stand) -> Iterator[Driver]:
    """What a good look leaves of the load: what gathered since, and what it may have missed."""
    assert isinstance(hazard.life, WeibullLife)
    if hazard.reveals == "by_itself" or hazard.look is None:
        return
    share = float(np.max(stand.ok_at / stand.b10)) / stand.through
    if share > 0.0:
        left = 1.0 - hazard.look.finds.value * share**hazard.life.shape.value
        yield Driver("looked", "", max(left, 0.01))


def _kept(stand: Stand) -> Floats:
    """Share of its age (s,) that the part has kept if it was renewed at each of ``renewed_at``."""
    age = max(float(stand.now[0]), 1e-9)
    return np.clip((age - stand.renewed_at) / age, 0.0, 1.0)


def _renewed(hazard: Hazard, stand: Stand) -> float:
    weight = stand.renewed_weight
    if weight <= 0.0:
        return 1.0
    return max(1.0 - weight + weight * float((_kept(stand) ** _power(hazard)).mean()), 0.01)


def _silent(hazard: Hazard, row: Row, stand: Stand) -> Iterator[Driver]:
    """What it says of a hidden fault that it has not turned costly so far: of the chance today.

    N = exp(−κD) + ∫₀^D κ·exp(−κx)·S(x years ago) dx;  P(there | silent) = 1 − S(today)/N.
    """
    yearly = hazard.becomes_costly_per_year
    if hazard.reveals == "by_itself" or yearly is None or yearly.value <= 0.0:
        return
    if row["evidence"] != "none":
        return  # what has shown a sign is not called silent
    assert isinstance(hazard.life, WeibullLife)
    years = float((stand.now - stand.ok_at)[0]) / max(stand.a_year, 1e-9)
    if not 0.0 < years < math.inf:
        return
    ago = np.linspace(0.0, years, 1 + max(20, math.ceil(QUARTERS_A_YEAR * years)))
    age = stand.now - np.outer(ago / years, stand.now - stand.ok_at)
    load = np.max(age / stand.b10, axis=1) ** hazard.life.shape.value
    absent = np.exp(-float(row["x_m"]) * B10_LOAD * (load - load[-1]))
    rate = yearly.value
    silent = math.exp(-rate * years) + float(np.trapezoid(rate * np.exp(-rate * ago) * absent, ago))
    plain = 1.0 - float(absent[0])
    times = (1.0 - float(absent[0]) / min(silent, 1.0)) / plain if plain > 0.0 else 1.0
    if times < 1.0:
        yield Driver("silent", "", max(times, 0.01))


def _log_deviation(figure: Figure) -> float:
    low, high = figure.range
    return math.log(high / low) / (2.0 * Z_95)
