"""YAML is read as its author meant it or not at all.

The traps are those of the YAML 1.1 type repository (yaml.org/type: bool, int, float, merge) as
PyYAML implements it; PyYAML's own ``safe_load`` is asked in each test what it makes of the text.
"""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest
import yaml
from hypothesis import given
from hypothesis import strategies as st

from riskcheck import yamlfile
from riskcheck.errors import RulebookError

NAME = Path("rule.yaml")


def faults(text: str) -> list[tuple[int, str]]:
    return [(fault.line, fault.what) for fault in yamlfile.parse(text, NAME).faults]


@pytest.mark.parametrize(
    ("text", "misread"),
    [
        ("no", False),
        ("On", True),
        ("YES", True),
        ("010", 8),
        ("1:30", 90),
        ("12:30:45", 45045),
        ("1_000", 1000),
        ("0x1F", 31),
        ("1e5", "1e5"),
        ("1e-12", "1e-12"),
        ("08", "08"),
        ("1,000", "1,000"),
        (".inf", float("inf")),
    ],
)
def test_a_value_that_yaml_misreads_is_refused_with_its_line(text: str, misread: object) -> None:
    assert yaml.safe_load(text) == misread
    found = faults(f"first: 1\nsecond: {text}\n")
    assert [line for line, _ in found] == [2]
    assert text in found[0][1]


@pytest.mark.parametrize("text", ["no", "010", "1:30", "1e5", "1,000", ".inf", "2024-03-01"])
def test_the_same_text_in_quotes_is_text(text: str) -> None:
    document = yamlfile.parse(f'value: "{text}"\n', NAME)
    assert document.faults == ()
    assert document.data == {"value": text}


def test_a_duplicate_key_names_both_lines() -> None:
    assert yaml.safe_load("a: 1\nb: 2\na: 3\n") == {"a": 3, "b": 2}
    ((line, what),) = faults("a: 1\nb: 2\na: 3\n")
    assert line == 3
    assert "line 1" in what


def test_a_key_that_is_not_a_word_is_refused() -> None:
    assert [line for line, _ in faults("a: 1\nno: 2\n2019: 3\nnull: 4\n")] == [2, 3, 4]


def test_anchors_aliases_merges_and_tags_are_refused() -> None:
    text = "a: &x {k: 1}\nb: *x\nc:\n  <<: {k: 2}\nd: !!python/name:os.system p\n"
    assert [line for line, _ in faults(text)] == [1, 2, 4, 5]


def test_an_alias_bomb_is_never_expanded() -> None:
    bomb = "a: &a [x, x]\n" + "".join(
        f"{new}: &{new} [*{old}, *{old}, *{old}, *{old}, *{old}, *{old}, *{old}, *{old}]\n"
        for old, new in zip("abcdefghij", "bcdefghijk", strict=True)
    )
    document = yamlfile.parse(bomb, NAME)
    assert document.data["k"] == [None] * 8
    assert len(document.faults) == 11 + 80


@pytest.mark.parametrize("text", ["[" * 5000, "a: " + "[" * 60 + "]" * 60])
def test_deep_nesting_is_a_fault_and_not_a_crash(text: str) -> None:
    assert "nest" in faults(text)[0][1]


def test_an_empty_value_is_refused_and_a_written_null_is_not() -> None:
    assert [line for line, _ in faults("a:\nb: null\n")] == [1]


@pytest.mark.parametrize(
    ("text", "line"),
    [("", 1), ("# only a comment\n", 1), ("a: 1\n---\nb: 2\n", 2), ("a: 1\nb: c: d\n", 2)],
)
def test_a_file_that_is_not_one_document_says_so(text: str, line: int) -> None:
    assert [number for number, _ in faults(text)] == [line]


def test_lines_are_those_an_editor_shows() -> None:
    document = yamlfile.parse("a: 1\nlist:\n  - x: 1\n    y: 2\n  - z: 3\n", NAME)
    assert document.line_of(("a",)) == 1
    assert document.line_of(("list", 0, "y")) == 4
    assert document.line_of(("list", 1)) == 5
    assert document.line_of(("list", 0, "not_there", 3)) == 3
    assert document.line_of(("nowhere",)) == 1


def test_dates_are_dates() -> None:
    assert yamlfile.parse("a: 2024-03-01\n", NAME).data == {"a": date(2024, 3, 1)}


def test_a_missing_or_foreign_file_is_one_fault(tmp_path: Path) -> None:
    missing = tmp_path / "none.yaml"
    latin = tmp_path / "latin.yaml"
    latin.write_bytes(b"a: 1\nb: caf\xe9\n")
    huge = tmp_path / "huge.yaml"
    huge.write_bytes(b"a: 1\n" + b"#" * yamlfile.MAX_BYTES)
    assert "cannot be read" in yamlfile.read(missing).faults[0].words()
    assert yamlfile.read(latin).faults[0].line == 2
    assert "larger" in yamlfile.read(huge).faults[0].what
    with pytest.raises(RulebookError, match=r"none\.yaml:1"):
        yamlfile.load(missing)


def test_a_byte_order_mark_is_not_part_of_the_first_key(tmp_path: Path) -> None:
    path = tmp_path / "bom.yaml"
    path.write_bytes("﻿a: 1\n".encode())
    assert yamlfile.load(path).data == {"a": 1}


texts = st.text(st.characters(exclude_categories=["Cs", "Cc"]), max_size=12) | st.sampled_from(
    ["no", "010", "1e5", "1:30", "1,000", "", "*a", "&a", "<<", "null", "2024-03-01", "- a", "a: b"]
)
scalars = (
    st.none()
    | st.booleans()
    | st.integers(-(2**40), 2**40)
    | st.floats(allow_nan=False, allow_infinity=False)
    | texts
)
trees = st.recursive(
    scalars,
    lambda inner: (
        st.lists(inner, max_size=3)
        | st.dictionaries(st.from_regex(r"[a-z]{3,8}_", fullmatch=True), inner, max_size=3)
    ),
    max_leaves=12,
)


@given(trees)
def test_what_is_written_reads_back_without_a_fault(tree: object) -> None:
    document = yamlfile.parse(yamlfile.dump({"tree": tree}), NAME)
    assert document.faults == ()
    assert document.data == {"tree": tree}


@given(trees)
def test_clean_data_reads_as_pyyaml_reads_it(tree: object) -> None:
    text = yamlfile.dump({"tree": tree})
    assert yamlfile.parse(text, NAME).data == yaml.safe_load(text)
