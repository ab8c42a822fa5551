"""Checks of constants: each must fit the kind, grid and range of the fact it is compared with."""

from __future__ import annotations

import math
from collections.abc import Iterator

from riskcheck.rulebook.checks.base import HazardCheck, rule_entries
from riskcheck.rulebook.folder import Draft, HazardSource
from riskcheck.rulebook.model import Condition, Scalar
from riskcheck.rulebook.validate import suggestion
from riskcheck.vocabulary import Fact
from riskcheck.yamlfile import Fault

_PARTS = ("at_least", "above", "at_most", "below")


class FindingValues(HazardCheck):
    """A finding is wanted ``true`` or ``false``."""

    def in_hazard(self, source: HazardSource, draft: Draft) -> Iterator[Fault]:
        for where, finding, name, wanted in rule_entries(source):
            if name in source.hazard.findings and not isinstance(wanted, bool):
                what = f"{finding} compares the finding '{name}' with something"
                yield source.document.fault(where, what, "write true or false")


class FactConstants(HazardCheck):
    """A constant has the fact's kind, lies on its grid and inside its range."""

    def in_hazard(self, source: HazardSource, draft: Draft) -> Iterator[Fault]:
        vocabulary = draft.vocabulary
        for where, _, name, wanted in rule_entries(source):
            if name in source.hazard.findings or name not in vocabulary:
                continue
            fact = vocabulary[name]
            for what, instead in condition_faults(fact, wanted):
                yield source.document.fault(where, what, instead)


class ImpossibleConditions(HazardCheck):
    """A condition must be one that some value of the fact can meet."""

    def in_hazard(self, source: HazardSource, draft: Draft) -> Iterator[Fault]:
        vocabulary = draft.vocabulary
        for where, _, name, wanted in rule_entries(source):
            fact = vocabulary.get(name)
            if fact is None or not isinstance(wanted, Condition) or fact.kind != "number":
                continue
            if list(condition_faults(fact, wanted)):
                continue
            low, high = steps_met(fact, wanted)
            banned = fact.steps(wanted.is_not) if isinstance(wanted.is_not, int | float) else None
            if low > high or (low == high == banned):
                what = f"no {name} meets this condition"
                yield source.document.fault(where, what, "correct the limits")


def steps_met(fact: Fact, wanted: Condition) -> tuple[int, int]:
    """First and last whole step that meets the limits of a condition on a number fact."""
    low, high = fact.steps(fact.low), fact.steps(fact.high)
    if wanted.at_least is not None:
        low = max(low, fact.steps(wanted.at_least))
    if wanted.above is not None:
        low = max(low, fact.steps(wanted.above) + 1)
    if wanted.at_most is not None:
        high = min(high, fact.steps(wanted.at_most))
    if wanted.below is not None:
        high = min(high, fact.steps(wanted.below) - 1)
    return low, high


def condition_faults(fact: Fact, wanted: Scalar | Condition) -> Iterator[tuple[str, str]]:
    """(what, instead) for each constant of one entry that does not fit the fact."""
    if not isinstance(wanted, Condition):
        yield from constant_faults(fact, wanted)
        return
    limits = [getattr(wanted, part) for part in _PARTS if getattr(wanted, part) is not None]
    if not limits and wanted.is_not is None:
        yield f"the condition on {fact.name} is empty", "write at_least, above, at_most or below"
    if limits and fact.kind != "number":
        yield f"{fact.name} is a {fact.kind} and has no order", _choices(fact)
        return
    if isinstance(wanted.is_not, str) and fact.kind == "flag":
        yield f"{fact.name} is a flag", "write true or false without is_not"
        return
    for constant in [*limits, wanted.is_not]:
        if constant is not None:
            yield from constant_faults(fact, constant)


def constant_faults(fact: Fact, value: Scalar) -> Iterator[tuple[str, str]]:
    """(what, instead) where ``value`` cannot be a value of the fact."""
    if fact.kind == "flag":
        if not isinstance(value, bool):
            yield f"{fact.name} is a flag, not {value!r}", "write true or false"
    elif fact.kind == "category":
        if not isinstance(value, str) or value not in fact.values:
            what = f"{fact.name} has no value {value!r}"
            yield what, suggestion(str(value), fact.values)
    elif isinstance(value, bool | str):
        unit = f" in {fact.unit}" if fact.unit else ""
        yield f"{fact.name} is a number{unit}, not {value!r}", _unquoted(value)
    else:
        yield from _number_faults(fact, value)


def _number_faults(fact: Fact, value: float) -> Iterator[tuple[str, str]]:
    unit = f" {fact.unit}" if fact.unit else ""
    if not fact.low <= value <= fact.high:
        what = f"{value:g} is outside the range of {fact.name}, {fact.low:g} to {fact.high:g}{unit}"
        yield what, f"is the number in{unit or ' the right unit'}?"
    elif not math.isclose(value / fact.resolution, fact.steps(value), rel_tol=0, abs_tol=1e-6):
        near = fact.steps(value) * fact.resolution
        what = f"{value:g} lies between two steps of {fact.name}, read to {fact.resolution:g}{unit}"
        yield what, f"write {near:g}"


def _unquoted(value: Scalar) -> str:
    try:
        float(value)
    except ValueError:
        return "write digits only"
    return "remove the quotes" if isinstance(value, str) else "write a number"


def _choices(fact: Fact) -> str:
    return "write true or false" if fact.kind == "flag" else f"name one of {', '.join(fact.values)}"
