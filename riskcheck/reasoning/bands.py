"""Facts cut into bands at the constants that rules compare them with.

A number with k constants has 2k+1 cells (below the first, on it, between, ..., above the last), so
that ``>``, ``>=`` and ``==`` mix exactly.  Cells that hold no whole step inside the fact's range
are dropped.  A category has a cell for each code.  Where silence can mean "no value" there is one
more cell, *absent*, in which no comparison holds.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt

from riskcheck.vocabulary import Fact

Ints = npt.NDArray[np.int64]
Floats = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]


@dataclass(frozen=True)
class Bands:
    """The cells of one fact.

    ``low`` and ``high`` (c,) are the first and last whole step (or code) of each cell; the absent
    cell, if there is one, is the last and holds low 1, high 0.  ``place`` (2k+1,) maps a raw
    interleaved index to a cell, -1 for dropped ones.
    """

    fact: Fact
    cuts: Ints
    place: Ints
    low: Ints
    high: Ints
    has_absent: bool

    @property
    def cells(self) -> int:
        """How many cells there are."""
        return len(self.low)

    @property
    def absent(self) -> int:
        """Index of the absent cell, or -1."""
        return self.cells - 1 if self.has_absent else -1

    def cell_of(self, steps: Ints) -> Ints:
        """The cell of each whole step or code (n,); a value out of range is clipped into it."""
        if self.fact.kind != "number":
            return np.asarray(steps, dtype=np.int64)
        inside = np.clip(steps, *_step_range(self.fact))
        raw = np.searchsorted(self.cuts, inside, "left") + np.searchsorted(
            self.cuts, inside, "right"
        )
        cell: Ints = self.place[raw]
        return cell

    @cached_property
    def representatives(self) -> tuple[int | None, ...]:
        """One canonical value a cell: the cut itself, or the middle of the gap; None for absent."""
        middle = [
            int(low) + (int(high) - int(low)) // 2
            for low, high in zip(self.low, self.high, strict=True)
        ]
        return (*middle[:-1], None) if self.has_absent else tuple(middle)

    def words(self, cell: int) -> str:
        """The cell in words, with the fact's unit."""
        if cell == self.absent:
            return "not on file"
        if self.fact.kind != "number":
            return self.fact.codes[cell]
        unit = f" {self.fact.unit}" if self.fact.unit and self.fact.unit != "1" else ""
        low, high = (int(edge[cell]) for edge in (self.low, self.high))
        first, last = _step_range(self.fact)
        low_words, high_words = (f"{edge * self.fact.resolution:.12g}" for edge in (low, high))
        if low == high:
            return low_words + unit
        if low == first:
            return f"up to {high_words}{unit}"
        if high == last:
            return f"{low_words}{unit} or more"
        return f"{low_words} to {high_words}{unit}"


def bands_of(fact: Fact, constants: Sequence[int]) -> Bands:
    """Cut ``fact`` at ``constants`` (whole steps, ascending; ignored for categories)."""
    absent = may_be_absent(fact)
    if fact.kind != "number":
        codes = np.arange(len(fact.codes), dtype=np.int64)
        return _bands(fact, np.empty(0, dtype=np.int64), codes, codes, codes, absent)
    first, last = _step_range(fact)
    cuts = np.asarray(constants, dtype=np.int64)
    edges = np.concatenate([[first - 1], cuts, [last + 1]])
    low = np.empty(2 * len(cuts) + 1, dtype=np.int64)
    high = np.empty_like(low)
    low[0::2], high[0::2] = edges[:-1] + 1, edges[1:] - 1
    low[1::2] = high[1::2] = cuts
    low, high = np.maximum(low, first), np.minimum(high, last)
    kept = low <= high
    place = np.where(kept, np.cumsum(kept) - 1, -1)
    return _bands(fact, cuts, place, low[kept], high[kept], absent)


def may_be_absent(fact: Fact) -> bool:
    """Whether silence can mean that there is no value at all; a flag is then simply "no"."""
    if fact.kind == "number":
        return fact.silence != "at_random"
    return fact.kind == "category" and fact.silence == "on_file"


def _bands(fact: Fact, cuts: Ints, place: Ints, low: Ints, high: Ints, absent: bool) -> Bands:
    if absent:
        low, high = np.append(low, 1), np.append(high, 0)
    return Bands(fact, cuts, place, low, high, absent)


def _step_range(fact: Fact) -> tuple[int, int]:
    return fact.steps(fact.low), fact.steps(fact.high)
