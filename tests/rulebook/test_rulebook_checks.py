"""Each check is shown a folder in which it finds nothing and one in which it finds its fault.

What counts as a fault is the rule grammar as documented for authors; each bad sample is one
edit of a faultless folder, so nothing but that edit can be what is reported.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from riskcheck import rulebook
from riskcheck.rulebook import checks
from riskcheck.rulebook.folder import read_folders

Folder = dict[str, str]
HAZARD, CASES = "hazards/sample.yaml", "hazards/sample.cases.yaml"
LONG_RULE = "{" + ", ".join(f"f{i}: true" for i in range(16)) + "}"

PLATFORMS = """\
platforms:
  - make: Tovask
    model: Drey
    years: [2010, 2014]
    how_known: invented
    features: {road_salt: true}
  - make: Tovask
    model: Drey
    engine: P2
    years: [2015, 2019]
    how_known: invented
    features: {road_salt: false}
"""


def edited(folder: Folder, file: str, old: str, new: str) -> Folder:
    assert old in folder[file]
    return {**folder, file: folder[file].replace(old, new, 1)}


# check: (file to edit, text there, text instead, what is said, what is advised)
SAMPLES: dict[str, tuple[str, str, str, str, str]] = {
    "OneDerivation": (
        "facts.yaml",
        "from: {column: {name: salt}}",
        "from: {column: {}, age: {clock: years}}",
        "exactly one way, not 2",
        "one of",
    ),
    "FactShape": ("facts.yaml", "  range: [0, 80]\n", "", "has no range", "add range"),
    "FactShares": ("facts.yaml", '"no": 0.1', '"no": 0.2', "add up to 1.1", "correct"),
    "UnknownTopics": (
        "facts.yaml",
        "topics: [brake_drag]",
        "topics: [brake_darg]",
        "topic 'brake_darg'",
        "did you mean 'brake_drag'?",
    ),
    "TopicHazards": (
        "wording/brakes.yaml",
        "brake_drag: {hazards: [sample]",
        "brake_drag: {hazards: [sampel]",
        "brake_drag belongs to 'sampel', which no hazard file defines",
        "did you mean 'sample'?",
    ),
    "AskableFacts": (
        "facts.yaml",
        '  ask: Look and see?\n  base: {"yes": 0.6',
        '  base: {"yes": 0.6',
        "road_salt may be silent, but nothing says how to find out",
        "how_to_tell",
    ),
    "PhysicsInputs": (
        "facts.yaml",
        "from: {since: {clock: years, topics: [brake_hose], marks: [done]}}",
        "from: {physics: {function: ratio, inputs: [hose_kind]}}",
        "'hose_kind', which is no number column",
        "",
    ),
    "UnknownNames": (
        HAZARD,
        "brake_pull_reported: true",
        "brake_pul_reported: true",
        "'brake_pul_reported', which is neither",
        "did you mean 'brake_pull_reported'?",
    ),
    "ReservedNames": (HAZARD, "  rough_roads:\n", "  exposed:\n", "'exposed' is added", "another"),
    "NameForm": (HAZARD, "\nid: sample", "\nid: simple", "but its id is simple", "id: sample"),
    "CausesShared": (HAZARD, "causes: []", "causes: [salt]", "cause 'salt'", "delete it"),
    "HashCollisions": (
        "facts.yaml",
        "values: [rubber, braided]",
        "values: [costarring, liquid]",
        "cannot tell 'liquid' from 'costarring'",
        "rename",
    ),
    "FindingValues": (HAZARD, "{applies: true, b", '{applies: "true", b', "compares", "true or"),
    "FactConstants": (
        HAZARD,
        "{at_most: 6}",
        "{at_most: 6.05}",
        "between two steps",
        "write 6",
    ),
    "ImpossibleConditions": (
        HAZARD,
        "{at_most: 6}",
        "{at_most: 6, above: 6}",
        "no years_since_brake_hoses meets",
        "correct",
    ),
    "Cycles": (
        HAZARD,
        "- {unpaved_roads: true}",
        "- {rough_again: true}\n  rough_again:\n    says: x\n    when: [{rough_roads: true}]",
        "rough_roads reads rough_again reads rough_roads",
        "let one of them read facts",
    ),
    "RequiredAndNegated": (
        HAZARD,
        "{applies: true, confirmed: false, y",
        "{applies: false, sign: true, confirmed: false, y",
        "closed needs 'applies' both to hold and not to hold",
        "drop one",
    ),
    "UnreachableFindings": (
        HAZARD,
        "  - finding: rough_roads\n",
        "  - finding: sign\n",
        "nothing uses the finding 'rough_roads'",
        "delete it",
    ),
    "RuleNeverFires": (
        HAZARD,
        "- {unpaved_roads: true}",
        "- {unpaved_roads: true}\n      - {unpaved_roads: true, road_salt: true}",
        "rule 2 of rough_roads adds nothing",
        "delete it",
    ),
    "StatusImpliesApplies": (
        HAZARD,
        "{applies: true, confirmed: false, y",
        "{confirmed: false, y",
        "rule 1 of closed may hold where",
        "add 'applies: true'",
    ),
    "ClosedAndUnproven": (
        HAZARD,
        "  sign:\n",
        "  unproven:\n    says: done but not proven\n    when:\n"
        "      - {applies: true, brake_hoses_renewed: true}\n  sign:\n",
        "rule 1 of unproven and rule 1 of closed can both hold",
        "closed: false",
    ),
    "TooManyConditions": (
        HAZARD,
        "- {unpaved_roads: true}",
        f"- {LONG_RULE}",
        "16 conditions in one rule",
        "split it",
    ),
    "FigureUnits": (HAZARD, "unit: y,", "unit: mi,", "b10 is in mi", 'unit "y"'),
    "FigureBounds": (
        HAZARD,
        "share: {value: 0.2, low: 0.1, high: 0.4",
        "share: {value: 20, low: 10, high: 40",
        "leaves 0 to 1",
        "",
    ),
    "OutcomeShares": (
        HAZARD,
        "share: {value: 0.8, low: 0.6, high: 0.9",
        "share: {value: 0.7, low: 0.6, high: 0.9",
        "add up to 0.9",
        "",
    ),
    "FactorFindings": (
        HAZARD,
        "  - finding: rough_roads\n",
        "  - finding: rough_road\n",
        "acts on 'rough_road'",
        "did you mean 'rough_roads'?",
    ),
    "HarmOnce": (
        HAZARD,
        "  per_year_present: {",
        '  per_event: {value: 0.1, unit: "1", source: invented}\n  per_year_present: {',
        "exactly one way",
        "per_year_present",
    ),
    "InfantWindow": (
        HAZARD,
        "shape: {value: 3.5, low: 2.5, high: 4.5",
        "shape: {value: 0.5, low: 0.4, high: 0.6",
        "must not be stretched",
        "watch_window",
    ),
    "OpensKnownHazard": (
        HAZARD,
        "    effect: renews\n",
        "    effect: renews\n    opens: [simple]\n",
        "opens 'simple', a hazard nobody defines",
        "did you mean 'sample'?",
    ),
    "KeptAge": (HAZARD, "    effect: renews\n", "    effect: settles\n", "no age", "remove"),
    "InfantRemedies": (
        HAZARD,
        "shape: {value: 3.5, low: 2.5, high: 4.5",
        "shape: {value: 0.5, low: 0.4, high: 0.6",
        "renews would make",
        "settles",
    ),
    "ReExposure": (
        HAZARD,
        "years_since_brake_hoses: {at_most: 6}",
        "brake_hoses_renewed: true",
        "closed for ever",
        "'since' fact",
    ),
    "PlatformFeatures": (
        "platforms.yaml",
        "road_salt: true",
        "road_silt: true",
        "'road_silt' is no feature",
        "did you mean 'road_salt'?",
    ),
    "PlatformYears": ("platforms.yaml", "[2010, 2014]", "[2014, 2010]", "2014 is after", "first"),
    "PlatformConflicts": (
        "platforms.yaml",
        "[2010, 2014]",
        "[2010, 2015]",
        "road_salt is False here but True on line 6",
        "narrow",
    ),
    "CaseFacts": (
        CASES,
        "years_since_brake_hoses: 6.1",
        'years_since_brake_hoses: "6.1"',
        "is a number in y, not '6.1'",
        "remove the quotes",
    ),
    "CaseStatuses": (CASES, "status: unknown,", "status: exposed,", "expects 'unknown'", "by hand"),
    "ThresholdCases": (
        CASES,
        "years_since_brake_hoses: 6.1",
        "years_since_brake_hoses: 5.9",
        "both sides of years_since_brake_hoses <= 6 y",
        "add a case at 6 and one 0.1 away",
    ),
    "Overclaims": (HAZARD, "rubber brake hoses ever", "unsafe hoses ever", '"unsafe"', "found"),
    "TypedOdds": (
        HAZARD,
        "A ten-minute look",
        "1 in 20 crack. A look",
        "mixed denominators in one text: 20, {of}",
        "throughout",
    ),
    "Placeholders": (HAZARD, "{period}. A", "{perod}. A", "{perod}", "did you mean 'period'?"),
    "EmptyText": (
        HAZARD,
        "effect: a wheel that drags or pulls, or a soft pedal",
        'effect: ""',
        "",
        "",
    ),
    "CitedSources": (
        HAZARD,
        "unit: h, source: from_memory}",
        "unit: h, source: published, citation: ibid}",
        "'ibid' is too short",
        "name document",
    ),
}


@pytest.fixture
def with_platforms(folder: Folder) -> Folder:
    return {**folder, "platforms.yaml": PLATFORMS}


def found_by(name: str, root: Path) -> list[tuple[str, str]]:
    (kind,) = [check for check in checks.ALL_CHECKS if check.__name__ == name]
    return [(fault.what, fault.instead) for fault in kind().faults(read_folders([root]))]


def test_the_good_sample_has_no_fault_at_all(
    with_platforms: Folder, write: Callable[..., Path]
) -> None:
    assert [fault.words() for fault in rulebook.check(write(with_platforms))] == []


@pytest.mark.parametrize("name", sorted(SAMPLES))
def test_each_check_finds_its_fault_and_says_what_would_be_right(
    name: str, with_platforms: Folder, write: Callable[..., Path]
) -> None:
    file, old, new, what, instead = SAMPLES[name]
    found = found_by(name, write(edited(with_platforms, file, old, new)))
    assert len(found) >= 1
    assert what in found[0][0]
    assert instead in found[0][1]


@pytest.mark.parametrize("name", sorted(SAMPLES))
def test_each_fault_names_a_line_of_the_edited_file(
    name: str, with_platforms: Folder, write: Callable[..., Path]
) -> None:
    file, old, new, *_ = SAMPLES[name]
    bad = edited(with_platforms, file, old, new)
    root = write(bad)
    faults = rulebook.check(root)
    assert faults
    for fault in faults:
        lines = fault.file.read_text("utf-8").splitlines()
        assert 1 <= fault.line <= len(lines)


def test_every_check_has_a_bad_sample_of_its_own() -> None:
    elsewhere = {"TooManyComparisons", "TableTooLarge", "RemedyIds", "CasesBesideHazard"}
    assert {check.__name__ for check in checks.ALL_CHECKS} == {*SAMPLES, *elsewhere}


def test_sixty_comparisons_with_one_fact_pass_and_sixty_one_do_not(
    folder: Folder, write: Callable[..., Path]
) -> None:
    def with_comparisons(count: int) -> Folder:
        rules = "".join(
            f"\n      - {{years_since_brake_hoses: {{at_least: {2 * i + 1}, below: {2 * i + 2}}}}}"
            for i in range((count - 1) // 2)
        )
        odd = "" if count % 2 else "\n      - {years_since_brake_hoses: {above: 79}}"
        return edited(
            folder, HAZARD, "- {unpaved_roads: true}", f"- {{road_salt: true}}{rules}{odd}"
        )

    # closed already compares once
    assert found_by("TooManyComparisons", write(with_comparisons(60), "sixty")) == []
    ((what, _),) = found_by("TooManyComparisons", write(with_comparisons(61), "sixty-one"))
    assert what.startswith("61 comparisons with years_since_brake_hoses")


def test_a_table_above_twenty_thousand_cells_is_refused_with_the_advice_to_split(
    folder: Folder, write: Callable[..., Path]
) -> None:
    flags = "".join(
        f"flag_{i}:\n  kind: flag\n  meaning: one more\n  from: {{column: {{}}}}\n"
        "  silence: at_random\n"
        for i in range(15)
    )

    def with_flags(count: int) -> Folder:
        rule = ", ".join(f"flag_{i}: true" for i in range(count))
        more = {**folder, "facts.yaml": folder["facts.yaml"] + flags}
        return edited(more, HAZARD, "- {unpaved_roads: true}", f"- {{{rule}}}")

    assert found_by("TableTooLarge", write(with_flags(14), "fits")) == []
    ((what, instead),) = found_by("TableTooLarge", write(with_flags(15), "too-large"))
    assert "32,768 combinations" in what
    assert "split" in instead


def test_a_typed_chance_is_a_fault_even_where_it_is_alone(
    folder: Folder, write: Callable[..., Path]
) -> None:
    typed = edited(folder, HAZARD, "ask: Were the", "ask: About 3 in 100 crack. Were the")
    ((what, instead),) = found_by("TypedOdds", write(typed))
    assert what == 'a typed chance: "3 in 100"'
    assert "{many}" in instead


def test_two_remedies_of_one_name_are_a_fault(folder: Folder, write: Callable[..., Path]) -> None:
    start = folder[HAZARD].index("  - id: hoses-renewed")
    remedy = folder[HAZARD][start : folder[HAZARD].index("\n# The cheapest look")]
    assert found_by("RemedyIds", write(folder, "good")) == []
    twice = edited(folder, HAZARD, remedy, remedy + remedy)
    ((what, _),) = found_by("RemedyIds", write(twice, "bad"))
    assert what == "two remedies are called hoses-renewed"


def test_a_hazard_without_cases_and_cases_without_a_hazard_are_faults(
    folder: Folder, write: Callable[..., Path]
) -> None:
    orphan = {path: text for path, text in folder.items() if path != CASES}
    ((what, _),) = found_by("CasesBesideHazard", write(orphan, "no-cases"))
    assert what == "there is no sample.cases.yaml beside this file"
    stray = {**folder, "hazards/sampel.cases.yaml": folder[CASES]}
    (fault,) = rulebook.check(write(stray, "stray"))
    assert fault.what == "there is no hazard sampel.yaml"
    assert fault.instead == "did you mean 'sample'?"


@pytest.mark.parametrize("word", ["safe to drive", "will fail", "recalled", "guaranteed"])
def test_no_text_that_reaches_the_owner_may_overclaim(
    word: str, folder: Folder, write: Callable[..., Path]
) -> None:
    for number, old in enumerate(("effect: a wheel", "says: a hose was seen", "ask: Were")):
        bad = edited(folder, HAZARD, old, f"{old} {word}")
        ((what, instead),) = found_by("Overclaims", write(bad, f"bad{number}"))
        assert word in what
        assert instead
