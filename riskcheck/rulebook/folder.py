"""Rule folders read into one draft: every file validated on its own, later folders on top.

The draft keeps each entry beside the document it came from, so that checks can name file and
line.  Nothing here judges content; that is the work of ``riskcheck.rulebook.checks``.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from pathlib import Path
from typing import Any

from riskcheck import yamlfile
from riskcheck.errors import RulebookError
from riskcheck.rulebook.facts import FactEntry
from riskcheck.rulebook.model import Case, CaseFile, Hazard, Platform, PlatformFile, Policy
from riskcheck.rulebook.validate import suggestion, validate
from riskcheck.vocabulary import Vocabulary
from riskcheck.yamlfile import Document, Fault

CASES_SUFFIX = ".cases.yaml"
TOP_LEVEL = ("facts.yaml", "policy.yaml", "platforms.yaml")
FOLDERS = ("hazards", "wording")


@dataclass(frozen=True)
class HazardSource:
    """One hazard with the files it and its cases came from."""

    hazard: Hazard
    document: Document
    cases: tuple[Case, ...]
    cases_document: Document | None


@dataclass(frozen=True)
class FactSource:
    """One fact entry with the file it came from."""

    name: str
    entry: FactEntry
    document: Document


@dataclass(frozen=True)
class PlatformSource:
    """One platform with its file and its place in it."""

    platform: Platform
    document: Document
    index: int


@dataclass
class Draft:
    """All that was read, faults included; ``unread`` holds ids whose file did not validate."""

    hazards: dict[str, HazardSource] = field(default_factory=dict)
    facts: dict[str, FactSource] = field(default_factory=dict)
    platforms: list[PlatformSource] = field(default_factory=list)
    policy: Policy | None = None
    policy_documents: list[Document] = field(default_factory=list)
    wording: list[Document] = field(default_factory=list)
    wording_dirs: list[Path] = field(default_factory=list)
    unread: set[str] = field(default_factory=set)
    unread_facts: set[str] = field(default_factory=set)
    overrides: list[str] = field(default_factory=list)
    faults: list[Fault] = field(default_factory=list)
    root: Path = Path()

    @cached_property
    def vocabulary(self) -> Vocabulary:
        """The facts that validated, each with exactly one derivation; fixed once asked for."""
        return Vocabulary(
            {
                name: source.entry.to_fact(name)
                for name, source in self.facts.items()
                if len(source.entry.found.chosen()) == 1
            }
        )

    @property
    def hazard_ids(self) -> list[str]:
        """Every hazard id that has a file, readable or not."""
        return sorted({*self.hazards, *self.unread})


def read_folders(dirs: Sequence[Path]) -> Draft:
    """Read rule folders in order, later ones over earlier ones by id."""
    draft = Draft(root=dirs[-1] if dirs else Path())
    for folder in dirs:
        if not folder.is_dir():
            draft.faults.append(Fault(folder, 1, "there is no such rule folder", "check the path"))
            continue
        _read_facts(draft, folder / "facts.yaml")
        _read_hazards(draft, folder / "hazards")
        _read_policy(draft, folder / "policy.yaml")
        _read_platforms(draft, folder / "platforms.yaml")
        _read_wording(draft, folder / "wording")
        _note_strangers(draft, folder)
    _finish_policy(draft)
    draft.hazards = dict(sorted(draft.hazards.items()))
    return draft


def _open(draft: Draft, path: Path) -> Document | None:
    """The document, its faults noted; None where there is no such file or no data in it."""
    if not path.is_file():
        return None
    document = yamlfile.read(path)
    draft.faults += document.faults
    return None if document.data is None else document


def _read_facts(draft: Draft, path: Path) -> None:
    document = _open(draft, path)
    if document is None:
        return
    if not isinstance(document.data, dict):
        draft.faults.append(document.fault((), "facts.yaml must map fact names to their entries"))
        return
    for name, data in document.data.items():
        entry, faults = validate(document, FactEntry, data, (name,))
        draft.faults += faults
        if entry is None:
            draft.unread_facts.add(name)
            continue
        known = draft.facts.get(name)
        if known is None or known.entry != entry:
            _note_override(draft, "fact", name, known, path)
        draft.facts[name] = FactSource(name, entry, document)


def _read_hazards(draft: Draft, folder: Path) -> None:
    for path in sorted(folder.glob("*.yaml")):
        if path.name.endswith(CASES_SUFFIX):
            continue
        stem = path.name.removesuffix(".yaml")
        document = _open(draft, path)
        hazard, faults = validate(document, Hazard) if document else (None, [])
        draft.faults += faults
        cases, cases_document = _read_cases(draft, folder / f"{stem}{CASES_SUFFIX}")
        if document is None or hazard is None:
            draft.unread.add(stem)
            continue
        earlier = draft.hazards.get(hazard.id)
        if earlier is None or earlier.hazard != hazard:
            _note_override(draft, "hazard", hazard.id, earlier, path)
        draft.hazards[hazard.id] = HazardSource(hazard, document, cases, cases_document)
    for path in sorted(folder.glob(f"*{CASES_SUFFIX}")):
        stem = path.name.removesuffix(CASES_SUFFIX)
        if not (folder / f"{stem}.yaml").is_file():
            known = sorted(p.name.removesuffix(".yaml") for p in folder.glob("*.yaml"))
            draft.faults.append(
                Fault(path, 1, f"there is no hazard {stem}.yaml", suggestion(stem, known))
            )


def _read_cases(draft: Draft, path: Path) -> tuple[tuple[Case, ...], Document | None]:
    document = _open(draft, path)
    if document is None:
        return (), None
    cases, faults = validate(document, CaseFile)
    draft.faults += faults
    return (tuple(cases.cases) if cases else ()), document


def _read_policy(draft: Draft, path: Path) -> None:
    document = _open(draft, path)
    if document is None:
        return
    if not isinstance(document.data, dict):
        draft.faults.append(document.fault((), "policy.yaml must map policy names to figures"))
        return
    if draft.policy_documents:
        draft.overrides += [
            f"policy {name}: {path} replaces the earlier entry"
            for name in document.data
            if any(name in earlier.data for earlier in draft.policy_documents)
            and _last_said(draft, name) != document.data[name]
        ]
    draft.policy_documents.append(document)


def _last_said(draft: Draft, name: str) -> Any:
    """A policy entry as the folders read so far have it."""
    merged: dict[str, Any] = {}
    for document in draft.policy_documents:
        merged = _merged(merged, document.data)
    return merged.get(name)


def _finish_policy(draft: Draft) -> None:
    """Merge the policies: an entry of a later folder replaces, a table of figures adds."""
    if not draft.policy_documents:
        draft.faults.append(
            Fault(draft.root / "policy.yaml", 1, "there is no policy.yaml", "start from ours")
        )
        return
    merged: dict[str, Any] = {}
    lines: dict[tuple[str | int, ...], int] = {}
    for document in draft.policy_documents:
        merged = _merged(merged, document.data)
        lines.update(document.lines)
    last = draft.policy_documents[-1]
    draft.policy, faults = validate(Document(last.path, merged, lines, last.faults), Policy)
    draft.faults += faults


def _merged(under: Mapping[str, Any], over: Mapping[str, Any]) -> dict[str, Any]:
    merged = dict(under)
    for key, value in over.items():
        below = merged.get(key)
        is_table = isinstance(value, dict) and "value" not in value and isinstance(below, dict)
        merged[key] = _merged(below, value) if is_table and below is not None else value
    return merged


def _read_platforms(draft: Draft, path: Path) -> None:
    document = _open(draft, path)
    if document is None:
        return
    file, faults = validate(document, PlatformFile)
    draft.faults += faults
    if file is None:
        return
    below = {_platform_key(source.platform): source for source in draft.platforms}
    new = []
    for index, platform in enumerate(file.platforms):
        old = below.get(_platform_key(platform))
        said = old.platform.features if old else {}
        if any(said.get(name, value) != value for name, value in platform.features.items()):
            name = " ".join(str(part) for part in _platform_key(platform) if part is not None)
            _note_override(draft, "platform", name, old, path)
        whole = platform.model_copy(update={"features": {**said, **platform.features}})
        new.append(PlatformSource(whole, document, index))
    replaced = {_platform_key(source.platform) for source in new}
    kept = [old for old in draft.platforms if _platform_key(old.platform) not in replaced]
    draft.platforms = kept + new


def own_platforms(folder: Path) -> tuple[Platform, ...]:
    """Entries of one folder's own ``platforms.yaml``; none without the file.

    Raises RulebookError with every fault of the file.
    """
    draft = Draft(root=folder)
    _read_platforms(draft, folder / "platforms.yaml")
    if draft.faults:
        raise RulebookError([fault.words() for fault in draft.faults])
    return tuple(source.platform for source in draft.platforms)


def _platform_key(platform: Platform) -> tuple[str, str, str | None, int, int]:
    first, last = platform.years
    return platform.make, platform.model, platform.engine, first, last


def _read_wording(draft: Draft, folder: Path) -> None:
    if not folder.is_dir():
        return
    draft.wording_dirs.append(folder)
    for path in sorted(folder.glob("*.yaml")):
        document = _open(draft, path)
        if document is not None:
            draft.wording.append(document)


def _note_override(
    draft: Draft,
    noun: str,
    name: str,
    earlier: HazardSource | FactSource | PlatformSource | None,
    path: Path,
) -> None:
    if earlier is not None:
        draft.overrides.append(f"{noun} {name}: {path} replaces {earlier.document.path}")


def _note_strangers(draft: Draft, folder: Path) -> None:
    """A rule file that nobody reads looks like a rule in force: say so."""
    for path in sorted(folder.iterdir()):
        if path.suffix in (".yaml", ".yml") and path.name not in TOP_LEVEL:
            near = suggestion(path.name, TOP_LEVEL)
            instead = f"{near} hazards belong in {folder / 'hazards'}"
            draft.faults.append(Fault(path, 1, "this file is read by nobody", instead))
    hazards = folder / "hazards"
    for path in sorted(hazards.glob("*.yml")) if hazards.is_dir() else []:
        draft.faults.append(
            Fault(path, 1, "this file is read by nobody", f"name it {path.stem}.yaml")
        )
