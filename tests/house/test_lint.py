"""The code is clean under ruff and under mypy's strict mode."""

import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]


@pytest.mark.parametrize(
    "arguments",
    [("ruff", "check", "."), ("ruff", "format", "--check", "."), ("mypy",)],
    ids=["ruff check", "ruff format", "mypy --strict"],
)
def test_the_tree_is_clean(arguments: tuple[str, ...]) -> None:
    done = subprocess.run(
        [sys.executable, "-m", *arguments], cwd=ROOT, capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stdout + done.stderr
