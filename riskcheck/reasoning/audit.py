"""A fixed-seed sample of vehicle-hazard pairs, run live against the tables in every assessment."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from riskcheck.reasoning.engine import Engine, NoAnswerError
from riskcheck.reasoning.engine_rules import for_hazard
from riskcheck.reasoning.evidence import Evidence
from riskcheck.reasoning.tables import HazardTables
from riskcheck.reasoning.trace import ChainCase, chain_case, check_agreement, random_world
from riskcheck.rulebook.compiled import CompiledHazard

AUDITED_PAIRS = 200
_SEED = 20_261


def audit(
    evidence: Evidence,
    compiled: Mapping[str, CompiledHazard],
    tables: Mapping[str, HazardTables],
    engine: Engine,
    pairs: int = AUDITED_PAIRS,
) -> list[tuple[str, int]]:
    """Run ``pairs`` vehicle-hazard pairs through the live chain.

    Returns the (hazard, vehicle place) pairs that could not be checked because the engine was
    lost.  Raises InternalError naming hazard and finding on any difference from the tables.
    """
    answered = [name for name in compiled if not tables[name].unanswered]
    vehicles = len(evidence.vehicle_ids)
    if not answered or not vehicles:
        return []
    generator = np.random.default_rng(_SEED)
    total = len(answered) * vehicles
    chosen = np.sort(generator.choice(total, size=min(pairs, total), replace=False))
    lost: list[tuple[str, int]] = []
    for hazard_number in np.unique(chosen // vehicles):
        name = answered[hazard_number]
        places = (chosen[chosen // vehicles == hazard_number] % vehicles).tolist()
        lost += _audit_hazard(evidence, compiled[name], tables[name], places, engine, generator)
    return lost


def _audit_hazard(
    evidence: Evidence,
    compiled: CompiledHazard,
    tables: HazardTables,
    places: list[int],
    engine: Engine,
    generator: np.random.Generator,
) -> list[tuple[str, int]]:
    rows = {name: evidence.sets[name].cell_rows(band) for name, band in tables.bands.items()}
    cases = [
        chain_case(
            compiled,
            tables,
            evidence.sets,
            evidence.vehicle_ids[place],
            place,
            random_world(tables, rows, place, generator),
        )
        for place in places
    ]
    return [
        (compiled.hazard_id, place)
        for place, checked in zip(places, agreement(cases, evidence, engine), strict=True)
        if not checked
    ]


def agreement(cases: list[ChainCase], evidence: Evidence, engine: Engine) -> list[bool]:
    """Run cases of one hazard live; False where the engine gave no answer.

    Raises InternalError on any difference from the tables.
    """
    ruleset = for_hazard(cases[0].compiled, evidence.vocabulary)
    try:
        answers = engine.run(ruleset, [case.session for case in cases])
    except NoAnswerError:
        return [False] * len(cases)
    for case, fired in zip(cases, answers, strict=True):
        check_agreement(case, ruleset, fired)
    return [True] * len(cases)
