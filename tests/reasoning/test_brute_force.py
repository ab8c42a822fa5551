"""Tables and live engine sessions against an independent brute force.

The evaluator below works on raw values straight from the hazard files: it shares no band, table,
world or compile code with the package.  Expected values come from it alone.
"""

from __future__ import annotations

import functools
import itertools
import math
import random
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from riskcheck import rulebook
from riskcheck.reasoning.engine import Engine
from riskcheck.reasoning.engine_rules import for_hazard
from riskcheck.reasoning.evidence import stated
from riskcheck.reasoning.reasoned import reason
from riskcheck.reasoning.reasoning import compile_all
from riskcheck.reasoning.tables import tables_for
from riskcheck.rulebook.compiled import compile_hazard
from riskcheck.rulebook.model import Condition, Finding
from riskcheck.vocabulary import Derivation, Fact, Reporting, Vocabulary

BATCHES, VEHICLES_PER_BATCH = 20, 100  # 2,000 vehicles, each against every hazard
MOST_BRUTE_WORLDS = 12

# ------------------------------------------------------------------ the brute force


def truths_of(findings: dict[str, Finding], facts: dict[str, Any]) -> dict[str, bool]:
    """Every finding of one vehicle in one world, each worked out once, in any order."""
    truths: dict[str, bool] = {}

    def holds(name: str) -> bool:
        if name not in truths:
            truths[name] = any(
                all(entry_holds(key, wanted) for key, wanted in rule.items())
                for rule in findings[name].when
            )
        return truths[name]

    def entry_holds(key: str, wanted: Any) -> bool:
        if key in findings:
            return holds(key) is wanted
        value = facts[key]
        if value is None:  # not on file: no comparison holds
            return False
        if not isinstance(wanted, Condition):
            return bool(value == wanted)
        return (
            (wanted.at_least is None or value >= wanted.at_least)
            and (wanted.above is None or value > wanted.above)
            and (wanted.at_most is None or value <= wanted.at_most)
            and (wanted.below is None or value < wanted.below)
            and (wanted.is_not is None or value != wanted.is_not)
        )

    return {name: holds(name) for name in findings}


def world_status(truths: dict[str, bool]) -> str:
    if not truths["applies"]:
        return "not_applicable"
    if truths.get("closed") or truths.get("window_over"):
        return "closed"
    return "unproven" if truths.get("unproven") else "exposed"


def status_of(weights: dict[str, float]) -> str:
    """The asymmetric rule over the statuses that are possible at all (keys) and their weights."""
    if set(weights) <= {"not_applicable"}:
        return "not_applicable"
    if set(weights) <= {"not_applicable", "closed"}:
        return "closed"
    exposed, unproven = weights.get("exposed", 0.0), weights.get("unproven", 0.0)
    if exposed + unproven >= 0.90 - 1e-9:
        return "exposed" if exposed >= unproven else "unproven"
    return "unknown"


# ------------------------------------------------------------------ silence and random vehicles


def possible_values(fact: Fact, said: Any, near: list[float]) -> list[tuple[Any, float]]:
    """Possible raw values with weights; weights are NaN where only possibility is checked."""
    if said is not None:
        listed = said if isinstance(said, list) else [said]
        if fact.kind == "number":
            return [(value, 1 / len(listed)) for value in listed]
        shares = [share_of(fact, value) for value in listed]
        even = sum(shares) == 0
        return [
            (value, 1 / len(listed) if even else share / sum(shares))
            for value, share in zip(listed, shares, strict=True)
        ]
    if fact.silence == "on_file":
        return [(False if fact.kind == "flag" else None, 1.0)]
    if fact.kind == "number":
        absent = [] if fact.silence == "at_random" else [(None, math.nan)]
        return [(value, math.nan) for value in near] + absent
    if fact.kind == "flag" and fact.reporting:
        r = fact.reporting
        unseen_true = r.base * (1 - r.seen_if_true)
        unseen_false = (1 - r.base) * (1 - r.seen_if_false)
        true = unseen_true / (unseen_true + unseen_false)
        return [(True, true), (False, 1 - true)]
    values = [True, False] if fact.kind == "flag" else list(fact.values)
    total = sum(share_of(fact, value) for value in values)
    return [(value, share_of(fact, value) / total) for value in values]


def share_of(fact: Fact, value: Any) -> float:
    word = {True: "yes", False: "no"}.get(value, value) if fact.kind == "flag" else value
    return fact.base.get(word, 0.0) if fact.base else 1.0


def near_constants(fact: Fact, findings: dict[str, Finding]) -> list[float]:
    """Every constant the findings compare with, the step below and above, and both ends."""
    if fact.kind != "number":
        return []
    constants: set[float] = set()
    for finding in findings.values():
        for rule in finding.when:
            wanted = rule.get(fact.name)
            if isinstance(wanted, Condition):
                constants |= {v for v in wanted.model_dump().values() if v is not None}
            elif wanted is not None:
                constants.add(wanted)
    steps = {round(c / fact.resolution) + d for c in constants for d in (-1, 0, 1)}
    steps |= {round(fact.low / fact.resolution), round(fact.high / fact.resolution)}
    values = sorted(round(step * fact.resolution, 9) for step in steps)
    return [value for value in values if fact.low <= value <= fact.high]


def random_said(fact: Fact, near: list[float], rng: random.Random) -> Any:
    choice = rng.random()
    if choice < 0.08:
        return None
    pool = {"flag": [True, False], "category": list(fact.values)}.get(fact.kind, near)
    if choice < 0.12 and len(pool) > 1:
        return rng.sample(pool, 2)
    return rng.choice(pool)


def check_batch(hazard, vocabulary, rng, vehicles, engine, cache_dir=None) -> int:
    """Random vehicles against one hazard; returns how many were compared in full."""
    compiled = compile_hazard(hazard, vocabulary)
    tables = tables_for([compiled], vocabulary, engine, cache_dir)[hazard.id]
    near = {name: near_constants(vocabulary[name], hazard.findings) for name in compiled.facts}
    said = [
        {name: random_said(vocabulary[name], near[name], rng) for name in compiled.facts}
        for _ in range(vehicles)
    ]
    evidence = stated(vocabulary, {str(i): facts for i, facts in enumerate(said)}, compiled.facts)
    reasoned = reason(evidence.sets, vehicles, compiled, tables, 0.90)
    compared = 0
    for place, facts in enumerate(said):
        options = {
            name: possible_values(vocabulary[name], facts[name], near[name])
            for name in compiled.facts
        }
        compared += check_vehicle(hazard, compiled, reasoned, place, options)
    check_live_chain(hazard, compiled, vocabulary, said, near, rng, engine)
    return compared


def check_vehicle(hazard, compiled, reasoned, place, options) -> int:
    core = compiled.status_facts
    extra = [name for name in compiled.facts if name not in core]
    names = (*core, *extra)
    if math.prod(len(options[name]) for name in names) > MOST_BRUTE_WORLDS:
        return 0
    weights: dict[str, float] = {}
    by_world: dict[tuple[Any, ...], str] = {}
    worlds: list[tuple[str, dict[str, bool]]] = []
    for world in itertools.product(*(options[name] for name in names)):
        facts = {name: value for name, (value, _) in zip(names, world, strict=True)}
        truths = truths_of(hazard.findings, facts)
        status = world_status(truths)
        worlds.append((status, truths))
        share = math.prod(share for _, share in world[: len(core)])
        core_world = tuple(value for value, _ in world[: len(core)])
        if core_world not in by_world:
            weights[status] = weights.get(status, 0.0) + share
        by_world[core_world] = status
    weighed = not any(math.isnan(weight) for weight in weights.values())
    found = str(reasoned.status[place])
    if weighed:
        live = weights.get("exposed", 0.0) + weights.get("unproven", 0.0)
        assert abs(reasoned.exposed_prior[place] - live) < 1e-9
        assert found == status_of(weights)
        assert set(reasoned.questions[place]) == pivotal(core, by_world)
    elif set(weights) <= {"not_applicable", "closed"}:
        assert found == ("closed" if "closed" in weights else "not_applicable")
    elif len(weights) == 1:
        assert found == next(iter(weights))
    else:
        assert found not in ("not_applicable", "closed")
    check_findings(hazard, reasoned, place, worlds)
    return 1


def pivotal(core: tuple[str, ...], by_world: dict[tuple[Any, ...], str]) -> set[str]:
    """Facts in which alone two worlds differ while their status differs."""
    facts = set()
    for place, name in enumerate(core):
        groups: dict[tuple[Any, ...], set[str]] = {}
        for world, status in by_world.items():
            groups.setdefault(world[:place] + world[place + 1 :], set()).add(status)
        if any(len(group) > 1 for group in groups.values()):
            facts.add(name)
    return facts


def check_findings(hazard, reasoned, place, worlds) -> None:
    """Every authored finding over all worlds; factors and evidence over the live ones."""
    live = [truths for status, truths in worlds if status in ("exposed", "unproven")]
    domain = live or [truths for status, truths in worlds if status == "closed"]
    for name in hazard.findings:
        everywhere = {truths[name] for _, truths in worlds}
        assert reasoned.findings[name][place] == trit(everywhere), name
        assert (name in reasoned.findings_hold[place]) is (everywhere == {True})
        if name in reasoned.factors and domain:
            assert reasoned.factors[name][place] == trit({truths[name] for truths in domain}), name
    surely = {
        name
        for name in ("sign", "confirmed")
        if name in hazard.findings and domain and all(truths[name] for truths in domain)
    }
    expected = "confirmed" if "confirmed" in surely else "sign" if surely else "none"
    assert reasoned.evidence[place] == expected


def trit(truths: set[bool]) -> int:
    return -1 if len(truths) == 2 else int(True in truths)


def check_live_chain(hazard, compiled, vocabulary, said, near, rng, engine) -> None:
    """One random world of every vehicle as a live whole-hazard session, against brute force."""
    ruleset = for_hazard(compiled, vocabulary)
    worlds = [
        {
            name: rng.choice(possible_values(vocabulary[name], facts[name], near[name]))[0]
            for name in compiled.facts
        }
        for facts in said
    ]
    sessions = [
        [(name, engine_value(vocabulary[name], v)) for name, v in world.items() if v is not None]
        for world in worlds
    ]
    for world, fired in zip(worlds, engine.run(ruleset, sessions), strict=True):
        live = {ruleset.origins[rule][0] for rule in fired} - {"exposed", "not_applicable"}
        brute = truths_of(hazard.findings, world)
        assert live == {name for name, truth in brute.items() if truth}


def engine_value(fact: Fact, value: Any) -> int:
    if fact.kind == "flag":
        return int(value)
    return fact.values.index(value) if fact.kind == "category" else round(value / fact.resolution)


# ------------------------------------------------------------------ the shipped rulebook


@pytest.fixture(scope="module")
def engine():
    with Engine() as shared:
        yield shared


@pytest.fixture(scope="module")
def kept(tmp_path_factory):
    """A folder for filled tables, so that later batches also test what the cache hands back."""
    return tmp_path_factory.mktemp("tables")


@functools.cache
def book():
    return rulebook.load()


@settings(
    max_examples=BATCHES, deadline=None, derandomize=True, suppress_health_check=list(HealthCheck)
)
@given(seed=st.integers(0, 2**32))
def test_every_hazard_agrees_with_brute_force(engine, kept, seed):
    rng = random.Random(seed)
    for hazard in book().hazards.values():
        compared = check_batch(hazard, book().vocabulary, rng, VEHICLES_PER_BATCH, engine, kept)
        assert compared > VEHICLES_PER_BATCH / 2, f"{hazard.id}: too few vehicles were comparable"


def test_every_shipped_hazard_compiles():
    assert set(compile_all(book())) == set(book().hazards)


# ------------------------------------------------------------------ random rulebooks

RESERVED = ["applies", "closed", "unproven", "sign", "confirmed"]


def invented_vocabulary(rng: random.Random) -> Vocabulary:
    facts = {}
    for number in range(5):
        kind = rng.choice(["flag", "category", "number"])
        silence = rng.choice(["on_file", "coverage", "at_random"])
        values = ("alpha", "beta", "gamma") if kind == "category" else ()
        reporting = Reporting(0.3, 0.8, 0.1) if silence == "coverage" and kind == "flag" else None
        facts[f"fact_{number}"] = Fact(
            f"fact_{number}",
            kind,
            "invented",
            Derivation("column"),
            silence,
            low=0.0,
            high=2.0,
            resolution=0.1,
            values=values,
            reporting=reporting,
        )
    return Vocabulary(facts)


def invented_rule(vocabulary: Vocabulary, earlier: list[str], rng: random.Random) -> dict[str, Any]:
    rule: dict[str, Any] = {}
    for _ in range(rng.randint(1, 2)):
        if earlier and rng.random() < 0.35:
            rule[rng.choice(earlier)] = rng.random() < 0.5
            continue
        fact = rng.choice(list(vocabulary.values()))
        if fact.kind == "flag":
            rule[fact.name] = rng.random() < 0.5
        elif fact.kind == "category":
            value = rng.choice(fact.values)
            rule[fact.name] = Condition(is_not=value) if rng.random() < 0.3 else value
        else:
            constant = round(rng.choice([0, 3, 4, 20]) * 0.1, 1)
            key = rng.choice(["at_least", "above", "at_most", "below", "is_not"])
            rule[fact.name] = constant if rng.random() < 0.1 else Condition(**{key: constant})
    return rule


def invented_hazard(vocabulary: Vocabulary, rng: random.Random):
    findings: dict[str, Finding] = {}
    names = [f"step_{n}" for n in range(3)] + RESERVED + ["factor_one"]
    for name in names:
        rules = [invented_rule(vocabulary, list(findings), rng) for _ in range(rng.randint(1, 2))]
        findings[name] = Finding(says="invented", when=rules)
    pattern = next(iter(book().hazards.values()))
    return pattern.model_copy(update={"id": "invented", "findings": findings, "factors": []})


@settings(max_examples=60, deadline=None, derandomize=True, suppress_health_check=list(HealthCheck))
@given(seed=st.integers(0, 2**32))
def test_random_rulebooks_agree_with_brute_force(engine, seed):
    rng = random.Random(seed)
    vocabulary = invented_vocabulary(rng)
    hazard = invented_hazard(vocabulary, rng)
    check_batch(hazard, vocabulary, rng, 25, engine)
