"""Two vehicles held against each other, in words and for machines."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pandas as pd
from rich.console import Group, RenderableType
from rich.text import Text

from riskcheck.explain.twin import DifferingFact, TwinHazard, TwinView
from riskcheck.explain.view import Row
from riskcheck.reports import chances, words
from riskcheck.reports.explain_json import encoded
from riskcheck.reports.explain_text import hung
from riskcheck.reports.machine import SCHEMA, plain
from riskcheck.rulebook.model import Hazard
from riskcheck.sheets import one_line


def page(view: TwinView, months: int) -> RenderableType:
    """The comparison for a rich console; the other vehicle is named only to its own customer."""
    other = view.other or "another vehicle in our care"
    parts: list[RenderableType] = [
        hung(Text(one_line(f"{view.vehicle_id} beside {other}"), "bold"), 0)
    ]
    for hazard in view.hazards:
        parts += ["", *_hazard(hazard, months)]
    if not view.hazards:
        parts += ["", Text("Nothing sets the two apart.")]
    if view.alike:
        parts += ["", hung(Text(f"No difference: {'; '.join(h.title for h in view.alike)}."), 0)]
    return Group(*parts)


def _hazard(view: TwinHazard, months: int) -> Iterator[RenderableType]:
    yield hung(Text(view.hazard.title, "bold"), 0)
    of = chances.denominator([view.here, view.there], view.hazard)
    for label, row in (("here", view.here), ("there", view.there)):
        yield hung(Text(f"{label}: {_outcome(row, view.hazard, months, of)}"), 2)
    for fact in view.facts:
        yield hung(Text(one_line(_fact(fact, view.here))), 4)
    if pd.notna(view.here["usage"]) and pd.notna(view.there["usage"]):
        here, there = (
            f"{row['usage']:,.0f} {row['usage_unit']}" for row in (view.here, view.there)
        )
        if here != there:
            yield hung(Text(f"- use on its clock: {here} here, {there} there"), 4)


def _outcome(row: Row, hazard: Hazard, months: int, of: int) -> str:
    told = f"{words.STATUS_WORDS[row['status']]}, {words.EVIDENCE_WORDS[row['evidence']]}"
    if row["evidence"] == "confirmed" or pd.isna(row["probability"]):
        return told
    return f"{told}; {chances.chance(row, hazard, months, of)}"


def _fact(told: DifferingFact, here: Row) -> str:
    effects = []
    if told.status != here["status"]:
        effects.append(f"by itself this makes it {words.STATUS_WORDS[told.status]}")
    if told.evidence != here["evidence"]:
        effects.append(f"by itself this leaves {words.EVIDENCE_WORDS[told.evidence]}")
    effects += [f"then also: {held.says}" for held in told.gained]
    effects += [f"then no longer: {held.says}" for held in told.lost]
    effect = "; ".join(effects) or "by itself it changes no conclusion"
    values = f"{told.here} here, {told.there} there".replace("_", " ")
    return f"- {told.fact.meaning}: {values}. If it were as there, {effect}."


def json_of(view: TwinView) -> dict[str, Any]:
    """The comparison with JSON types."""
    return {
        "schema": SCHEMA,
        "vehicle_id": view.vehicle_id,
        "other": view.other or None,
        "hazards": [
            {
                "id": hazard.hazard.id,
                "here": {str(name): plain(value) for name, value in hazard.here.items()},
                "there": {str(name): plain(value) for name, value in hazard.there.items()},
                "facts": encoded(hazard.facts),
            }
            for hazard in view.hazards
        ],
        "alike": [hazard.id for hazard in view.alike],
    }
