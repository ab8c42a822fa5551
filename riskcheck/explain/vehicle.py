"""Everything that stands behind the conclusions about one vehicle."""

from __future__ import annotations

from collections.abc import Hashable, Mapping
from dataclasses import dataclass
from typing import Any

import pandas as pd

from riskcheck.fleet import Fleet
from riskcheck.reasoning import Reasoning, Trace, chain
from riskcheck.rulebook import Rulebook
from riskcheck.rulebook.model import Hazard
from riskcheck.vocabulary import Fact

UNPRICED = ("not_applicable", "no_answer")


@dataclass(frozen=True)
class Evidence:
    """One fact as read for this vehicle, with one of the places that say so."""

    fact: Fact
    value: str
    words: str
    file: str
    sheet: str
    cell: str
    date: str


@dataclass(frozen=True)
class HazardView:
    """One hazard on this vehicle: exposure row, evidence, live chain and open questions.

    ``row`` holds the exposure's columns by name; ``trace`` comes from a session of the rule
    engine run for this view, not from the tables.
    """

    hazard: Hazard
    row: Mapping[Hashable, Any]
    evidence: tuple[Evidence, ...]
    trace: Trace
    questions: tuple[Fact, ...]


@dataclass(frozen=True)
class VehicleView:
    """One vehicle: its row of the vehicle sheet and its hazards, most pressing first."""

    vehicle: Mapping[Hashable, Any]
    hazards: tuple[HazardView, ...]
    not_applicable: tuple[Hazard, ...]


def view_vehicle(
    vehicle_id: str,
    exposures: pd.DataFrame,
    fleet: Fleet,
    book: Rulebook,
    reasoning: Reasoning,
) -> VehicleView:
    """Collect the view of one vehicle; every hazard that may apply gets a live engine chain."""
    own = exposures[exposures["vehicle_id"] == vehicle_id].sort_values(
        ["rank", "hazard_id"], na_position="last", kind="stable"
    )
    vehicle = fleet.vehicles[fleet.vehicles["vehicle_id"] == vehicle_id].iloc[0]
    provenance = reasoning.evidence.provenance
    sources = provenance[provenance["vehicle_id"] == vehicle_id]
    speaking = own[~own["status"].isin(UNPRICED)]
    return VehicleView(
        vehicle=vehicle.to_dict(),
        hazards=tuple(
            _view(row, vehicle_id, sources, book, reasoning) for row in speaking.to_dict("records")
        ),
        not_applicable=tuple(
            book.hazards[name] for name in own[own["status"].isin(UNPRICED)]["hazard_id"]
        ),
    )


def _view(
    row: Mapping[Hashable, Any],
    vehicle_id: str,
    sources: pd.DataFrame,
    book: Rulebook,
    reasoning: Reasoning,
) -> HazardView:
    hazard = book.hazards[row["hazard_id"]]
    read = book.compiled(hazard.id).facts
    rows = sources[sources["fact"].isin(read)]
    evidence = tuple(
        Evidence(
            fact=book.vocabulary[record["fact"]],
            value=record["value_words"],
            words=record["words"],
            file=record["file"],
            sheet=record["sheet"],
            cell=record["cell"],
            date=record["date"],
        )
        for record in rows.to_dict("records")
    )
    names = [name for name in str(row["questions"] or "").split("; ") if name]
    return HazardView(
        hazard=hazard,
        row=row,
        evidence=evidence,
        trace=chain(hazard.id, vehicle_id, reasoning),
        questions=tuple(book.vocabulary[name] for name in names),
    )
