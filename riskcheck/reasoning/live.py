"""Live sessions of one hazard for several vehicles in one go: what explanations show."""

from __future__ import annotations

from collections.abc import Sequence

from riskcheck.reasoning.engine import Engine
from riskcheck.reasoning.engine_rules import for_hazard
from riskcheck.reasoning.reasoning import Reasoning
from riskcheck.reasoning.trace import Trace, chain_case, check_agreement, likely_world, traced


def chains(
    hazard_id: str, vehicle_ids: Sequence[str], reasoning: Reasoning, engine: Engine
) -> list[Trace]:
    """``chain`` for each of ``vehicle_ids``, asked of the engine as one request.

    Raises UsageError for an unknown vehicle, NoAnswerError when the engine was lost,
    InternalError on a difference from the tables.
    """
    compiled, tables = reasoning.compiled[hazard_id], reasoning.tables[hazard_id]
    sets, vocabulary = reasoning.evidence.sets, reasoning.evidence.vocabulary
    rows = {name: sets[name].cell_rows(band) for name, band in tables.bands.items()}
    places = [reasoning.place(vehicle_id) for vehicle_id in vehicle_ids]
    status = reasoning.hazards[hazard_id].status
    cases = [
        chain_case(
            compiled, tables, sets, vehicle_id, place,
            likely_world(compiled, tables, rows, place, str(status[place])),
        )
        for vehicle_id, place in zip(vehicle_ids, places, strict=True)
    ]  # fmt: skip
    ruleset = for_hazard(compiled, vocabulary)
    fired = engine.run(ruleset, [case.session for case in cases])
    for case, rules in zip(cases, fired, strict=True):
        check_agreement(case, ruleset, rules)
    return [
        traced(case, ruleset, rules, rows, place)
        for case, rules, place in zip(cases, fired, places, strict=True)
    ]
