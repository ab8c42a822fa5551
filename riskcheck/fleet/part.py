"""A part of a fleet: some of its vehicles with all that is on file about them."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import fields, replace
from typing import Any

import pandas as pd

from riskcheck.fleet.model import Fleet


def of_vehicles(fleet: Fleet, vehicle_ids: Collection[str]) -> Fleet:
    """The fleet with only these vehicles; what belongs to nobody in particular stays."""
    kept = fleet.vehicles["vehicle_id"].isin(vehicle_ids)
    parts: dict[str, Any] = {}
    for field in fields(fleet):
        frame = getattr(fleet, field.name)
        if isinstance(frame, pd.DataFrame) and "vehicle_id" in frame:
            parts[field.name] = _with(frame, vehicle_ids)
    written = {
        name: cells[kept.to_numpy()].reset_index(drop=True) for name, cells in fleet.written.items()
    }
    return replace(fleet, **parts, written=written)


def _with(frame: pd.DataFrame, vehicle_ids: Collection[str]) -> pd.DataFrame:
    whose = frame["vehicle_id"]
    kept = frame[whose.isin(vehicle_ids) | whose.isna() | whose.eq("")]
    return kept.reset_index(drop=True)
