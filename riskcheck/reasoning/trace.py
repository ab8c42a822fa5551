"""The whole hazard as one forward-chaining engine session with a vehicle's real values.

Where the record is silent one world is run: the facts assumed for it are named.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from riskcheck.errors import InternalError
from riskcheck.reasoning.bands import Ints
from riskcheck.reasoning.engine import Engine, Session
from riskcheck.reasoning.engine_rules import RuleSet, for_hazard
from riskcheck.reasoning.sets import CellRows, FactSet
from riskcheck.reasoning.status import STATUS_NAMES, world_status
from riskcheck.reasoning.tables import HazardTables
from riskcheck.reasoning.worlds import MOST_WORLDS, expand
from riskcheck.rulebook.compiled import CompiledHazard, FindingLiteral
from riskcheck.vocabulary import Fact, Vocabulary

World = dict[str, int]
"""Fact name to cell."""


@dataclass(frozen=True)
class TracedFact:
    """A fact as it was told to the engine; ``assumed`` where the record leaves it open."""

    name: str
    words: str
    assumed: bool


@dataclass(frozen=True)
class Fired:
    """A rule that fired: its finding, its place in ``when``, what the finding says, and the
    literals that held, in words."""

    finding: str
    rule: int
    says: str
    because: str


@dataclass(frozen=True)
class Trace:
    """One live session: facts told, rules in order of firing, findings that hold, its status."""

    hazard_id: str
    vehicle_id: str
    facts: tuple[TracedFact, ...]
    fired: tuple[Fired, ...]
    findings: tuple[str, ...]
    status: str

    @property
    def assumed(self) -> tuple[str, ...]:
        """What was assumed where the record is silent, as "fact = value"."""
        return tuple(f"{fact.name} = {fact.words}" for fact in self.facts if fact.assumed)


@dataclass(frozen=True)
class ChainCase:
    """One vehicle in one world of one hazard, ready to be run."""

    compiled: CompiledHazard
    tables: HazardTables
    vehicle_id: str
    world: World
    values: Mapping[str, int | None]

    @property
    def session(self) -> Session:
        """Facts for the engine; what has no value is left out."""
        return [(name, value) for name, value in self.values.items() if value is not None]


def chain_case(
    compiled: CompiledHazard,
    tables: HazardTables,
    sets: Mapping[str, FactSet],
    vehicle_id: str,
    vehicle: int,
    world: World,
) -> ChainCase:
    """The vehicle's own values where its record reaches into the world's cells."""
    values = {
        name: sets[name].value_in(vehicle, cell, tables.bands[name]) for name, cell in world.items()
    }
    return ChainCase(compiled, tables, vehicle_id, world, values)


def run_chain(case: ChainCase, vocabulary: Vocabulary, engine: Engine) -> tuple[RuleSet, list[int]]:
    """One live session; the rule numbers that fired, checked against the tables.

    Raises NoAnswerError when the engine was lost, InternalError when the tables say otherwise.
    """
    ruleset = for_hazard(case.compiled, vocabulary)
    fired = engine.run(ruleset, [case.session])[0]
    check_agreement(case, ruleset, fired)
    return ruleset, fired


def check_agreement(case: ChainCase, ruleset: RuleSet, fired: list[int]) -> None:
    """Raises InternalError naming hazard and finding if the tables fire other rules."""
    live = {ruleset.origins[rule] for rule in fired}
    looked_up = rules_by_tables(case.tables, case.world)
    if live != looked_up:
        finding, _ = min(live ^ looked_up)
        raise InternalError(
            f"{case.tables.hazard_id}: the tables and the rules engine disagree on the finding "
            f"'{finding}'. This is a fault of riskcheck, not of your data. Please report it with "
            f"the hazard's rule file."
        )


def rules_by_tables(tables: HazardTables, world: World) -> set[tuple[str, int]]:
    """(finding, rule) pairs that fire in one world, by look-up."""
    cells: dict[str, Ints] = {name: np.array([cell]) for name, cell in world.items()}
    truths = tables.evaluate(cells or {"": np.zeros(1, dtype=np.int64)})
    fired: set[tuple[str, int]] = set()
    for table in tables.findings:
        mask = int(table.rules_fired(cells or {"": np.zeros(1, dtype=np.int64)}, truths)[0])
        fired |= {(table.name, rule) for rule in range(mask.bit_length()) if mask >> rule & 1}
    return fired


def likely_world(
    compiled: CompiledHazard,
    tables: HazardTables,
    rows: Mapping[str, CellRows],
    vehicle: int,
    wanted_status: str,
) -> World:
    """The heaviest world whose status is the wanted one, else the heaviest of all."""
    core = compiled.status_facts
    world = {name: _heaviest(rows[name], vehicle) for name in tables.bands}
    picked = np.array([[rows[name].row[vehicle] for name in core]], dtype=np.int64)
    counts = [int(rows[name].possible[rows[name].row[vehicle]].sum()) for name in core]
    if not core or np.prod(counts, dtype=np.float64) > MOST_WORLDS:
        return world
    worlds = expand(rows, core, picked)
    names = [t.name for t in tables.findings if t.name in compiled_status_names(tables)]
    status = np.array(STATUS_NAMES)[world_status(tables.evaluate(worlds.cells, names))]
    fitting = status == wanted_status
    weight = np.where(fitting, worlds.weight + 1e-300, -1.0) if fitting.any() else worlds.weight
    best = int(np.argmax(weight))
    world.update({name: int(cells[best]) for name, cells in worlds.cells.items()})
    return world


def random_world(
    tables: HazardTables,
    rows: Mapping[str, CellRows],
    vehicle: int,
    generator: np.random.Generator,
) -> World:
    """One of the vehicle's worlds, every possible cell of a fact equally likely."""
    world: World = {}
    for name in tables.bands:
        possible = np.flatnonzero(rows[name].possible[rows[name].row[vehicle]])
        world[name] = int(possible[generator.integers(len(possible))])
    return world


def traced(
    case: ChainCase, ruleset: RuleSet, fired: list[int], rows: Mapping[str, CellRows], vehicle: int
) -> Trace:
    """The session in words."""
    compiled, tables = case.compiled, case.tables
    says = {finding.name: finding.says for finding in compiled.findings}
    rules = [ruleset.origins[rule] for rule in fired]
    holding = {finding for finding, _ in rules}
    cells = {name: np.array([cell]) for name, cell in case.world.items()}
    status = world_status(tables.evaluate(cells or {"": np.zeros(1, dtype=np.int64)}))
    facts = tuple(
        TracedFact(
            name,
            value_words(tables.bands[name].fact, value),
            int(rows[name].possible[rows[name].row[vehicle]].sum()) > 1,
        )
        for name, value in case.values.items()
    )
    return Trace(
        compiled.hazard_id,
        case.vehicle_id,
        facts,
        tuple(
            Fired(finding, rule, says[finding], because(compiled, finding, rule, case))
            for finding, rule in rules
        ),
        tuple(f.name for f in compiled.findings if f.name in holding),
        STATUS_NAMES[int(status[0])],
    )


def because(compiled: CompiledHazard, finding: str, rule: int, case: ChainCase) -> str:
    """The literals of a rule that held, with the values they held for."""
    fired = next(r for r in compiled.finding(finding).rules if r.index == rule)
    parts: list[str] = []
    for literal in fired.literals:
        if isinstance(literal, FindingLiteral):
            parts.append(literal.finding if literal.wanted else f"not {literal.finding}")
            continue
        fact = case.tables.bands[literal.fact].fact
        value = value_words(fact, case.values[literal.fact])
        if isinstance(literal.constant, str) and literal.op == "==":
            parts.append(f"{literal.fact} = {value}")
        else:
            constant = (
                literal.constant
                if isinstance(literal.constant, str)
                else value_words(fact, literal.constant)
            )
            parts.append(f"{literal.fact} = {value} ({literal.op} {constant})")
    return ", ".join(dict.fromkeys(parts))


def value_words(fact: Fact, value: int | None) -> str:
    """A value as a person reads it."""
    if value is None:
        return "not on file"
    if fact.kind != "number":
        return fact.codes[value]
    unit = f" {fact.unit}" if fact.unit and fact.unit != "1" else ""
    return f"{value * fact.resolution:.12g}{unit}"


def compiled_status_names(tables: HazardTables) -> set[str]:
    """Reserved findings that decide a status, as far as the hazard has them."""
    reserved = {"applies", "closed", "unproven", "window_over"}
    return reserved & {table.name for table in tables.findings}


def _heaviest(rows: CellRows, vehicle: int) -> int:
    row = rows.row[vehicle]
    return int(np.argmax(np.where(rows.possible[row], rows.weight[row], -1.0)))
