"""Checks of ``facts.yaml``: each fact can be found, typed, and its silence weighed."""

from __future__ import annotations

import math
from collections.abc import Iterator

from riskcheck.rulebook.checks.base import Check
from riskcheck.rulebook.facts import quantities, topics_and_marks
from riskcheck.rulebook.folder import Draft, FactSource
from riskcheck.rulebook.validate import suggestion
from riskcheck.vocabulary import CLOCK_UNITS, DERIVATIONS
from riskcheck.yamlfile import Document, Fault

FLAG_DERIVATIONS = {"ever", "open", "after", "code"}
NUMBER_DERIVATIONS = {"since", "count", "latest_value", "difference", "age", "physics"}


class OneDerivation(Check):
    """A fact is found in exactly one way, and in one that yields its kind of value."""

    def faults(self, draft: Draft) -> Iterator[Fault]:
        for source in draft.facts.values():
            chosen = [name for name, _ in source.entry.found.chosen()]
            where = (source.name, "from")
            if len(chosen) != 1:
                what = f"{source.name} must be found in exactly one way, not {len(chosen)}"
                instead = f"one of: {', '.join(DERIVATIONS)}"
                yield source.document.fault(where, what, instead)
            elif chosen[0] in FLAG_DERIVATIONS and source.entry.kind != "flag":
                what = f"'{chosen[0]}' yields a flag, but {source.name} is a {source.entry.kind}"
                yield source.document.fault(where, what, "kind: flag")
            elif chosen[0] in NUMBER_DERIVATIONS and source.entry.kind != "number":
                what = f"'{chosen[0]}' yields a number, but {source.name} is a {source.entry.kind}"
                yield source.document.fault(where, what, "kind: number")


class FactShape(Check):
    """A number has a unit, a range and a resolution; a category has values."""

    def faults(self, draft: Draft) -> Iterator[Fault]:
        for source in draft.facts.values():
            for where, what, instead in _shape_faults(source):
                yield source.document.fault((source.name, *where), what, instead)


class FactShares(Check):
    """Shares are over the fact's own values and add up to one; silence can be weighed."""

    def faults(self, draft: Draft) -> Iterator[Fault]:
        for source in draft.facts.values():
            entry, name = source.entry, source.name
            codes = ["no", "yes"] if entry.kind == "flag" else entry.values
            for part, words in (("base", entry.base), ("also_written", entry.also_written)):
                for word in words:
                    if word not in codes:
                        what = f"{name} has no value '{word}'"
                        instead = suggestion(word, codes)
                        yield source.document.fault((name, part, word), what, instead)
            total = math.fsum(entry.base.values())
            if entry.base and not math.isclose(total, 1.0, abs_tol=1e-6):
                what = f"the shares of {name} add up to {total:g}, not to 1"
                yield source.document.fault((name, "base"), what, "correct the shares")
            if entry.silence == "coverage" and entry.reporting is None:
                what = (
                    f"{name} may be true unseen, but nothing says how often the record would tell"
                )
                instead = "add reporting: {base, seen_if_true, seen_if_false}"
                yield source.document.fault((name, "silence"), what, instead)


class UnknownTopics(Check):
    """Topics and quantities of facts and remedies are ones that the wording can find."""

    def faults(self, draft: Draft) -> Iterator[Fault]:
        topics, measured = topics_of(draft.wording), quantities_of(draft.wording)
        if not topics:
            return
        vocabulary = draft.vocabulary
        for name, fact in vocabulary.items():
            document = draft.facts[name].document
            for topic in dict.fromkeys(topic for topic, _ in topics_and_marks(fact)):
                if topic not in topics:
                    yield _unknown(document, name, "topic", topic, topics)
            for quantity in quantities(fact) if measured else []:
                if quantity not in measured:
                    yield _unknown(document, name, "quantity", quantity, measured)
        for source in draft.hazards.values():
            refs = [ref for remedy in source.hazard.remedies for ref in remedy.recorded_as]
            refs += source.hazard.look.recorded_as if source.hazard.look else []
            refs += source.hazard.life.starts
            for topic in dict.fromkeys(topic for ref in refs for topic in ref.topics):
                if topic not in topics:
                    line = _line_of_word(source.document, topic)
                    what = f"the wording knows no topic '{topic}'"
                    instead = suggestion(topic, topics, "rules/wording")
                    yield Fault(source.document.path, line, what, instead)


class TopicHazards(Check):
    """A topic of the wording belongs to hazards that have a file."""

    blocks = False

    def faults(self, draft: Draft) -> Iterator[Fault]:
        known = set(draft.hazard_ids)
        for document in draft.wording:
            topics = document.at(("topics",))
            for name in topics if isinstance(topics, dict) else ():
                hazards = document.at(("topics", name, "hazards"))
                for place, hazard in enumerate(hazards if isinstance(hazards, list) else ()):
                    if str(hazard) not in known:
                        where = ("topics", name, "hazards", place)
                        what = (
                            f"the topic {name} belongs to '{hazard}', which no hazard file defines"
                        )
                        yield document.fault(where, what, suggestion(str(hazard), sorted(known)))


class AskableFacts(Check):
    """A feature that rules depend on can be asked of the owner or told in two minutes."""

    blocks = False

    def faults(self, draft: Draft) -> Iterator[Fault]:
        read = {
            name
            for source in draft.hazards.values()
            for finding in source.hazard.findings.values()
            for rule in finding.when
            for name in rule
        }
        for source in draft.facts.values():
            asks = source.entry.ask or source.entry.how_to_tell
            if source.name in read and source.entry.silence == "at_random" and not asks:
                what = f"{source.name} may be silent, but nothing says how to find out"
                yield source.document.fault((source.name,), what, "add ask or how_to_tell")


class PhysicsInputs(Check):
    """A computed fact reads number facts that come from columns."""

    def faults(self, draft: Draft) -> Iterator[Fault]:
        for source in draft.facts.values():
            physics = source.entry.found.physics
            for name in physics.inputs if physics else []:
                known = draft.facts.get(name)
                if known is None or known.entry.kind != "number" or not known.entry.found.column:
                    where = (source.name, "from", "physics", "inputs")
                    what = f"{source.name} is computed from '{name}', which is no number column"
                    numbers = [f.name for f in draft.facts.values() if f.entry.kind == "number"]
                    yield source.document.fault(where, what, suggestion(name, numbers))


def topics_of(wording: list[Document]) -> list[str]:
    """Names of all topics that the wording files define."""
    names: list[str] = []
    for document in wording:
        data = document.data if isinstance(document.data, dict) else {}
        topics = data.get("topics", data)
        if document.path.name != "quantities.yaml" and isinstance(topics, dict):
            names += [
                name for name, body in topics.items() if isinstance(body, dict) and "says" in body
            ]
    return sorted(set(names))


def quantities_of(wording: list[Document]) -> list[str]:
    """Names of all measured quantities that the wording files define."""
    for document in wording:
        if document.path.name == "quantities.yaml" and isinstance(document.data, dict):
            entries = document.data.get("quantities", document.data)
            return sorted(entries) if isinstance(entries, dict) else []
    return []


def _shape_faults(source: FactSource) -> Iterator[tuple[tuple[str, ...], str, str]]:
    entry, name = source.entry, source.name
    if entry.kind == "number":
        if entry.range is None:
            yield (), f"the number {name} has no range", "add range: [lowest, highest] believable"
        elif entry.range[0] >= entry.range[1]:
            yield ("range",), f"the range of {name} is empty", "write [lowest, highest]"
        if not entry.unit:
            yield (), f"the number {name} has no unit", 'add a unit ("1" for a plain count)'
    if entry.kind == "category" and len(entry.values) < 2:
        yield (), f"the category {name} needs two values or more", "add values: [...]"
    if entry.kind != "category" and entry.values:
        yield ("values",), f"{name} is a {entry.kind} and takes no list of values", "remove it"
    clock = entry.found.since or entry.found.age
    if clock is not None and entry.unit not in ("", CLOCK_UNITS[clock.clock]):
        what = f"{name} is read on the clock {clock.clock} but has the unit {entry.unit}"
        yield ("unit",), what, f"unit: {CLOCK_UNITS[clock.clock]}"


def _unknown(document: Document, name: str, noun: str, word: str, known: list[str]) -> Fault:
    what = f"{name} reads the {noun} '{word}', which the wording does not know"
    return document.fault((name, "from"), what, suggestion(word, known, "rules/wording"))


def _line_of_word(document: Document, word: str) -> int:
    for where in document.lines:
        if document.at(where) == word:
            return document.lines[where]
    return 1
