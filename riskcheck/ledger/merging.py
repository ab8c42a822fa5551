"""What a cell of a call sheet says when several copies of the sheet come back.

Pure functions over the history of one cell.  Nothing is overwritten: a later state of the same
copy follows its earlier one, different copies stand side by side, and a cell on which copies
disagree is a conflict that keeps every value.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import NamedTuple

NEXT = 2**62  # the number of a recording that is later than any


class Entry(NamedTuple):
    """One value of one cell: the recording it came with, the copy it was read from."""

    recording: int
    copy_id: str
    value: str


class Incoming(NamedTuple):
    """What recording a copy adds to a cell, and what that is called.

    ``kind``: new (first words in this cell), same (known already), revised (this copy said
    something else before), conflict (another copy says something else).
    """

    add: tuple[str, ...]
    kind: str


def of_copy(history: Iterable[Entry], copy_id: str) -> tuple[str, ...]:
    """What one copy says now: the values that came with its latest recording of this cell."""
    own = [entry for entry in history if entry.copy_id == copy_id]
    last = max((entry.recording for entry in own), default=-1)
    return tuple(sorted({entry.value for entry in own if entry.recording == last}))


def standing(history: Sequence[Entry]) -> tuple[str, ...]:
    """Every value that stands, latest recorded last; more than one is a conflict.

    A value that another one contains word for word is not a second opinion: someone wrote on.
    """
    said: dict[str, int] = {}
    for copy_id in {entry.copy_id for entry in history}:
        for value in of_copy(history, copy_id):
            at = max(e.recording for e in history if e.copy_id == copy_id and e.value == value)
            said[value] = max(said.get(value, -1), at)
    kept = [v for v in said if not any(v != other and v in other for other in said)]
    return tuple(sorted(kept, key=lambda value: (said[value], value)))


def incoming(history: Sequence[Entry], copy_id: str, values: Iterable[str]) -> Incoming:
    """What to add when a copy says ``values`` (blank ones dropped: a blank erases nothing)."""
    said = tuple(sorted({value for value in values if value.strip()}))
    mine = of_copy(history, copy_id)
    if not said or said == mine:
        return Incoming((), "same")
    if mine:
        return Incoming(said, "revised")
    known = {entry.value for entry in history}
    fresh = tuple(value for value in said if value not in known)
    if not fresh:
        return Incoming((), "same")
    if not known:
        return Incoming(said, "new" if len(said) == 1 else "conflict")
    after = [*history, *(Entry(NEXT, copy_id, value) for value in said)]
    return Incoming(said, "conflict" if len(standing(after)) > 1 else "revised")
