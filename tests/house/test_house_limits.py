"""House limits: small modules, functions that fit a screen, few parameters, tests that run."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
SOURCES = sorted((ROOT / "riskcheck").rglob("*.py"))
MODULE_LINES = 400
FUNCTION_LINES = 60
PARAMETERS = 8
TOP_LEVEL = {
    "README.md",
    "DEVELOPERS.md",
    "pyproject.toml",
    "riskcheck",
    "rules",
    "tests",
    "sample_data",
}


@pytest.mark.parametrize("path", SOURCES, ids=lambda path: str(path.relative_to(ROOT)))
def test_modules_and_functions_stay_small(path: Path) -> None:
    text = path.read_text(encoding="utf-8")
    faults = []
    if (lines := text.count("\n")) > MODULE_LINES:
        faults.append(f"{lines} lines in one module")
    in_cli = path.parent.name == "cli"
    for node in ast.walk(ast.parse(text)):
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
            length = (node.end_lineno or node.lineno) - node.lineno + 1
            count = len(node.args.args) + len(node.args.kwonlyargs)
            if length > FUNCTION_LINES:
                faults.append(f"{node.name} has {length} lines")
            if count > PARAMETERS and not in_cli:
                faults.append(f"{node.name} takes {count} parameters")
    assert faults == []


def test_every_file_with_tests_is_collected() -> None:
    stray = [
        path.name
        for path in (ROOT / "tests").rglob("*.py")
        if "\ndef test_" in path.read_text(encoding="utf-8") and not path.name.startswith("test_")
    ]
    assert stray == []


def test_top_level_is_as_agreed() -> None:
    found = {path.name for path in ROOT.iterdir() if not path.name.startswith(".")}
    assert found - {"riskcheck-out", "build", "dist"} <= TOP_LEVEL
