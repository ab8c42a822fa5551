"""Checks against the engine's measured limits, so that none is ever met at run time.

Limits of durable-rules 2.0.28 as measured: a fact that makes more than 64 comparisons true is
lost, 17 joined conditions are refused, and rule sets beyond about 50 rules grow slow and large.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping
from itertools import pairwise

from riskcheck.errors import RulebookError
from riskcheck.rulebook.checks.base import HazardCheck
from riskcheck.rulebook.compiled import CompiledFinding, compile_hazard
from riskcheck.rulebook.folder import Draft, HazardSource
from riskcheck.vocabulary import Fact, Vocabulary
from riskcheck.yamlfile import Fault

MAX_COMPARISONS_A_FACT = 60
MAX_NAMES_A_RULE = 15
MAX_RULES_A_HAZARD = 50
MAX_TABLE_CELLS = 20_000


class TooManyComparisons(HazardCheck):
    """At most 60 comparisons with one fact in a hazard."""

    def in_hazard(self, source: HazardSource, draft: Draft) -> Iterator[Fault]:
        counts: dict[str, int] = {}
        for finding in _compiled(source, draft):
            for literal in finding.fact_literals():
                counts[literal.fact] = counts.get(literal.fact, 0) + 1
        for fact, count in counts.items():
            if count > MAX_COMPARISONS_A_FACT:
                what = f"{count} comparisons with {fact}; the engine loses facts beyond 64"
                instead = "read a common finding instead of repeating the comparison"
                yield source.document.fault(("findings",), what, instead)


class TooManyConditions(HazardCheck):
    """At most 15 facts and findings in one rule, at most 50 rules in one hazard."""

    def in_hazard(self, source: HazardSource, draft: Draft) -> Iterator[Fault]:
        findings = source.hazard.findings
        for name, finding in findings.items():
            for index, rule in enumerate(finding.when):
                if len(rule) > MAX_NAMES_A_RULE:
                    where = ("findings", name, "when", index)
                    what = f"{len(rule)} conditions in one rule; the engine joins 15"
                    yield source.document.fault(where, what, "split it by a finding in between")
        total = sum(len(finding.when) for finding in findings.values())
        if total > MAX_RULES_A_HAZARD:
            what = f"{total} rules in one hazard; at most {MAX_RULES_A_HAZARD}"
            yield source.document.fault(("findings",), what, "split the hazard into two")


class TableTooLarge(HazardCheck):
    """A finding is asked about every combination of what it reads: at most 20,000 of them."""

    def in_hazard(self, source: HazardSource, draft: Draft) -> Iterator[Fault]:
        vocabulary = draft.vocabulary
        compiled = _compiled(source, draft)
        cuts = cuts_of(compiled)
        for finding in compiled:
            cells = table_cells(finding, cuts, vocabulary)
            if cells > MAX_TABLE_CELLS:
                what = f"{finding.name} has {cells:,} combinations; at most {MAX_TABLE_CELLS:,}"
                instead = "split it: let two findings read half of the facts each"
                yield source.document.fault(("findings", finding.name), what, instead)


def table_cells(
    finding: CompiledFinding, cuts: Mapping[str, set[int]], vocabulary: Vocabulary
) -> int:
    """Combinations of bands and earlier findings that one finding is asked about.

    ``cuts``: the constants of the whole hazard by fact, at which each fact is cut once.
    """
    bands = (band_count(vocabulary[name], cuts.get(name, set())) for name in finding.facts_read)
    return math.prod(bands) * int(2 ** len(finding.findings_read))


def cuts_of(findings: Iterable[CompiledFinding]) -> dict[str, set[int]]:
    """Constants of number facts, by fact, over all findings."""
    cuts: dict[str, set[int]] = {}
    for finding in findings:
        for literal in finding.fact_literals():
            if isinstance(literal.constant, int):
                cuts.setdefault(literal.fact, set()).add(literal.constant)
    return cuts


def band_count(fact: Fact, constants: set[int]) -> int:
    """Bands of one fact cut at ``constants`` (whole steps), "no reading" included.

    k constants make 2k+1 bands (below, on, between, ...) less those that hold no whole step.
    """
    silent = 1 if fact.silence != "at_random" and fact.kind != "flag" else 0
    if fact.kind != "number":
        return len(fact.codes) + silent
    edges = [fact.steps(fact.low) - 1, *sorted(constants), fact.steps(fact.high) + 1]
    between = sum(high - low > 1 for low, high in pairwise(edges))
    return len(constants) + between + silent


def _compiled(source: HazardSource, draft: Draft) -> tuple[CompiledFinding, ...]:
    """The compiled findings, or none where another check already speaks of the fault."""
    try:
        return compile_hazard(source.hazard, draft.vocabulary).findings
    except (RulebookError, KeyError):
        return ()
