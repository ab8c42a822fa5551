"""The feature worksheet: groups out, answers in, contradictions reported; and the diff.

Expected rows are worked out by hand from the five vehicles below; all makes are invented.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pandas as pd
import pytest

from riskcheck import rulebook, sheets, yamlfile
from riskcheck.reports.feature_sheet import feature_workbook, holds_answers
from riskcheck.rulebook import worksheet

Folder = dict[str, str]
PLATFORMS = """\
platforms:
  - make: Tovask
    model: Drey
    engine: P2
    years: [2010, 2014]
    how_known: invented
    features: {hydraulic_brakes: true, hose_kind: rubber}
"""
VEHICLES = pd.DataFrame(
    {
        "vehicle_id": ["1", "2", "3", "4", "5"],
        "make": ["Tovask", "TOVASK", "Tovask", "Orrin", ""],
        "model": ["Drey", "drey", "Drey", "Dale", "Dale"],
        "engine": ["P2", "p2", "P2", pd.NA, "X"],
        "model_year": pd.array([2011, 2013, 2016, 2005, 2005], dtype="Int64"),
    }
)


@pytest.fixture
def book(folder: Folder, write: Callable[..., Path]) -> rulebook.Rulebook:
    return rulebook.load(write({**folder, "platforms.yaml": PLATFORMS}))


def test_groups_carry_what_is_known_and_the_larger_group_comes_first(
    book: rulebook.Rulebook,
) -> None:
    frame = rulebook.platform_groups(VEHICLES, book)
    assert frame[["make", "first_year", "last_year", "vehicles"]].values.tolist() == [
        ["Tovask", 2011, 2013, 2],
        ["Orrin", 2005, 2005, 1],
        ["Tovask", 2016, 2016, 1],
    ]
    assert frame["hose_kind"].tolist() == ["rubber", "", ""]
    assert frame["hydraulic_brakes"].tolist() == ["yes", "", ""]


def test_most_at_stake_comes_first(book: rulebook.Rulebook) -> None:
    frame = rulebook.platform_groups(VEHICLES, book, {"4": 900.0, "3": 100.0})
    assert frame["at_stake_usd"].tolist() == [900.0, 100.0, 0.0]
    assert frame["make"].tolist() == ["Orrin", "Tovask", "Tovask"]


def test_answers_become_platform_entries_that_load(
    book: rulebook.Rulebook, folder: Folder, write: Callable[..., Path]
) -> None:
    frame = rulebook.platform_groups(VEHICLES, book)
    frame.loc[1, ["hydraulic_brakes", "hose_kind"]] = ["No", "Braided"]
    answers = rulebook.read_groups(frame, book)
    assert answers.problems == ()
    features = {p.make: p.features for p in answers.platforms}
    assert features["Orrin"] == {"hydraulic_brakes": False, "hose_kind": "braided"}
    text = rulebook.platforms_text(answers.platforms)
    assert yamlfile.parse(text, Path("platforms.yaml")).faults == ()
    loaded = rulebook.load(write({**folder, "platforms.yaml": text}, "answered"))
    assert [p.features for p in loaded.platforms] == [p.features for p in answers.platforms]


def test_only_what_the_shop_answered_is_written(
    book: rulebook.Rulebook, folder: Folder, write: Callable[..., Path]
) -> None:
    """Group 1 came filled in (two features); one more answer is one feature, not three."""
    more = folder["facts.yaml"].replace(
        "hose_kind:", "tow_hitch:\n  kind: flag\n  meaning: a hitch is fitted\n"
        "  from: {column: {}}\n  silence: at_random\n  ask: Look?\nhose_kind:", 1
    )  # fmt: skip
    entry = PLATFORMS + PLATFORMS.split("\n", 1)[1].replace("Tovask", "Other").replace(
        "hose_kind: rubber", "tow_hitch: true"
    )
    shipped = write({**folder, "facts.yaml": more, "platforms.yaml": entry}, "shipped")
    known = rulebook.load(shipped)
    frame = rulebook.platform_groups(VEHICLES, known)
    frame.loc[0, "tow_hitch"] = "no"
    answers = rulebook.read_groups(frame, known)
    assert answers.problems == ()
    assert [p.features for p in answers.platforms] == [{"tow_hitch": False}]
    # Laid over the shipped rules the group keeps what was known of it, and its answer.
    own = write({"platforms.yaml": rulebook.platforms_text(answers.platforms)}, "own")
    both = rulebook.load(shipped, own)
    assert both.overrides == ()
    again = rulebook.platform_groups(VEHICLES, both).iloc[0]
    assert again[["hydraulic_brakes", "hose_kind", "tow_hitch"]].tolist() == ["yes", "rubber", "no"]
    assert rulebook.read_groups(rulebook.platform_groups(VEHICLES, both), both).platforms == ()


def test_reading_back_twice_loses_no_earlier_answer(
    book: rulebook.Rulebook, folder: Folder, write: Callable[..., Path]
) -> None:
    own = write({"platforms.yaml": PLATFORMS.replace("Tovask", "Earlier")}, "own")
    earlier = rulebook.own_platforms(own)
    frame = rulebook.platform_groups(VEHICLES, book)
    frame.loc[1, "hose_kind"] = "braided"
    joined = rulebook.joined(earlier, rulebook.read_groups(frame, book).platforms)
    assert [(p.make, dict(p.features)) for p in joined] == [
        ("Earlier", {"hydraulic_brakes": True, "hose_kind": "rubber"}),
        ("Orrin", {"hose_kind": "braided"}),
    ]
    changed = [joined[1].model_copy(update={"features": {"hose_kind": "rubber"}})]
    assert rulebook.joined(joined, changed)[1].features == {"hose_kind": "rubber"}
    assert rulebook.own_platforms(own.parent / "nothing") == ()


def test_a_worksheet_that_somebody_filled_in_is_told_from_an_untouched_one(
    book: rulebook.Rulebook, tmp_path: Path
) -> None:
    asked = worksheet.features(book)
    frame = rulebook.platform_groups(VEHICLES, book)
    path = sheets.write_workbook(tmp_path / "features.xlsx", feature_workbook(frame, asked))
    assert not holds_answers(path, book)
    frame.loc[1, "hose_kind"] = "brade"
    sheets.write_workbook(path, feature_workbook(frame, asked))
    assert holds_answers(path, book), "an answer that cannot be used is an answer all the same"
    path.write_bytes(b"not a workbook")
    assert holds_answers(path, book)


def test_contradicting_answers_are_reported_and_neither_is_used(book: rulebook.Rulebook) -> None:
    frame = rulebook.platform_groups(VEHICLES, book)
    twice = pd.concat([frame.iloc[[1]], frame.iloc[[1]]], ignore_index=True)
    twice["hose_kind"] = ["rubber", "braided"]
    answers = rulebook.read_groups(twice, book)
    assert answers.platforms == ()
    assert answers.problems == (
        "row 3, hose_kind: braided here but rubber in row 2; neither is used",
    )


def test_an_answer_that_contradicts_the_rulebook_is_reported(book: rulebook.Rulebook) -> None:
    frame = rulebook.platform_groups(VEHICLES, book)
    frame.loc[0, "hose_kind"] = "braided"
    answers = rulebook.read_groups(frame, book)
    assert answers.problems == (
        "row 2, hose_kind: braided here but rubber in platforms.yaml for Tovask Drey 2010-2014; "
        "correct one of the two",
    )
    assert answers.platforms == (), "what was filled in beforehand is no answer of the shop"


def test_an_impossible_answer_is_reported_with_the_nearest_spelling(
    book: rulebook.Rulebook,
) -> None:
    frame = rulebook.platform_groups(VEHICLES, book)
    frame.loc[1, "hose_kind"] = "braidet"
    (problem,) = rulebook.read_groups(frame, book).problems
    assert problem == "row 3, hose_kind: hose_kind has no value 'braidet'; did you mean 'braided'?"


def test_a_diff_names_each_changed_entry_and_nothing_else(
    book: rulebook.Rulebook, folder: Folder, write: Callable[..., Path]
) -> None:
    changed = folder["hazards/sample.yaml"].replace("value: 10, low: 7", "value: 12, low: 7")
    files = {**folder, "hazards/sample.yaml": changed, "platforms.yaml": PLATFORMS}
    files["hazards/other.yaml"] = rulebook.skeleton("other")
    after = rulebook.load(write(files, "after"))
    assert [change.words() for change in rulebook.diff(book, after)] == [
        "hazard other: added Brake hose grows brittle with age",
        "hazard sample, life.clocks.1.b10.value: 10.0 became 12.0",
    ]
    assert rulebook.diff(book, book) == ()


def test_only_what_a_feature_would_settle_is_at_stake(book: rulebook.Rulebook) -> None:
    """A question about a feature counts with its worth; one about a symptom does not."""
    asked = worksheet.features(book)
    exposures = pd.DataFrame(
        {
            "vehicle_id": ["a", "a", "a", "b", "c"],
            "questions": [asked[0].name, f"x; {asked[0].name}", "brake_pull_reported", "", None],
            "x_worth_asking": [10.0, 5.0, 100.0, 50.0, float("nan")],
        }
    )
    assert rulebook.feature_stakes(exposures, asked) == {"a": 15.0}
