"""Whatever is done to a rule file, the check names faults with lines and never crashes."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from riskcheck import rulebook
from riskcheck.rulebook.checks import blocking_faults
from riskcheck.rulebook.folder import read_folders

Folder = dict[str, str]
WORDS = [
    "",
    "null",
    "true",
    "no",
    "-1",
    "0",
    "1.5",
    "1e9",
    "[]",
    "{}",
    "[1, 2]",
    "{a: 1}",
    "word",
    '"7"',
    "99999999999999999999",
    "applies",
    "{at_least: 3}",
    "*x",
    "\t",
]


@st.composite
def edits(draw: st.DrawFn) -> tuple[str, int, str]:
    file = draw(
        st.sampled_from(
            [
                "facts.yaml",
                "policy.yaml",
                "hazards/sample.yaml",
                "hazards/sample.cases.yaml",
                "wording/brakes.yaml",
            ]
        )
    )
    return file, draw(st.integers(0, 10**6)), draw(st.sampled_from(["delete", "double", *WORDS]))


def garbled(text: str, at: int, how: str) -> str:
    """One line deleted, doubled, or given another value."""
    lines = text.splitlines()
    at %= len(lines)
    if how == "delete":
        del lines[at]
    elif how == "double":
        lines.insert(at, lines[at])
    else:
        lines[at] = f"{lines[at].split(':')[0]}: {how}"
    return "\n".join(lines) + "\n"


@settings(
    max_examples=150, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(st.lists(edits(), min_size=1, max_size=3))
def test_a_garbled_folder_is_checked_without_a_crash(
    folder: Folder, write: Callable[..., Path], changes: list[tuple[str, int, str]]
) -> None:
    bad = dict(folder)
    for file, at, how in changes:
        bad[file] = garbled(bad[file], at, how)
    root = write(bad)
    blocked = blocking_faults(read_folders([root]))
    assert {*blocked} <= {*rulebook.check(root)}
    for fault in rulebook.check(root):
        assert fault.what
        assert fault.line >= 1
    for hazard_id in read_folders([root]).hazards:
        if not blocked:
            assert rulebook.load(root).compiled(hazard_id).has("exposed")


@pytest.mark.parametrize("text", ["[]\n", "5\n", "word\n", "null\n", "- a\n- b\n", "a: [1\n"])
@pytest.mark.parametrize(
    "file", ["facts.yaml", "policy.yaml", "platforms.yaml", "hazards/sample.yaml", "wording/a.yaml"]
)
def test_a_file_of_the_wrong_shape_is_a_fault_or_harmless(
    file: str, text: str, folder: Folder, write: Callable[..., Path]
) -> None:
    faults = rulebook.check(write({**folder, file: text}))
    if not file.startswith("wording"):
        assert any(fault.file.name == Path(file).name for fault in faults)
