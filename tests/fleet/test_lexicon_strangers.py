"""Wording: a like-named part of another machine is none of the vehicle's.

The lines are invented.  What is right here needs no judgement: nobody renews, checks or faults a
vehicle's brake hose by work on the hose of its wheelchair lift (common practice, no source).
"""

from __future__ import annotations

from pathlib import Path

import pandas as pd
import pytest

from riskcheck.fleet import lexicon
from riskcheck.fleet.lexicon_clauses import expand

ROOT = Path(__file__).parents[2]
TOLD = {"done", "partial", "checked_good", "proof", "finding", "opens", "absent"}
EQUIPMENT = (
    "wheelchair lift", "lift", "ramp", "plow", "snow plow", "loader", "step", "crane", "PTO",
    "tail lift", "liftgate", "water heater", "air horn", "sprayer", "salt spreader", "dump bed",
    "generator", "winch",
)  # fmt: skip
UNHEARD = ("zorp", "camper", "grapple", "fire pump", "cargo door", "sewer jetter", "sanding unit")
SHAPES = (
    "{} {} replaced", "replaced both {} {}s", "replaced 2 frt {} {}s", "new {} {} installed",
    "all rear {} {}s R&R", "both rear {} {}s", "{} {} ok", "checked {} {}, good", "{} {} tested OK",
    "{} {} leaking", "{} {}s cracked & worn", "{} {} broken", "{} {} replacement declined",
    "quoted {} {}", "{} {}s cleaned & lubed", "cleaned {} {}", "{} {} serviced", "flushed {} {}",
    "adjusted {} {}",
)  # fmt: skip


@pytest.fixture(scope="module")
def words() -> lexicon.Lexicon:
    return lexicon.load([ROOT / "rules"])


def told(words: lexicon.Lexicon, lines: list[str]) -> list[tuple[str, str, str]]:
    """(line, topic, mark) of everything that says more than a question."""
    events = words.read(lines)
    events = events[events["mark"].isin(TOLD)]
    spoken = pd.Series(lines, dtype=object).iloc[events["line_no"]]
    return list(zip(spoken, events["topic"], events["mark"], strict=True))


def test_a_shared_noun_of_another_machine_says_nothing_of_the_vehicle(
    words: lexicon.Lexicon,
) -> None:
    nouns = sorted(set(words.wording.around["bare"]) - {"pump"})  # a lift pump is a fuel pump
    assert {"hose", "line", "strap", "belt", "boot", "fluid", "filter", "slide"} <= set(nouns)
    lines = [
        shape.format(machine, noun)
        for shape in SHAPES
        for machine in (*EQUIPMENT, *UNHEARD)
        for noun in nouns
    ]
    assert told(words, lines) == []


def test_the_shared_nouns_alone_are_heard(words: lexicon.Lexicon) -> None:
    """So that the matrix above can fail: without the stranger these say something."""
    heard = ("belt", "boot", "chain", "filter", "hose", "line", "slide", "strap", "vent")
    for noun in heard:
        assert not words.read([f"replaced both {noun}s"]).empty, noun


def test_no_part_of_named_equipment_is_the_vehicles(words: lexicon.Lexicon) -> None:
    """Every name of every subject that speaks of work, behind every machine."""
    said = {word for name, phrases in words.wording.signals.items() if name != "beside"
            for each in phrases for word in words.wording.spelled(each.split())}  # fmt: skip
    machines = set(words.wording.spelled(words.wording.around["machines"]))
    names = sorted(
        {
            " ".join(name)
            for subject in words.wording.subjects.values()
            for called in subject.called
            for name in map(words.wording.spelled, expand(called.lower()))
            if not (said | machines).intersection(name)
        }
    )
    done = [line for line, _, mark in told(words, [f"{name} replaced" for name in names])
            if mark == "done"]  # fmt: skip
    real = sorted({line.removesuffix(" replaced") for line in done})
    assert len(real) > 80
    behind = [each for each in EQUIPMENT if each not in ("winch", "air horn", "snow plow")]
    lines = [
        shape.format(machine, name)
        for shape in ("{} {} replaced", "new {} {} installed", "{} {} ok", "{} {} leaking")
        for machine in behind
        for name in real
    ]
    assert told(words, lines) == []


@pytest.mark.parametrize(
    "line",
    [
        "replaced both wheelchair lift hoses",
        "both wheelchair ramp hoses",
        "both rear snow plow hoses",
        "both frt plow hoses",
        "all rear step hoses",
        "replaced 2 frt loader hoses",
        "wheelchair lift hose leaking",
        "lift hydraulic hose replaced",
        "replaced both hoses for plow",
        "both front hoses replaced on wheelchair lift",
        "replaced battery on wheelchair lift",
        "winch replaced",
        "wheelchair lift battery 11.2v",
        "plow tire tread 2/32",
        "generator coolant freeze point -10f",
    ],
)
def test_such_lines_stay_on_the_list_of_unread_wordings(words: lexicon.Lexicon, line: str) -> None:
    assert words.read([line]).empty


@pytest.mark.parametrize(
    "line", ["wheelchair lift - replaced both hoses", "wheelchair lift: both hoses replaced",
             "lift checked, hose leaking"]
)  # fmt: skip
def test_a_machine_named_earlier_in_the_line_makes_a_shared_noun_a_question(
    words: lexicon.Lexicon, line: str
) -> None:
    assert set(words.read([line])["mark"]) <= {"ambiguous"}


@pytest.mark.parametrize(
    "line",
    ["replaced both hoses on frt axle", "replaced frt axle hoses both sides",
     "rear axle pads both sides replaced", "replaced all tires on rear axle"],
)  # fmt: skip
def test_an_axle_that_says_where_is_no_shaft(words: lexicon.Lexicon, line: str) -> None:
    topics = set(words.read([line])["topic"])
    assert topics
    assert "cv_shaft" not in topics


@pytest.mark.parametrize(
    ("line", "topic", "mark"),
    [
        ("replaced both front hoses", "brake_hose", "done"),
        ("both old brake hoses R&R", "brake_hose", "done"),
        ("both new reman calipers installed", "caliper", "partial"),
        ("checked brake hoses on lift ok", "brake_hose", "checked_good"),
        ("pb holds on ramp ok", "parking_brake", "checked_good"),
        ("OE fuel filter replaced", "fuel_filter", "done"),
        ("dump truck battery replaced", "battery", "done"),
        ("replaced LF axle", "cv_shaft", "done"),
        ("lift pump weak", "fuel_starved", "finding"),
        ("trans fluid clean, no burnt smell", "trans_fluid", "checked_good"),
        ("trailer plug cleaned all pins", "trailer_connector_clean", "partial"),
        ("engine has timing chain - no belt", "timing_belt", "absent"),
        ("lower ball joints both sides, aligned", "steering_joint", "ambiguous"),
    ],
)
def test_the_vehicles_own_parts_are_still_heard(
    words: lexicon.Lexicon, line: str, topic: str, mark: str
) -> None:
    events = words.read([line])
    assert (topic, mark) in set(zip(events["topic"], events["mark"], strict=True))
    assert "caliper_service" not in set(events["topic"])
