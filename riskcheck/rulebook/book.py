"""The rulebook as the rest of riskcheck sees it: checked, layered, with a digest."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass, replace
from pathlib import Path
from typing import Any

from riskcheck.errors import RulebookError, UsageError
from riskcheck.rulebook.checks import all_faults, blocking_faults
from riskcheck.rulebook.compiled import CompiledHazard, compile_hazard
from riskcheck.rulebook.folder import CASES_SUFFIX, Draft, read_folders
from riskcheck.rulebook.model import Case, Hazard, Platform, Policy
from riskcheck.rulebook.skeleton import skeleton, skeleton_cases
from riskcheck.rulebook.validate import suggestion
from riskcheck.vocabulary import Vocabulary
from riskcheck.yamlfile import Document, Fault


@dataclass(frozen=True)
class Rulebook:
    """A rulebook that passed its checks.

    ``hazards``, ``cases`` and ``files`` are keyed by hazard id, ascending.  ``digest`` is a
    SHA-256 over the content, so that comments and layout do not change it.  ``overrides`` says
    in words what a later folder replaced.
    """

    hazards: Mapping[str, Hazard]
    vocabulary: Vocabulary
    policy: Policy
    platforms: tuple[Platform, ...]
    cases: Mapping[str, tuple[Case, ...]]
    digest: str
    overrides: tuple[str, ...]
    wording_dirs: tuple[Path, ...]
    files: Mapping[str, Path]

    def compiled(self, hazard_id: str) -> CompiledHazard:
        """The compiled findings of one hazard; KeyError for an unknown id."""
        return compile_hazard(self.hazards[hazard_id], self.vocabulary)

    def companions(self, hazard_id: str) -> dict[str, tuple[str, ...]]:
        """Hazards that travel with this one, by the cause they share; KeyError as ``compiled``."""
        together = {
            cause: tuple(
                name
                for name, other in self.hazards.items()
                if cause in other.causes and name != hazard_id
            )
            for cause in self.hazards[hazard_id].causes
        }
        return {cause: names for cause, names in together.items() if names}

    def keeping(self, only: Sequence[str]) -> Rulebook:
        """The same rulebook with only these hazards; its digest differs accordingly.

        Raises UsageError for an id that the rulebook does not have.
        """
        for hazard_id in only:
            if hazard_id not in self.hazards:
                near = suggestion(hazard_id, list(self.hazards), "riskcheck rules list")
                raise UsageError(f"there is no hazard '{hazard_id}'; {near}")
        kept = [hazard_id for hazard_id in self.hazards if hazard_id in set(only)]
        narrowed = hashlib.sha256("\n".join([self.digest, *kept]).encode("utf-8")).hexdigest()
        return replace(
            self,
            hazards={hazard_id: self.hazards[hazard_id] for hazard_id in kept},
            cases={hazard_id: self.cases[hazard_id] for hazard_id in kept},
            files={hazard_id: self.files[hazard_id] for hazard_id in kept},
            digest=narrowed,
        )


def shipped_dir() -> Path:
    """The folder of rules that comes with riskcheck: in a checkout, or inside the wheel."""
    package = Path(__file__).resolve().parent.parent
    for candidate in (package / "_rules", package.parent / "rules"):
        if (candidate / "hazards").is_dir():
            return candidate
    raise RulebookError([f"{package}: the rules that ship with riskcheck are missing"])


def starting_texts(hazard_id: str, like: str = "") -> tuple[str, str]:
    """(hazard file, case file) to start a hazard of one's own from.

    A copy of the shipped hazard ``like``, or of the one that has this very id, else the skeleton.
    Raises UsageError for an id that cannot be one and for a ``like`` that is not shipped.
    """
    texts = skeleton(hazard_id), skeleton_cases(hazard_id)
    shipped = load()
    if like:
        shipped.keeping([like])
    pattern = like or (hazard_id if hazard_id in shipped.hazards else "")
    if not pattern:
        return texts
    file = shipped.files[pattern]
    hazard, cases = (
        path.read_text(encoding="utf-8")
        for path in (file, file.with_name(f"{pattern}{CASES_SUFFIX}"))
    )
    return hazard.replace(f"id: {pattern}\n", f"id: {hazard_id}\n", 1), cases


def load(*dirs: Path) -> Rulebook:
    """Read rule folders, later ones over earlier ones by id; no folder means the shipped one.

    Raises RulebookError with every fault that would make an answer wrong.  Faults of wording,
    sources and test cases are left to ``check``.
    """
    draft = read_folders(dirs or (shipped_dir(),))
    faults = blocking_faults(draft)
    if faults:
        raise RulebookError([fault.words() for fault in faults])
    return _assemble(draft)


def check(*dirs: Path) -> list[Fault]:
    """Every fault of the rule folders, layered as ``load`` does, in file and line order."""
    return all_faults(read_folders(dirs or (shipped_dir(),)))


def _assemble(draft: Draft) -> Rulebook:
    if draft.policy is None:
        raise RulebookError([f"{draft.root}: there is no usable policy.yaml"])
    return Rulebook(
        hazards={hazard_id: source.hazard for hazard_id, source in draft.hazards.items()},
        vocabulary=draft.vocabulary,
        policy=draft.policy,
        platforms=tuple(source.platform for source in draft.platforms),
        cases={hazard_id: source.cases for hazard_id, source in draft.hazards.items()},
        digest=_digest(draft, draft.policy),
        overrides=tuple(draft.overrides),
        wording_dirs=tuple(draft.wording_dirs),
        files={hazard_id: source.document.path for hazard_id, source in draft.hazards.items()},
    )


def _digest(draft: Draft, policy: Policy) -> str:
    """Over content only; cases are left out because they change no answer."""
    content: dict[str, Any] = {
        "hazards": [source.hazard.model_dump(mode="json") for source in draft.hazards.values()],
        "facts": [_fact_content(fact) for fact in draft.vocabulary.values()],
        "policy": policy.model_dump(mode="json"),
        "platforms": [source.platform.model_dump(mode="json") for source in draft.platforms],
        "wording": [_wording_content(document) for document in draft.wording],
    }
    canonical = json.dumps(content, sort_keys=True, ensure_ascii=True, separators=(",", ":"))
    return hashlib.sha256(canonical.encode("ascii")).hexdigest()


def _fact_content(fact: Any) -> dict[str, Any]:
    return asdict(fact)


def _wording_content(document: Document) -> Any:
    return [document.path.name, json.loads(json.dumps(document.data, default=str))]
