"""What we believe about a life before looking at the vehicle: points with weights.

A figure ``value (low, high)`` is read as a two-piece log-normal whose median is the value and
whose 5 % and 95 % points are low and high.  Shape and B10 are independent; a life with two clocks
shares one z between both B10s (a strong part is strong on both).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray
from scipy import optimize, special, stats

from riskcheck.figures import Figure

Floats = NDArray[np.float64]

Z_95 = float(stats.norm.ppf(0.95))  # 1.644854, where low and high sit
B10_POINTS, SHAPE_POINTS, Z_REACH = 41, 21, 4.0
ENDS = (0.05, 0.95)
# Survival is not told apart below exp(−700) = 1e-304: on the way down to zero, through numbers too
# small to be stored in full, each result takes a processor ten times as long.
LEAST_LOG = -700.0
HALVINGS = 45  # 3e-14 of the unit interval
B10_LOAD = -float(np.log(0.9))  # cumulative hazard at the B10 life, 0.105360516


def two_piece(figure: Figure, z: Floats) -> Floats:
    """Value of a figure at standard normal score ``z``.

    x(z) = value·(value/low)^(z/1.644854) for z < 0, value·(high/value)^(z/1.644854) otherwise.

    Args: ``z`` float64 of any shape.  Returns the same shape in the figure's unit.
    Raises ValueError when the figure's low is not above zero.
    """
    low, high = figure.range
    if low <= 0.0:
        raise ValueError(f"a life figure must be above zero, not {low:g} {figure.unit}")
    below, above = math.log(figure.value / low), math.log(high / figure.value)
    spread = np.where(z < 0.0, below, above).astype(np.float64)
    return np.asarray(figure.value * np.exp(spread * z / Z_95), dtype=np.float64)


def normal_scores(points: int, reach: float = Z_REACH) -> tuple[Floats, Floats]:
    """Evenly spaced scores on [-reach, reach] and their weights (normal density, half at ends).

    Returns (z, weight), both (points,), weights summing to one.
    """
    z = np.linspace(-reach, reach, points)
    weight = np.exp(-0.5 * z * z)
    weight[[0, -1]] *= 0.5
    return z, weight / weight.sum()


@dataclass(frozen=True, eq=False)
class LifeBelief:
    """Weighted Weibull lives: ``shape`` (I,), ``b10`` (C, J) in clock units, ``weight`` (J, I).

    Node k = j·I + i pairs B10 point j with shape point i; K = J·I.  ``z`` (J,): normal score of
    each B10 point.  ``widths`` (n, 2): standard deviations of the logarithm of each exposure's rate
    multiplier above and below its value; None: the multipliers are certain.
    """

    shape: Floats
    b10: Floats
    weight: Floats
    z: Floats
    widths: Floats | None = None

    @property
    def clocks(self) -> int:
        """Number of clocks C (1 or 2)."""
        return int(self.b10.shape[0])

    @property
    def nodes(self) -> int:
        """Number of nodes K."""
        return int(self.weight.size)

    @cached_property
    def flat_weight(self) -> Floats:
        """Node weights (K,)."""
        return self.weight.reshape(-1)

    @cached_property
    def middle_b10(self) -> Floats:
        """Central B10 per clock (C,), used only to keep powers in range."""
        return np.asarray(self.b10[:, self.b10.shape[1] // 2], dtype=np.float64)

    def widened(self, widths: Floats) -> LifeBelief:
        """The same for n exposures whose rate multipliers are uncertain themselves.

        ln H = ln m + β·ln(v/B10): where m and B10 are log-normal, so is their part of the load,
        with variance σ_m² + (β·σ_B10)².  The B10 points then carry both; the two halves of a
        two-piece spread are joined half by half, which is exact where they are alike (a chance is
        off by 4 of 100 of itself at most where one half is twice the other).
        """
        if not widths.any():
            return self
        if len(self.z) > 1:
            return replace(self, widths=widths)
        z, own = normal_scores(B10_POINTS)
        b10 = np.repeat(self.b10, len(z), axis=1)
        return replace(self, b10=b10, z=z, weight=own[:, None] * self.weight, widths=widths)

    @cached_property
    def scale(self) -> Floats:
        """c·(middle B10 / B10)^shape per clock and node, (C, J, I); (C, n, J, I) if widened."""
        ratio = np.log(self.middle_b10[:, None] / self.b10)
        powers = ratio[:, :, None] * self.shape
        if self.widths is not None:
            # A low B10 and a high multiplier are the same half: that of the higher load.
            own = np.where(self.z < 0.0, self.widths[:, :1], self.widths[:, 1:]) * self.z
            powers = -np.sign(self.z)[:, None] * np.hypot(powers[:, None], own[..., None])
        return np.asarray(B10_LOAD * np.exp(powers), dtype=np.float64)

    def _scaled(self, compact: Floats, clock: int) -> Floats:
        """``compact`` (..., 1, I) times the scale of a clock: (..., J, I)."""
        # Rows of 21 shapes are short: einsum takes half the time of broadcasting.
        each = "...i,ji->...ji" if self.widths is None else "n...i,nji->n...ji"
        return np.asarray(np.einsum(each, compact[..., 0, :], self.scale[clock]))

    def compact(self, usage: Floats) -> Floats:
        """The part of the cumulative hazard that differs between usages: (..., 1 or J, I).

        ``usage`` (..., C) virtual age per clock in clock units; below zero counts as zero.
        With one clock every B10 point sees the same v^shape, so that sums, differences and
        multiples of loads cost a fortieth of those over all nodes; ``spread`` gives the loads.
        """
        relative = np.maximum(usage, 0.0) / self.middle_b10
        powers = np.asarray(relative[..., None] ** self.shape, dtype=np.float64)
        if self.clocks == 1:
            return powers
        load = self._scaled(powers[..., 0, None, :], 0)
        for clock in range(1, self.clocks):
            np.maximum(load, self._scaled(powers[..., clock, None, :], clock), out=load)
        return np.asarray(load, dtype=np.float64)

    def spread(self, compact: Floats) -> Floats:
        """Load per node (..., K) from sums, differences or multiples of what ``compact`` gave."""
        load = self._scaled(compact, 0) if self.clocks == 1 else compact
        return np.asarray(load.reshape(*compact.shape[:-2], self.nodes), dtype=np.float64)

    def alive(self, compact: Floats) -> Floats:
        """exp(−load) per node (..., K) of a compact load, at least exp(LEAST_LOG)."""
        alive = self.spread(-compact)
        np.maximum(alive, LEAST_LOG, out=alive)
        return np.asarray(np.exp(alive, out=alive), dtype=np.float64)

    def mean_load(self, weight: Floats, values: Floats, compact: Floats) -> Floats:
        """Σ over h and K of weight (n, h, K) · values (n, h, e, K) · load: (n, e)."""
        weight, values = (x.reshape(*x.shape[:-1], *self.weight.shape) for x in (weight, values))
        if self.clocks > 1:
            return np.asarray(np.einsum("nhji,nheji,nheji->ne", weight, values, compact))
        scale = self.scale[0] if self.widths is None else self.scale[0][:, None]
        by_shape = np.einsum("nhji,nheji->nhei", weight * scale, values)
        return np.asarray(np.einsum("nhei,nhei->ne", by_shape, compact[..., 0, :]))

    def load(self, usage: Floats, multiplier: Floats | float = 1.0) -> Floats:
        """Cumulative hazard H = m·c·max over clocks of (v/B10)^shape.

        ``usage`` (..., C) virtual age per clock in clock units; below zero counts as zero.
        ``multiplier`` m: one number or an array that broadcasts with (...).  Returns (..., K).
        """
        return self.spread(self.compact(usage) * np.asarray(multiplier)[..., None, None])


def life_belief(
    shape: Figure, b10s: Sequence[Figure], size: tuple[int, int] = (41, 21), reach: float = Z_REACH
) -> LifeBelief:
    """Grid belief of a Weibull life from its shape and one B10 figure per clock.

    ``size`` = (B10 points, shape points).  A figure without spread takes one point.
    """
    b10_points = 1 if all(low == high for low, high in (f.range for f in b10s)) else size[0]
    shape_points = 1 if shape.range[0] == shape.range[1] else size[1]
    z_b10, w_b10 = normal_scores(b10_points, reach) if b10_points > 1 else _certain()
    z_shape, w_shape = normal_scores(shape_points, reach) if shape_points > 1 else _certain()
    return LifeBelief(
        shape=two_piece(shape, z_shape),
        b10=np.stack([two_piece(figure, z_b10) for figure in b10s]),
        weight=w_b10[:, None] * w_shape[None, :],
        z=z_b10,
    )


def _certain() -> tuple[Floats, Floats]:
    return np.zeros(1), np.ones(1)


@dataclass(frozen=True)
class ShareBelief:
    """Beta belief (a, b) about the share of jobs that carry a fault from day one."""

    a: float
    b: float

    def chance(self, multiplier: Floats, exposed: Floats) -> Floats:
        """Mean chance: exposed·(1 − E[(1−s)^m]), E = B(a, b+m)/B(a, b).  Shapes broadcast."""
        return np.asarray(exposed * (1.0 - self._clean(multiplier)), dtype=np.float64)

    def after_silence(
        self, multiplier: Floats, exposed: Floats, fade: Floats
    ) -> tuple[Floats, Floats, Floats]:
        """Chance (n,) that the fault is there, its range, and that of the exposed worlds (n, 2).

        ``fade`` (n,) = exp(−κ·years): chance that a fault is silent so far (see ``unrevealed``).
        A share u = 1 − (1−s)^m then counts 1 − u + u·fade times and stands for u·fade of that.
        Silence says nothing of whether the job was done at all: the exposed worlds keep their
        weight.
        """
        there = 1.0 - self._clean(multiplier)
        chance = exposed * there * fade / (1.0 - there * (1.0 - fade))
        given = np.stack([self._point(np.full(len(fade), q), multiplier, fade) for q in ENDS], 1)
        inside = [(q - (1.0 - exposed)) / np.maximum(exposed, 1e-300) for q in ENDS]
        found = np.stack([self._point(q, multiplier, fade) for q in inside], axis=1)
        found[:, 1] = np.maximum(found[:, 1], chance)
        return chance, found, given

    def _clean(self, multiplier: Floats) -> Floats:
        """E[(1−s)^m]."""
        log_clean = special.betaln(self.a, self.b + multiplier) - special.betaln(self.a, self.b)
        return np.asarray(np.exp(log_clean), dtype=np.float64)

    def _point(self, q: Floats, multiplier: Floats, fade: Floats) -> Floats:
        """q-quantile of the chance u·fade/(1 − u + u·fade) among silent exposures, (n,) each."""
        clean = self._clean(multiplier)
        q = np.clip(q, 0.0, 1.0)
        low, high = np.zeros(len(q)), np.ones(len(q))
        for _ in range(HALVINGS):
            share = 0.5 * (low + high)
            below = fade * special.betainc(self.a, self.b, share)
            below += (1.0 - fade) * clean * special.betainc(self.a, self.b + multiplier, share)
            over = below >= q * (fade + (1.0 - fade) * clean)
            low, high = np.where(over, low, share), np.where(over, share, high)
        fault = -np.expm1(multiplier * np.log1p(-low))
        return np.asarray(fault * fade / (1.0 - fault * (1.0 - fade)), dtype=np.float64)


def share_belief(share: Figure) -> ShareBelief:
    """Beta belief with mean = value, concentration by least squares at low and high.

    The squares are of the probabilities below them, which should be 0.05 and 0.95: that is the
    scale on which a range is stated (squares of the points or of their logarithms give 15.4 and
    29.2 for 0.10 with 0.03 to 0.25, this one 28.57).
    """
    mean, (low, high) = share.value, share.range
    if low == high:
        return ShareBelief(mean * 1e9, (1.0 - mean) * 1e9)

    def misfit(log_concentration: float) -> float:
        a = mean * np.exp(log_concentration)
        b = (1.0 - mean) * np.exp(log_concentration)
        below_low, below_high = special.betainc(a, b, low), special.betainc(a, b, high)
        return float((below_low - 0.05) ** 2 + (below_high - 0.95) ** 2)

    best = optimize.minimize_scalar(
        misfit, bounds=(-2.0, 14.0), method="bounded", options={"xatol": 1e-9}
    )
    concentration = float(np.exp(best.x))
    return ShareBelief(mean * concentration, (1.0 - mean) * concentration)
