"""What would change a conclusion: the nearest other outcome, read out of the tables."""

from __future__ import annotations

import itertools
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from riskcheck.reasoning.reasoned import reason
from riskcheck.reasoning.reasoning import Reasoning
from riskcheck.reasoning.sets import CategorySet, CellRows, FactSet


@dataclass(frozen=True)
class Change:
    """If these facts stood in these cells, the status would be ``status``."""

    facts: Mapping[str, str]
    status: str


def what_would_change(reasoning: Reasoning, hazard_id: str, vehicle_id: str) -> list[Change]:
    """The fewest facts (one, else two) whose other value leads to another status.

    One entry for each such change, facts in name order, then cells in order; empty when no change
    of one or two facts alters the status, or when there is no answer.
    """
    place = reasoning.place(vehicle_id)
    compiled, tables = reasoning.compiled[hazard_id], reasoning.tables[hazard_id]
    now = str(reasoning.hazards[hazard_id].status[place])
    if now == "no_answer":
        return []
    sets = {
        name: reasoning.evidence.sets[name].cell_rows(band) for name, band in tables.bands.items()
    }
    for size in (1, 2):
        variants = [
            dict(zip(names, cells, strict=True))
            for names in itertools.combinations(compiled.status_facts, size)
            for cells in itertools.product(*(range(tables.bands[n].cells) for n in names))
        ]
        if not variants:
            continue
        fixed: dict[str, FactSet] = {
            name: CategorySet(_fixed(rows, place, [v.get(name) for v in variants]))
            for name, rows in sets.items()
        }
        outcome = reason(fixed, len(variants), compiled, tables, reasoning.needed_weight)
        changes = [
            Change({n: tables.bands[n].words(cell) for n, cell in variant.items()}, str(status))
            for variant, status in zip(variants, outcome.status, strict=True)
            if status != now
        ]
        if changes:
            return changes
    return []


def _fixed(rows: CellRows, place: int, cells: list[int | None]) -> CellRows:
    """The vehicle's own row where nothing is changed, else the one cell."""
    width = rows.possible.shape[1]
    own = rows.row[place]
    return CellRows(
        np.array([width if cell is None else cell for cell in cells], dtype=np.int64),
        np.concatenate([np.eye(width, dtype=np.bool_), rows.possible[[own]]]),
        np.concatenate([np.eye(width), rows.weight[[own]]]),
    )
