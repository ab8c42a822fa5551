"""What it says of a hidden fault that it has not turned costly so far.

A hidden fault arrives at some virtual age t with density f(t) = −S'(t) and, once there, turns
costly by itself at a rate κ a year (a cracked hose bursts, a dry joint lets go).  A part that has
been silent until today is therefore likelier to be without the fault than its age alone says:

    N = S(now) + ∫ f(t)·exp(−κ·years(t, now)) dt        silent until today
    P(there today | silent) = 1 − S(now)/N              P(there by v) = 1 − S(v)/N

Integrating by parts, N = exp(−κD) + ∫₀^D κ·exp(−κx)·S(x years ago) dx over the D years looked back
on: a smooth function under a known weight, which seven Gauss points integrate.  It is the first
event of a competing arrival and reveal (Prentice et al. 1978, from memory), and the delay-time
view of a defect that is there before it shows (Christer & Waller 1984, from memory).

The record does not reach back to the first day.  A fault that turned costly before it began, or was
repaired where nobody told us, leaves a younger part behind; left out here, so what is said of a
part errs mostly on the high side.  And for the same reason silence is never held against the part
being there at all: it moves belief among lives only.  κ = 0 says nothing and changes nothing.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.polynomial import legendre

from riskcheck.risk.beliefs import Floats, LifeBelief
from riskcheck.risk.histories import Histories, gathered, seen_load

GAUSS = 7  # within 6e-4 of 32 points for every shipped hazard up to three B10 lives
_at, _own = legendre.leggauss(GAUSS)
SHARES: Floats = (1.0 + _at) / 2.0  # of the time looked back on, where survival is worked out
_SHARE_OWN: Floats = _own / 2.0
LOOKBACK: Floats = np.concatenate(([0.0], SHARES, [1.0]))
_fine_at, _fine_own = legendre.leggauss(64)
_FINE, _FINE_OWN = (1.0 + _fine_at) / 2.0, _fine_own / 2.0


def _lagrange(at: Floats, nodes: Floats) -> Floats:
    """Values at ``at`` (g,) of the polynomials that are one at one node (q,) each: (g, q)."""
    others = ~np.eye(len(nodes), dtype=bool)
    apart = at[:, None] - nodes
    columns = [
        np.prod(apart[:, others[j]] / (nodes[j] - nodes[others[j]]), axis=1)
        for j in range(len(nodes))
    ]
    return np.stack(columns, axis=1)


_BASIS = _lagrange(_FINE, SHARES)


class Lookback(NamedTuple):
    """One stretch of time per exposure and alternative, seen from its end.

    absent (n, h, q, K): chance at each of ``SHARES`` that the fault has not come since the start;
    years (n, h): how long the stretch took.
    """

    absent: Floats
    years: Floats

    def silent(self, costly_a_year: float) -> Floats:
        """Chance (n, h, K) of not having turned costly by the end, absent at the start."""
        reach = (costly_a_year * self.years)[..., None]
        weight = (reach * np.exp(reach * (_FINE - 1.0)) * _FINE_OWN) @ _BASIS
        late = np.exp(-reach)
        # The points may overshoot a steep fall by a little; a chance stays one.
        silent = late + np.matmul(weight[:, :, None], self.absent)[:, :, 0]
        return np.asarray(np.clip(silent, late, 1.0), dtype=np.float64)


def silence(
    belief: LifeBelief,
    past: Histories,
    known: tuple[Floats, Floats, Floats],
    finds: float,
    costly_a_year: float,
) -> tuple[Floats, Floats]:
    """Chance (n, h, K) of all that is on record, the silence until today included.

    ``known``: chance (n, h, K) that the fault was absent at the start of the last stretch, and at
    the last good look; compact load from there to today.  Also returns the chance (n, p), given the
    exposure, that the fault was there at each of ``LOOKBACK``, given silence until then.
    """
    fresh, at_look, pending = known
    since = _lookback(belief, past, past.ok_at, past.now)
    missed = (1.0 - finds) * (1.0 - at_look)
    if finds < 1.0 and not np.array_equal(past.lived_from[:, :, -1], past.ok_at):
        looked = _lookback(belief, past, past.lived_from[:, :, -1], past.ok_at)
        fade = np.exp(-costly_a_year * looked.years)[..., None]
        silent = (1.0 - fresh) * fade + fresh * looked.silent(costly_a_year)
        missed = (1.0 - finds) * np.maximum(silent - at_look, 0.0)
    fade = np.exp(-costly_a_year * since.years)[..., None]
    kept = missed * fade + at_look * since.silent(costly_a_year)
    prior = past.prior[:, :, None] * belief.flat_weight
    clear = prior * at_look
    today = (clear * belief.alive(pending)).sum(axis=2)
    between = np.matmul(since.absent, clear[..., None])[..., 0]
    absent = np.concatenate((clear.sum(axis=2)[..., None], between, today[..., None]), axis=2)
    found = (absent, (missed * prior).sum(axis=2))
    return kept, _present_before(found, since.years, costly_a_year)


def _lookback(belief: LifeBelief, past: Histories, start: Floats, end: Floats) -> Lookback:
    """From virtual age ``start`` to ``end`` (n, h, C) at the past pace of the first clock."""
    if past.pace is None:
        raise ValueError("a hidden fault that may turn costly needs the pace of the past")
    ages = start[:, :, None] + SHARES[:, None] * (end - start)[:, :, None]
    seen = seen_load(belief, past)
    rates = (past.m_past[:, None, None, None, None], past.m_ahead[:, None, None, None, None])
    load = gathered(
        belief.compact(start)[:, :, None],
        belief.compact(ages),
        None if seen is None else seen[:, :, None],
        rates,
    )
    return Lookback(belief.alive(load), (end - start)[..., 0] / past.pace)


def _present_before(weights: tuple[Floats, Floats], years: Floats, costly_a_year: float) -> Floats:
    """Chance (n, p) of being there at ``LOOKBACK``, given the exposure and silence until then.

    ``weights``: prior weight (n, h, p) of absence since the look, and (n, h) of faults it missed;
    years (n, h) from the look to today.
    """
    absent, missed = weights
    steps = costly_a_year * years[..., None] * np.diff(LOOKBACK)
    present = np.empty_like(absent)
    present[..., 0] = missed
    logs = np.log(np.maximum(absent, 1e-300))
    rise = logs[..., :-1] - logs[..., 1:]
    # Between two points the fault comes at a constant rate: the two-stage chain in closed form.
    arrived = absent[..., :-1] * rise * np.exp(-steps) * _stay(rise - steps)
    for place in range(steps.shape[-1]):
        stayed = present[..., place] * np.exp(-steps[..., place])
        present[..., place + 1] = stayed + arrived[..., place]
    silent = (present + absent).sum(axis=1)
    return np.asarray(present.sum(axis=1) / np.maximum(silent, 1e-300), dtype=np.float64)


def gathered_before(before: Floats, since: Floats) -> Floats:
    """Years of the fault being there from the last good look to each of ``LOOKBACK``: (n, p).

    ``before`` (n, p): its chance there; since (n,): years from the look to today.  The whole is
    Gauss's; the trapezoid rule only says how it is spread.
    """
    steps = 0.5 * (before[:, 1:] + before[:, :-1]) * np.diff(LOOKBACK)
    rough = np.concatenate((np.zeros((len(before), 1)), np.cumsum(steps, axis=1)), axis=1)
    whole = before[:, 1:-1] @ _SHARE_OWN
    exact = np.divide(whole, rough[:, -1], out=np.ones(len(whole)), where=rough[:, -1] > 0.0)
    return np.asarray(rough * (exact * since)[:, None], dtype=np.float64)


def years_present(path: Floats, years: Floats, costly_a_year: float) -> tuple[Floats, Floats]:
    """Chance that the fault is there and silent at each time, and the years gathered: (n, t) each.

    ``path`` (n, t): chance that it has come by ``years`` (t,) from today; linear in between.  The
    years gathered times κ are the chance of turning costly by then, which never exceeds ``path``.
    """
    gaps, came = np.diff(years), np.diff(path, axis=1)
    present = np.empty_like(path)
    present[:, 0] = path[:, 0]
    for place, gap in enumerate(gaps):
        step = np.asarray(costly_a_year * gap)
        stayed = present[:, place] * np.exp(-step)
        present[:, place + 1] = stayed + came[:, place] * _stay(step)
    if costly_a_year * float(years[-1]) < 1e-6:
        pieces = 0.5 * (present[:, 1:] + present[:, :-1]) * gaps
    else:
        pieces = (came - np.diff(present, axis=1)) / costly_a_year
    start = np.zeros((len(path), 1))
    return present, np.concatenate((start, np.cumsum(pieces, axis=1)), axis=1)


def years_there(years: Floats, costly_a_year: float) -> Floats:
    """Expected years of the next ``years`` in which a fault that is there today stays silent."""
    return np.asarray(years * _stay(costly_a_year * np.asarray(years)), dtype=np.float64)


def _stay(step: Floats) -> Floats:
    """Mean of exp(−step·u) over u from 0 to 1: what stays of arrivals spread over the step."""
    small = np.abs(step) < 1e-8
    safe = np.where(small, 1.0, step)
    return np.where(small, 1.0 - 0.5 * step, -np.expm1(-safe) / safe)
