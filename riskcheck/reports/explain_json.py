"""One vehicle's explanation for machines: the view itself, with JSON types."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import fields, is_dataclass
from typing import Any

from riskcheck.explain import HazardView, VehicleView
from riskcheck.explain.view import Evidence, RecordLine, Repair, Source
from riskcheck.figures import Figure
from riskcheck.reasoning import Trace
from riskcheck.reports.machine import SCHEMA, plain
from riskcheck.rulebook.model import Hazard
from riskcheck.vocabulary import Fact


def vehicle(view: VehicleView) -> dict[str, Any]:
    """Everything that page and terminal show of one vehicle, with the same figures unrounded."""
    return {
        "schema": SCHEMA,
        "as_of": view.as_of.isoformat(),
        "horizon_months": view.horizon_months,
        "vehicle": {str(name): plain(value) for name, value in view.vehicle.items()},
        "reading": encoded(view.reading),
        "in_service": encoded(view.in_service),
        "hazards": [_hazard(hazard) for hazard in view.hazards],
        "combined_look": encoded(view.combined_look),
        "not_applicable": [hazard.id for hazard in view.not_applicable],
        "no_answer": [hazard.id for hazard in view.no_answer],
        "corrections": encoded(view.corrections),
        "repairs": encoded(view.repairs),
        "policy": encoded(view.policy),
        "digests": dict(view.digests),
    }


def _hazard(view: HazardView) -> dict[str, Any]:
    trace = view.trace
    named = ("held", "sooner", "evidence", "questions", "chances", "if_it_applies",
             "by_look", "drivers", "unknowns", "curve", "waits", "choices",
             "changes", "limits", "shares_with", "figures")  # fmt: skip
    return {
        "id": view.hazard.id,
        "title": view.hazard.title,
        "pressing": view.pressing,
        "exposure": {str(name): plain(value) for name, value in view.row.items()},
        **{name: encoded(getattr(view, name)) for name in named},
        "record": encoded(view.lines),
        "chain": encoded(trace.fired if trace else ()),
        "assumed": list(trace.assumed) if trace else [],
        "cautions": list(view.hazard.words.cautions),
    }


def encoded(value: Any) -> Any:
    """JSON types for any part of a view; a source's places stand beside what they prove."""
    match value:
        case Fact():
            return {
                "fact": value.name,
                "meaning": value.meaning,
                "ask": value.ask,
                "how_to_tell": value.how_to_tell,
            }
        case Hazard():
            return value.id
        case Figure():
            low, high = value.range
            return {
                "value": value.value, "low": low, "high": high, "unit": value.unit,
                "source": value.source, "citation": value.citation,
            }  # fmt: skip
        case Evidence() | RecordLine() | Repair():
            told = {f.name: encoded(getattr(value, f.name)) for f in fields(value)}
            told |= told.pop("source")
            fact = told.get("fact")
            return told | {"fact": fact["fact"], "meaning": fact["meaning"]} if fact else told
        case Source() | Trace():
            return {f.name: encoded(getattr(value, f.name)) for f in fields(value)}
    if is_dataclass(value):
        return {f.name: encoded(getattr(value, f.name)) for f in fields(value)}
    if isinstance(value, list | tuple):
        return [encoded(item) for item in value]
    if isinstance(value, Mapping):
        return {str(name): encoded(item) for name, item in value.items()}
    return plain(value)
