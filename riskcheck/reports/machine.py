"""The same results for machines: plain dictionaries of numbers, text and lists."""

from __future__ import annotations

import math
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import pandas as pd

from riskcheck.explain import HazardView, VehicleView
from riskcheck.reports.outreach_book import call_frame
from riskcheck.reports.run import Run

SCHEMA = 1


def summary(run: Run, written: Mapping[str, Path]) -> dict[str, Any]:
    """A finished assessment: counts, calls in order, digests and files."""
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
        "digests": dict(run.digests),
        "files": {name: str(path) for name, path in written.items()},
    }


def vehicle(view: VehicleView) -> dict[str, Any]:
    """One vehicle's explanation: evidence with cells, the live chain, every figure of its row."""
    return {
        "schema": SCHEMA,
        "vehicle": {str(name): plain(value) for name, value in view.vehicle.items()},
        "hazards": [_hazard(hazard) for hazard in view.hazards],
        "not_applicable": [hazard.id for hazard in view.not_applicable],
    }


def _hazard(view: HazardView) -> dict[str, Any]:
    return {
        "exposure": {str(name): plain(value) for name, value in view.row.items()},
        "evidence": [
            {
                "fact": item.fact.name,
                "value": item.value,
                "words": item.words,
                "file": item.file,
                "sheet": item.sheet,
                "cell": item.cell,
                "date": item.date,
            }
            for item in view.evidence
        ],
        "chain": [{"finding": step.finding, "because": step.because} for step in view.trace.fired],
        "assumed": list(view.trace.assumed),
        "questions": [{"fact": fact.name, "ask": fact.ask} for fact in view.questions],
        "cautions": list(view.hazard.words.cautions),
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
