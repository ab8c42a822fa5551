"""Checks of what is said to people: no overclaiming, no typed odds, cautions and sources."""

from __future__ import annotations

import re
from collections.abc import Iterator

from riskcheck import calm
from riskcheck.rulebook.checks.base import HazardCheck
from riskcheck.rulebook.folder import Draft, HazardSource
from riskcheck.rulebook.validate import suggestion
from riskcheck.yamlfile import Fault, Where

PLACEHOLDERS = ("many", "low", "high", "of", "period")
_FIELD = re.compile(r"\{([^{}]*)\}")


class Overclaims(HazardCheck):
    """Owner text never says more than is known: the list is ``riskcheck.calm``'s."""

    blocks = False

    def in_hazard(self, source: HazardSource, draft: Draft) -> Iterator[Fault]:
        for where, text in (*owner_texts(source), *_quoted_texts(source)):
            for fault in calm.faults(text):
                if not calm.chances(fault.word):
                    what = f'owner text overclaims: "{fault.word}" {fault.why}'
                    yield source.document.fault(where, what, fault.instead)


class TypedOdds(HazardCheck):
    """Chances in owner text are computed, never typed, and never on two denominators."""

    blocks = False

    def in_hazard(self, source: HazardSource, draft: Draft) -> Iterator[Fault]:
        for where, text in owner_texts(source):
            odds = calm.chances(text)
            bases = {chance.of for chance in odds}
            bases |= {"{of}" for field in _FIELD.findall(text) if field == "of"}
            if odds and len(bases) > 1:
                what = f"mixed denominators in one text: {', '.join(sorted(bases))}"
                yield source.document.fault(where, what, "use {many} of {of} throughout")
            elif odds:
                what = f'a typed chance: "{odds[0].word}"'
                instead = "write {many}, {low}, {high}, {of}, {period}: riskcheck fills them in"
                yield source.document.fault(where, what, instead)


class Placeholders(HazardCheck):
    """Only the known placeholders may stand in owner text."""

    def in_hazard(self, source: HazardSource, draft: Draft) -> Iterator[Fault]:
        for where, text in owner_texts(source):
            for field in _FIELD.findall(text):
                if field not in PLACEHOLDERS:
                    what = f"nothing fills in {{{field}}}"
                    yield source.document.fault(where, what, suggestion(field, PLACEHOLDERS))
            if _FIELD.sub("", text).count("{") or _FIELD.sub("", text).count("}"):
                yield source.document.fault(
                    where, "a brace stands alone", "write {many} or no brace"
                )


class EmptyText(HazardCheck):
    """Nothing that a person reads is left blank or marked as still to be written."""

    blocks = False

    def in_hazard(self, source: HazardSource, draft: Draft) -> Iterator[Fault]:
        hazard = source.hazard
        texts: list[tuple[Where, str]] = [
            ((name,), getattr(hazard, name))
            for name in ("title", "system", "needs", "mechanism", "event", "effect", "goes_wrong")
        ]
        texts += owner_texts(source)
        texts += [(("findings", n), f.says) for n, f in hazard.findings.items()]
        texts += [(("remedies", i, "proof"), r.proof) for i, r in enumerate(hazard.remedies)]
        for where, text in texts:
            if not text.strip() or re.search(r"\b(tbd|xxx|to be written|unknown)\b", text, re.I):
                what = f"'{where[0]}' does not say anything yet: {text!r}"
                yield source.document.fault(where, what, "write it for the person who reads it")


class CitedSources(HazardCheck):
    """A published figure's citation is listed under ``sources`` or can be looked up by itself."""

    blocks = False

    def in_hazard(self, source: HazardSource, draft: Draft) -> Iterator[Fault]:
        for where in source.document.lines:
            if where and where[-1] == "citation":
                citation = source.document.at(where)
                if isinstance(citation, str) and len(citation.strip()) < 8:
                    what = f"'{citation}' is too short to find the source again"
                    yield source.document.fault(where, what, "name document, table or page")


def owner_texts(source: HazardSource) -> list[tuple[Where, str]]:
    """Texts that reach the owner: (where, text)."""
    hazard, words = source.hazard, source.hazard.words
    return [
        (("title",), hazard.title),
        (("words", "say"), words.say),
        (("words", "ask"), words.ask),
        *((("words", "cautions", i), text) for i, text in enumerate(words.cautions)),
    ]


def _quoted_texts(source: HazardSource) -> list[tuple[Where, str]]:
    """Texts that are quoted to the owner as they stand; measured limits may be in them."""
    findings = source.hazard.findings
    return [
        (("effect",), source.hazard.effect),
        *((("findings", name, "says"), finding.says) for name, finding in findings.items()),
    ]
