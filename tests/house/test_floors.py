"""Imports point one way: a package may import lower floors only, and never a sibling.

11 cli                      typer: parse, call, print, exit code
10 outreaching, planning    stories that need an assessment and what the ledger remembers
   comparing, counter, explaining  and those that make assessments of their own
9  remembering              between a run and the ledger: recorded, changed, withdrawn, counted
   doubting                 a run held against itself, with doubtful readings the other way
8  assessment, backtest     the whole story in one function
7  reports                  all wording and looks
6  actions  explain  learning
5  risk                     probability, loss, act-by, rank
4  reasoning                durable-rules fills tables; vehicles look findings up
3  usage                    how far each vehicle is along every clock
2  fleet  rulebook          sheets to frames | YAML to a checked model
1  sheets  yamlfile  physics  ledger
0  errors  figures  vocabulary  units  calm
"""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

PACKAGE = Path(__file__).parents[2] / "riskcheck"
FLOORS: tuple[frozenset[str], ...] = (
    frozenset({"errors", "figures", "vocabulary", "units", "calm"}),
    frozenset({"sheets", "yamlfile", "physics", "ledger"}),
    frozenset({"fleet", "rulebook"}),
    frozenset({"usage"}),
    frozenset({"reasoning"}),
    frozenset({"risk"}),
    frozenset({"actions", "explain", "learning"}),
    frozenset({"reports"}),
    frozenset({"assessment", "backtest"}),
    frozenset({"remembering", "doubting"}),
    frozenset({"outreaching", "planning", "comparing", "counter", "explaining"}),
    frozenset({"cli"}),
)
FLOOR_OF = {name: level for level, names in enumerate(FLOORS) for name in names}
# Each of these libraries has one door.
DOORS = {
    "durable": {"reasoning"},
    "typer": {"cli"},
    "yaml": {"yamlfile"},
    "openpyxl": {"sheets"},
    "python_calamine": {"sheets"},
    "sqlalchemy": {"ledger"},
    "jinja2": {"reports"},
    "icalendar": {"reports"},
    "matplotlib": {"reports"},
}


def imported_names(tree: ast.AST) -> Iterator[tuple[int, str]]:
    """Every absolute module name that a module imports, inside functions too."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            for alias in node.names:
                yield node.lineno, alias.name
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"line {node.lineno}: write imports in full"
            assert node.module is not None
            yield node.lineno, node.module
            if node.module == "riskcheck":
                for alias in node.names:
                    yield node.lineno, f"riskcheck.{alias.name}"


def unit_of(path: Path) -> str:
    """The package or top-level module that a file belongs to."""
    first = path.relative_to(PACKAGE).parts[0]
    return first.removesuffix(".py")


def wrong_imports(path: Path, source: str) -> list[str]:
    """Every import of ``path`` that points up, sideways or through a foreign door."""
    unit = unit_of(path)
    faults = []
    for line, name in imported_names(ast.parse(source)):
        head, _, rest = name.partition(".")
        if head in DOORS and unit not in DOORS[head]:
            faults.append(f"{path.name}:{line} imports {head}; only {DOORS[head]} may")
        if head != "riskcheck" or not rest:
            continue
        target = rest.split(".")[0]
        if target in FLOOR_OF and target != unit and FLOOR_OF[target] >= FLOOR_OF[unit]:
            faults.append(f"{path.name}:{line} ({unit}) imports {target}, not on a lower floor")
    return faults


SOURCES = sorted(
    path for path in PACKAGE.rglob("*.py") if unit_of(path) not in {"__init__", "__main__"}
)


@pytest.mark.parametrize("path", SOURCES, ids=lambda path: str(path.relative_to(PACKAGE)))
def test_imports_point_to_lower_floors(path: Path) -> None:
    assert unit_of(path) in FLOOR_OF, f"{path} stands on no floor: add it to the drawing"
    assert wrong_imports(path, path.read_text(encoding="utf-8")) == []


@pytest.mark.parametrize(
    ("unit", "source"),
    [
        ("fleet/x.py", "import riskcheck.risk.life"),
        ("fleet/x.py", "def f():\n    from riskcheck.rulebook import load"),
        ("risk/x.py", "from riskcheck import explain"),
        ("fleet/x.py", "import yaml"),
    ],
)
def test_the_guard_sees_a_wrong_import(unit: str, source: str) -> None:
    assert len(wrong_imports(PACKAGE / unit, source)) == 1


def test_the_guard_lets_a_lower_floor_pass() -> None:
    assert wrong_imports(PACKAGE / "risk/x.py", "from riskcheck.figures import Figure") == []
