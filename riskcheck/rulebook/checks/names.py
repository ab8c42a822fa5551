"""Checks of names: that each is known, unique, and survives the engine's hashing."""

from __future__ import annotations

import re
from collections.abc import Iterator

from riskcheck.rulebook.checks.base import Check, HazardCheck, rule_entries
from riskcheck.rulebook.compiled import AUTOMATIC
from riskcheck.rulebook.folder import Draft, HazardSource
from riskcheck.rulebook.model import APPLIES
from riskcheck.rulebook.validate import suggestion
from riskcheck.yamlfile import Fault

_WORD = re.compile(r"[a-z][a-z0-9_]*")
_ID = re.compile(r"[a-z][a-z0-9]*(-[a-z0-9]+)*")


class UnknownNames(HazardCheck):
    """A rule may read facts of the vocabulary and findings of its own hazard, nothing else."""

    def in_hazard(self, source: HazardSource, draft: Draft) -> Iterator[Fault]:
        known = [*draft.facts, *source.hazard.findings]
        for where, finding, name, _ in rule_entries(source):
            if name in draft.unread_facts or name in known:
                continue
            if name in AUTOMATIC:
                what = f"{finding} reads '{name}', which riskcheck adds itself after all findings"
                yield source.document.fault(where, what, "read the findings behind it instead")
                continue
            what = f"{finding} reads '{name}', which is neither a fact nor a finding here"
            yield source.document.fault(where, what, suggestion(name, known, "facts.yaml"))


class ReservedNames(HazardCheck):
    """``applies`` must be defined; ``exposed`` and ``not_applicable`` are added by riskcheck."""

    def in_hazard(self, source: HazardSource, draft: Draft) -> Iterator[Fault]:
        if APPLIES not in source.hazard.findings:
            yield source.document.fault(
                ("findings",),
                "no finding 'applies': nothing says which vehicles have this design",
                "add 'applies' with a rule over design features",
            )
        for name in source.hazard.findings:
            where = ("findings", name)
            if name in AUTOMATIC:
                what = f"'{name}' is added by riskcheck itself"
                yield source.document.fault(where, what, "use another name")
            elif name in draft.facts:
                what = f"'{name}' is both a fact and a finding"
                yield source.document.fault(where, what, "rename the finding")


class NameForm(Check):
    """Names of facts and findings are snake_case, hazard ids kebab-case, as the file is called."""

    def faults(self, draft: Draft) -> Iterator[Fault]:
        for fact in draft.facts.values():
            if not _WORD.fullmatch(fact.name):
                what = f"fact name '{fact.name}' has signs the engine may misread"
                yield fact.document.fault((fact.name,), what, "use a-z, 0-9 and _ only")
        for source in draft.hazards.values():
            yield from _hazard_names(source)


def _hazard_names(source: HazardSource) -> Iterator[Fault]:
    hazard_id, path = source.hazard.id, source.document.path
    if not is_hazard_id(hazard_id):
        what = f"hazard id '{hazard_id}' has signs that do not belong in a name"
        yield source.document.fault(("id",), what, "use a-z, 0-9 and - only")
    if path.name != f"{hazard_id}.yaml":
        what = f"the file is called {path.name} but its id is {hazard_id}"
        yield source.document.fault(("id",), what, f"id: {path.name.removesuffix('.yaml')}")
    for name in source.hazard.findings:
        if not _WORD.fullmatch(name):
            what = f"finding name '{name}' has signs the engine may misread"
            yield source.document.fault(("findings", name), what, "use a-z, 0-9 and _ only")


class CausesShared(HazardCheck):
    """A cause brings hazards together: one that a single hazard names is a slip of the pen."""

    blocks = False

    def in_hazard(self, source: HazardSource, draft: Draft) -> Iterator[Fault]:
        others = [other for other in draft.hazards.values() if other is not source]
        known = sorted({cause for other in others for cause in other.hazard.causes})
        for index, cause in enumerate(source.hazard.causes):
            if cause not in known:
                what = f"no other hazard has the cause '{cause}'"
                near = suggestion(cause, known) or "delete it"
                yield source.document.fault(("causes", index), what, near)


class HashCollisions(Check):
    """The engine compares names by a 32-bit FNV-1a hash only: two names may not share one.

    Hash: Fowler, Noll, Vo, FNV-1a, 32 bit (draft-eastlake-fnv); that the engine compares
    nothing else is our own measurement.
    """

    def faults(self, draft: Draft) -> Iterator[Fault]:
        owners: dict[int, str] = {fnv1a_32(word): word for word in sorted(_ENGINE_WORDS)}
        for fact in draft.facts.values():
            for word in (fact.name, *fact.entry.values):
                yield from _collision(owners, word, fact.document.fault((fact.name,), "", ""))
        for source in draft.hazards.values():
            local = dict(owners)
            for name in (*source.hazard.findings, *AUTOMATIC):
                place = source.document.fault(("findings", name), "", "")
                yield from _collision(local, name, place)


_ENGINE_WORDS = {"id", "sid", "name", "value", "yes", "no"}


def _collision(owners: dict[int, str], word: str, place: Fault) -> Iterator[Fault]:
    other = owners.setdefault(fnv1a_32(word), word)
    if other != word:
        what = f"the engine cannot tell '{word}' from '{other}' (same 32-bit hash)"
        yield Fault(place.file, place.line, what, "rename one of the two")


def is_hazard_id(text: str) -> bool:
    """Whether ``text`` can be a hazard id: small letters, digits, single hyphens."""
    return _ID.fullmatch(text) is not None


def fnv1a_32(text: str) -> int:
    """32-bit FNV-1a hash of the UTF-8 bytes of ``text`` (draft-eastlake-fnv)."""
    code = 0x811C9DC5
    for byte in text.encode("utf-8"):
        code = ((code ^ byte) * 0x01000193) & 0xFFFFFFFF
    return code
