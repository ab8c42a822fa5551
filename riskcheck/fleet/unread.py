"""Service lines that the lexicon could not read, most frequent first."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Protocol

import pandas as pd
from rapidfuzz import fuzz, process

from riskcheck.fleet.model import Fleet

_NEAR = 60.0  # below this the nearest phrase says nothing (choice, no source)


class LineKnower(Protocol):
    """What is needed of a lexicon here."""

    def knows(self, line: str) -> bool:
        """Whether the line names anything known."""
        ...


def unread_wordings(fleet: Fleet, lexicon: LineKnower, phrases: Sequence[str] = ()) -> pd.DataFrame:
    """line, times, nearest (a phrase of ``phrases``, "" if none is near), topic and mark (blank).

    The last two columns are to be filled in by a technician.  Sorted by times, then by line.
    """
    counts = fleet.service["line"].str.casefold().value_counts()
    unread = [(line, int(times)) for line, times in counts.items() if not lexicon.knows(str(line))]
    rows = []
    for line, times in sorted(unread, key=lambda item: (-item[1], str(item[0]))):
        found = process.extractOne(
            str(line), phrases, scorer=fuzz.partial_token_sort_ratio, score_cutoff=_NEAR
        )
        rows.append([line, times, found[0] if found else "", "", ""])
    return pd.DataFrame(rows, columns=["line", "times", "nearest", "topic", "mark"])
