"""Use today is itself uncertain: five equally likely ages, each with its own pace from here.

A vehicle without a recent reading, a clock that is inferred (cold starts, miles with a trailer,
engine hours without a meter) or a guessed first day make today's use a range.  Where that range is
wide enough to matter, every alternative history is split into five, at the 10, 30, 50, 70 and 90 %
points; the point that has come furthest also goes on fastest, because one unknown habit stands
behind both.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import NamedTuple

import numpy as np
from scipy import stats

from riskcheck.risk.beliefs import Z_95, Floats
from riskcheck.risk.histories import Histories
from riskcheck.risk.history import Bools, Ints, Lived
from riskcheck.usage import Usage
from riskcheck.vocabulary import ClockName

POINTS = (0.10, 0.30, 0.50, 0.70, 0.90)
Z_POINTS: Floats = stats.norm.ppf(np.array(POINTS))
# Half a range of 8 % of the age moves a wear-out load (shape 3 to 4) by about a quarter.
MATTERS = 0.08
# An unknown habit stretches all of the past alike; an unknown first day only what has no other
# start; an odometer is off by as many miles now, whatever happened before.
BY_HABIT: tuple[ClockName, ...] = ("engine_hours", "cold_starts", "towing_miles")
BY_FIRST_DAY: tuple[ClockName, ...] = ("years", "winters")


class Spread(NamedTuple):
    """How virtual age may differ from its middle at five points: ``scale``·age + ``shift``.

    scale, shift (n, 5, C); ``past`` (C,): whether ages on record shift along (those counted from
    an unknown first day do); ``wide`` (n,): the range is wide enough to matter.
    """

    scale: Floats
    shift: Floats
    past: Bools
    wide: Bools

    def of(self, rows: Ints) -> Spread:
        """The same for some of the vehicles."""
        return Spread(self.scale[rows], self.shift[rows], self.past, self.wide[rows])


def spread_today(clocks: Sequence[ClockName], usage: Usage, past: Lived) -> Spread:
    """The five points of every vehicle's age on each clock of a hazard."""
    n = len(past.now)
    scale = np.ones((n, len(POINTS), len(clocks)))
    shift = np.zeros_like(scale)
    for place, clock in enumerate(clocks):
        low, middle, high = (np.nan_to_num(edge) for edge in usage.now(clock))
        points = _points(low, middle, high)
        if clock in BY_HABIT:
            ratio = points / np.maximum(middle, 1e-9)[:, None]
            scale[:, :, place] = np.where((middle <= 0.0)[:, None], 1.0, ratio)
        else:
            # Where a job started the clock its first day is known, whatever the vehicle's was.
            fixed = past.on_file & (clock in BY_FIRST_DAY)
            shift[:, :, place] = np.where(fixed[:, None], 0.0, points - middle[:, None])
    moved = scale * past.now[:, None] + shift
    half = (moved[:, -1] - moved[:, 0]) / 2.0 * (Z_95 / Z_POINTS[-1])
    wide = (half > MATTERS * np.maximum(past.now, 1e-9)) & (past.now > 0.0)
    dated = np.array([clock in BY_FIRST_DAY for clock in clocks])
    return Spread(scale, shift, dated, np.asarray(wide.any(axis=1)))


def _points(low: Floats, middle: Floats, high: Floats) -> Floats:
    """Two-piece log-normal through the 5, 50 and 95 % points (linear if low is 0): (n, 5)."""
    z = Z_POINTS / Z_95
    tiny = 1e-9
    below = np.log(np.maximum(middle, tiny) / np.maximum(low, tiny))[:, None]
    above = np.log(np.maximum(high, tiny) / np.maximum(middle, tiny))[:, None]
    logs = middle[:, None] * np.exp(np.where(z < 0.0, below, above) * z)
    down, up = (middle - low)[:, None], (high - middle)[:, None]
    straight = middle[:, None] + np.where(z < 0.0, down, up) * z
    return np.asarray(np.where((low > tiny)[:, None], logs, straight), dtype=np.float64)


def split(past: Histories, spread: Spread, hidden: bool) -> Histories:
    """Every alternative h in five, h·5 + point: prior in fifths, ages moved.

    ``spread`` is of the rows of ``past``.  For an event that shows itself (``hidden`` False) the
    last stretch and ok_at run to today, wherever today is; else they keep to the look's own day.
    """
    h = past.prior.shape[1]
    scale = np.tile(spread.scale, (1, h, 1))
    shift = np.tile(spread.shift, (1, h, 1))
    each = np.repeat(np.arange(h), len(POINTS))
    late = shift * spread.past

    def then(age: Floats) -> Floats:
        """An age on record (n, h, C) as it would have been; that of the first day stays nought."""
        aged = age[:, each]
        return np.where(aged > 0.0, np.maximum(aged * scale + late, 0.0), 0.0)

    start = past.lived_from[:, each] * scale[:, :, None]
    end = np.stack([then(age) for age in np.moveaxis(past.lived_to, 2, 0)], axis=2)
    end = np.maximum(end, start)
    now = np.maximum(past.now[:, each] * scale + shift, start[:, :, -1])
    ok_at = np.clip(then(past.ok_at), start[:, :, -1], now)
    if not hidden:
        ok_at = now
    end[:, :, -1] = np.maximum(ok_at, start[:, :, -1])
    seen = None
    if past.seen is not None:
        # Where nothing was seen the day is today's, and moves with it.
        today = (past.seen == past.now)[:, each]
        seen = np.where(today, now, np.minimum(then(past.seen), now))
    return replace(
        past,
        prior=past.prior[:, each] / len(POINTS),
        lived_from=start,
        lived_to=end,
        ok_at=ok_at,
        now=now,
        seen=seen,
        # More use in the same years is a faster pace.
        pace=None if past.pace is None else past.pace[:, each] * scale[:, :, 0],
    )
