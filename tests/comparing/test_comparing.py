"""Two rulebooks on one small fleet: who enters, leaves and moves, and which entries are behind it.

The fleet is invented.  What must come out is worked out by hand from the edits: each edit is one
line of a rule file, so nothing else can be what made the difference.
"""

from __future__ import annotations

import datetime as dt
import json
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from types import SimpleNamespace

import pandas as pd
import pytest

from riskcheck import rulebook, yamlfile
from riskcheck.cli.rules import rules_app
from riskcheck.comparing import COMPARED, Comparison, compare_rulebooks
from riskcheck.reports import comparison_text
from riskcheck.rulebook import Change, Rulebook
from riskcheck.rulebook.model import Hazard
from riskcheck.rulebook.validate import validate

AS_OF = dt.date(2026, 10, 1)
HOSES, TYRES = "brake-hose-ageing", "tyre-age-tread"
VEHICLES = """\
unit,make,model,year,in service,odometer,hydraulic_brakes,road_salt
NEW,Nomake,One,2024,2024-03-01,30000,yes,no
OLD,Nomake,One,2010,2010-03-01,150000,yes,no
SALT,Nomake,One,2010,2010-03-01,150000,yes,yes
FIVE,Nomake,One,2010,2010-03-01,150000,yes,no
AIR,Nomake,Two,2010,2010-03-01,150000,no,no
"""
SERVICE = """\
unit,date,odometer,description
FIVE,2021-09-15,120000,replaced all brake hoses
OLD,2021-09-15,120000,oil change
"""

Edit = tuple[str, str]


@pytest.fixture(scope="module")
def fleet(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("fleet")
    (folder / "vehicles.csv").write_text(VEHICLES, encoding="utf-8")
    (folder / "service.csv").write_text(SERVICE, encoding="utf-8")
    return folder


@pytest.fixture(scope="module")
def shipped() -> Rulebook:
    return rulebook.load().keeping([HOSES, TYRES])


@pytest.fixture
def book_with(shipped: Rulebook, tmp_path: Path) -> Callable[..., Rulebook]:
    """The two hazards as shipped, with edits to the text of the hose file."""

    def made(*edits: Edit) -> Rulebook:
        text = shipped.files[HOSES].read_text(encoding="utf-8")
        for old, new in edits:
            assert old in text
            text = text.replace(old, new, 1)
        file = tmp_path / f"{HOSES}.yaml"
        file.write_text(text, encoding="utf-8")
        hazard, faults = validate(yamlfile.load(file), Hazard)
        assert hazard is not None, faults
        return replace(shipped, hazards={**shipped.hazards, HOSES: hazard})

    return made


Compare = Callable[[Rulebook, Rulebook], Comparison]


@pytest.fixture
def compare(fleet: Path) -> Compare:
    return lambda one, two: compare_rulebooks(fleet, one, two, as_of=AS_OF)


def moves(compared: Comparison) -> dict[tuple[str, str], str]:
    rows = compared.pairs.to_dict("records")
    return {(row["vehicle_id"], row["hazard_id"]): row["move"] for row in rows}


def test_a_rulebook_changes_nothing_beside_itself(
    book_with: Callable[..., Rulebook], compare: Compare
) -> None:
    compared = compare(book_with(), book_with())
    assert compared.changes == ()
    assert compared.pairs.empty
    assert compared.pushed == 0


def test_hoses_that_count_as_old_again_sooner_enter_and_leave_the_other_way(
    book_with: Callable[..., Rulebook], compare: Compare
) -> None:
    """FIVE has hoses of 5 years: closed below 6 years, exposed once the line is drawn at 4."""
    six, four = book_with(), book_with(("{below: 6}", "{below: 4}"))
    forth, back = compare(six, four), compare(four, six)
    assert moves(forth) == {("FIVE", HOSES): "enters"}
    assert moves(back) == {("FIVE", HOSES): "leaves"}
    row = forth.pairs.iloc[0]
    assert (row["status_before"], row["status_after"]) == ("closed", "exposed")
    where = "findings.hoses_recent.when.1.years_since_brake_hoses.below"
    assert row["why"] == (Change("hazard", HOSES, where, "6", "4"),)


def test_a_shorter_life_moves_every_exposed_pair_and_is_named_as_the_reason(
    book_with: Callable[..., Rulebook], compare: Compare
) -> None:
    shorter = book_with(("{value: 10, low: 7, high: 14", "{value: 9, low: 7, high: 14"))
    compared = compare(book_with(), shorter)
    assert set(moves(compared)) == {(name, HOSES) for name in ("NEW", "OLD", "SALT")}
    assert set(moves(compared).values()) == {"moves"}
    rise = compared.pairs["probability_after"] > compared.pairs["probability_before"]
    assert rise.all()
    for why in compared.pairs["why"]:
        assert [change.where for change in why] == ["life.clocks.1.b10.value"]


def test_a_changed_factor_is_no_reason_for_a_vehicle_on_which_it_does_not_act(
    book_with: Callable[..., Rulebook], compare: Compare
) -> None:
    """Centred factors move everybody; only the salted vehicle is moved by the factor's own act."""
    saltier = book_with(("multiplier: {value: 1.7, low: 1.3", "multiplier: {value: 2, low: 1.3"))
    compared = compare(book_with(), saltier)
    why = {row["vehicle_id"]: row["why"] for row in compared.pairs.to_dict("records")}
    assert [change.where for change in why["SALT"]] == ["factors.1.multiplier.value"]


def test_words_alone_change_nothing_for_the_fleet(
    book_with: Callable[..., Rulebook], compare: Compare
) -> None:
    compared = compare(book_with(), book_with(("title: Rubber brake hoses", "title: Rubber hoses")))
    assert [change.bearing for change in compared.changes] == ["words"]
    assert compared.pairs.empty


def test_a_hazard_that_is_new_enters_for_each_vehicle_it_applies_to(
    book_with: Callable[..., Rulebook], compare: Compare
) -> None:
    compared = compare(book_with().keeping([TYRES]), book_with())
    entered = {vehicle for (vehicle, _), move in moves(compared).items() if move == "enters"}
    assert entered == {"NEW", "OLD", "SALT"}
    # FIVE is closed and AIR has no such brakes: judged for the first time, but nobody moved.
    started = {vehicle for (vehicle, _), move in moves(compared).items() if move == "starts"}
    assert started == {"FIVE", "AIR"}
    back = compare(book_with(), book_with().keeping([TYRES]))
    assert {v for (v, _), move in moves(back).items() if move == "stops"} == started
    text = " ".join(" ".join(comparison_text.lines(compared, 5, 5)).split())
    assert "1 entry differs in what it does" in text
    assert "2 are judged for the first time" in text
    assert compared.pushed > 0


def test_text_and_json_tell_the_same_pairs(
    book_with: Callable[..., Rulebook], compare: Compare
) -> None:
    compared = compare(book_with(), book_with(("{below: 6}", "{below: 4}")))
    text = comparison_text.lines(compared, vehicles=5, shown=5)
    assert max(map(len, text)) <= 80
    assert any("1 enters, 0 leave, 0 move" in line for line in text)
    assert "FIVE: closed on file -> exposed" in "\n".join(text)
    told = json.loads(json.dumps(comparison_text.machine(compared)))
    assert [pair["vehicle_id"] for pair in told["pairs"]] == ["FIVE"]
    (number,) = told["pairs"][0]["why"]
    assert told["changes"][number]["after"] == "4"


@pytest.mark.parametrize(
    ("vehicle", "words"),
    [("A", "looked for together in one look moves together"), ("B", "No changed entry bears on")],
)
def test_a_hazard_that_only_moves_with_its_vehicle_says_so(vehicle: str, words: str) -> None:
    """Vehicle A's hoses changed for a named reason; its tyres, or those of B, for none."""
    change = Change("hazard", HOSES, "life.shape.value", "3", "4")
    sides = {f"{name}_{side}": [None, None] for name in COMPARED for side in ("before", "after")}
    pairs = pd.DataFrame(
        {
            "vehicle_id": ["A", vehicle],
            "hazard_id": [HOSES, TYRES],
            "move": ["moves", "moves"],
            **sides,
            "why": [(change,), ()],
        }
    )
    compared = SimpleNamespace(changes=(change,), pairs=pairs, pushed=0)
    assert words in " ".join(" ".join(comparison_text.lines(compared, 2, 5)).split())


def test_the_command_prints_what_the_function_returns(
    fleet: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    new = tmp_path / "new"
    (new / "hazards").mkdir(parents=True)
    text = (rulebook.shipped_dir() / f"hazards/{HOSES}.yaml").read_text(encoding="utf-8")
    changed = text.replace("{below: 6}", "{below: 4}", 1)
    (new / f"hazards/{HOSES}.yaml").write_text(changed, encoding="utf-8")
    arguments = ["diff", "shipped", str(new), str(fleet), "--as-of", "2026-10-01"]
    assert rules_app(args=arguments, standalone_mode=False) == 0
    assert "FIVE: closed on file -> exposed" in capsys.readouterr().out
