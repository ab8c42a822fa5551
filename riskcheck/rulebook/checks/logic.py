"""Checks of the logic between findings: what can fire, and in which order."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from riskcheck.rulebook.checks.base import HazardCheck
from riskcheck.rulebook.checks.values import condition_faults, steps_met
from riskcheck.rulebook.compiled import EVIDENCE_FINDINGS, STATUS_FINDINGS, dependency_order
from riskcheck.rulebook.folder import Draft, HazardSource
from riskcheck.rulebook.model import APPLIES, CLOSED, UNPROVEN, Condition, Finding, Scalar
from riskcheck.vocabulary import Fact, Vocabulary
from riskcheck.yamlfile import Fault

Rule = Mapping[str, Scalar | Condition]


class Cycles(HazardCheck):
    """Findings may not depend on each other in a circle."""

    def in_hazard(self, source: HazardSource, draft: Draft) -> Iterator[Fault]:
        findings = source.hazard.findings
        if dependency_order(findings) is not None:
            return
        circle = _circle(findings)
        what = "findings depend on each other in a circle: " + " reads ".join(circle)
        instead = "let one of them read facts instead"
        yield source.document.fault(("findings", circle[0]), what, instead)


class RequiredAndNegated(HazardCheck):
    """A finding may not both require and negate another, directly or through others.

    A rule that does so can never fire in a stratified reading, and the engine may fire it or
    not depending on the order of arrival.
    """

    def in_hazard(self, source: HazardSource, draft: Draft) -> Iterator[Fault]:
        findings = source.hazard.findings
        if dependency_order(findings) is None:
            return
        for name, finding in findings.items():
            for index, rule in enumerate(finding.when):
                required = _required(rule, findings)
                negated = {read for read, wanted in rule.items() if wanted is False}
                for both in sorted(required & negated):
                    where = ("findings", name, "when", index, both)
                    what = f"{name} needs '{both}' both to hold and not to hold"
                    yield source.document.fault(where, what, "drop one of the two")


class UnreachableFindings(HazardCheck):
    """Every finding is read by another, carries a factor, or has a meaning of its own."""

    def in_hazard(self, source: HazardSource, draft: Draft) -> Iterator[Fault]:
        findings = source.hazard.findings
        used = {name for finding in findings.values() for rule in finding.when for name in rule}
        used |= {factor.finding for factor in source.hazard.factors}
        used |= {*STATUS_FINDINGS, *EVIDENCE_FINDINGS}
        for name in findings:
            if name not in used:
                what = f"nothing uses the finding '{name}'"
                instead = "read it in another finding, give it a factor, or delete it"
                yield source.document.fault(("findings", name), what, instead)


class RuleNeverFires(HazardCheck):
    """A rule that repeats another's conditions, or demands more, adds nothing."""

    blocks = False

    def in_hazard(self, source: HazardSource, draft: Draft) -> Iterator[Fault]:
        for name, finding in source.hazard.findings.items():
            for index, rule in enumerate(finding.when):
                weaker = _weaker(finding.when[:index], rule)
                if weaker is not None:
                    where = ("findings", name, "when", index)
                    what = f"rule {index + 1} of {name} adds nothing: rule {weaker + 1} holds then"
                    yield source.document.fault(where, what, "delete it or correct it")


class StatusImpliesApplies(HazardCheck):
    """``closed`` and ``unproven`` speak only of vehicles to which the hazard applies."""

    def in_hazard(self, source: HazardSource, draft: Draft) -> Iterator[Fault]:
        findings = source.hazard.findings
        if dependency_order(findings) is None:
            return
        for name in (CLOSED, UNPROVEN):
            for index, rule in enumerate(findings[name].when if name in findings else []):
                if APPLIES not in _required(rule, findings):
                    where = ("findings", name, "when", index)
                    what = f"rule {index + 1} of {name} may hold where the hazard does not apply"
                    yield source.document.fault(where, what, "add 'applies: true'")


class ClosedAndUnproven(HazardCheck):
    """No vehicle may be closed and unproven at once: the rules must exclude each other."""

    def in_hazard(self, source: HazardSource, draft: Draft) -> Iterator[Fault]:
        findings, vocabulary = source.hazard.findings, draft.vocabulary
        if not {CLOSED, UNPROVEN} <= set(findings) or dependency_order(findings) is None:
            return
        for index, unproven in enumerate(findings[UNPROVEN].when):
            clash = next(
                (
                    number
                    for number, closed in enumerate(findings[CLOSED].when)
                    if not _exclude(closed, unproven, findings, vocabulary)
                ),
                None,
            )
            if clash is not None:
                where = ("findings", UNPROVEN, "when", index)
                what = f"rule {index + 1} of unproven and rule {clash + 1} of closed can both hold"
                yield source.document.fault(where, what, "add 'closed: false' to this rule")


def _circle(findings: Mapping[str, Finding]) -> list[str]:
    """One circle of findings, first repeated at the end."""
    reads = {
        name: [read for rule in finding.when for read in rule if read in findings]
        for name, finding in findings.items()
    }
    free = {name for name in findings if _only_leads_out(name, reads)}
    name = next(name for name in findings if name not in free)
    path: list[str] = []
    while name not in path:
        path.append(name)
        name = next(read for read in reads[name] if read not in free)
    return [*path[path.index(name) :], name]


def _only_leads_out(start: str, reads: Mapping[str, list[str]]) -> bool:
    """Whether no circle can be reached from ``start``."""
    state: dict[str, bool] = {}
    waiting = [(start, False)]
    while waiting:
        name, leaving = waiting.pop()
        if leaving:
            state[name] = True
        elif name not in state:
            state[name] = False
            waiting.append((name, True))
            for read in reads[name]:
                if state.get(read) is False:
                    return False
                if read not in state:
                    waiting.append((read, False))
    return True


def _required(rule: Rule, findings: Mapping[str, Finding]) -> set[str]:
    """Findings that hold whenever the rule fires: those it names and those all of theirs need."""
    required: set[str] = set()
    for name, wanted in rule.items():
        if name in findings and wanted is True:
            inner = [_required(other, findings) for other in findings[name].when]
            required |= {name} | (set.intersection(*inner) if inner else set())
    return required


def _weaker(earlier: list[dict[str, Scalar | Condition]], rule: Rule) -> int | None:
    for index, other in enumerate(earlier):
        if other.items() <= rule.items():
            return index
    return None


def _exclude(one: Rule, two: Rule, findings: Mapping[str, Finding], vocabulary: Vocabulary) -> bool:
    """Whether two rules can be seen never to hold together."""
    names_one, names_two = _required(one, findings), _required(two, findings)
    banned_one = {name for name, wanted in one.items() if wanted is False and name in findings}
    banned_two = {name for name, wanted in two.items() if wanted is False and name in findings}
    if (names_one | {CLOSED}) & banned_two or (names_two | {UNPROVEN}) & banned_one:
        return True
    shared = [name for name in one if name in two and name in vocabulary]
    return any(_disjoint(vocabulary[name], one[name], two[name]) for name in shared)


def _disjoint(fact: Fact, one: Scalar | Condition, two: Scalar | Condition) -> bool:
    if list(condition_faults(fact, one)) or list(condition_faults(fact, two)):
        return False
    if fact.kind == "number":
        (low_one, high_one), (low_two, high_two) = _span(fact, one), _span(fact, two)
        return high_one < low_two or high_two < low_one
    return not (_words_met(fact, one) & _words_met(fact, two))


def _span(fact: Fact, wanted: Scalar | Condition) -> tuple[int, int]:
    if isinstance(wanted, Condition):
        return steps_met(fact, wanted)
    step = fact.steps(float(wanted))
    return step, step


def _words_met(fact: Fact, wanted: Scalar | Condition) -> set[Scalar]:
    every: set[Scalar] = {True, False} if fact.kind == "flag" else set(fact.values)
    if not isinstance(wanted, Condition):
        return {wanted}
    return every - {wanted.is_not} if wanted.is_not is not None else every
