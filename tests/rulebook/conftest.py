"""A small rule folder of its own, so that each check can be shown one good and one bad file.

All figures and names in it are invented.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from riskcheck import rulebook
from riskcheck.yamlfile import Fault

FACTS = """\
hydraulic_brakes:
  kind: flag
  meaning: brakes work by fluid
  from: {column: {}}
  silence: at_random
  ask: Look and see?
  base: {"yes": 0.9, "no": 0.1}
road_salt:
  kind: flag
  meaning: driven on salted roads
  from: {column: {name: salt}}
  silence: at_random
  ask: Look and see?
  base: {"yes": 0.6, "no": 0.4}
unpaved_roads:
  kind: flag
  meaning: much gravel
  from: {column: {}}
  silence: at_random
  ask: Look and see?
hose_kind:
  kind: category
  meaning: what the hose is made of
  values: [rubber, braided]
  from: {column: {}}
  silence: at_random
  ask: Look and see?
  base: {rubber: 0.9, braided: 0.1}
years_since_brake_hoses:
  kind: number
  meaning: years since the hoses were renewed
  unit: y
  resolution: 0.1
  range: [0, 80]
  from: {since: {clock: years, topics: [brake_hose], marks: [done]}}
  silence: on_file
brake_hoses_renewed:
  kind: flag
  meaning: hoses were renewed
  from: {ever: {topics: [brake_hose], marks: [done]}}
  silence: on_file
brake_pull_reported:
  kind: flag
  meaning: pulling was reported
  from: {open: {topics: [brake_drag], marks: [complaint],
    closed_by: {topics: [brake_hose], marks: [done]}}}
  silence: on_file
brake_hose_found_bad:
  kind: flag
  meaning: a hose was found bad
  from: {ever: {topics: [brake_hose], marks: [finding]}}
  silence: coverage
  reporting: {base: 0.1, seen_if_true: 0.8}
"""

# The policy is not what these folders are about: it is the shipped one.
POLICY = (rulebook.shipped_dir() / "policy.yaml").read_text(encoding="utf-8")

WORDING = """\
topics:
  brake_hose: {hazards: [sample], says: the hoses}
  brake_drag: {hazards: [sample], says: a dragging wheel}
"""

Folder = dict[str, str]
Faults = Callable[[Folder], list[Fault]]


@pytest.fixture
def folder() -> Folder:
    """Text of every file of a faultless rule folder, by its path."""
    return {
        "facts.yaml": FACTS,
        "policy.yaml": POLICY,
        "hazards/sample.yaml": rulebook.skeleton("sample"),
        "hazards/sample.cases.yaml": rulebook.skeleton_cases("sample"),
        "wording/brakes.yaml": WORDING,
    }


@pytest.fixture
def write(tmp_path: Path) -> Callable[[Folder], Path]:
    """Writes a folder's files and returns where they are."""

    def write_all(files: Folder, name: str = "rules") -> Path:
        root = tmp_path / name
        for path, text in files.items():
            (root / path).parent.mkdir(parents=True, exist_ok=True)
            (root / path).write_text(text, encoding="utf-8")
        return root

    return write_all
