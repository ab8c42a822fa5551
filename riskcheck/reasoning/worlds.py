"""Silence as a set of worlds: every way in which the open facts of a vehicle may stand.

Vehicles with the same sets are one *pattern*; its worlds are the product of the possible cells.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from riskcheck.reasoning.bands import Bools, Floats, Ints
from riskcheck.reasoning.sets import CellRows

MOST_WORLDS = 4_096
WORLDS_AT_ONCE = 500_000


@dataclass(frozen=True)
class Patterns:
    """Distinct combinations of rows: ``rows`` (p, f) for ``facts``; ``of_vehicle`` (n,)."""

    facts: tuple[str, ...]
    rows: Ints
    of_vehicle: Ints


@dataclass(frozen=True)
class Worlds:
    """Worlds of some patterns, those of one pattern side by side.

    ``first`` (p,): where the worlds of each pattern start; ``pattern`` (w,) counts within these
    patterns; ``cells`` fact -> (w,); ``weight`` (w,) sums to 1 a pattern; ``digit`` and
    ``stride`` tell how a world's number within its pattern is made of its cells.
    """

    first: Ints
    pattern: Ints
    cells: Mapping[str, Ints]
    weight: Floats
    digit: Mapping[str, Ints]
    stride: Mapping[str, Ints]

    def every(self, truth: Bools) -> Bools:
        """Whether ``truth`` (w,) holds in every world of each pattern (p,)."""
        return np.asarray(np.logical_and.reduceat(truth, self.first), dtype=np.bool_)

    def some(self, truth: Bools) -> Bools:
        """Whether ``truth`` (w,) holds in some world of each pattern (p,)."""
        return np.asarray(np.logical_or.reduceat(truth, self.first), dtype=np.bool_)

    def total(self, amount: Floats) -> Floats:
        """Sum of ``amount`` (w,) over the worlds of each pattern (p,)."""
        return np.asarray(np.add.reduceat(amount, self.first), dtype=np.float64)


def patterns_of(
    cell_rows: Mapping[str, CellRows], facts: Sequence[str], base: Patterns | None = None
) -> Patterns:
    """Distinct combinations over all vehicles; ``base`` patterns are refined by ``facts``."""
    n = len(next(iter(cell_rows.values())).row) if base is None else len(base.of_vehicle)
    known = base.rows if base else np.zeros((1, 0), dtype=np.int64)
    group = base.of_vehicle if base else np.zeros(n, dtype=np.int64)
    for fact in facts:
        rows = cell_rows[fact]
        key = group * len(rows.possible) + rows.row
        distinct, group = compacted(key, len(known) * len(rows.possible))
        before, row = np.divmod(distinct, len(rows.possible))
        known = np.column_stack([known[before], row])
    return Patterns((*(base.facts if base else ()), *facts), known, group)


def world_counts(cell_rows: Mapping[str, CellRows], patterns: Patterns) -> Floats:
    """How many worlds each pattern has, as floats so that the product cannot overflow."""
    counts = np.ones(len(patterns.rows))
    for place, fact in enumerate(patterns.facts):
        counts *= cell_rows[fact].possible.sum(axis=1)[patterns.rows[:, place]]
    return counts


def compacted(key: Ints, bound: int) -> tuple[Ints, Ints]:
    """Distinct keys in ascending order, and the number of each key among them.

    The same as ``np.unique`` with its inverse; keys lie in [0, ``bound``), which spares the sort
    where there are few.
    """
    if bound > 4 * len(key) + 1_000:
        distinct, number = np.unique(key, return_inverse=True)
        return distinct, number.reshape(-1)
    present = np.zeros(bound, dtype=np.bool_)
    present[key] = True
    numbers = np.cumsum(present) - 1
    return np.flatnonzero(present), numbers[key]


def in_batches(counts: Floats, among: Ints | None = None) -> Iterator[Ints]:
    """Pattern numbers with at most ``MOST_WORLDS`` worlds, in batches that fit in memory.

    ``among``: look at these patterns only.
    """
    usable = np.flatnonzero(counts <= MOST_WORLDS)
    if among is not None:
        usable = np.intersect1d(usable, among)
    batch = (np.cumsum(counts[usable]) // WORLDS_AT_ONCE).astype(np.int64)
    for number in np.unique(batch):
        yield usable[batch == number]


def expand(cell_rows: Mapping[str, CellRows], facts: Sequence[str], rows: Ints) -> Worlds:
    """All worlds of the patterns ``rows`` (p, f); each must be within the cap."""
    counts = {
        fact: cell_rows[fact].possible.sum(axis=1)[rows[:, place]]
        for place, fact in enumerate(facts)
    }
    total = np.ones(len(rows), dtype=np.int64)
    strides: dict[str, Ints] = {}
    for fact in reversed(facts):
        strides[fact] = total
        total = total * counts[fact]
    first = np.concatenate([[0], np.cumsum(total)[:-1]]).astype(np.int64)
    pattern = np.repeat(np.arange(len(rows)), total)
    local = np.arange(len(pattern)) - first[pattern]
    weight = np.ones(len(pattern))
    cells: dict[str, Ints] = {}
    digits: dict[str, Ints] = {}
    for place, fact in enumerate(facts):
        table, row = cell_rows[fact], rows[pattern, place]
        digits[fact] = local // strides[fact][pattern] % counts[fact][pattern]
        in_order = np.argsort(~table.possible, axis=1, kind="stable")
        cells[fact] = in_order[row, digits[fact]]
        weight *= table.weight[row, cells[fact]]
    return Worlds(first, pattern, cells, weight, digits, strides)
