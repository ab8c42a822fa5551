"""Why this one and not its twin: only the facts that differ, and what each of them does."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from riskcheck.explain.case import Case
from riskcheck.explain.view import Held, Row
from riskcheck.reasoning.reasoned import Reasoned, reason
from riskcheck.reasoning.sets import CategorySet, CellRows, FactSet
from riskcheck.risk.price import COLUMNS
from riskcheck.rulebook.model import Hazard
from riskcheck.vocabulary import Fact

PROBABILITY_APART = 0.01  # chances closer than this are not told apart here
SHOWN = (
    *(name for name in COLUMNS if name not in ("vehicle_id", "customer_id")),
    "x_started", "x_last_good_look", "x_if_exposed", "x_if_exposed_low", "x_if_exposed_high",
    "x_now_low", "x_now_high", "x_unseen", "x_use_wide",
)  # fmt: skip


@dataclass(frozen=True)
class DifferingFact:
    """One fact that the two vehicles do not share, and what it alone would do here.

    ``status`` and ``evidence``: what would be concluded if only this fact were as it is there.
    ``gained`` and ``lost``: findings that would come to hold or cease to.
    """

    fact: Fact
    here: str
    there: str
    status: str
    evidence: str
    gained: tuple[Held, ...]
    lost: tuple[Held, ...]


@dataclass(frozen=True)
class TwinHazard:
    """One hazard on which the two come out apart: exposure columns of each, facts that differ."""

    hazard: Hazard
    here: Row
    there: Row
    facts: tuple[DifferingFact, ...]


@dataclass(frozen=True)
class TwinView:
    """Two vehicles held against each other.

    ``other``: the id of the second vehicle, "" where it belongs to another customer; nothing else
    that could tell whose it is is in here.  ``alike``: hazards on which the two come out alike.
    """

    vehicle_id: str
    other: str
    hazards: tuple[TwinHazard, ...]
    alike: tuple[Hazard, ...]


def twin(case: Case, vehicle_id: str, other_id: str) -> TwinView:
    """Hold two vehicles of the fleet against each other, most pressing here first."""
    places = case.reasoning.place(vehicle_id), case.reasoning.place(other_id)
    owners = [str(case.fleet.vehicles["customer_id"].iloc[place]) for place in places]
    rows = [_rows(case, name) for name in (vehicle_id, other_id)]
    apart, alike = [], []
    for hazard_id, here in rows[0].items():
        there, hazard = rows[1][hazard_id], case.book.hazards[hazard_id]
        if not _apart(here, there):
            alike.append(hazard)
            continue
        facts = _differing(case, hazard, places)
        apart.append(TwinHazard(hazard, here, there, facts))
    known = bool(owners[0]) and owners[0] == owners[1]
    return TwinView(vehicle_id, other_id if known else "", tuple(apart), tuple(alike))


def _rows(case: Case, vehicle_id: str) -> dict[str, Row]:
    """Exposure columns by hazard, most pressing first, without whose vehicle it is."""
    own = case.exposures[case.exposures["vehicle_id"] == vehicle_id].sort_values(
        ["rank", "hazard_id"], na_position="last", kind="stable"
    )
    return {str(row["hazard_id"]): row for row in own[list(SHOWN)].to_dict("records")}


def _apart(here: Row, there: Row) -> bool:
    if any(here[name] != there[name] for name in ("status", "evidence")):
        return True
    chances = [float(row["probability"]) for row in (here, there)]
    return bool(np.isfinite(chances).all() and abs(chances[0] - chances[1]) >= PROBABILITY_APART)


def _differing(case: Case, hazard: Hazard, places: tuple[int, int]) -> tuple[DifferingFact, ...]:
    evidence, tables = case.reasoning.evidence, case.reasoning.tables[hazard.id]
    told = {
        name: tuple(evidence.words_of(name, place) for place in places)
        for name in case.reasoning.compiled[hazard.id].facts
    }
    names = [name for name, words in told.items() if words[0] != words[1]]
    rows = {name: evidence.sets[name].cell_rows(band) for name, band in tables.bands.items()}
    outcome = _swapped(case, hazard, rows, places, names)
    held = [set(findings) for findings in outcome.findings_hold]
    return tuple(
        DifferingFact(
            fact=case.book.vocabulary[name],
            here=told[name][0],
            there=told[name][1],
            status=str(outcome.status[place]),
            evidence=str(outcome.evidence[place]),
            gained=_says(hazard, held[place] - held[0]),
            lost=_says(hazard, held[0] - held[place]),
        )
        for place, name in enumerate(names, start=1)
    )


def _swapped(
    case: Case,
    hazard: Hazard,
    rows: Mapping[str, CellRows],
    places: tuple[int, int],
    names: list[str],
) -> Reasoned:
    """Conclusions for this vehicle as it is, then with one fact after another as it is there."""
    sets: dict[str, FactSet] = {}
    for name, cells in rows.items():
        both = [cells.row[place] for place in places]
        pick = np.array([0, *(int(name == swapped) for swapped in names)], dtype=np.int64)
        sets[name] = CategorySet(CellRows(pick, cells.possible[both], cells.weight[both]))
    reasoning = case.reasoning
    return reason(
        sets,
        len(names) + 1,
        reasoning.compiled[hazard.id],
        reasoning.tables[hazard.id],
        reasoning.needed_weight,
    )


def _says(hazard: Hazard, findings: set[str]) -> tuple[Held, ...]:
    return tuple(
        Held(name, finding.says) for name, finding in hazard.findings.items() if name in findings
    )
