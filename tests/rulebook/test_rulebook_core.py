"""Loading, layering, compiling and narrowing a rulebook."""

from __future__ import annotations

import json
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import jsonschema
import pytest

from riskcheck import rulebook, yamlfile
from riskcheck.errors import RulebookError, UsageError
from riskcheck.rulebook.checks.limits import band_count
from riskcheck.rulebook.checks.names import fnv1a_32
from riskcheck.rulebook.compiled import FactLiteral, FindingLiteral
from riskcheck.rulebook.schema import schema_files

Folder = dict[str, str]
HAZARD = "hazards/sample.yaml"


def test_findings_come_in_dependency_order_with_literals_in_whole_steps(
    folder: Folder, write: Callable[..., Path]
) -> None:
    compiled = rulebook.load(write(folder)).compiled("sample")
    names = [finding.name for finding in compiled.findings]
    assert names.index("applies") < names.index("confirmed") < names.index("closed")
    assert names[-2:] == ["exposed", "not_applicable"]
    (rule,) = compiled.finding("closed").rules
    # 6 years at a resolution of 0.1 y are 60 steps
    assert rule.literals == (
        FindingLiteral("applies", True),
        FindingLiteral("confirmed", False),
        FactLiteral("years_since_brake_hoses", "<=", 60),
    )
    assert compiled.constants == {"years_since_brake_hoses": (60,)}
    assert compiled.status_facts == (
        "brake_hose_found_bad",
        "hydraulic_brakes",
        "road_salt",
        "years_since_brake_hoses",
    )


def test_a_stratum_is_one_more_than_that_of_anything_negated(
    folder: Folder, write: Callable[..., Path]
) -> None:
    compiled = rulebook.load(write(folder)).compiled("sample")
    strata = {finding.name: finding.stratum for finding in compiled.findings}
    # worked out by hand from the rule text
    assert strata == {
        "applies": 1,
        "sign": 1,
        "confirmed": 1,
        "rough_roads": 1,
        "closed": 2,
        "exposed": 3,
        "not_applicable": 2,
    }


def test_loading_reports_every_blocking_fault_at_once(
    folder: Folder, write: Callable[..., Path]
) -> None:
    bad = folder[HAZARD].replace("{hydraulic_brakes: true, r", "{hydralic_brakes: true, r")
    bad = bad.replace("unit: y,", "unit: mi,").replace(
        "value: 2.5, low: 1.5", 'value: "2.5", low: 3'
    )
    bad = bad.replace("skill: A brakes", "skil: A brakes")
    root = write({**folder, HAZARD: bad, "policy.yaml": "labour_rate: yes\n"})
    with pytest.raises(RulebookError) as error:
        rulebook.load(root)
    text = str(error.value)
    assert "'skil' is not known here; did you mean 'skill'?" in text
    assert "'value' should be a number, not the text '2.5'; remove the quotes" in text
    assert "policy.yaml:1: yes is read by YAML as true" in text
    assert "'bay_hours_per_week' is missing" in text


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ("reveals: by_looking", "reveals: by_look", "did you mean 'by_looking'?"),
        ("model: weibull", "model: weibul", "did you mean 'weibull'?"),
        ("people: I,", "people: 1,", "one of: I, II, III, IV"),
        ("at_most: 6", "at_mst: 6", "'at_mst' is not known here; did you mean 'at_most'?"),
        ("urgency: {sign: days", "urgency: {sign: day", "did you mean 'days'?"),
        ("skill: A brakes", "skill: [A]", "'skill' should be text, not a list"),
        ("skill: A brakes", "skill: 7", "'skill' should be text, not 7; put it in quotes"),
        ("tow: false", 'tow: "false"', "should be true or false, not the text 'false'"),
        ("sources: []", "sources: none", "should be a list (- item), not the text 'none'"),
    ],
)
def test_a_slip_is_answered_with_what_would_be_right(
    old: str, new: str, words: str, folder: Folder, write: Callable[..., Path]
) -> None:
    assert folder[HAZARD].count(old) >= 1
    files = {**folder, HAZARD: folder[HAZARD].replace(old, new, 1)}
    line = next(n for n, text in enumerate(files[HAZARD].splitlines(), 1) if new in text)
    told = [fault for fault in rulebook.check(write(files)) if fault.file.name == "sample.yaml"]
    assert words in told[0].words()
    assert told[0].line in (line, line - 1)


def test_a_figure_without_source_and_a_range_without_its_value_are_faults(
    folder: Folder, write: Callable[..., Path]
) -> None:
    bad = folder[HAZARD].replace("high: 14, unit: y, source: from_memory", "high: 14, unit: y")
    bad = bad.replace("{value: 140, low: 80", "{value: 140, low: 180")
    bad = bad.replace("unit: min, source: from_memory", "unit: min, source: published")
    words = [fault.words() for fault in rulebook.check(write({**folder, HAZARD: bad}))]
    assert any("'source' is missing" in text for text in words)
    assert any("the range 180 to 250 does not contain the value 140" in text for text in words)
    assert any("a published figure needs a citation" in text for text in words)
    assert len(words) == 3


def test_a_shop_folder_layers_over_by_id_and_says_what_it_replaced(
    folder: Folder, write: Callable[..., Path]
) -> None:
    base = write(folder, "base")
    shop = write(
        {
            HAZARD: folder[HAZARD].replace("value: 10, low: 7", "value: 12, low: 7"),
            "hazards/sample.cases.yaml": folder["hazards/sample.cases.yaml"],
            "policy.yaml": "labour_rate: {value: 99, unit: USD/h, source: shop_data}\n"
            "day_cost: {farm: {value: 200, unit: USD, source: shop_data}}\n",
        },
        "shop",
    )
    book = rulebook.load(base, shop)
    life = book.hazards["sample"].life
    assert life.model == "weibull"
    assert life.clocks[0].b10.value == 12
    assert book.policy.labour_rate.value == 99
    assert {"farm", "retail"} <= set(book.policy.day_cost)
    assert book.policy.horizon_months == 12
    assert [text.split(":")[0] for text in book.overrides] == [
        "hazard sample",
        "policy labour_rate",
        "policy day_cost",
    ]
    assert book.digest != rulebook.load(base).digest


def test_comments_and_layout_do_not_change_the_digest(
    folder: Folder, write: Callable[..., Path]
) -> None:
    plain = rulebook.load(write(folder, "plain"))
    commented = {path: f"# a remark\n\n{text}" for path, text in folder.items()}
    assert rulebook.load(write(commented, "commented")).digest == plain.digest


def test_narrowing_keeps_only_the_named_and_refuses_the_unknown(
    folder: Folder, write: Callable[..., Path]
) -> None:
    two = {
        **folder,
        "hazards/other.yaml": rulebook.skeleton("other"),
        "hazards/other.cases.yaml": rulebook.skeleton_cases("other"),
    }
    book = rulebook.load(write(two))
    assert list(book.keeping(["other"]).hazards) == ["other"]
    assert book.keeping(["other"]).digest != book.digest
    with pytest.raises(UsageError, match="did you mean 'other'"):
        book.keeping(["othr"])


def test_a_rule_folder_that_is_not_there_is_said_so(tmp_path: Path) -> None:
    with pytest.raises(RulebookError, match="no such rule folder"):
        rulebook.load(tmp_path / "nowhere")


def test_a_misplaced_rule_file_is_not_ignored(folder: Folder, write: Callable[..., Path]) -> None:
    faults = rulebook.check(write({**folder, "polcy.yaml": "a: 1\n"}))
    assert [fault.what for fault in faults] == ["this file is read by nobody"]


def test_the_shipped_rules_have_no_fault() -> None:
    assert [fault.words() for fault in rulebook.check()] == []


def test_a_skeleton_passes_every_check_over_the_shipped_rules(tmp_path: Path) -> None:
    (tmp_path / "hazards").mkdir()
    (tmp_path / "hazards/my-hazard.yaml").write_text(rulebook.skeleton("my-hazard"))
    (tmp_path / "hazards/my-hazard.cases.yaml").write_text(rulebook.skeleton_cases("my-hazard"))
    assert rulebook.check(rulebook.shipped_dir(), tmp_path) == []
    with pytest.raises(UsageError, match="small letters"):
        rulebook.skeleton("My Hazard")


def test_published_schemas_are_those_of_the_model() -> None:
    rules = rulebook.shipped_dir()
    for name, text in schema_files().items():
        assert (rules / name).read_text("utf-8") == text, f"regenerate rules/{name}"


@pytest.mark.parametrize(
    ("schema", "pattern"),
    [
        ("hazard.schema.json", "hazards/*[!s].yaml"),
        ("cases.schema.json", "hazards/*.cases.yaml"),
        ("facts.schema.json", "facts.yaml"),
        ("policy.schema.json", "policy.yaml"),
        ("platforms.schema.json", "platforms.yaml"),
    ],
)
def test_shipped_files_satisfy_the_schema_by_an_independent_validator(
    schema: str, pattern: str
) -> None:
    """Validator: jsonschema, Draft 2020-12."""
    rules = rulebook.shipped_dir()
    validator = jsonschema.Draft202012Validator(json.loads((rules / schema).read_text("utf-8")))
    paths = [
        p for p in sorted(rules.glob(pattern)) if ".cases" in pattern or ".cases" not in p.name
    ]
    assert paths
    for path in paths:
        assert [e.message for e in validator.iter_errors(yamlfile.load(path).data)] == [], path


@pytest.mark.parametrize(
    ("text", "code"),
    [("", 0x811C9DC5), ("a", 0xE40C292C), ("foobar", 0xBF9CF968)],
)
def test_fnv_1a_has_its_published_values(text: str, code: int) -> None:
    """Algorithm: draft-eastlake-fnv (Fowler, Noll, Vo); its test vectors here are from memory."""
    assert fnv1a_32(text) == code


def test_bands_are_counted_as_by_enumeration(folder: Folder, write: Callable[..., Path]) -> None:
    """Brute force: two steps share a band when every comparison treats them alike."""
    fact = rulebook.load(write(folder)).vocabulary["years_since_brake_hoses"]
    for cuts in ({60}, {60, 61}, {0, 800}, {1, 799}, {60, 61, 62, 200}):
        seen = {
            tuple((step > cut) - (step < cut) for cut in sorted(cuts)) for step in range(0, 801)
        }
        assert band_count(fact, cuts) == len(seen) + 1  # and "no reading"


def test_the_card_names_every_finding_remedy_and_caution(
    folder: Folder, write: Callable[..., Path]
) -> None:
    hazard = rulebook.load(write(folder)).hazards["sample"]
    text = "\n".join(line for part in rulebook.card(hazard).sections for line in part.lines)
    for finding in hazard.findings.values():
        assert finding.says in text
    for remedy in hazard.remedies:
        assert remedy.title in text
        assert remedy.proof in text
    for caution in hazard.words.cautions:
        assert caution in text
    assert "years since brake hoses at most 6" in text


def test_the_rulebook_starts_without_the_table_libraries() -> None:
    code = "import sys, riskcheck.rulebook as r; r.load(); print('pandas' in sys.modules)"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "False"


def test_the_card_tells_harm_as_a_count_of_one_large_number(
    folder: Folder, write: Callable[..., Path]
) -> None:
    """The skeleton's 0.00004 (0.000005 to 0.0003) a year is 4 (0.5 to 30) of 100,000."""
    book = rulebook.load(write(folder))
    harm = rulebook.card(book.hazards["sample"]).sections[1]
    assert harm.heading == "How bad"
    told = "Of 100,000 vehicles that have it someone is hurt in a year in about 4 (0.5 to 30)"
    assert any(line.startswith(told) for line in harm.lines)


@pytest.mark.parametrize("bands", ["[8000, 1000, 50000]", "[0, 1000, 8000]", "[1000, 1000, 8000]"])
def test_money_bands_must_ascend_from_above_zero(
    folder: Folder, write: Callable[..., Path], bands: str
) -> None:
    """Otherwise a dearer loss could count as milder."""
    shipped = folder["policy.yaml"]
    root = write({**folder, "policy.yaml": shipped.replace("[1000.0, 8000.0, 50000.0]", bands)})
    with pytest.raises(RulebookError, match="must be above zero and ascend"):
        rulebook.load(root)
