"""Patterns with more worlds than the cap: bounds for the status, a fixed sample for the weights.

Bounds are sound, never sharp: "may hold" and "may fail" of each finding, worked out table by
table, so that too many open facts can never clear a vehicle.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from riskcheck.reasoning.bands import Bools, Ints
from riskcheck.reasoning.sets import CellRows
from riskcheck.reasoning.status import (
    CLOSED_CODE,
    NOT_APPLICABLE,
    UNKNOWN_CODE,
    UNPROVEN_CODE,
    Verdicts,
    judge,
)
from riskcheck.reasoning.tables import HazardTables
from riskcheck.reasoning.worlds import MOST_WORLDS, Patterns, Worlds
from riskcheck.rulebook.model import APPLIES, CLOSED, WINDOW_OVER

_SEED = 20_000_529


def bounds(tables: HazardTables, possible: Mapping[str, Bools]) -> dict[str, tuple[bool, bool]]:
    """(may hold, may fail) of every finding, given the possible cells of each fact."""
    found: dict[str, tuple[bool, bool]] = {}
    for table in tables.findings:
        axes: list[Ints] = [np.flatnonzero(possible[fact]) for fact in table.facts]
        axes += [
            np.flatnonzero(np.array([found[name][1], found[name][0]])) for name in table.findings
        ]
        place = np.zeros(1, dtype=np.int64)
        for axis, stride in zip(axes, table.strides, strict=True):
            place = (place[:, None] + axis * stride).reshape(-1)
        holds = table.fired[place] != 0
        found[table.name] = (bool(holds.any()), bool((~holds).any()))
    return found


def judge_by_bounds(
    tables: HazardTables,
    rows: Mapping[str, CellRows],
    core: Patterns,
    pattern: int,
    names: Sequence[str],
    needed_weight: float,
) -> Verdicts:
    """The verdict on one pattern beyond the cap; questions are the facts that part the sample."""
    worlds = _sample(rows, core, pattern)
    truths = tables.evaluate(worlds.cells, names)
    widths = {fact: tables.bands[fact].cells for fact in core.facts}
    sampled = judge(worlds, truths, needed_weight, widths)
    possible = {
        fact: rows[fact].possible[core.rows[pattern, place]]
        for place, fact in enumerate(core.facts)
    }
    others = {fact: np.ones(band.cells, dtype=np.bool_) for fact, band in tables.bands.items()}
    found = bounds(tables, {**others, **possible})
    status = int(sampled.status[0])
    never = (False, True)
    surely_closed = not (found.get(CLOSED, never)[1] and found.get(WINDOW_OVER, never)[1])
    if not found[APPLIES][0]:
        status = NOT_APPLICABLE
    elif surely_closed and not found[APPLIES][1]:
        status = CLOSED_CODE
    elif status in (NOT_APPLICABLE, CLOSED_CODE):
        status = UNKNOWN_CODE
    open_facts = np.array([[bool(possible[fact].sum() > 1) for fact in core.facts]])
    parts = open_facts & (sampled.information > 0) & (status >= UNPROVEN_CODE)
    return Verdicts(
        np.array([status]), sampled.weights, sampled.window_over, parts, sampled.information
    )


def _sample(rows: Mapping[str, CellRows], core: Patterns, pattern: int) -> Worlds:
    generator = np.random.default_rng(_SEED)
    cells: dict[str, Ints] = {}
    for place, fact in enumerate(core.facts):
        weight = rows[fact].weight[core.rows[pattern, place]]
        cells[fact] = generator.choice(len(weight), size=MOST_WORLDS, p=weight).astype(np.int64)
    nothing = {fact: np.zeros(MOST_WORLDS, dtype=np.int64) for fact in core.facts}
    return Worlds(
        np.zeros(1, dtype=np.int64),
        np.zeros(MOST_WORLDS, dtype=np.int64),
        cells,
        np.full(MOST_WORLDS, 1.0 / MOST_WORLDS),
        nothing,
        {fact: np.ones(1, dtype=np.int64) for fact in core.facts},
    )
