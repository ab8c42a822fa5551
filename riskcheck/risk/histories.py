"""What exposures have lived through, as arrays."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from riskcheck.risk.beliefs import Floats, LifeBelief


@dataclass(frozen=True, eq=False)
class Histories:
    """What n exposures have lived through: h alternative clock starts, s stretches, C clocks.

    prior (n, h): weight π of each alternative; absent (n,): weight of worlds without the exposure;
    together one per row.  lived_from, lived_to (n, h, s, C): survived stretches in virtual age.
    ok_at (n, h, C): virtual age up to which absence of the event is known (today for an event that
    reveals itself, the last good look for a hidden one).  now (n, h, C): virtual age today.
    m_past, m_ahead (n,): rate multipliers before and after ``seen``, which is the virtual age
    (n, h, C) at which a physical finding was seen; None: today.  pace (n, h): use of the first
    clock a year so far, asked for only where a hidden fault may turn costly.
    """

    prior: Floats
    absent: Floats
    lived_from: Floats
    lived_to: Floats
    ok_at: Floats
    now: Floats
    m_past: Floats
    m_ahead: Floats
    seen: Floats | None = None
    pace: Floats | None = None

    def take(self, rows: slice | Floats) -> Histories:
        """The same for some of the exposures."""
        held = {name: value for name, value in vars(self).items() if value is not None}
        return Histories(**{name: value[rows] for name, value in held.items()})


def seen_load(belief: LifeBelief, past: Histories) -> Floats | None:
    """Compact load at the age at which a finding was seen; None where it changes no rate."""
    if past.seen is None or np.array_equal(past.m_past, past.m_ahead):
        return None
    return belief.compact(past.seen)


def gathered(
    start: Floats, end: Floats, seen: Floats | None, rates: tuple[Floats, Floats]
) -> Floats:
    """Load from ``start`` to ``end`` at rate m_past up to ``seen`` and m_ahead from there."""
    before, after = rates
    if seen is None:
        return np.asarray(before * (end - start))
    # Loads grow with age on every node, so the day splits a stretch at its load.
    first = np.minimum(end, seen) - np.minimum(start, seen)
    second = np.maximum(end, seen) - np.maximum(start, seen)
    return np.asarray(before * first + after * second)


def survived(
    stretches: Sequence[tuple[Sequence[float], Sequence[float]]],
    ok_at: Sequence[float],
    now: Sequence[float],
    multiplier: float = 1.0,
) -> Histories:
    """One exposure with one history, from plain numbers (for explanations, tests and notebooks).

    ``stretches``: (from, to) virtual ages, each a sequence with one number per clock.
    """
    pairs = [[list(start), list(end)] for start, end in stretches] or [[[0.0] * len(now)] * 2]
    ends = np.array(pairs, dtype=np.float64)
    return Histories(
        prior=np.ones((1, 1)),
        absent=np.zeros(1),
        lived_from=ends[None, None, :, 0],
        lived_to=ends[None, None, :, 1],
        ok_at=np.array(ok_at, dtype=np.float64)[None, None],
        now=np.array(now, dtype=np.float64)[None, None],
        m_past=np.array([multiplier]),
        m_ahead=np.array([multiplier]),
    )
