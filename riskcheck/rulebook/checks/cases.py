"""Checks of case files: there, about known facts, and on both sides of every threshold."""

from __future__ import annotations

from collections.abc import Iterator

from riskcheck.errors import RulebookError
from riskcheck.rulebook.checks.base import HazardCheck
from riskcheck.rulebook.checks.values import constant_faults
from riskcheck.rulebook.compiled import AUTOMATIC, FactLiteral, compile_hazard
from riskcheck.rulebook.folder import CASES_SUFFIX, Draft, HazardSource
from riskcheck.rulebook.model import CLOSED, CONFIRMED, SIGN, UNPROVEN, WINDOW_OVER, Case
from riskcheck.rulebook.validate import suggestion
from riskcheck.vocabulary import Fact
from riskcheck.yamlfile import Document, Fault


class CasesBesideHazard(HazardCheck):
    """Each hazard has a case file of the same stem in the same folder, with distinct names."""

    blocks = False

    def in_hazard(self, source: HazardSource, draft: Draft) -> Iterator[Fault]:
        if source.cases_document is None:
            name = f"{source.document.path.name.removesuffix('.yaml')}{CASES_SUFFIX}"
            yield source.document.fault((), f"there is no {name} beside this file", "add its cases")
            return
        seen: dict[str, int] = {}
        for index, case in enumerate(source.cases):
            if case.name in seen:
                what = f'case {seen[case.name] + 1} is also called "{case.name}"'
                where = ("cases", index, "name")
                yield source.cases_document.fault(where, what, "name what is different")
            seen.setdefault(case.name, index)


class CaseFacts(HazardCheck):
    """A case gives known facts values that they can have, and expects known findings."""

    blocks = False

    def in_hazard(self, source: HazardSource, draft: Draft) -> Iterator[Fault]:
        document = source.cases_document
        if document is None:
            return
        for index, case in enumerate(source.cases):
            yield from _fact_faults(document, index, case, draft)
            yield from _expectation_faults(document, index, case, source, draft)


class CaseStatuses(HazardCheck):
    """The cases together show every status and evidence level that the hazard can have."""

    blocks = False

    def in_hazard(self, source: HazardSource, draft: Draft) -> Iterator[Fault]:
        document, findings = source.cases_document, source.hazard.findings
        if document is None:
            return
        wanted = ["exposed", "unknown", "not_applicable"]
        wanted += ["closed"] if CLOSED in findings or WINDOW_OVER in findings else []
        wanted += ["unproven"] if UNPROVEN in findings else []
        shown = {case.expect.status for case in source.cases}
        for status in wanted:
            if status not in shown:
                yield document.fault(("cases",), f"no case expects '{status}'", "add one by hand")
        evidence = {case.expect.evidence for case in source.cases}
        for level in (SIGN, CONFIRMED):
            if level in findings and level not in evidence:
                what = f"no case expects the evidence '{level}'"
                yield document.fault(("cases",), what, "add one by hand")


class ThresholdCases(HazardCheck):
    """Every threshold has a case at or just on each side, with no other threshold in between."""

    blocks = False

    def in_hazard(self, source: HazardSource, draft: Draft) -> Iterator[Fault]:
        vocabulary, document = draft.vocabulary, source.cases_document
        try:
            compiled = compile_hazard(source.hazard, vocabulary)
        except (RulebookError, KeyError):
            return
        for fact_name, cuts in compiled.constants.items() if document else ():
            fact = vocabulary[fact_name]
            values = _case_steps(fact, source.cases)
            literals = {
                (literal.op, literal.constant)
                for finding in compiled.findings
                for literal in finding.fact_literals()
                if literal.fact == fact_name
            }
            for op, constant in sorted(literals, key=str):
                if isinstance(constant, int):
                    missing = _missing_side(op, constant, cuts, values)
                    if missing:
                        yield _threshold_fault(source, fact, FactLiteral(fact_name, op, constant))


def _fact_faults(document: Document, index: int, case: Case, draft: Draft) -> Iterator[Fault]:
    vocabulary = draft.vocabulary
    for name, value in case.facts.items():
        where = ("cases", index, "facts", name)
        if name not in vocabulary:
            if name not in draft.unread_facts:
                what = f"'{name}' is no fact"
                yield document.fault(where, what, suggestion(name, list(vocabulary), "facts.yaml"))
            continue
        for one in value if isinstance(value, list) else [value]:
            if one is not None:
                for what, instead in constant_faults(vocabulary[name], one):
                    yield document.fault(where, what, instead)


def _expectation_faults(
    document: Document, index: int, case: Case, source: HazardSource, draft: Draft
) -> Iterator[Fault]:
    findings = [*source.hazard.findings, *AUTOMATIC]
    for key, known in (
        ("holds", findings),
        ("fails", findings),
        ("questions", list(draft.facts)),
    ):
        for place, name in enumerate(getattr(case.expect, key) or []):
            if name not in known:
                where = ("cases", index, "expect", key, place)
                noun = "fact" if key == "questions" else "finding"
                yield document.fault(where, f"'{name}' is no {noun} here", suggestion(name, known))


def _case_steps(fact: Fact, cases: tuple[Case, ...]) -> list[int]:
    """Whole steps of one number fact that the cases state for certain."""
    values = (case.facts.get(fact.name) for case in cases)
    return sorted(
        {fact.steps(v) for v in values if isinstance(v, int | float) and not isinstance(v, bool)}
    )


def _missing_side(op: str, constant: int, cuts: tuple[int, ...], values: list[int]) -> bool:
    """Whether the cases lack a value on one side of a comparison, up to the next threshold."""
    lower = max((cut for cut in cuts if cut < constant), default=-(2**62))
    upper = min((cut for cut in cuts if cut > constant), default=2**62)
    near = [value for value in values if lower <= value <= upper]
    if op in (">=", "<"):
        return not (any(v < constant for v in near) and any(v >= constant for v in near))
    if op in (">", "<="):
        return not (any(v <= constant for v in near) and any(v > constant for v in near))
    return not (constant in near and any(v != constant for v in near))


def _threshold_fault(source: HazardSource, fact: Fact, literal: FactLiteral) -> Fault:
    document = source.cases_document or source.document
    number = float(literal.constant) * fact.resolution
    unit = f" {fact.unit}" if fact.unit else ""
    what = f"no cases on both sides of {fact.name} {literal.op} {number:g}{unit}"
    instead = f"add a case at {number:g} and one {fact.resolution:g} away"
    return document.fault(("cases",), what, instead)
