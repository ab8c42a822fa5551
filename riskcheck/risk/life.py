"""Chance of an event from a belief about its life and what a vehicle has lived through.

H(v) = m·c·(v/B10)^β is the cumulative hazard at virtual age v, c = −ln 0.9; survival exp(−H)
(Weibull, NIST/SEMATECH e-Handbook 8.1.6.2).  Survived stretches reweight the belief
(conditioning on survival: Meeker & Escobar 1998, from memory); an imperfect remedy keeps the share
q of virtual age (Kijima 1989, from memory).  Everything uncertain is one sum over branches b
(world × clock start) and nodes k:

    W_bk ∝ π_b·w_k·exp(−A_b,k)        p = Σ W_bk·p_b,k        p = 0 where the design is absent

A hidden fault that turns costly at a yearly rate has also been silent until today: ``unrevealed``.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from riskcheck.risk.beliefs import Floats, LifeBelief
from riskcheck.risk.histories import Histories, gathered, seen_load
from riskcheck.risk.percentiles import percentiles_with_given
from riskcheck.risk.unrevealed import silence

RANGE_QUANTILES = (0.05, 0.95)


@dataclass(frozen=True, eq=False)
class Posterior:
    """The belief after what was lived through, per exposure, alternative and node.

    weight (n, h, K) sums with absent (n,) to one.  known (n, h, K): chance that the event was
    absent at the last good look, given all that is on record; None: one throughout.  pending,
    load_now, load_seen (n, h, 1 or J, I): compact loads (see ``beliefs``) since the event was last
    known absent, of all the age, and of the age when a finding was seen.
    survival (n,): prior predictive chance of having got this far, given exposed, silence left out.
    before (n, p): chance that a hidden fault was there at each share ``LOOKBACK`` (p,) of the time
    since the last good look, given silence until then; None for other events.
    """

    belief: LifeBelief
    weight: Floats
    absent: Floats
    known: Floats | None
    pending: Floats
    load_now: Floats
    load_seen: Floats | None
    now: Floats
    m_past: Floats
    m_ahead: Floats
    survival: Floats
    before: Floats | None = None

    @property
    def exposed(self) -> Floats:
        """Weight of the worlds with the exposure, after what was lived through (n,)."""
        return np.asarray(self.weight.sum(axis=(1, 2)), dtype=np.float64)

    def clear(self, usage: Floats) -> Floats:
        """Chance per node that the event is absent at ``usage`` (n, h, e, C): (n, h, e, K).

        Usage between the last good look and today is allowed: the multiplier is then m_past.
        """
        clear = self.belief.alive(self._since_known(usage))
        if self.known is not None:
            clear *= self.known[:, :, None]
        return clear

    def _since_known(self, usage: Floats) -> Floats:
        """Compact load from when the event was last known absent to ``usage``."""
        load, now = self.belief.compact(usage), self.load_now[:, :, None]
        past, ahead = (m[:, None, None, None, None] for m in (self.m_past, self.m_ahead))
        gone = ahead * (load - now) + self.pending[:, :, None]
        if np.array_equal(self.m_past, self.m_ahead):
            return gone
        # Where ``usage`` lies before today the multiplier was m_past, not m_ahead.
        earlier = np.flatnonzero((usage < self.now[:, :, None]).any(axis=(0, 1, 3)))
        seen = None if self.load_seen is None else self.load_seen[:, :, None]
        left = gathered(load[:, :, earlier], now, seen, (past, ahead))
        gone[:, :, earlier] = self.pending[:, :, None] - np.maximum(left, 0.0)
        return gone

    def chance(self, usage: Floats) -> Floats:
        """Chance of the event by each of ``usage`` (n, h, e, C): (n, e)."""
        return self.chance_of(self.clear(usage))

    def chance_of(self, clear: Floats) -> Floats:
        """Chance of the event (n, e) from what ``clear`` gave (n, h, e, K)."""
        return np.maximum(self.exposed[:, None] - _weigh(self.weight, clear), 0.0)

    def chance_now(self) -> Floats:
        """Chance that the event is there today (n,)."""
        clear = self.belief.alive(self.pending)
        if self.known is not None:
            clear *= self.known
        left = self.exposed - (self.weight * clear).sum(axis=(1, 2))
        return np.asarray(np.maximum(left, 0.0), dtype=np.float64)

    def chance_with_range(self, usage: Floats) -> tuple[Floats, Floats]:
        """Chance and its 5 % and 95 % points over branches, nodes and equally likely ``usage``.

        ``usage`` (n, h, e, C): e equally likely points for one and the same day.
        Returns p (n,) and range (n, 2).
        """
        clear = self.clear(usage)
        p = self.exposed - _weigh(self.weight, clear).mean(axis=1)
        return np.maximum(p, 0.0), self.range_of(clear)

    def range_of(self, clear: Floats) -> Floats:
        """The 5 % and 95 % points (n, 2) of a chance, from what ``clear`` gave (n, h, e, K)."""
        return self.ranges_of(clear[:, :, None])[0][:, 0]

    def ranges_of(self, clear: Floats) -> tuple[Floats, Floats]:
        """Ranges on t days, and those over the worlds with the exposure only: (n, t, 2) each.

        ``clear`` (n, h, t, e, K): what ``clear`` gave at e equally likely points for each day.
        Where the exposure has little weight, both points of all worlds may be 0 while the mean is
        not: the upper end is then the mean, for a range must hold its mean.
        """
        n, h, t, e, k = clear.shape
        values = np.subtract(1.0, clear.swapaxes(1, 2), order="C").reshape(n, t, -1)
        np.maximum(values, 0.0, out=values)
        weights = np.broadcast_to(self.weight[:, :, None] / e, (n, h, e, k)).reshape(n, -1)
        slight = np.flatnonzero(self.absent > 0.5)
        mean = np.einsum("ntp,np->nt", values[slight], weights[slight])
        found, given = percentiles_with_given(values, weights, self.absent, RANGE_QUANTILES)
        found[slight, :, 1] = np.maximum(found[slight, :, 1], mean)
        return found, given

    def chance_after(self, kept: float, gain: Floats) -> Floats:
        """Chance (n,) within ``gain`` (n, h, C) of use if a job were done today.

        ``kept`` = q, the share of virtual age kept (Kijima II).  0 is a new part: nothing that the
        old one survived speaks for it, and a finding on the old one is gone with it.  Otherwise
        the part goes on from q·age with all that is believed of it.
        """
        if kept <= 0.0:
            load = self.m_past[:, None, None, None] * self.belief.compact(gain)
            weight = self.weight.sum(axis=2)[:, :, None] * self.belief.flat_weight
        else:
            start = kept * self.now
            load = self.belief.compact(start + gain) - self.belief.compact(start)
            load *= self.m_ahead[:, None, None, None]
            weight = self.weight
        chance = -np.expm1(self.belief.spread(-load))
        return np.asarray((weight * chance).sum(axis=(1, 2)), dtype=np.float64)

    def rate(self, usage: Floats, pace: Floats, clear: Floats | None = None) -> Floats:
        """Mixture hazard h̄ at ``usage`` (n, h, e, C) per unit of the first clock: (n, e).

        h̄ = Σ W exp(−ΔH) dH/du / Σ W exp(−ΔH), the sums over exposed worlds; ``pace`` (n, C) is
        the use of each clock per unit of the first.  The hazard at age 0 is taken just after it.
        ``clear``: what ``clear`` gave for ``usage``, if at hand.
        """
        clear = self.clear(usage) if clear is None else clear
        slope = self.belief.compact(usage) * self.belief.shape * _progress(self.belief, usage, pace)
        slope *= self.m_ahead[:, None, None, None, None]
        total = np.maximum(_weigh(self.weight, clear), 1e-290)  # far above LEAST_LOG's least
        return np.asarray(self.belief.mean_load(self.weight, clear, slope) / total)


def _weigh(weight: Floats, values: Floats) -> Floats:
    """Σ over h and K of weight (n, h, K) · values (n, h, e, K): (n, e)."""
    return np.asarray(np.vecdot(values, weight[:, :, None]).sum(axis=1), dtype=np.float64)


def _progress(belief: LifeBelief, usage: Floats, pace: Floats) -> Floats:
    """d ln(v/B10)/du of the clock that is further through; (n, h, e, 1 or J, 1)."""
    floor = belief.middle_b10 * 1e-9
    speed = pace[:, None, None, :] / np.maximum(usage, floor)
    if belief.clocks == 1:
        return speed[..., None]
    first = usage[..., 0, None] / belief.b10[0] >= usage[..., 1, None] / belief.b10[1]
    return np.where(first, speed[..., 0, None], speed[..., 1, None])[..., None]


def posterior(
    belief: LifeBelief, past: Histories, finds: float = 1.0, costly_a_year: float | None = None
) -> Posterior:
    """Reweight the belief by what was survived (see the module's formula).

    ``finds`` = f, the share of events that a look would find.  With f < 1 the chance of a clean
    look is L_k = 1 − f·(1 − exp(−A_k)) and p_k = 1 − exp(−A_k − ΔH)/L_k.  ``costly_a_year`` = κ of
    a hidden fault, whose silence until today is then part of the record (``unrevealed``).
    """
    rates = (past.m_past[:, None, None, None], past.m_ahead[:, None, None, None])
    start, end = belief.compact(past.lived_from), belief.compact(past.lived_to)
    load_now = belief.compact(past.now)
    seen = seen_load(belief, past)
    # Only the last stretch can reach past the day on which the finding was seen.
    last = gathered(start[:, :, -1], end[:, :, -1], seen, rates)
    earlier = rates[0] * (end[:, :, :-1] - start[:, :, :-1]).sum(axis=2)
    alive = belief.alive(earlier + last)
    pending = np.maximum(gathered(belief.compact(past.ok_at), load_now, seen, rates), 0.0)
    prior, before = past.prior[:, :, None] * belief.flat_weight, None
    kept = alive if finds >= 1.0 else 1.0 - finds * (1.0 - alive)
    weight = prior * kept
    reached = weight.sum(axis=(1, 2))
    exposed = reached / np.maximum(reached + past.absent, 1e-300)
    if costly_a_year is not None:
        known = (belief.alive(earlier), alive, pending)
        kept, before = silence(belief, past, known, finds, costly_a_year)
        weight, before = prior * kept, before * exposed[:, None]
    # Silence says which lives are likely, not whether the part is there (see ``unrevealed``).
    scale = exposed / np.maximum(weight.sum(axis=(1, 2)), 1e-300)
    return Posterior(
        belief=belief,
        weight=weight * scale[:, None, None],
        absent=1.0 - exposed,
        known=None if kept is alive else alive / np.maximum(kept, 1e-300),
        pending=pending,
        load_now=load_now,
        load_seen=seen,
        now=past.now,
        m_past=past.m_past,
        m_ahead=past.m_ahead,
        survival=reached / np.maximum(past.prior.sum(axis=1), 1e-300),
        before=before,
    )
