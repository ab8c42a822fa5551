"""The skeleton's own cases, whose results were worked out by hand, pass through the live engine."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from riskcheck import rulebook
from riskcheck.reasoning import Engine, run_cases

Folder = dict[str, str]


def test_a_new_hazard_passes_its_cases_as_written(write: Callable[[Folder], Path]) -> None:
    shop = write(
        {
            "hazards/my-hazard.yaml": rulebook.skeleton("my-hazard"),
            "hazards/my-hazard.cases.yaml": rulebook.skeleton_cases("my-hazard"),
        }
    )
    book = rulebook.load(rulebook.shipped_dir(), shop)
    with Engine() as engine:
        results = run_cases(book, "my-hazard", engine)
    assert len(results) == 7
    assert [(result.name, result.differences) for result in results if not result.passed] == []
