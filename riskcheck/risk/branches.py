"""Alternative histories of each exposure, and its use ahead, as the life model wants them."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
import pandas as pd

from riskcheck.risk.beliefs import Floats
from riskcheck.risk.histories import Histories
from riskcheck.risk.history import UNSEEN_SLICES, Ints, Lived, clock_names
from riskcheck.rulebook.model import Hazard
from riskcheck.usage import Usage

MIDDLE_RATE = 2
# lived_from, lived_to (r, s, C), known absent at, today and seen at (r, C), all virtual ages.
Ages = tuple[Floats, Floats, Floats, Floats, Floats]


@dataclass(frozen=True, eq=False)
class Ahead:
    """Use ahead of n vehicles: months (t,); gain (n, 5, t, C) at the five rate points.

    pace (n, C): use of each clock per unit of the first; a_year (n,): use of the first a year.
    window_left (n,): use left of the watch window on its own clock (inf without one).
    """

    months: Floats
    gain: Floats
    pace: Floats
    a_year: Floats
    window_left: Floats


def use_ahead(hazard: Hazard, usage: Usage, past: Lived, months: Floats) -> Ahead:
    """Use ahead of every vehicle; an infant mode is followed to the end of its window only."""
    clocks = clock_names(hazard)
    gain = np.stack([usage.ahead(clock, months) for clock in clocks], axis=3)
    gain = np.nan_to_num(gain)
    rates = np.stack([usage.rates(clock)[:, MIDDLE_RATE] for clock in clocks], axis=1)
    rates = np.nan_to_num(rates)
    left = np.full(len(gain), np.inf)
    if hazard.watch_window is not None:
        left = _window_left(hazard, usage, past)
        watched = np.nan_to_num(usage.ahead(hazard.watch_window.clock, months))
        share = np.divide(
            left[:, None, None], watched, out=np.full(watched.shape, np.inf), where=watched > 0.0
        )
        gain = gain * np.minimum(share, 1.0)[..., None]
    lead = np.maximum(rates[:, :1], 1e-6 * np.maximum(past.now[:, :1], 1.0))
    return Ahead(months, gain, rates / lead, lead[:, 0], left)


def _window_left(hazard: Hazard, usage: Usage, past: Lived) -> Floats:
    window = hazard.watch_window
    assert window is not None
    clocks = clock_names(hazard)
    if window.clock in clocks:
        through = past.now[:, clocks.index(window.clock)]
    else:
        everyone = np.arange(len(past.now))
        at_start = usage.at(window.clock, everyone, past.started, past.started)[1]
        through = usage.now(window.clock)[1] - np.nan_to_num(at_start)
    left = np.maximum(window.length.value - np.nan_to_num(through), 0.0)
    return np.where(past.on_file, left, np.inf)


def pace_so_far(hazard: Hazard, usage: Usage, usual_miles: Floats) -> Floats:
    """Use of the hazard's first clock per year in use since new (n,); NaN without an age.

    ``usual_miles`` (n,): the least that is usual of such a vehicle in a year.  One that covered
    less stood still for part of its years, and a part that stands does not turn costly: only the
    share of the years that its miles fill is counted.
    """
    age, miles = (usage.now(clock)[1] for clock in ("years", "miles"))
    with np.errstate(invalid="ignore", divide="ignore"):
        filled = np.nan_to_num(miles / (age * usual_miles), nan=1.0)
        pace = usage.now(clock_names(hazard)[0])[1] / (age * np.clip(filled, 0.01, 1.0))
    return np.where(np.isfinite(pace) & (pace > 0.0), pace, np.nan)


def histories(
    hazard: Hazard,
    past: Lived,
    rows: Ints,
    unseen: tuple[Floats, Floats],
    exposed: Floats,
    multipliers: tuple[Floats, Floats],
    pace: Floats,
) -> Histories:
    """Histories of the exposures ``rows`` (r,): as on file, then five unseen renewals if any.

    ``unseen``: what ``unseen_renewals`` gave for these rows; ``exposed`` (r,): prior weight of the
    worlds with the exposure; ``multipliers``: m before and after today (r,); ``pace`` (r,): use of
    the first clock a year so far.  The unseen alternatives are left out when no row has any.
    """
    now, ok_at = past.now[rows], past.ok_at[rows]
    hidden = hazard.reveals == "by_looking"
    known_to = ok_at if hidden else now
    lived_from = np.concatenate((past.lived_from[rows], past.current_from[rows, None]), axis=1)
    lived_to = np.concatenate((past.lived_to[rows], known_to[:, None]), axis=1)
    parts = [(lived_from, np.maximum(lived_to, lived_from), known_to, now, past.seen[rows])]
    at, weight = unseen
    if weight.any():
        parts += [_renewed_at(at[:, place], past, rows, parts[0]) for place in range(UNSEEN_SLICES)]
    share = np.full((len(rows), UNSEEN_SLICES), 1.0 / UNSEEN_SLICES) * weight[:, None]
    prior = np.concatenate((1.0 - weight[:, None], share), axis=1)[:, : len(parts)]
    columns = [np.stack([part[place] for part in parts], axis=1) for place in range(5)]
    return Histories(
        prior=prior * exposed[:, None],
        absent=1.0 - exposed,
        lived_from=columns[0],
        lived_to=columns[1],
        ok_at=columns[2],
        now=columns[3],
        m_past=multipliers[0],
        m_ahead=multipliers[1],
        seen=columns[4],
        pace=np.repeat(pace[:, None], len(parts), axis=1),
    )


def _renewed_at(at: Floats, past: Lived, rows: Ints, original: Ages) -> Ages:
    """The same history had the part been renewed when the first clock stood at ``at`` (r,)."""
    lived_from, _, known_to, now, seen = original
    share = np.divide(at, now[:, 0], out=np.zeros(len(at)), where=now[:, 0] > 0.0)
    renewed = share[:, None] * now
    known = np.maximum(known_to - renewed, 0.0)
    start, end = np.zeros_like(lived_from), np.zeros_like(lived_from)
    end[:, -1] = known
    return start, end, known, now - renewed, np.maximum(seen - renewed, 0.0)


def grouped(columns: Iterable[Floats]) -> tuple[Ints, Ints]:
    """First row of each distinct row of ``columns`` (n,) each, and every row's place among them.

    Rows are told apart by a 64-bit hash and then compared, so two rows never merge by chance.
    """
    held = list(columns)
    mixed = np.zeros(len(held[0]), dtype=np.uint64)
    for column in held:
        mixed = mixed * np.uint64(0x9E3779B97F4A7C15) + pd.util.hash_array(column)
    _, first, place = np.unique(mixed, return_index=True, return_inverse=True)
    for column in held:
        told = column[first][place]
        if not np.all((told == column) | (np.isnan(told) & np.isnan(column))):
            everyone = np.arange(len(column))
            return everyone, everyone
    return first.astype(np.int64), place.astype(np.int64)
