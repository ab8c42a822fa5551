"""Bands hold every value exactly once; kept tables are used only when they are whole and ours."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from riskcheck.errors import RulebookError, UsageError
from riskcheck.reasoning.bands import bands_of
from riskcheck.reasoning.engine import Engine
from riskcheck.reasoning.evidence import stated
from riskcheck.reasoning.nearest import what_would_change
from riskcheck.reasoning.overflow import bounds
from riskcheck.reasoning.reasoned import reason
from riskcheck.reasoning.reasoning import chain, conclude
from riskcheck.reasoning.tables import tables_for
from riskcheck.rulebook.compiled import (
    CompiledFinding,
    CompiledHazard,
    CompiledRule,
    FactLiteral,
    FindingLiteral,
)
from riskcheck.vocabulary import Derivation, Fact, Reporting, Vocabulary

COLUMN = Derivation("column")


def one_finding(name: str, literals) -> CompiledFinding:
    return CompiledFinding(name, name, 1, (CompiledRule(name, 0, tuple(literals)),))


@given(
    cuts=st.lists(st.integers(0, 60), unique=True, max_size=8).map(sorted),
    silence=st.sampled_from(["on_file", "at_random"]),
)
def test_every_step_lies_in_the_one_cell_that_spans_it(cuts, silence):
    fact = Fact("age", "number", "", COLUMN, silence, low=0, high=60)
    bands = bands_of(fact, cuts)
    steps = np.arange(61)
    cell = bands.cell_of(steps)
    assert (bands.low[cell] <= steps).all()
    assert (steps <= bands.high[cell]).all()
    # No cell is empty, and each constant has one of its own: all comparisons are constant in it.
    real = range(bands.cells - bands.has_absent)
    assert set(cell.tolist()) == set(real)
    for cut in cuts:
        assert (cell == cell[cut]).sum() == 1
    assert bands.has_absent is (silence == "on_file")


def test_adjacent_constants_have_no_cell_between_them():
    fact = Fact("age", "number", "", COLUMN, "at_random", low=0, high=9)
    assert bands_of(fact, (4, 5)).representatives == (1, 4, 5, 7)
    assert bands_of(fact, (0, 9)).representatives == (0, 4, 9)


HAZARD = CompiledHazard(
    "kept",
    (one_finding("applies", [FactLiteral("age", ">=", 10), FactLiteral("age", "<", 20)]),),
    {"age": (10, 20)},
    ("age",),
    (),
)
VOCABULARY = Vocabulary({"age": Fact("age", "number", "", COLUMN, "on_file", low=0, high=99)})


def kept_tables(folder, hazard=HAZARD, vocabulary=VOCABULARY):
    with Engine() as engine:
        tables = tables_for([hazard], vocabulary, engine, folder)[hazard.hazard_id]
        return tables.findings[0].fired.tolist(), engine.sessions_run


@pytest.mark.parametrize(
    "damage",
    [
        lambda text: "",
        lambda text: text[: len(text) // 2],
        lambda text: text.replace("[0,", "[1,", 1).replace("[0 ,", "[1,", 1),
        lambda text: "[]",
        lambda text: '{"tables": {"applies": "x"}, "checksum": 3}',
    ],
)
def test_a_damaged_file_is_not_used(tmp_path, damage):
    expected, sessions = kept_tables(tmp_path)
    assert kept_tables(tmp_path) == (expected, 0)
    (file,) = tmp_path.iterdir()
    file.write_text(damage(file.read_text()))
    assert kept_tables(tmp_path) == (expected, sessions)
    assert kept_tables(tmp_path) == (expected, 0)


def test_other_rules_ranges_or_engine_versions_are_other_files(tmp_path, monkeypatch):
    kept_tables(tmp_path)
    other_rule = CompiledHazard(
        "kept",
        (one_finding("applies", [FactLiteral("age", ">", 10), FactLiteral("age", "<", 20)]),),
        {"age": (10, 20)},
        ("age",),
        (),
    )
    assert kept_tables(tmp_path, other_rule)[1] > 0
    wider = Vocabulary({"age": Fact("age", "number", "", COLUMN, "on_file", low=0, high=100)})
    assert kept_tables(tmp_path, vocabulary=wider)[1] > 0
    monkeypatch.setattr("riskcheck.reasoning.table_cache.engine_version", lambda: "another")
    assert kept_tables(tmp_path)[1] > 0
    assert len(list(tmp_path.iterdir())) == 4


def test_a_folder_that_cannot_be_written_costs_nothing_but_time(tmp_path):
    in_the_way = tmp_path / "file"
    in_the_way.write_text("not a folder")
    assert kept_tables(in_the_way / "tables")[1] > 0


def test_a_table_that_is_too_large_is_refused_with_advice():
    facts = {
        f"f{n}": Fact(f"f{n}", "number", "", COLUMN, "on_file", low=0, high=99) for n in range(6)
    }
    literals = [FactLiteral(name, ">=", 50) for name in facts]
    hazard = CompiledHazard(
        "large",
        (one_finding("applies", [*literals, *[FactLiteral(n, "<", 90) for n in facts]]),),
        dict.fromkeys(facts, (50, 90)),
        tuple(facts),
        (),
    )
    with Engine() as engine, pytest.raises(RulebookError, match="split it"):
        tables_for([hazard], Vocabulary(facts), engine)


# Thirteen open flags make 8,192 worlds: beyond the cap of 4,096.
FLAGS = {
    f"flag_{n:02}": Fact(
        f"flag_{n:02}", "flag", "", COLUMN, "coverage", reporting=Reporting(0.5, 0.0, 0.0)
    )
    for n in range(13)
}


def wide_hazard() -> CompiledHazard:
    steps = []
    names = list(FLAGS)
    for number in range(0, 13, 4):
        literals = [FactLiteral(name, "==", "yes") for name in names[number : number + 4]]
        steps.append(one_finding(f"step_{number}", literals))
    applies = CompiledFinding(
        "applies", "", 1,
        tuple(
            CompiledRule("applies", i, (FindingLiteral(step.name, True),))
            for i, step in enumerate(steps)
        ),
    )  # fmt: skip
    return CompiledHazard("wide", (*steps, applies), {}, tuple(names), ())


def test_beyond_the_cap_nothing_is_cleared_and_the_weight_is_close():
    hazard, vocabulary = wide_hazard(), Vocabulary(FLAGS)
    vehicles = {"open": {}, "shut": dict.fromkeys(list(FLAGS)[0::4], False)}
    evidence = stated(vocabulary, vehicles, list(FLAGS))
    with Engine() as engine:
        tables = tables_for([hazard], vocabulary, engine)["wide"]
    result = reason(evidence.sets, 2, hazard, tables, 0.90)
    assert result.beyond_cap.tolist() == [True, False]
    assert list(result.status) == ["unknown", "not_applicable"]
    # Each flag is yes or no with even odds: three groups of four and one flag alone.
    exact = 1 - (1 - 1 / 16) ** 3 * (1 - 1 / 2)
    assert result.exposed_prior[0] == pytest.approx(exact, abs=4 * (0.25 / 4096) ** 0.5)
    assert set(result.questions[0]) <= set(FLAGS)
    assert result.questions[0][0] == "flag_12"


def test_bounds_are_exact_for_certain_facts_and_never_too_narrow():
    hazard, vocabulary = wide_hazard(), Vocabulary(FLAGS)
    with Engine() as engine:
        tables = tables_for([hazard], vocabulary, engine)["wide"]
    no, yes, either = (np.array(v) for v in ([True, False], [False, True], [True, True]))
    assert bounds(tables, dict.fromkeys(FLAGS, yes))["applies"] == (True, False)
    assert bounds(tables, dict.fromkeys(FLAGS, no))["applies"] == (False, True)
    assert bounds(tables, dict.fromkeys(FLAGS, either))["applies"] == (True, True)


def test_weights_and_the_line_at_nine_tenths():
    """Live weight exactly 0.90 counts as exposed, just below is unknown with the question."""
    for base, status in ((0.90, "exposed"), (0.89, "unknown")):
        flag = Fact("has_it", "flag", "", COLUMN, "at_random", base={"yes": base, "no": 1 - base})
        hazard = CompiledHazard(
            "line", (one_finding("applies", [FactLiteral("has_it", "==", "yes")]),), {},
            ("has_it",), (),
        )  # fmt: skip
        vocabulary = Vocabulary({"has_it": flag})
        evidence = stated(vocabulary, {"a": {}}, ["has_it"])
        with Engine() as engine:
            reasoning = conclude(evidence, {"line": hazard}, 0.90, engine)
            trace = chain("line", "a", reasoning, engine)
        result = reasoning.hazards["line"]
        assert result.status[0] == status
        assert result.exposed_prior[0] == pytest.approx(base)
        assert result.questions[0] == ("has_it",)
        assert result.worlds.weight.sum() == pytest.approx(1.0)
        assert result.worlds.answers["has_it"].tolist() == [0, 1]
        assert trace.assumed == ("has_it = yes",)
        changes = what_would_change(reasoning, "line", "a")
        assert ({"has_it": "no"}, "not_applicable") in [(c.facts, c.status) for c in changes]


def test_interval_weight_falls_to_bands_by_overlap():
    """Half of a 0 to 19 interval lies at or above 10 (counting whole steps: 10 of 20)."""
    from riskcheck.reasoning.silence import numbers_or_silence

    fact = VOCABULARY["age"]
    one = np.zeros(1, dtype=np.int64)
    numbers = numbers_or_silence(fact, one, one, one + 19, np.ones(1), np.zeros(1, dtype=np.bool_))
    rows = numbers.cell_rows(bands_of(fact, (10,)))
    weight = rows.weight[rows.row[0]]
    assert weight.tolist() == pytest.approx([0.5, 0.05, 0.45, 0.0])
    assert rows.possible[rows.row[0]].tolist() == [True, True, True, False]


def test_values_that_do_not_fit_are_refused_in_words():
    with pytest.raises(UsageError, match="age = 'old' does not fit: give a number from 0 to 99"):
        stated(VOCABULARY, {"a": {"age": "old"}}, ["age"])
    with pytest.raises(UsageError, match="no fact called 'aage'"):
        stated(VOCABULARY, {"a": {"aage": 3}}, ["age"])
