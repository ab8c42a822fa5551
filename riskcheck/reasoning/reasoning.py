"""Everything reasoned about a fleet, and the questions one may ask of it afterwards."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd

from riskcheck.errors import UsageError
from riskcheck.fleet.model import Fleet
from riskcheck.reasoning.audit import AUDITED_PAIRS, audit
from riskcheck.reasoning.engine import Engine
from riskcheck.reasoning.evidence import Evidence, build, stated
from riskcheck.reasoning.reasoned import Reasoned, reason
from riskcheck.reasoning.tables import HazardTables, tables_for
from riskcheck.reasoning.trace import Trace, chain_case, likely_world, run_chain, traced
from riskcheck.rulebook.book import Rulebook
from riskcheck.rulebook.compiled import CompiledHazard
from riskcheck.usage import Usage


@dataclass(frozen=True)
class Reasoning:
    """Conclusions on every hazard, with all that is needed to explain them.

    ``unanswered``: (hazard, finding) pairs for which the engine was lost; ``unaudited``:
    (hazard, vehicle) pairs that lost their answer because the live chain could not confirm it.
    """

    hazards: Mapping[str, Reasoned]
    evidence: Evidence
    compiled: Mapping[str, CompiledHazard]
    tables: Mapping[str, HazardTables]
    needed_weight: float
    audited_pairs: int
    unanswered: tuple[tuple[str, str], ...]
    unaudited: tuple[tuple[str, str], ...]

    def place(self, vehicle_id: str) -> int:
        """The place of a vehicle; UsageError if there is none of that id."""
        try:
            return self.evidence.vehicle_ids.index(vehicle_id)
        except ValueError as error:
            raise UsageError(f"there is no vehicle {vehicle_id!r} in this fleet") from error


def reason_all(
    fleet: Fleet,
    usage: Usage,
    rulebook: Rulebook,
    as_of: date,
    cache_dir: Path | None = None,
    *,
    corrections: pd.DataFrame | None = None,
    engine: Engine | None = None,
) -> Reasoning:
    """Evidence, tables, conclusions and audit for a whole fleet.

    ``cache_dir``: where filled tables are kept (None: nowhere).  ``corrections``: vehicle_id,
    fact, value, words.  Raises InternalError when the live chain and the tables disagree.
    """
    compiled = compile_all(rulebook)
    facts = sorted({fact for hazard in compiled.values() for fact in hazard.facts})
    evidence = build(fleet, usage, rulebook, as_of, facts=facts, corrections=corrections)
    if engine is not None:
        return conclude(evidence, compiled, rulebook.policy.status_weight, engine, cache_dir)
    with Engine() as own_engine:
        return conclude(evidence, compiled, rulebook.policy.status_weight, own_engine, cache_dir)


def compile_all(rulebook: Rulebook) -> dict[str, CompiledHazard]:
    """Every hazard of the rulebook, compiled."""
    return {hazard_id: rulebook.compiled(hazard_id) for hazard_id in rulebook.hazards}


def conclude(
    evidence: Evidence,
    compiled: Mapping[str, CompiledHazard],
    needed_weight: float,
    engine: Engine,
    cache_dir: Path | None = None,
    pairs: int = AUDITED_PAIRS,
) -> Reasoning:
    """Conclusions from evidence: fill or fetch tables, look up, audit ``pairs`` pairs live."""
    tables = tables_for(list(compiled.values()), evidence.vocabulary, engine, cache_dir)
    vehicles = len(evidence.vehicle_ids)
    hazards = {
        name: reason(evidence.sets, vehicles, hazard, tables[name], needed_weight)
        for name, hazard in compiled.items()
    }
    lost = audit(evidence, compiled, tables, engine, pairs)
    for name in dict.fromkeys(hazard for hazard, _ in lost):
        places = [place for hazard, place in lost if hazard == name]
        hazards[name] = without_answers(hazards[name], places)
    return Reasoning(
        hazards,
        evidence,
        compiled,
        tables,
        needed_weight,
        min(pairs, vehicles * len(compiled)) - len(lost),
        tuple((name, finding) for name, table in tables.items() for finding in table.unanswered),
        tuple((name, evidence.vehicle_ids[place]) for name, place in lost),
    )


def without_answers(reasoned: Reasoned, places: list[int]) -> Reasoned:
    """The same with "no answer" for the vehicles at ``places``."""
    taken = np.zeros(len(reasoned.status), dtype=np.bool_)
    taken[places] = True
    worlds, kept = reasoned.worlds, ~taken[reasoned.worlds.vehicle]
    return replace(
        reasoned,
        status=np.where(taken, "no_answer", reasoned.status),
        evidence=np.where(taken, "none", reasoned.evidence),
        exposed_prior=np.where(taken, np.nan, reasoned.exposed_prior),
        status_weights=np.where(taken[:, None], np.nan, reasoned.status_weights),
        questions=[() if t else q for t, q in zip(taken, reasoned.questions, strict=True)],
        findings_hold=[() if t else f for t, f in zip(taken, reasoned.findings_hold, strict=True)],
        closed_reason=np.where(taken, "", reasoned.closed_reason),
        worlds=replace(
            worlds,
            vehicle=worlds.vehicle[kept],
            exposed=worlds.exposed[kept],
            weight=worlds.weight[kept],
            answers={name: cells[kept] for name, cells in worlds.answers.items()},
        ),
    )


def chain(
    hazard_id: str, vehicle_id: str, reasoning: Reasoning, engine: Engine | None = None
) -> Trace:
    """A live session of the whole hazard for one vehicle.

    Runs the heaviest world of the concluded status.  Raises UsageError for an unknown hazard or
    vehicle, NoAnswerError when the engine was lost, InternalError on a difference from the tables.
    """
    if hazard_id not in reasoning.compiled:
        raise UsageError(f"there is no hazard {hazard_id!r} in this rulebook")
    place = reasoning.place(vehicle_id)
    compiled, tables = reasoning.compiled[hazard_id], reasoning.tables[hazard_id]
    sets = reasoning.evidence.sets
    rows = {name: sets[name].cell_rows(band) for name, band in tables.bands.items()}
    status = str(reasoning.hazards[hazard_id].status[place])
    world = likely_world(compiled, tables, rows, place, status)
    case = chain_case(compiled, tables, sets, vehicle_id, place, world)
    vocabulary = reasoning.evidence.vocabulary
    if engine is not None:
        return traced(case, *run_chain(case, vocabulary, engine), rows, place)
    with Engine() as own_engine:
        return traced(case, *run_chain(case, vocabulary, own_engine), rows, place)


@dataclass(frozen=True)
class Tried:
    """What is concluded from typed facts about one vehicle, with the live session."""

    status: str
    evidence: str
    exposed_prior: float
    questions: tuple[str, ...]
    trace: Trace
    reasoning: Reasoning


def try_facts(
    rulebook: Rulebook,
    hazard_id: str,
    facts: Mapping[str, Any],
    cache_dir: Path | None = None,
) -> Tried:
    """Conclude on one vehicle described by ``facts`` (fact name to value, list or None).

    Raises UsageError for an unknown hazard or fact, or a value that does not fit.
    """
    if hazard_id not in rulebook.hazards:
        raise UsageError(f"there is no hazard {hazard_id!r} in this rulebook")
    compiled = rulebook.compiled(hazard_id)
    evidence = stated(rulebook.vocabulary, {"this vehicle": facts}, compiled.facts)
    with Engine() as engine:
        reasoning = conclude(
            evidence, {hazard_id: compiled}, rulebook.policy.status_weight, engine, cache_dir
        )
        trace = chain(hazard_id, "this vehicle", reasoning, engine)
    reasoned = reasoning.hazards[hazard_id]
    return Tried(
        str(reasoned.status[0]),
        str(reasoned.evidence[0]),
        float(reasoned.exposed_prior[0]),
        reasoned.questions[0],
        trace,
        reasoning,
    )
