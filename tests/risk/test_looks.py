"""One combined look a vehicle: the rules of the module's docstring, each by a small example.

The rules are the project's own; the year is that of 49 CFR 396.17, the rest common practice.
"""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from riskcheck.risk.lines import Line
from riskcheck.risk.looks import (
    IN_LOOK,
    NEXT_VISIT,
    VehicleDates,
    combined_looks,
    harm_averted,
    losses_averted,
)
from riskcheck.risk.ranking import tiers

LINE = Line(tolerance=1e-5, floor=150.0, harm_value=0.0)
EXPLICIT = {IN_LOOK, NEXT_VISIT, "already_coming_in"}


def look(hazard="hose", **changes):
    """A hidden hazard of vehicle 0, over the line and due, with a look of 20 minutes and $60."""
    base = {
        "row": 0, "hazard_id": hazard, "x_loss_group": hazard, "status": "exposed",
        "evidence": "none", "severity_people": "I", "urgency_word": "week", "opened_window": False,
        "window_days": np.nan, "told_days": np.nan, "p_harm": 2e-5, "exposed_weight": 1.0,
        "act_by_days": 0.0,
        "act_by_reason": "people", "season_days": np.nan, "net_benefit": 50.0, "wait_gain": 100.0,
        "hours": 1.0, "worth_asking": 0.0, "ask_minutes": 2.0, "conflict": False,
        "coming_in": False, "over_value": False, "claim_days": np.nan, "claim_reason": "warranty",
        "hidden": True, "look_minutes": 20.0, "look_cost": 60.0, "look_place": "WHEELS-OFF",
        "look_finds": 1.0, "days_since_look": np.nan, "probability_now": 0.1,
        "costly_a_year": 0.0, "loss_a_year": 250.0,
        "harm_a_year": 2e-4, "repair_chance": 30.0,
    }  # fmt: skip
    return {**base, **changes}


def judged(*rows, since=400.0, line=LINE, **ahead):
    frame = pd.DataFrame(list(rows))
    n = int(frame["row"].max()) + 1
    given = {name: np.full(n, float(days)) for name, days in ahead.items()}
    looks = combined_looks(frame, line, VehicleDates(np.full(n, float(since)), given))
    placed = tiers(frame, line, looks)
    return pd.concat(
        [
            frame.drop(columns="hours"),
            looks.drop(columns=["tier", "reason"]).rename(columns={"hours": "hours_look"}),
            placed.rename(columns={"tier": "tier_placed"}),
        ],
        axis=1,
    )


def test_one_row_leads_and_the_others_ride_along():
    rows = judged(look("hose"), look("pipes", p_harm=5e-5), look("boots", p_harm=1e-7))
    assert rows["tier_placed"].tolist() == [7, 3, 7]
    assert rows["tier_reason"].tolist() == [IN_LOOK, "harm_over_line", IN_LOOK]
    assert rows["with"].tolist() == ["boots; hose; pipes"] * 3
    assert rows["harm"].tolist() == pytest.approx([7.01e-5] * 3)


def test_minutes_and_cost_are_shared_at_one_place():
    """By hand: lift 30 + 20/2, bonnet 10, trailer 15 minutes; the cost in the same shares."""
    rows = judged(
        look("hose", look_minutes=20.0, look_cost=60.0),
        look("pipes", look_minutes=30.0, look_cost=90.0, look_place="UNDER-LIFT"),
        look("battery", look_minutes=10.0, look_cost=25.0, look_place="BATTERY-OPEN"),
        look("socket", look_minutes=15.0, look_cost=40.0, look_place="TOW-RIG"),
    )
    assert rows["hours_look"].iloc[0] == pytest.approx((30 + 10 + 10 + 15) / 60)
    assert rows["cost"].iloc[0] == pytest.approx(90 + 30 + 25 + 40)


@pytest.mark.parametrize(
    ("since", "harm", "tier", "reason"),
    [
        (306.0, 2e-5, 3, "harm_over_line"),
        (304.0, 2e-5, 7, NEXT_VISIT),
        (np.nan, 2e-5, 3, "harm_over_line"),  # no visit on file: nobody ever looked
        (10.0, 9.9e-5, 7, NEXT_VISIT),
        (10.0, 1e-4, 3, "harm_over_line"),  # ten times the line is called whatever the visits
    ],
)
def test_over_the_line_is_called_a_year_after_the_last_visit(since, harm, tier, reason):
    rows = judged(look(p_harm=harm), since=since)
    assert (rows["tier_placed"].iloc[0], rows["tier_reason"].iloc[0]) == (tier, reason)


def test_what_waits_for_the_next_visit_leads_its_tier():
    rows = judged(look("a", p_harm=2e-5), look("b", p_harm=4e-5), look("c", p_harm=1e-6), since=90)
    order = rows.sort_values("key")["hazard_id"].tolist()
    assert order[:2] == ["b", "a"]


def test_a_look_within_the_year_is_not_asked_for_again():
    rows = judged(look(days_since_look=100.0), since=400.0)
    assert rows["tier_reason"].tolist() == [NEXT_VISIT]
    assert judged(look(days_since_look=310.0))["tier_placed"].tolist() == [3]


@pytest.mark.parametrize(
    ("harm", "looked", "due", "reason"),
    [
        (2e-4, 100.0, 30.0, "harm_over_line"),  # ten times over and its own look is due again
        (2e-4, 100.0, 60.0, "harm_over_line"),
        (2e-4, 100.0, 61.0, NEXT_VISIT),  # the last look still holds
        (9.9e-5, 100.0, 30.0, NEXT_VISIT),
        (2e-4, 305.0, 400.0, "harm_over_line"),  # a year (less sixty days) since the last look
        (2e-4, 304.9, 400.0, NEXT_VISIT),
    ],
)
def test_ten_times_over_the_line_no_look_settles_past_its_own_date(harm, looked, due, reason):
    rows = judged(look(p_harm=harm, days_since_look=looked, act_by_days=due), since=10.0)
    assert rows["tier_reason"].tolist() == [reason]


def test_a_look_averts_what_is_there_today_by_hand():
    """C_f 1,000 at κ 0.5 a year (L 500), there today 0.4, the look finds 0.85.

    Turns costly within the year: 1 − exp(−0.5) = 0.393469; 0.85 · 0.4 · 1,000 · 0.393469 = 133.78.
    With a harm of 2e-4 a year at $450,000: 0.34 · 0.786939 years · 90 = 24.08 on top.
    """
    row = pd.DataFrame(
        [look(loss_a_year=500.0, costly_a_year=0.5, probability_now=0.4, look_finds=0.85)]
    )
    assert losses_averted(row) == pytest.approx([133.7796], abs=1e-3)
    assert harm_averted(row, LINE) == pytest.approx([0.0])
    valued = harm_averted(row, LINE._replace(harm_value=450_000.0))
    assert valued == pytest.approx([24.0803], abs=1e-3)


@pytest.mark.parametrize("rate", [0.0, 0.015, 0.3, 3.0])
def test_a_look_averts_what_a_day_by_day_count_says(rate):
    """Brute force: each day a share κ/365.25 of what is still there turns costly."""
    there, days = 0.2, 365.25
    steps = 20_000
    present = there * np.exp(-rate * (np.arange(steps) + 0.5) / steps)
    averted = float(np.mean(present) * days / 365.25 * 700.0)
    row = pd.DataFrame([look(loss_a_year=700.0, costly_a_year=rate, probability_now=there)])
    assert losses_averted(row) == pytest.approx([averted], rel=1e-6)


def test_what_two_faults_would_destroy_together_is_saved_once():
    """Enumerated: κ 0.5, there 0.4, found surely; q = 0.4 · (1 − exp(−0.5)) = 0.157388 each.

    Costs 1,000 and 600 on the same brakes: 157.39 + 600 · 0.157388 · (1 − 0.157388) = 236.96;
    on different things 157.39 + 94.43 = 251.82.
    """
    fault = {"costly_a_year": 0.5, "probability_now": 0.4}
    one = look("hose", loss_a_year=500.0, **fault)
    other = look("caliper", loss_a_year=300.0, **fault)
    apart = judged(other, one)["averted"].tolist()
    shared = judged(*({**row, "x_loss_group": "brakes"} for row in (other, one)))["averted"]
    assert apart == pytest.approx([251.82] * 2, abs=0.01)
    assert shared.tolist() == pytest.approx([236.96] * 2, abs=0.01)


def test_what_comes_after_the_look_is_none_of_its_doing():
    row = look(p_harm=1e-6, probability_now=0.0, loss_a_year=1e6)
    assert judged(row)["averted"].tolist() == [0.0]
    assert judged(row)["tier_reason"].tolist() == [NEXT_VISIT]


@pytest.mark.parametrize(
    ("loss", "since", "reason"),
    [
        (2200.0, 400.0, "look_due"),  # averts $220 a year: $160 after its cost, over the floor
        (2000.0, 400.0, NEXT_VISIT),  # $140 is less than one bay-hour is worth
        (2200.0, 200.0, NEXT_VISIT),  # in within the year
    ],
)
def test_below_the_line_the_whole_look_must_pay(loss, since, reason):
    rows = judged(look(p_harm=1e-6, loss_a_year=loss), since=since)
    assert rows["tier_reason"].tolist() == [reason]


def test_several_looks_together_may_pay_where_none_does_alone():
    alone = look("boots", p_harm=1e-7, loss_a_year=1500.0)
    assert judged(alone)["tier_reason"].tolist() == [NEXT_VISIT]
    both = judged(alone, look("shaft", p_harm=1e-7, loss_a_year=1500.0))
    assert both["tier_placed"].tolist() == [4, 7]


def test_harm_averted_counts_at_its_policy_value():
    """0.1 there today · 2e-4 a year · $13.7 million = $274: more than $60 and an hour."""
    row = look(p_harm=9e-6, loss_a_year=0.0)
    assert judged(row)["tier_reason"].tolist() == [NEXT_VISIT]
    valued = judged(row, line=LINE._replace(harm_value=13.7e6))
    assert valued["averted"].tolist() == pytest.approx([274.0])
    assert valued["tier_reason"].tolist() == ["look_due"]


def test_dates_of_the_vehicle_make_a_look_due():
    row = look(p_harm=1e-7, loss_a_year=0.0)
    due = judged(row, since=30.0, inspection=-5.0).iloc[0]
    assert (due["tier_placed"], due["tier_reason"], due["own_days"]) == (4, "inspection", -5.0)
    assert due["key_words"] == "5 days over"
    ends = judged({**row, "repair_chance": 61.0}, since=30.0, warranty=45.0).iloc[0]
    assert (ends["tier_placed"], ends["tier_reason"], ends["own_days"]) == (4, "warranty", 45.0)
    for nothing in (
        judged({**row, "repair_chance": 59.0}, since=30.0, warranty=45.0),
        judged({**row, "repair_chance": 61.0}, since=30.0, goodwill=61.0),
        judged(row, since=30.0, inspection=61.0),
    ):
        assert nothing["tier_reason"].tolist() == [NEXT_VISIT]


def test_a_season_calls_for_the_looks_that_belong_to_it():
    frost = {"season_days": 14.0, "p_harm": 1e-7, "loss_a_year": 2200.0}
    rows = judged(look("coolant", **frost), look("boots", p_harm=1e-6, loss_a_year=0.0), since=30)
    assert rows["tier_reason"].tolist() == ["season", IN_LOOK]
    cheap = judged(look("coolant", **{**frost, "loss_a_year": 600.0}), since=30)
    assert cheap["tier_reason"].tolist() == [NEXT_VISIT]


def test_a_booked_vehicle_is_not_called_unless_it_is_ten_times_over():
    booked = judged(look(coming_in=True), look("boots", p_harm=1e-7, coming_in=True))
    assert booked["tier_reason"].tolist() == ["already_coming_in"] * 2
    assert judged(look(coming_in=True, p_harm=2e-4))["tier_placed"].tolist() == [3]


def test_a_due_look_joins_any_visit_the_vehicle_is_called_for():
    job = look("belt", hidden=False, look_minutes=np.nan, p_harm=0.0, wait_gain=500.0,
               act_by_reason="money")  # fmt: skip
    rows = judged(look("hose"), job, since=30.0)
    assert rows["tier_reason"].tolist() == [IN_LOOK, "money"]


@pytest.mark.parametrize("seed", range(20))
def test_no_grave_exposure_over_the_line_is_ever_hidden(seed):
    """Severity I over the line: called, or put to a visit by one of three named rules."""
    rng = np.random.default_rng(seed)
    n, vehicles = 400, 60
    rows = [
        look(
            f"h{place:03d}", row=int(rng.integers(vehicles)),
            status=str(rng.choice(["exposed", "unproven", "unknown", "closed"])),
            evidence=str(rng.choice(["none", "none", "sign", "confirmed"])),
            severity_people=str(rng.choice(["I", "II", "III", "IV"])),
            p_harm=float(10 ** rng.uniform(-8, -3)), exposed_weight=float(rng.uniform()),
            act_by_days=float(rng.choice([0.0, 30.0, 400.0, np.nan])),
            days_since_look=float(rng.choice([np.nan, 20.0, 500.0])),
            season_days=float(rng.choice([np.nan, 14.0])), conflict=bool(rng.random() < 0.1),
            coming_in=bool(rng.random() < 0.2), hidden=bool(rng.random() < 0.7),
            look_minutes=float(rng.choice([np.nan, 20.0])), over_value=bool(rng.random() < 0.2),
            loss_a_year=float(rng.uniform(0, 5000)), opened_window=bool(rng.random() < 0.05),
        )
        for place in range(n)
    ]  # fmt: skip
    frame = pd.DataFrame(rows)
    dates = VehicleDates(
        rng.choice([np.nan, 30.0, 500.0], vehicles),
        {"inspection": rng.choice([np.nan, -3.0, 20.0], vehicles)},
    )
    looks = combined_looks(frame, LINE, dates)
    placed = tiers(frame, LINE, looks)
    grave = frame["severity_people"].eq("I") & frame["p_harm"].ge(LINE.tolerance)
    grave &= frame["status"].isin(("exposed", "unproven"))
    kept = placed["tier"].le(3) | placed["tier_reason"].isin(EXPLICIT)
    assert grave.sum() > 10
    assert kept[grave].all()
    far_over = grave & frame["p_harm"].ge(10 * LINE.tolerance) & looks["member"]
    waits = placed["tier_reason"].isin({NEXT_VISIT, "already_coming_in"})
    assert not waits[far_over].any()
    leads = looks[looks["lead"]].join(frame["row"]).groupby("row").size()
    assert (leads == 1).all()
