"""What is worth a second look in a shop's own hazards without being a fault of the rules."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

from riskcheck import yamlfile
from riskcheck.rulebook.folder import HazardSource, read_folders
from riskcheck.rulebook.skeleton import SKILLS, TEARDOWNS, skeleton
from riskcheck.rulebook.validate import nearest
from riskcheck.yamlfile import Fault, Where

# Entries of which a shop's own hazard can hardly have the very words or figures of the example.
_TEXTS = {
    "title", "system", "needs", "mechanism", "event", "effect", "goes_wrong", "say", "ask", "says",
    "proof", "name",
}  # fmt: skip
_FIGURES = {"harm", "life", "job", "outcomes"}
_PLACES_NAMED = 12


def notes(*dirs: Path) -> list[Fault]:
    """Notes on the hazards of the last folder: texts and figures of the example, rare skills.

    They stop nothing, and a note may stand where the shop knows better.  With one folder only,
    the shipped one, there are none.
    """
    if len(dirs) < 2:
        return []
    own = dirs[-1].resolve()
    sources = [
        source
        for source in read_folders(dirs).hazards.values()
        if own in source.document.path.resolve().parents
    ]
    return sorted(note for source in sources for note in _of(source))


def _of(source: HazardSource) -> Iterator[Fault]:
    example = yamlfile.parse(skeleton(source.hazard.id), source.document.path)
    same = [
        where
        for where in source.document.lines
        if where and source.document.at(where) == example.at(where)
    ]
    texts = [where for where in same if _is_text(where, source.document.at(where))]
    figures = [
        where
        for where in same
        if where[0] in _FIGURES and "value" in _mapping(source.document.at(where))
    ]
    for noun, places in (("text", texts), ("figure", figures)):
        if places:
            yield _still_example(source, noun, places)
    job = source.hazard.job
    if job.skill.casefold() not in {skill.casefold() for skill in SKILLS}:
        what = f"no shipped hazard asks for the skill '{job.skill}'"
        near = nearest(job.skill, SKILLS)
        instead = "the Technicians sheet must list it in these words, or nobody can be planned"
        meant = f" (did you mean '{near}'?)" if near else f" (shipped: {', '.join(SKILLS)})"
        yield source.document.fault(("job", "skill"), what, instead + meant)
    if job.teardown not in TEARDOWNS:
        near = nearest(job.teardown, TEARDOWNS)
        what = f"no shipped job has the teardown '{job.teardown}'"
        instead = "right if it shares none" + (f"; or did you mean '{near}'?" if near else "")
        yield source.document.fault(("job", "teardown"), what, instead)


def _still_example(source: HazardSource, noun: str, places: list[Where]) -> Fault:
    named = [f"{_path(where)} (line {source.document.line_of(where)})" for where in places]
    more = f" and {len(named) - _PLACES_NAMED} more" if len(named) > _PLACES_NAMED else ""
    what = (
        f"{len(named)} {noun}{'' if len(named) == 1 else 's'} still the example of the skeleton: "
        f"{', '.join(named[:_PLACES_NAMED])}{more}"
    )
    return source.document.fault(places[0], what, "write what is true of this hazard")


def _path(where: Where) -> str:
    return ".".join(str(part + 1) if isinstance(part, int) else part for part in where)


def _is_text(where: Where, value: Any) -> bool:
    in_cautions = "cautions" in where and isinstance(where[-1], int)
    if where[-1] == "effect" and len(where) > 1:
        return False  # what a remedy does: one of a few words
    titled = where[-1] == "title" and where[0] in ("job", "look", "remedies")
    return isinstance(value, str) and (where[-1] in _TEXTS or in_cautions or titled)


def _mapping(value: Any) -> dict[str, Any]:
    return value if isinstance(value, dict) else {}
