"""Checks of remedies: what each does to the clock, what proves it and what it opens."""

from __future__ import annotations

from collections.abc import Iterator

from riskcheck.rulebook.checks.base import HazardCheck
from riskcheck.rulebook.compiled import STATUS_FINDINGS
from riskcheck.rulebook.folder import Draft, HazardSource
from riskcheck.rulebook.model import CLOSED, Hazard, Remedy, WeibullLife
from riskcheck.rulebook.validate import suggestion
from riskcheck.yamlfile import Fault


class OpensKnownHazard(HazardCheck):
    """A remedy opens hazards that have a file."""

    def in_hazard(self, source: HazardSource, draft: Draft) -> Iterator[Fault]:
        for index, remedy in enumerate(source.hazard.remedies):
            for place, opened in enumerate(remedy.opens):
                if opened not in draft.hazard_ids:
                    what = f"the remedy {remedy.id} opens '{opened}', a hazard nobody defines"
                    where = ("remedies", index, "opens", place)
                    instead = suggestion(opened, draft.hazard_ids, "rules/hazards")
                    yield source.document.fault(where, what, instead)


class KeptAge(HazardCheck):
    """``renews`` and ``lessens`` state the share of age kept; the other effects have none."""

    def in_hazard(self, source: HazardSource, draft: Draft) -> Iterator[Fault]:
        for index, remedy in enumerate(source.hazard.remedies):
            where = ("remedies", index, "effect")
            needs = remedy.effect in ("renews", "lessens")
            if needs and remedy.kept_age is None:
                what = f"the remedy {remedy.id} {remedy.effect} but keeps an unstated share of age"
                yield source.document.fault(where, what, "add kept_age (0 as new, 1 no effect)")
            elif not needs and remedy.kept_age is not None:
                what = f"the remedy {remedy.id} {remedy.effect}: there is no age to keep"
                yield source.document.fault(where, what, "remove kept_age")


class InfantRemedies(HazardCheck):
    """Where the rate falls with use, or a share is faulty from day one, a remedy settles."""

    def in_hazard(self, source: HazardSource, draft: Draft) -> Iterator[Fault]:
        life = source.hazard.life
        if isinstance(life, WeibullLife) and life.shape.value >= 1:
            return
        for index, remedy in enumerate(source.hazard.remedies):
            if remedy.effect in ("renews", "lessens"):
                where = ("remedies", index, "effect")
                what = f"{remedy.effect} would make a fault that is there from the start come back"
                yield source.document.fault(where, what, "effect: settles, or eliminates")


class ReExposure(HazardCheck):
    """A part that was renewed ages again: ``closed`` needs the usage at which it counts anew."""

    def in_hazard(self, source: HazardSource, draft: Draft) -> Iterator[Fault]:
        hazard, vocabulary = source.hazard, draft.vocabulary
        renewing = {
            topic
            for remedy in hazard.remedies
            if remedy.effect == "renews"
            for ref in remedy.recorded_as
            for topic in ref.topics
        }
        read = [vocabulary[name] for name in _facts_behind(hazard, CLOSED) if name in vocabulary]
        closes = any(
            renewing & set(fact.derivation.params.get("topics", ()))
            for fact in read
            if fact.derivation.kind in ("ever", "open", "after")
        )
        dated = any(
            renewing & set(fact.derivation.params.get("topics", ()))
            for fact in read
            if fact.derivation.kind == "since"
        )
        if closes and not dated:
            what = "a renewed part would count as closed for ever"
            instead = "let closed read a 'since' fact of the same topic: {at_most: ...}"
            yield source.document.fault(("findings", CLOSED), what, instead)


class RemedyIds(HazardCheck):
    """Remedies of one hazard have different ids, and some remedy or look can close it."""

    def in_hazard(self, source: HazardSource, draft: Draft) -> Iterator[Fault]:
        seen: dict[str, Remedy] = {}
        for index, remedy in enumerate(source.hazard.remedies):
            if remedy.id in seen:
                what = f"two remedies are called {remedy.id}"
                yield source.document.fault(("remedies", index, "id"), what, "rename one")
            seen[remedy.id] = remedy


def _facts_behind(hazard: Hazard, name: str) -> set[str]:
    """Names read by a finding, directly or through others, that are not findings."""
    facts: set[str] = set()
    waiting, seen = [name] if name in hazard.findings else [], {name, *STATUS_FINDINGS[:1]}
    while waiting:
        for rule in hazard.findings[waiting.pop()].when:
            for read in rule:
                if read not in hazard.findings:
                    facts.add(read)
                elif read not in seen:
                    seen.add(read)
                    waiting.append(read)
    return facts
