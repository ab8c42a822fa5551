"""The same results for machines: plain dictionaries of numbers, text and lists."""

from __future__ import annotations

import math
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import pandas as pd

from riskcheck.reports.outreach_book import call_frame
from riskcheck.reports.run import Run

SCHEMA = 1


def summary(run: Run, written: Mapping[str, Path], doubted: pd.DataFrame) -> dict[str, Any]:
    """A finished assessment: counts, calls in order, digests and files.

    ``doubted``: exposures whose place hangs on a doubtful odometer (``doubting.moved_by_doubt``).
    """
    exposures = run.exposures
    actions = run.fleet.problems["action"].value_counts()
    return {
        "schema": SCHEMA,
        "fleet": run.path.name,
        "as_of": run.as_of.isoformat(),
        "horizon_months": run.horizon_months,
        "vehicles": len(run.fleet.vehicles),
        "service_lines": len(run.fleet.service),
        "repaired": int(actions.get("repaired", 0)),
        "set_aside": int(actions.get("set_aside", 0)),
        "statuses": {str(k): int(v) for k, v in exposures["status"].value_counts().items()},
        "calls": records(call_frame(run)),
        "moved_by_doubtful_odometers": records(doubted),
        "digests": dict(run.digests),
        "rules_replaced": list(run.rulebook.overrides),
        "files": {name: str(path) for name, path in written.items()},
    }


def records(frame: pd.DataFrame) -> list[dict[str, Any]]:
    """Rows as dictionaries with JSON types; what is unknown is null."""
    return [
        {str(name): plain(value) for name, value in row.items()} for row in frame.to_dict("records")
    ]


def plain(value: Any) -> Any:
    """A JSON value: numpy numbers unwrapped, NaN and NA as null, dates as ISO text."""
    if value is None or value is pd.NA or value is pd.NaT:
        return None
    if hasattr(value, "item"):
        value = value.item()
    if isinstance(value, float):
        return None if math.isnan(value) else value
    if hasattr(value, "isoformat"):
        return value.isoformat()
    return value
