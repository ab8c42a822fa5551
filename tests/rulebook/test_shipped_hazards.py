"""The shipped hazards: their hand-written cases, and the few figures that outsiders published."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator

import pytest

from riskcheck import rulebook
from riskcheck.fleet import lexicon
from riskcheck.reasoning import Engine, run_cases
from riskcheck.rulebook import Rulebook
from riskcheck.rulebook.facts import topics_and_marks
from riskcheck.rulebook.model import Hazard, WeibullLife

HAZARD_IDS = sorted(
    path.name.removesuffix(".yaml")
    for path in (rulebook.shipped_dir() / "hazards").glob("*.yaml")
    if not path.name.endswith(".cases.yaml")
)


@pytest.fixture(scope="module")
def book() -> Rulebook:
    return rulebook.load(rulebook.shipped_dir())


@pytest.fixture(scope="module")
def engine() -> Iterator[Engine]:
    with Engine() as running:
        yield running


def test_the_shipped_rulebook_passes_its_own_check() -> None:
    assert [fault.words() for fault in rulebook.check(rulebook.shipped_dir())] == []


def test_thirty_one_hazards_are_shipped() -> None:
    assert len(HAZARD_IDS) == 31


@pytest.mark.parametrize("hazard_id", HAZARD_IDS)
def test_every_case_is_concluded_as_written_by_tables_and_live_chain(
    hazard_id: str, book: Rulebook, engine: Engine
) -> None:
    results = run_cases(book, hazard_id, engine)
    assert [(r.name, r.differences) for r in results if not r.passed] == []


@pytest.mark.parametrize("hazard_id", HAZARD_IDS)
def test_the_cases_show_every_status_and_every_evidence_level(
    hazard_id: str, book: Rulebook
) -> None:
    expected = {"exposed", "closed", "unknown", "not_applicable"}
    if "unproven" in book.hazards[hazard_id].findings:
        expected.add("unproven")
    cases = book.cases[hazard_id]
    assert {case.expect.status for case in cases} == expected
    assert {case.expect.evidence for case in cases} == {"none", "sign", "confirmed"}
    assert len({case.name for case in cases}) == len(cases), "two cases share a name"


@pytest.mark.parametrize("hazard_id", HAZARD_IDS)
def test_owner_text_types_no_figure_of_its_own(hazard_id: str, book: Rulebook) -> None:
    """Chances in owner text are computed; "12-volt" is the name of a battery, not a chance."""
    said = book.hazards[hazard_id].words.say.replace("12-volt", "")
    assert re.search(r"\d", said) is None
    assert {"{many}", "{of}", "{low}", "{high}", "{period}"} <= set(re.findall(r"\{\w+\}", said))


@pytest.mark.parametrize("hazard_id", HAZARD_IDS)
def test_cautions_or_look_leave_the_last_word_to_the_maker_or_the_trained(
    hazard_id: str, book: Rulebook
) -> None:
    cautions = " ".join(book.hazards[hazard_id].words.cautions)
    assert re.search(r"maker|qualified", cautions), cautions


def test_remedies_of_infant_and_day_one_faults_only_settle(book: Rulebook) -> None:
    for hazard in book.hazards.values():
        if not isinstance(hazard.life, WeibullLife) or hazard.life.shape.value < 1:
            assert {remedy.effect for remedy in hazard.remedies} <= {"settles", "eliminates"}


def test_heater_chain_opens_one_hazard_after_the_other(book: Rulebook) -> None:
    opened = {
        hazard_id: {name for remedy in book.hazards[hazard_id].remedies for name in remedy.opens}
        for hazard_id in ("heater-stud-drop", "replacement-heater-no-ground")
    }
    assert "replacement-heater-no-ground" in opened["heater-stud-drop"]
    assert "heater-ground-strap-hot" in opened["replacement-heater-no-ground"]


def mean_life(hazard: Hazard) -> float:
    """Mean of a Weibull life from shape and B10: eta * Gamma(1 + 1/shape)."""
    assert isinstance(hazard.life, WeibullLife)
    shape, b10 = hazard.life.shape.value, hazard.life.clocks[0].b10.value
    eta = b10 / (-math.log(0.9)) ** (1 / shape)
    return eta * math.gamma(1 + 1 / shape)


def median_life(hazard: Hazard) -> float:
    """Median of a Weibull life from shape and B10: eta * (ln 2)^(1/shape)."""
    assert isinstance(hazard.life, WeibullLife)
    shape, b10 = hazard.life.shape.value, hazard.life.clocks[0].b10.value
    return b10 * (math.log(2) / -math.log(0.9)) ** (1 / shape)


def test_battery_life_agrees_with_the_published_survey(book: Rulebook) -> None:
    """Mean life 41 months in the hot south to 58 in the north: trade press, October 2025."""
    assert 41 <= 12 * mean_life(book.hazards["battery-age-parasitic"]) <= 58


def test_half_shaft_life_agrees_with_usual_renewal(book: Rulebook) -> None:
    """Shafts are commonly renewed at 70,000 to 130,000 miles: undercar trade pages."""
    assert 70_000 <= median_life(book.hazards["cv-prop-boot-split"]) <= 130_000


def test_brake_fluid_life_agrees_with_the_trade(book: Rulebook) -> None:
    """About 3 % of water at 18 months: trade articles, secondary."""
    life = book.hazards["brake-fluid-moisture"].life
    assert isinstance(life, WeibullLife)
    low, high = life.clocks[0].b10.range
    assert low <= 1.5 <= high


def test_pipe_life_agrees_with_the_safety_advisory(book: Rulebook) -> None:
    """Salted brake pipe is susceptible from 7 to 8 years: NHTSA advisory, April 2015."""
    life = book.hazards["exhaust-fuel-line-corrosion"].life
    assert isinstance(life, WeibullLife)
    low, high = life.clocks[0].b10.range
    assert low <= 7 <= 8 <= high


def test_a_renewed_belt_is_exposed_again_no_later_than_the_shortest_interval(
    book: Rulebook,
) -> None:
    """Published change intervals cluster at 60,000 to 100,000 miles: repair-shop pages."""
    rule = book.hazards["timing-belt-overdue"].findings["kit_recent"].when[0]
    limit = rule["miles_since_belt_kit"]
    assert not isinstance(limit, bool | int | float | str)
    assert limit.below is not None
    assert limit.below <= 60_000


def test_worn_out_tread_is_the_legal_limit(book: Rulebook) -> None:
    """2/32 inch on tyres other than the front tyres of buses and trucks: 49 CFR 393.75."""
    rule = book.hazards["tyre-age-tread"].findings["worn_out"].when[0]
    limit = rule["tyre_tread_32nds"]
    assert not isinstance(limit, bool | int | float | str)
    assert limit.at_most == 2


def test_tolerance_line_lies_between_the_published_bounds(book: Rulebook) -> None:
    """1e-6 and 1e-4 a year: HSE, Reducing Risks, Protecting People, 2001 (from memory)."""
    assert 1e-6 < book.policy.tolerance_p_harm.value < 1e-4


@pytest.mark.parametrize("hazard_id", HAZARD_IDS)
def test_every_factor_acts_in_a_case(hazard_id: str, book: Rulebook) -> None:
    held = {name for case in book.cases[hazard_id] for name in case.expect.holds}
    assert {factor.finding for factor in book.hazards[hazard_id].factors} <= held


# A line as a shop would write it for each job that opens another hazard: (remedy, line).
OUR_OWN_WORK = {
    "ball-joint-tie-rod-wear": {
        "pairs": "replaced ball joints both sides",
        "one": "replaced lf outer tie rod only",
    },
    "brake-hose-ageing": {
        "hoses-in-pairs": "replaced all brake hoses",
        "one-hose": "replaced lf brake hose only",
    },
    "cv-prop-boot-split": {"boot-or-shaft": "replaced both cv axles"},
    "heater-stud-drop": {
        "captive-heater": "captive heater installed",
        "same-heater": "replaced grid heater",
    },
    "hp-fuel-pump-wear": {
        "whole-circuit": "hp pump, rail, injectors and lines replaced, tank cleaned",
        "pump-only": "replaced hp fuel pump only",
    },
    "parking-brake-caliper-seizure": {
        "service": "caliper slides cleaned & lubed",
        "part": "replaced rear brake pads and rotors",
    },
    "replacement-heater-no-ground": {"ground-strap": "heater ground strap installed"},
    "tyre-age-tread": {"new-tyres": "4 new tires installed", "repair": "flat repair rr tire"},
    "dpf-face-plugging": {"forced-burn": "forced regen"},
}


def test_every_job_that_opens_a_hazard_starts_its_clock_or_feeds_its_rules(
    book: Rulebook,
) -> None:
    """What a remedy is said to open is really opened by the line that records the job.

    A hazard may also follow from the next job: a heater needs a strap, the strap may run hot.
    """
    reader = lexicon.load(book.wording_dirs)
    told = {
        (hazard.id, remedy.id): remedy.opens
        for hazard in book.hazards.values()
        for remedy in hazard.remedies
        if remedy.opens
    }
    assert set(told) == {(name, key) for name, lines in OUR_OWN_WORK.items() for key in lines}
    for (hazard_id, remedy_id), opened in told.items():
        line = OUR_OWN_WORK[hazard_id][remedy_id]
        read = reader.read([line])
        events = set(zip(read["topic"], read["mark"], strict=True))
        for target in opened:
            heard = events & listened_to(book, target) or follows(book, target, opened)
            assert heard, f"{line!r} opens nothing of {target}: read as {sorted(events)}"


def follows(book: Rulebook, target: str, opened: list[str]) -> bool:
    """Whether a remedy of another opened hazard opens ``target`` in its turn."""
    nexts = [remedy for name in opened for remedy in book.hazards[name].remedies]
    return any(target in remedy.opens for remedy in nexts)


def listened_to(book: Rulebook, hazard_id: str) -> set[tuple[str, str]]:
    """(topic, mark) pairs that start the hazard's clock or change a fact that its rules read."""
    life = book.hazards[hazard_id].life
    pairs = {(topic, mark) for ref in life.starts for topic in ref.topics for mark in ref.marks}
    for name in book.compiled(hazard_id).facts:
        pairs |= set(topics_and_marks(book.vocabulary[name]))
    return pairs


def test_hazards_of_one_cause_travel_together(book: Rulebook) -> None:
    """Salt and towing, as a shop would list them; the relation is mutual."""
    with_pipes = book.companions("exhaust-fuel-line-corrosion")
    assert {"brake-hose-ageing", "spare-carrier-corrosion"} <= set(with_pipes["salt"])
    with_gearbox = book.companions("trans-fluid-towing")
    assert {"brake-fluid-moisture", "tyre-age-tread"} <= set(with_gearbox["towing"])
    for name in book.hazards:
        for cause, others in book.companions(name).items():
            assert all(name in book.companions(other)[cause] for other in others)
