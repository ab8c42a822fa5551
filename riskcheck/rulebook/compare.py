"""What two rulebooks say differently, entry by entry."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import asdict, dataclass
from typing import Any, Literal

from riskcheck import yamlfile
from riskcheck.rulebook.book import Rulebook
from riskcheck.rulebook.model import Platform

Section = Literal["hazard", "fact", "policy", "platform", "wording"]
Bearing = Literal["conclusions", "figures", "words"]

# Entries of a hazard or fact that only people read; no run comes out differently by them.
_WORDS_OF_A_HAZARD = {
    "title", "system", "needs", "mechanism", "event", "effect", "words", "goes_wrong", "sources",
    "id", "causes",
}  # fmt: skip
_WORDS_OF_A_FACT = {"meaning", "ask", "how_to_tell", "source"}
_WORDS_ANYWHERE = {"says", "source", "citation", "proof", "hides", "how_known", "skill"}


@dataclass(frozen=True, order=True)
class Change:
    """One entry that differs; ``before`` or ``after`` is "" where there is none.

    ``where`` is the path inside the named hazard, fact, platform or the policy, its parts joined
    by dots; "" means the whole entry.
    """

    section: Section
    name: str
    where: str
    before: str
    after: str

    @property
    def bearing(self) -> Bearing:
        """What can come out differently: conclusions (then figures too), figures, or words only."""
        parts = self.where.split(".")
        if self.section in ("platform", "wording") or not self.where:
            return "conclusions"
        if self.section == "policy":
            return "conclusions" if parts[0] == "status_weight" else "figures"
        only_words = _WORDS_OF_A_HAZARD if self.section == "hazard" else _WORDS_OF_A_FACT
        if parts[0] in only_words or parts[-1] in _WORDS_ANYWHERE:
            return "words"
        is_rule = self.section == "fact" or parts[0] == "findings"
        return "conclusions" if is_rule else "figures"

    def words(self) -> str:
        """The change in one line."""
        name = f"{self.section} {self.name}" if self.name else self.section
        place = f"{name}, {self.where}" if self.where else name
        if not self.before:
            return f"{place}: added {self.after}"
        if not self.after:
            return f"{place}: removed {self.before}"
        return f"{place}: {self.before} became {self.after}"


def diff(before: Rulebook, after: Rulebook) -> tuple[Change, ...]:
    """Every entry in which two rulebooks differ, sorted by section, name and place."""
    changes = [
        *_section("hazard", _hazards(before), _hazards(after)),
        *_section("fact", _facts(before), _facts(after)),
        *_section("policy", _policy(before), _policy(after)),
        *_section("platform", _platforms(before), _platforms(after)),
        *_section("wording", _wording(before), _wording(after)),
    ]
    return tuple(sorted(changes))


Entries = Mapping[str, Mapping[str, Any]]


def _section(section: Section, before: Entries, after: Entries) -> Iterator[Change]:
    for name in sorted({*before, *after}):
        if name not in after:
            yield Change(section, name, "", _title(before[name]), "")
        elif name not in before:
            yield Change(section, name, "", "", _title(after[name]))
        else:
            old, new = dict(_leaves(before[name])), dict(_leaves(after[name]))
            for where in sorted({*old, *new}):
                if old.get(where) != new.get(where):
                    yield Change(section, name, where, old.get(where, ""), new.get(where, ""))


def _leaves(value: Any, where: str = "") -> Iterator[tuple[str, str]]:
    """(path, text) of every single value; list positions count from 1."""
    if isinstance(value, Mapping):
        for key, inner in value.items():
            yield from _leaves(inner, f"{where}.{key}" if where else str(key))
    elif isinstance(value, list | tuple):
        for position, inner in enumerate(value, start=1):
            yield from _leaves(inner, f"{where}.{position}")
    elif value is not None and value != "":
        yield where, str(value).lower() if isinstance(value, bool) else str(value)


def _title(entry: Mapping[str, Any]) -> str:
    return str(entry.get("title") or entry.get("meaning") or "it")


def _hazards(book: Rulebook) -> Entries:
    return {
        name: hazard.model_dump(mode="json", exclude_none=True)
        for name, hazard in book.hazards.items()
    }


def _facts(book: Rulebook) -> Entries:
    return {name: asdict(fact) for name, fact in book.vocabulary.items()}


def _policy(book: Rulebook) -> Entries:
    return {"": book.policy.model_dump(mode="json")}


def _platforms(book: Rulebook) -> Entries:
    return {platform_name(platform): dict(platform.features) for platform in book.platforms}


def _wording(book: Rulebook) -> Entries:
    """Entries of all wording files, later folders over earlier ones, by section and name."""
    entries: dict[str, Mapping[str, Any]] = {}
    for folder in book.wording_dirs:
        for path in sorted(folder.glob("*.yaml")):
            for section, content in (yamlfile.read(path).data or {}).items():
                named = content if isinstance(content, dict) else {"": content}
                for name, entry in named.items():
                    entries[f"{section} {name}".strip()] = (
                        entry if isinstance(entry, dict) else {"is": entry}
                    )
    return entries


def platform_name(platform: Platform) -> str:
    """Make, model, engine and years in one line."""
    first, last = platform.years
    return " ".join(
        filter(None, [platform.make, platform.model, platform.engine, f"{first}-{last}"])
    )
