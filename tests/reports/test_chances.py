"""One form of words for a chance, wherever it is told, and one that is true of what is known.

Natural frequencies with one denominator a message (Gigerenzer & Edwards, BMJ 2003;327:741-744);
what counts as a range that informs nobody is common practice, no source.
"""

from __future__ import annotations

import datetime as dt
import re
from typing import Any

import pytest

from riskcheck import calm, rulebook
from riskcheck.reports import chances, owner

HAZARDS = rulebook.load(rulebook.shipped_dir()).hazards
HOSE, BELT = HAZARDS["brake-hose-ageing"], HAZARDS["timing-belt-overdue"]
ROW: dict[str, Any] = {
    "evidence": "none", "status": "exposed", "findings": "", "exposed_weight": 1.0,
    "probability": 0.25, "probability_low": 0.04, "probability_high": 0.60,
    "probability_now": 0.20, "x_now_low": 0.03, "x_now_high": 0.50,
    "x_if_exposed": 0.25, "x_if_exposed_low": 0.04, "x_if_exposed_high": 0.60,
    "x_unseen": 0.0, "x_use_wide": 0.0, "x_last_good_look": "",
    "tier": 3, "act_by_date": "2026-10-01", "act_by_odometer_mi": float("nan"),
    "act_by_reason": "people", "x_tier_reason": "harm_over_line",
}  # fmt: skip
UNKNOWN = ROW | {
    "status": "unknown", "exposed_weight": 0.31, "probability": 0.0775, "probability_low": 0.0,
    "probability_high": 0.55,
}  # fmt: skip
AS_OF = dt.date(2026, 10, 1)


def test_a_hidden_fault_is_told_with_what_a_look_today_finds_of_it() -> None:
    """By hand: 20 of 100 there today, of which this look finds 80 of 100, is 16 of 100."""
    assert HOSE.look is not None
    assert HOSE.look.finds.value == 0.8
    assert chances.chance(ROW, HOSE, 12) == (
        "about 25 of 100 like it (4 to 60) within a year; a look today would find it on about 16 "
        "(2 to 40)"
    )
    assert chances.chance(ROW, BELT, 12) == "about 25 of 100 like it (4 to 60) within a year"


def test_where_it_is_not_known_to_apply_the_two_unknowns_are_told_apart() -> None:
    told = chances.chance(UNKNOWN, BELT, 12)
    assert told == (
        "not known whether it applies: it does to about 31 of 100 described like it; where it "
        "does, about 25 of 100 (4 to 60) within a year"
    )
    assert "(0 to" not in told
    likely = chances.chance(UNKNOWN | {"exposed_weight": 0.94}, BELT, 12)
    assert likely.startswith("it most likely applies (to about 94 of 100 described like it)")


def test_five_in_a_hundred_without_it_force_the_low_end_to_nought() -> None:
    """By counting: of 100 vehicles with chance 0.3 to 0.6 where it applies, the 5 % point of all is
    0.3 or more as long as fewer than 5 have none of it, and 0 from 5 on."""
    values = [0.3 + 0.3 * i / 99 for i in range(100)]
    for absent in (3, 4, 5, 6):
        mixed = sorted([0.0] * absent + values[: 100 - absent])
        low = mixed[4]
        row = ROW | {"exposed_weight": 1.0 - absent / 100}
        assert (low == 0.0) == (chances.form(row) == "if_it_applies")


@pytest.mark.parametrize(
    ("further", "reasons"),
    [
        ({}, ["no look on file"]),
        ({"x_last_good_look": "2019-03-02"}, ["last seen good on 2019-03-02"]),
        ({"x_unseen": 0.6}, ["no look on file", "perhaps renewed before our record"]),
        ({"x_use_wide": 1.0}, ["no look on file", "its use known only roughly"]),
    ],
)
def test_a_range_that_informs_nobody_is_told_by_its_reasons(
    further: dict[str, Any], reasons: list[str]
) -> None:
    row = ROW | {"probability_low": 0.05, "probability_high": 0.95} | further
    told = chances.chance(row, HOSE, 12)
    assert told == f"how likely is not known ({', '.join(reasons)}); a look of 20 min tells"
    assert chances.stated(row) is None
    belt = ROW | {"probability_low": 0.05, "probability_high": 0.95}
    assert "such parts differ widely in how long they last" in chances.chance(belt, BELT, 12)


@pytest.mark.parametrize("hazard_id", sorted(HAZARDS))
@pytest.mark.parametrize("weight", [0.004, 0.31, 0.94, 1.0])
@pytest.mark.parametrize("width", ["narrow", "wide"])
def test_every_sentence_for_an_owner_is_calm_and_keeps_to_one_denominator(
    hazard_id: str, weight: float, width: str
) -> None:
    ends = {"narrow": (0.04, 0.6), "wide": (0.02, 0.97)}[width]
    row = ROW | {
        "exposed_weight": weight, "probability": 0.25 * weight, "probability_low": 0.0,
        "probability_high": 0.6, "x_if_exposed_low": ends[0], "x_if_exposed_high": ends[1],
    }  # fmt: skip
    hazard = HAZARDS[hazard_id]
    said = owner.sentence(row, hazard, 12)
    assert calm.faults(said) == (), said
    assert calm.faults(chances.chance(row, hazard, 12)) == ()
    totals = set(re.findall(r"of (1,000|100)\b", f"{said} {chances.chance(row, hazard, 12)}"))
    assert len(totals) <= 1, said
    if weight < 0.9:
        assert "do not know yet whether this applies" in said


def test_what_can_wait_has_no_last_day_that_is_over() -> None:
    assert owner.no_later_than(ROW, AS_OF) == "2026-10-01"
    waits = ROW | {"tier": 7, "x_tier_reason": "look_at_next_visit"}
    assert owner.no_later_than(waits, AS_OF) == ""
    assert owner.when(waits, AS_OF) == "at the next visit"
    later = waits | {"act_by_date": "2027-03-04"}
    assert owner.no_later_than(later, AS_OF) == owner.when(later, AS_OF) == "2027-03-04"
    money = waits | {"act_by_reason": "money", "x_tier_reason": "under_floor"}
    assert owner.when(money, AS_OF) == owner.no_later_than(money, AS_OF) == ""


def test_an_odometer_is_told_only_where_miles_set_the_day() -> None:
    assert owner.no_later_than(ROW | {"act_by_odometer_mi": 94_776.0}, AS_OF) == (
        "2026-10-01 or 94,776 mi"
    )
    assert "mi" not in owner.no_later_than(ROW, AS_OF)
    assert owner.no_later_than(ROW | {"act_by_date": None}, AS_OF) == ""
