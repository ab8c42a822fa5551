"""What a derivation hands back, and numbers that come as ranges."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
import pandas as pd

from riskcheck.reasoning.bands import Floats, Ints
from riskcheck.reasoning.sets import FactSet
from riskcheck.vocabulary import Fact

PROVENANCE_COLUMNS = [
    "vehicle_id", "fact", "value_words", "words", "file", "sheet", "cell", "date",
]  # fmt: skip


@dataclass(frozen=True)
class Derived:
    """The sets of one fact and where they come from.

    ``event`` (n,): place of the deciding event, -1 if none.  ``unplaced``: vehicles whose value
    could not be worked out.  ``sources``: (place, words, file, sheet, cell) rows for facts that
    do not rest on events.
    """

    sets: FactSet
    event: Ints | None = None
    unplaced: Ints = field(default_factory=lambda: np.empty(0, dtype=np.int64))
    sources: pd.DataFrame | None = None


def pieces_of_range(
    fact: Fact, vehicle: Ints, low: Floats, middle: Floats, high: Floats
) -> tuple[Ints, Ints, Ints, Floats, Ints]:
    """Two equally likely pieces [low, middle] and [middle, high], in whole steps.

    Returns vehicle, low, high, share of the pieces, and the vehicles whose range is unknown: those
    get the fact's whole range.
    """
    unknown = np.isnan(middle)
    edges = [
        np.clip(np.where(unknown, end, edge), fact.low, fact.high) / fact.resolution
        for edge, end in ((low, fact.low), (middle, (fact.low + fact.high) / 2), (high, fact.high))
    ]
    first, mid, last = (np.rint(edge).astype(np.int64) for edge in edges)
    exact = first == last
    half = np.where(exact, 1.0, 0.5)
    upper = ~exact
    return (
        np.concatenate([vehicle, vehicle[upper]]),
        np.concatenate([first, mid[upper]]),
        np.concatenate([np.where(exact, last, mid), last[upper]]),
        np.concatenate([half, half[upper]]),
        vehicle[unknown],
    )
