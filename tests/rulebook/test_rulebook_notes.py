"""Notes of `rules check`: what a shop left as the skeleton had it, skills nobody may have.

Expected places are counted by hand in the skeleton's text.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from riskcheck import rulebook, yamlfile
from riskcheck.rulebook.skeleton import SKILLS, TEARDOWNS

Folder = dict[str, str]
SHIPPED = rulebook.shipped_dir()


def noted(write: Callable[..., Path], text: str) -> list[str]:
    files = {
        "hazards/own-one.yaml": text,
        "hazards/own-one.cases.yaml": rulebook.skeleton_cases("own-one"),
    }
    return [note.words() for note in rulebook.notes(SHIPPED, write(files))]


def test_an_untouched_skeleton_is_still_the_example(write: Callable[..., Path]) -> None:
    texts, figures = noted(write, rulebook.skeleton("own-one"))
    assert "still the example of the skeleton: title (line 7), system (line 8)" in texts
    assert "findings.applies.says" in texts
    assert "harm.per_year_present" in figures
    assert "life.clocks.1.b10" in figures


def test_a_rewritten_title_is_not_named_any_more(write: Callable[..., Path]) -> None:
    text = rulebook.skeleton("own-one").replace("title: Brake hose grows", "title: Chain grows")
    texts, _ = noted(write, text)
    assert "skeleton: system (line 8)" in texts
    assert "title (line 7)" not in texts


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ("skill: A brakes", "skill: hydraulics", "no shipped hazard asks for the skill 'hydraul"),
        ("skill: A brakes", "skill: A brake", "did you mean 'A brakes'?"),
        ("teardown: BRAKE-BLEED", "teardown: BRAKE-BLED", "did you mean 'BRAKE-BLEED'?"),
    ],
)
def test_a_skill_or_teardown_nobody_else_uses_is_noted(
    old: str, new: str, words: str, write: Callable[..., Path]
) -> None:
    text = rulebook.skeleton("own-one").replace(old, new)
    told = [note for note in noted(write, text) if words in note]
    assert len(told) == 1
    line = next(n for n, row in enumerate(text.splitlines(), 1) if new in row)
    assert f"own-one.yaml:{line}: " in told[0]


def test_the_lists_in_the_skeleton_are_those_of_the_shipped_hazards() -> None:
    jobs = [hazard.job for hazard in rulebook.load().hazards.values()]
    assert set(SKILLS) == {job.skill for job in jobs}
    assert set(TEARDOWNS) == {job.teardown for job in jobs}
    text = " ".join(rulebook.skeleton("own-one").replace("#", "").split())
    assert ", ".join(SKILLS) in text
    assert ", ".join(TEARDOWNS) in text


def test_shipped_rules_and_an_unchanged_copy_have_no_notes_and_replace_nothing(
    write: Callable[..., Path],
) -> None:
    assert rulebook.notes(SHIPPED) == []
    hazard, cases = rulebook.starting_texts("brake-hose-ageing")
    files = {
        "hazards/brake-hose-ageing.yaml": hazard,
        "hazards/brake-hose-ageing.cases.yaml": cases,
    }
    own = write(files)
    assert rulebook.load(SHIPPED, own).overrides == ()
    changed = {
        **files,
        "hazards/brake-hose-ageing.yaml": hazard.replace("value: 10,", "value: 11,"),
    }
    (told,) = rulebook.load(SHIPPED, write(changed)).overrides
    assert told.startswith("hazard brake-hose-ageing: ")


def parsed(text: str) -> list[str]:
    return [fault.words() for fault in yamlfile.parse(text, Path("f.yaml")).faults]


def test_a_tab_is_reported_alone_on_its_line() -> None:
    assert parsed("title: x\nlife:\n\tmodel: weibull\n\tshape: 2\nevent: no\n") == [
        "f.yaml:3: the file is indented by a tab here; "
        "put spaces in its place: YAML indents with spaces only"
    ]


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("{value: 1,260, low: 900}", "1,260 has a comma, which ends the number here; write 1260 or"
         " 1.26: no commas in numbers"),
        ("{low: 900, value: 1,5}", "write 15 or 1.5: no commas in numbers"),
        ("1,5", "no commas in numbers"),
    ],
)  # fmt: skip
def test_a_decimal_comma_is_one_fault_that_says_what_to_write(text: str, words: str) -> None:
    (told,) = parsed(f"cost: {text}\n")
    assert told.startswith("f.yaml:1: ")
    assert words in told


def test_what_a_remedy_does_is_no_text_of_the_example(write: Callable[..., Path]) -> None:
    texts, _ = noted(write, rulebook.skeleton("own-one"))
    assert "effect (line" in texts
    assert "remedies.1.effect" not in texts
