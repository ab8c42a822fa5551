"""A hazard's case file, run through the tables and through the whole live chain."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from riskcheck.reasoning.audit import agreement
from riskcheck.reasoning.engine import Engine
from riskcheck.reasoning.evidence import stated
from riskcheck.reasoning.reasoned import FALSE, TRUE, Reasoned
from riskcheck.reasoning.reasoning import Reasoning, conclude
from riskcheck.reasoning.trace import ChainCase, chain_case, likely_world, random_world
from riskcheck.rulebook.book import Rulebook
from riskcheck.rulebook.model import Case

# Beside the likely world of every case, this many random ones go through the live chain.
RANDOM_WORLDS = 4
_SEED = 7


@dataclass(frozen=True)
class CaseResult:
    """One case and what came out differently from what it expects; empty when it passed."""

    hazard_id: str
    name: str
    differences: tuple[str, ...]

    @property
    def passed(self) -> bool:
        """Whether everything came out as expected."""
        return not self.differences


def run_cases(
    rulebook: Rulebook, hazard_id: str, engine: Engine, cache_dir: Path | None = None
) -> list[CaseResult]:
    """Conclude on every case of a hazard and confirm each in live sessions.

    Raises UsageError for a case with an unknown fact, InternalError when the live chain and the
    tables disagree.
    """
    cases = rulebook.cases[hazard_id]
    if not cases:
        return []
    compiled = rulebook.compiled(hazard_id)
    vehicles = {str(number): _plain(case.facts) for number, case in enumerate(cases)}
    evidence = stated(rulebook.vocabulary, vehicles, compiled.facts)
    reasoning = conclude(
        evidence, {hazard_id: compiled}, rulebook.policy.status_weight, engine, cache_dir, pairs=0
    )
    reasoned = reasoning.hazards[hazard_id]
    confirmed = _confirm(reasoning, hazard_id, engine)
    return [
        CaseResult(
            hazard_id, case.name, tuple(_differences(case, reasoned, number, confirmed[number]))
        )
        for number, case in enumerate(cases)
    ]


def _plain(facts: Any) -> dict[str, Any]:
    return dict(facts)


def _confirm(reasoning: Reasoning, hazard_id: str, engine: Engine) -> list[bool]:
    compiled, tables = reasoning.compiled[hazard_id], reasoning.tables[hazard_id]
    sets, names = reasoning.evidence.sets, reasoning.evidence.vehicle_ids
    if tables.unanswered:
        return [False] * len(names)
    rows = {name: sets[name].cell_rows(band) for name, band in tables.bands.items()}
    generator = np.random.default_rng(_SEED)
    runs: list[ChainCase] = []
    for place, name in enumerate(names):
        status = str(reasoning.hazards[hazard_id].status[place])
        worlds = [likely_world(compiled, tables, rows, place, status)]
        worlds += [random_world(tables, rows, place, generator) for _ in range(RANDOM_WORLDS)]
        runs += [chain_case(compiled, tables, sets, name, place, world) for world in worlds]
    answered = np.array(agreement(runs, reasoning.evidence, engine)).reshape(len(names), -1)
    return [all(bool(run) for run in runs_of_case) for runs_of_case in answered.tolist()]


def _differences(case: Case, reasoned: Reasoned, place: int, confirmed: bool) -> Sequence[str]:
    wanted, found = case.expect, []
    if str(reasoned.status[place]) != wanted.status:
        found.append(f"status is {reasoned.status[place]}, expected {wanted.status}")
    if str(reasoned.evidence[place]) != wanted.evidence:
        found.append(f"evidence is {reasoned.evidence[place]}, expected {wanted.evidence}")
    for names, truth, words in ((wanted.holds, TRUE, "hold"), (wanted.fails, FALSE, "fail")):
        for name in names:
            if name not in reasoned.findings:
                found.append(f"there is no finding called {name}")
            elif reasoned.findings[name][place] != truth:
                found.append(f"finding {name} does not {words} in every world")
    if wanted.questions is not None and set(wanted.questions) != set(reasoned.questions[place]):
        asked = ", ".join(reasoned.questions[place]) or "none"
        found.append(f"questions are {asked}, expected {', '.join(wanted.questions) or 'none'}")
    if not confirmed:
        found.append("the rules engine gave no answer for the whole chain")
    return found
