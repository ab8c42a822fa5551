"""A hazard's findings as the reasoner needs them: ordered, stratified, in whole steps.

Everything the reasoner asks the engine comes from here and from the vocabulary; the wording,
figures and remedies of the hazard play no part in what is concluded.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Literal

from riskcheck.errors import RulebookError
from riskcheck.rulebook.model import (
    APPLIES,
    CLOSED,
    CONFIRMED,
    SIGN,
    UNPROVEN,
    WINDOW_OVER,
    Condition,
    Finding,
    Hazard,
    Scalar,
)
from riskcheck.vocabulary import Fact, Vocabulary

Op = Literal["==", "!=", "<", "<=", ">", ">="]
Literals = tuple["FactLiteral | FindingLiteral", ...]

EXPOSED, NOT_APPLICABLE = "exposed", "not_applicable"
AUTOMATIC = (EXPOSED, NOT_APPLICABLE)
STATUS_FINDINGS = (APPLIES, CLOSED, UNPROVEN, WINDOW_OVER)
EVIDENCE_FINDINGS = (SIGN, CONFIRMED)

_COMPARISONS: tuple[tuple[str, Op], ...] = (
    ("at_least", ">="),
    ("above", ">"),
    ("at_most", "<="),
    ("below", "<"),
    ("is_not", "!="),
)


@dataclass(frozen=True)
class FactLiteral:
    """``fact op constant``: whole steps of a number's resolution, or the word of a category.

    A flag's words are "yes" and "no".
    """

    fact: str
    op: Op
    constant: int | str


@dataclass(frozen=True)
class FindingLiteral:
    """``finding`` holds (``wanted`` true) or does not."""

    finding: str
    wanted: bool


@dataclass(frozen=True)
class CompiledRule:
    """All ``literals`` must hold; ``index`` is the rule's place in the finding's ``when``."""

    finding: str
    index: int
    literals: Literals


@dataclass(frozen=True)
class CompiledFinding:
    """One finding: it holds when all literals of any one rule hold.

    ``stratum`` counts from 1: one more than the highest stratum of any finding it negates, and
    no less than that of any finding it requires.
    """

    name: str
    says: str
    stratum: int
    rules: tuple[CompiledRule, ...]
    automatic: bool = False

    @property
    def facts_read(self) -> tuple[str, ...]:
        """Facts this finding reads itself, sorted."""
        return tuple(sorted({literal.fact for literal in self.fact_literals()}))

    @property
    def findings_read(self) -> tuple[str, ...]:
        """Earlier findings this finding reads, sorted."""
        return tuple(sorted({literal.finding for literal in self.finding_literals()}))

    def fact_literals(self) -> Iterator[FactLiteral]:
        """Every comparison with a fact in any rule."""
        return (lit for rule in self.rules for lit in rule.literals if isinstance(lit, FactLiteral))

    def finding_literals(self) -> Iterator[FindingLiteral]:
        """Every earlier finding named in any rule."""
        literals = (literal for rule in self.rules for literal in rule.literals)
        return (literal for literal in literals if isinstance(literal, FindingLiteral))


@dataclass(frozen=True)
class CompiledHazard:
    """All findings of a hazard in dependency order, automatic ones included.

    ``constants``: for each number fact read, its thresholds in steps, ascending.
    ``status_facts``: facts read, directly or through findings, by applies, closed, unproven and
    window_over: the facts that make worlds.  ``factor_findings``: findings that carry a factor.
    """

    hazard_id: str
    findings: tuple[CompiledFinding, ...]
    constants: Mapping[str, tuple[int, ...]]
    status_facts: tuple[str, ...]
    factor_findings: tuple[str, ...]

    @property
    def facts(self) -> tuple[str, ...]:
        """Every fact read by any finding, in the order in which findings first read them."""
        return tuple(dict.fromkeys(f for finding in self.findings for f in finding.facts_read))

    @property
    def strata(self) -> int:
        """The highest stratum in use."""
        return max(finding.stratum for finding in self.findings)

    def finding(self, name: str) -> CompiledFinding:
        """The finding of that name; KeyError if there is none."""
        for finding in self.findings:
            if finding.name == name:
                return finding
        raise KeyError(name)

    def has(self, name: str) -> bool:
        """Whether a finding of that name is defined."""
        return any(finding.name == name for finding in self.findings)

    def facts_behind(self, *names: str) -> tuple[str, ...]:
        """Facts that these findings read directly or through other findings, sorted."""
        return _facts_behind({finding.name: finding for finding in self.findings}, names)


def compile_hazard(hazard: Hazard, vocabulary: Vocabulary) -> CompiledHazard:
    """Compile a checked hazard.

    Raises RulebookError on a cycle or on a name that is neither fact nor finding.
    """
    order = dependency_order(hazard.findings)
    if order is None:
        raise RulebookError([f"{hazard.id}: findings depend on each other in a circle"])
    strata: dict[str, int] = {}
    compiled: list[CompiledFinding] = []
    for name in order:
        finding = hazard.findings[name]
        rules = tuple(
            CompiledRule(name, index, _literals(hazard, rule, vocabulary))
            for index, rule in enumerate(finding.when)
        )
        compiled.append(_stratified(name, finding.says, rules, strata))
    for name, says, literals in _automatic_rules(hazard):
        rules = (CompiledRule(name, 0, literals),)
        compiled.append(_stratified(name, says, rules, strata, automatic=True))
    by_name = {finding.name: finding for finding in compiled}
    return CompiledHazard(
        hazard_id=hazard.id,
        findings=tuple(compiled),
        constants=_constants(compiled),
        status_facts=_facts_behind(by_name, [n for n in STATUS_FINDINGS if n in by_name]),
        factor_findings=tuple(sorted({factor.finding for factor in hazard.factors})),
    )


def dependency_order(findings: Mapping[str, Finding]) -> list[str] | None:
    """Findings so that each comes after those it reads, else in file order; None on a cycle."""
    waiting = {name: _reads(finding, findings) for name, finding in findings.items()}
    order: list[str] = []
    while waiting:
        ready = next((name for name, reads in waiting.items() if reads <= set(order)), None)
        if ready is None:
            return None
        order.append(ready)
        del waiting[ready]
    return order


def literals_of(name: str, wanted: Scalar | Condition, fact: Fact) -> list[FactLiteral]:
    """The comparisons that one entry of a rule makes with a fact.

    Raises ValueError when the constant does not fit the fact's kind.
    """
    if not isinstance(wanted, Condition):
        return [FactLiteral(name, "==", constant_of(fact, wanted))]
    return [
        FactLiteral(name, op, constant_of(fact, constant))
        for key, op in _COMPARISONS
        if (constant := getattr(wanted, key)) is not None
    ]


def constant_of(fact: Fact, value: Scalar) -> int | str:
    """A constant as the engine sees it: whole steps of a number, the word of a category.

    Raises ValueError when ``value`` does not fit the fact.
    """
    if fact.kind == "flag":
        if not isinstance(value, bool):
            raise ValueError(f"{fact.name} is a flag: write true or false, not {value!r}")
        return "yes" if value else "no"
    if fact.kind == "category":
        if not isinstance(value, str) or value not in fact.values:
            raise ValueError(f"{fact.name} has no value {value!r}")
        return value
    if isinstance(value, bool | str):
        raise ValueError(f"{fact.name} is a number in {fact.unit or 'units'}, not {value!r}")
    return fact.steps(value)


def _reads(finding: Finding, findings: Mapping[str, Finding]) -> set[str]:
    return {name for rule in finding.when for name in rule if name in findings}


def _literals(
    hazard: Hazard, rule: Mapping[str, Scalar | Condition], vocabulary: Vocabulary
) -> Literals:
    literals: list[FactLiteral | FindingLiteral] = []
    for name, wanted in rule.items():
        if name in hazard.findings:
            if not isinstance(wanted, bool):
                raise RulebookError([f"{hazard.id}: finding {name} must be true or false"])
            literals.append(FindingLiteral(name, wanted))
        elif name in vocabulary:
            try:
                literals += literals_of(name, wanted, vocabulary[name])
            except ValueError as error:
                raise RulebookError([f"{hazard.id}: {error}"]) from error
        else:
            raise RulebookError([f"{hazard.id}: '{name}' is neither a fact nor a finding"])
    return tuple(literals)


def _automatic_rules(hazard: Hazard) -> list[tuple[str, str, Literals]]:
    ruled_out = [name for name in (CLOSED, UNPROVEN, WINDOW_OVER) if name in hazard.findings]
    exposed: Literals = (
        FindingLiteral(APPLIES, True),
        *(FindingLiteral(name, False) for name in ruled_out),
    )
    other_design: Literals = (FindingLiteral(APPLIES, False),)
    return [
        (EXPOSED, "The hazard applies and nothing on file closes it.", exposed),
        (NOT_APPLICABLE, "The vehicle does not have the design.", other_design),
    ]


def _stratified(
    name: str,
    says: str,
    rules: tuple[CompiledRule, ...],
    strata: dict[str, int],
    *,
    automatic: bool = False,
) -> CompiledFinding:
    """The finding with its stratum, which is also noted in ``strata``."""
    stratum = 1
    for rule in rules:
        for literal in rule.literals:
            if isinstance(literal, FindingLiteral):
                stratum = max(stratum, strata[literal.finding] + (0 if literal.wanted else 1))
    strata[name] = stratum
    return CompiledFinding(name, says, stratum, rules, automatic)


def _constants(findings: list[CompiledFinding]) -> dict[str, tuple[int, ...]]:
    cuts: dict[str, set[int]] = {}
    for finding in findings:
        for literal in finding.fact_literals():
            if isinstance(literal.constant, int):
                cuts.setdefault(literal.fact, set()).add(literal.constant)
    return {fact: tuple(sorted(values)) for fact, values in sorted(cuts.items())}


def _facts_behind(
    findings: Mapping[str, CompiledFinding], names: list[str] | tuple[str, ...]
) -> tuple[str, ...]:
    facts: set[str] = set()
    waiting, seen = list(names), set(names)
    while waiting:
        finding = findings[waiting.pop()]
        facts.update(finding.facts_read)
        waiting += [name for name in finding.findings_read if name not in seen]
        seen.update(finding.findings_read)
    return tuple(sorted(facts))
