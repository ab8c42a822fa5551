"""What the record leaves possible for one fact, for every vehicle, and how likely each part is.

A value, an interval, two readings and "missing" are all the same thing: a set with weights.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from riskcheck.reasoning.bands import Bands, Bools, Floats, Ints


@dataclass(frozen=True)
class CellRows:
    """Distinct sets of cells, and which of them each vehicle has.

    ``row`` (n,) indexes the first axis of ``possible`` and ``weight`` (r, c); weights of a row sum
    to 1 and may be 0 where a cell is possible all the same.
    """

    row: Ints
    possible: Bools
    weight: Floats

    def certain(self) -> Bools:
        """Where exactly one cell is possible, (n,)."""
        alone: Bools = (self.possible.sum(axis=1) == 1)[self.row]
        return alone


@dataclass(frozen=True)
class CategorySet:
    """A flag or category: ``rows`` over its codes, and the absent cell where there is one."""

    rows: CellRows

    def cell_rows(self, bands: Bands) -> CellRows:
        """The rows as they are; ``bands`` of a category never depend on a hazard."""
        assert self.rows.possible.shape[1] == bands.cells
        return self.rows

    def value_in(self, vehicle: int, cell: int, bands: Bands) -> int | None:
        """The code of the cell, None when absent."""
        return bands.representatives[cell]


@dataclass(frozen=True)
class NumberSet:
    """A number in whole steps: weighted pieces [low, high] of each vehicle, and absence.

    ``vehicle``, ``low``, ``high``, ``share`` (m,) describe the pieces, grouped by vehicle in
    ascending order; ``absent`` (n,) is the weight of "no value", NaN where that is impossible.
    Shares and absence of a vehicle sum to 1.
    """

    vehicle: Ints
    low: Ints
    high: Ints
    share: Floats
    absent: Floats

    def cell_rows(self, bands: Bands) -> CellRows:
        """Cut the pieces at the bands; an interval's weight falls to cells by overlap."""
        n, cells = len(self.absent), bands.cells
        first, last = bands.cell_of(self.low), bands.cell_of(self.high)
        pieces = np.bincount(self.vehicle, minlength=n)
        one = (pieces[self.vehicle] == 1) & (first == last) & np.isnan(self.absent)[self.vehicle]
        row = np.full(n, -1, dtype=np.int64)
        row[self.vehicle[one]] = first[one]
        if bands.has_absent:
            row[(pieces == 0) & ~np.isnan(self.absent)] = bands.absent
        mixed = np.flatnonzero(row < 0)
        possible, weight = self._spread(bands, mixed)
        joined = np.concatenate([possible.astype(np.float64), weight], axis=1)
        distinct, back = np.unique(joined, axis=0, return_inverse=True)
        row[mixed] = cells + back.reshape(-1)
        eye = np.eye(cells)
        return CellRows(
            row,
            np.concatenate([eye, distinct[:, :cells]]) > 0,
            np.concatenate([eye, distinct[:, cells:]]),
        )

    def _spread(self, bands: Bands, mixed: Ints) -> tuple[Bools, Floats]:
        """Possible cells and weights (len(mixed), cells) of vehicles in more than one cell."""
        place = np.full(len(self.absent), -1, dtype=np.int64)
        place[mixed] = np.arange(len(mixed))
        used = place[self.vehicle] >= 0
        edges = np.min(bands.low, initial=0), np.max(bands.high, initial=0)
        low = np.clip(self.low[used], *edges)[:, None]
        high = np.clip(self.high[used], *edges)[:, None]
        overlap = np.minimum(high, bands.high) - np.maximum(low, bands.low) + 1
        overlap = np.maximum(overlap, 0)
        if bands.has_absent:
            overlap[:, bands.absent] = 0
        possible = np.zeros((len(mixed), bands.cells), dtype=np.bool_)
        weight = np.zeros((len(mixed), bands.cells))
        target = place[self.vehicle[used]]
        np.logical_or.at(possible, target, overlap > 0)
        np.add.at(weight, target, overlap / (high - low + 1) * self.share[used][:, None])
        if bands.has_absent:
            absent = self.absent[mixed]
            possible[:, bands.absent] |= ~np.isnan(absent)
            weight[:, bands.absent] += np.nan_to_num(absent)
        return possible, weight / weight.sum(axis=1, keepdims=True)

    def value_in(self, vehicle: int, cell: int, bands: Bands) -> int | None:
        """The vehicle's own value if its record reaches into the cell, else the canonical one."""
        if cell == bands.absent:
            return None
        start, end = np.searchsorted(self.vehicle, [vehicle, vehicle + 1])
        for piece in range(start, end):
            low = max(int(self.low[piece]), int(bands.low[cell]))
            high = min(int(self.high[piece]), int(bands.high[cell]))
            if low <= high:
                return low + (high - low) // 2
        return bands.representatives[cell]


FactSet = CategorySet | NumberSet


def category_set(rows: Sequence[Sequence[float]], row: Ints) -> CategorySet:
    """``rows``: weight of each cell, NaN where the cell is impossible; ``row`` (n,) picks one."""
    table = np.array(rows, dtype=np.float64)
    possible = ~np.isnan(table)
    weight = np.nan_to_num(table)
    total = weight.sum(axis=1, keepdims=True)
    even = possible / possible.sum(axis=1, keepdims=True)
    weight = np.where(total > 0, weight / np.where(total > 0, total, 1.0), even)
    return CategorySet(CellRows(row, possible, weight))


def number_set(vehicle: Ints, low: Ints, high: Ints, share: Floats, absent: Floats) -> NumberSet:
    """Sort pieces by vehicle (stably) and normalise the weights of each vehicle to 1."""
    order = np.argsort(vehicle, kind="stable")
    vehicle, low, high, share = vehicle[order], low[order], high[order], share[order]
    total = np.bincount(vehicle, weights=share, minlength=len(absent)) + np.nan_to_num(absent)
    total = np.where(total > 0, total, 1.0)
    return NumberSet(
        vehicle,
        np.minimum(low, high),
        np.maximum(low, high),
        share / total[vehicle],
        absent / total,
    )
