"""Checks of what is said to people: no overclaiming, no typed odds, cautions and sources."""

from __future__ import annotations

import re
from collections.abc import Iterator

from riskcheck.rulebook.checks.base import HazardCheck
from riskcheck.rulebook.folder import Draft, HazardSource
from riskcheck.rulebook.validate import suggestion
from riskcheck.yamlfile import Fault, Where

OVERCLAIMS: tuple[tuple[str, str], ...] = (
    (r"will (\w+ )?(fail|break|burn|seize|go wrong|happen)", "say what may happen, and how often"),
    (r"unsafe|deathtrap|ticking", "say what was found and what it can lead to"),
    (r"recall(ed|s)?", "only the manufacturer and the authorities recall vehicles"),
    (r"guarante\w*", "say what was measured"),
    (r"(is|are|perfectly|completely|totally) safe", "say what was checked; never that it is safe"),
    (r"defect(ive)?", "say what the part does with age"),
    (r"certain(ly)? to|definitely|inevitabl\w+|bound to", "give the chance instead"),
)
PLACEHOLDERS = ("many", "low", "high", "of", "period")
_ODDS = re.compile(
    r"\b\d[\d,.]*\s*(?:in|of|out of)\s+(?:every\s+)?(\d[\d,]*)|(\d[\d.]*)\s?(?:%|per ?cent)", re.I
)
_FIELD = re.compile(r"\{([^{}]*)\}")


class Overclaims(HazardCheck):
    """Owner text never says more than is known ("will fail", "unsafe", "recall", "guaranteed")."""

    blocks = False

    def in_hazard(self, source: HazardSource, draft: Draft) -> Iterator[Fault]:
        for where, text in owner_texts(source):
            for pattern, instead in OVERCLAIMS:
                match = re.search(rf"\b(?:{pattern})\b", text, re.I)
                if match:
                    what = f'owner text overclaims: "{match.group(0)}"'
                    yield source.document.fault(where, what, instead)


class TypedOdds(HazardCheck):
    """Chances in owner text are computed, never typed, and never on two denominators."""

    blocks = False

    def in_hazard(self, source: HazardSource, draft: Draft) -> Iterator[Fault]:
        for where, text in owner_texts(source):
            odds = list(_ODDS.finditer(text))
            bases = {match.group(1) or "%" for match in odds} | {
                "{of}" for field in _FIELD.findall(text) if field == "of"
            }
            if odds and len(bases) > 1:
                what = f"mixed denominators in one text: {', '.join(sorted(bases))}"
                yield source.document.fault(where, what, "use {many} of {of} throughout")
            elif odds:
                what = f'a typed chance: "{odds[0].group(0)}"'
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
    words = source.hazard.words
    return [
        (("title",), source.hazard.title),
        (("words", "say"), words.say),
        (("words", "ask"), words.ask),
        *((("words", "cautions", i), text) for i, text in enumerate(words.cautions)),
    ]
