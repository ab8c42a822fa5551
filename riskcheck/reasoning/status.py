"""From worlds to a status, the questions that would settle it, and what may be said of findings.

The rule is asymmetric on purpose: a guess may send someone to look, it may never clear a vehicle.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from riskcheck.reasoning.bands import Bools, Floats, Ints
from riskcheck.reasoning.worlds import Worlds
from riskcheck.rulebook.model import APPLIES, CLOSED, UNPROVEN, WINDOW_OVER

NOT_APPLICABLE, CLOSED_CODE, UNPROVEN_CODE, EXPOSED_CODE, UNKNOWN_CODE, NO_ANSWER_CODE = range(6)
STATUS_NAMES = ("not_applicable", "closed", "unproven", "exposed", "unknown", "no_answer")
_WEIGHT_SLACK = 1e-12


@dataclass(frozen=True)
class Verdicts:
    """For p patterns: ``status`` codes (p,), ``weights`` (p, 4) of the four world statuses,
    ``window_over`` (p,) where every closed world is closed by its watch window alone,
    ``parts`` (p, f) where worlds that differ in that fact only differ in status, and
    ``information`` (p, f): expected loss of doubt about the status, in nats, if it were known.
    """

    status: Ints
    weights: Floats
    window_over: Bools
    parts: Bools
    information: Floats


def world_status(truths: Mapping[str, Bools]) -> Ints:
    """Status code (w,) of each world from the reserved findings."""
    nowhere = np.zeros_like(truths[APPLIES])
    over = truths.get(WINDOW_OVER, nowhere)
    return np.select(
        [~truths[APPLIES], truths.get(CLOSED, nowhere) | over, truths.get(UNPROVEN, nowhere)],
        [NOT_APPLICABLE, CLOSED_CODE, UNPROVEN_CODE],
        EXPOSED_CODE,
    ).astype(np.int64)


def judge(
    worlds: Worlds, truths: Mapping[str, Bools], needed_weight: float, widths: Mapping[str, int]
) -> Verdicts:
    """Verdicts on every pattern; ``widths``: number of cells of each fact."""
    status = world_status(truths)
    count = len(worlds.first)
    weights = _by_status(worlds.pattern, status, worlds.weight, count)
    live = status >= UNPROVEN_CODE
    unsettled = worlds.some(status != status[worlds.first][worlds.pattern])
    window = truths.get(WINDOW_OVER, np.zeros_like(live)) & ~truths.get(CLOSED, live & False)
    return Verdicts(
        _verdict(worlds, status, weights, needed_weight),
        weights,
        worlds.every(window | (status != CLOSED_CODE)) & worlds.some(window),
        _parts(worlds, status, unsettled),
        _information(worlds, status, unsettled, widths),
    )


def _verdict(worlds: Worlds, status: Ints, weights: Floats, needed_weight: float) -> Ints:
    """The rule that a guess may never clear a vehicle."""
    no_live = worlds.every(status <= CLOSED_CODE)
    some_closed = worlds.some(status == CLOSED_CODE)
    live_weight = weights[:, UNPROVEN_CODE] + weights[:, EXPOSED_CODE]
    likely = live_weight >= needed_weight - _WEIGHT_SLACK
    mostly_exposed = weights[:, EXPOSED_CODE] >= weights[:, UNPROVEN_CODE]
    return np.select(
        [no_live & some_closed, no_live, likely & mostly_exposed, likely],
        [CLOSED_CODE, NOT_APPLICABLE, EXPOSED_CODE, UNPROVEN_CODE],
        UNKNOWN_CODE,
    ).astype(np.int64)


def _by_status(group: Ints, status: Ints, weight: Floats, groups: int) -> Floats:
    """Weight of each of the four world statuses in each group, (groups, 4)."""
    summed = np.bincount(group * 4 + status, weights=weight, minlength=groups * 4)
    shaped: Floats = summed.astype(np.float64).reshape(groups, 4)
    return shaped


def _parts(worlds: Worlds, status: Ints, unsettled: Bools) -> Bools:
    parts = np.zeros((len(worlds.first), len(worlds.cells)), dtype=np.bool_)
    inside = np.flatnonzero(unsettled[worlds.pattern])
    pattern = worlds.pattern[inside]
    for place, fact in enumerate(worlds.cells):
        # Worlds that differ in this fact only share the number they have when its digit is 0.
        base = inside - worlds.digit[fact][inside] * worlds.stride[fact][pattern]
        lowest = np.full(len(status), UNKNOWN_CODE)
        highest = np.full(len(status), -1)
        np.minimum.at(lowest, base, status[inside])
        np.maximum.at(highest, base, status[inside])
        differs = lowest[base] != highest[base]
        parts[pattern[differs], place] = True
    return parts


def _information(
    worlds: Worlds, status: Ints, unsettled: Bools, widths: Mapping[str, int]
) -> Floats:
    information = np.zeros((len(worlds.first), len(worlds.cells)))
    inside = np.flatnonzero(unsettled[worlds.pattern])
    pattern, weight = worlds.pattern[inside], worlds.weight[inside]
    count = len(worlds.first)
    doubt = _doubt(_by_status(pattern, status[inside], weight, count))
    for place, fact in enumerate(worlds.cells):
        width = widths[fact]
        group = pattern * width + worlds.cells[fact][inside]
        left = _doubt(_by_status(group, status[inside], weight, count * width))
        information[:, place] = doubt - left.reshape(count, width).sum(axis=1)
    return np.maximum(information, 0.0)


def _doubt(weights: Floats) -> Floats:
    """Entropy of each row times the row's total weight, in nats."""
    total = weights.sum(axis=1, keepdims=True)
    share = np.divide(weights, total, out=np.ones_like(weights), where=weights > 0)
    doubt: Floats = -(weights * np.log(share)).sum(axis=1)
    return doubt
