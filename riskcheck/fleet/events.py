"""Asking the event frame: which events of some topics and marks, and in which order."""

from __future__ import annotations

from collections.abc import Collection

import pandas as pd

from riskcheck.vocabulary import MARK_ORDER

EVENT_COLUMNS = [
    "vehicle_id", "date_lo", "date_hi", "odometer_mi", "engine_hours", "topic", "hazards", "mark",
    "quantity", "value", "unit", "words", "line", "file", "sheet", "cell", "service_id",
]  # fmt: skip
_RANK = {mark: rank for rank, mark in enumerate(MARK_ORDER)}


def matching(
    events: pd.DataFrame, topics: Collection[str], marks: Collection[str] = ()
) -> pd.DataFrame:
    """The events of any of ``topics`` with any of ``marks`` (all marks if empty), as they stand."""
    keep = events["topic"].isin(list(topics))
    if marks:
        keep &= events["mark"].isin(list(marks))
    return events[keep]


def in_order(events: pd.DataFrame) -> pd.DataFrame:
    """Events from first to last: date, odometer, rank of the mark, then order in the file."""
    ranked = events.assign(_rank=events["mark"].map(_RANK).astype("float64"))
    ranked = ranked.sort_values(
        ["date_hi", "odometer_mi", "_rank"], kind="stable", na_position="first"
    )
    return ranked.drop(columns="_rank")
