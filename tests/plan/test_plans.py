"""Whole plans of made-up shops, checked by a verifier that knows only the sheets."""

from __future__ import annotations

import dataclasses
import datetime as dt
import sys
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

sys.path.insert(0, str(Path(__file__).parent))

import made_up
import verifier

from riskcheck.actions.plan import Plan, Planned, Weeks, Wishes, make_plan
from riskcheck.actions.plan.batches import learned_hours
from riskcheck.actions.plan.reasons import ORDER
from riskcheck.actions.plan.trials import decide
from riskcheck.figures import Figure
from riskcheck.fleet import model
from riskcheck.reports import plan_book, plan_text, plan_words
from riskcheck.sheets import workbook_bytes

POLICY = made_up.BOOK.policy.plan


@settings(max_examples=12, deadline=None, derandomize=True)
@given(seed=st.integers(0, 10**6), vehicles=st.integers(4, 14), weeks=st.integers(1, 6))
def test_no_plan_breaks_a_sheet(seed: int, vehicles: int, weeks: int) -> None:
    plan = make_plan(made_up.asked(seed, vehicles, weeks))
    assert verifier.faults(plan) == []
    assert plan.gap >= -1e-9
    assert plan.first_come.total >= plan.solution.bound - 1e-6
    assert set(plan.unplaced["reason_code"]) <= set(ORDER)
    assert all(plan_words.reason(row, plan) for row in plan.unplaced.to_dict("records"))
    text = plan_text.summary(plan, Path("fleet.xlsx"), {})
    assert max(len(line) for line in text) <= 80


@pytest.fixture(scope="module")
def plan() -> Plan:
    return make_plan(made_up.asked(11, 14, 5))


def test_the_same_input_gives_the_same_bytes(plan: Plan) -> None:
    again = make_plan(made_up.asked(11, 14, 5))
    assert workbook_bytes(plan_book.workbook(again)) == workbook_bytes(plan_book.workbook(plan))


def last_of(plan: Plan, told: bool = False) -> dict[str, Planned]:
    placed = plan.jobs[plan.jobs["date"].notna()]
    return {
        job: Planned(day.date(), told)
        for job, day in zip(placed["job_id"], placed["date"], strict=True)
    }


def test_planning_again_moves_nothing(plan: Plan) -> None:
    wishes = Wishes(last=last_of(plan))
    again = make_plan(made_up.asked(11, 14, 5, wishes=wishes))
    before = plan.jobs.set_index("job_id")["week_start"].dropna()
    after = again.jobs.set_index("job_id")["week_start"].reindex(before.index)
    assert after.equals(before)
    assert verifier.faults(again) == []


def test_a_pin_is_kept_and_the_rest_hardly_moves(plan: Plan) -> None:
    """A job with a second-best week is moved there by hand; it lands there, others stay."""
    movable = plan.jobs[plan.jobs["second_week"].notna() & plan.jobs["day_fixed"].isna()]
    job = movable.iloc[0]
    wishes = Wishes(
        pinned={job["job_id"]: job["second_week"].date()}, last=last_of(plan, told=True)
    )
    again = make_plan(made_up.asked(11, 14, 5, wishes=wishes))
    after = again.jobs.set_index("job_id")
    assert after.at[job["job_id"], "week_start"] == job["second_week"]
    before = plan.jobs.set_index("job_id")
    others = before.index[(before.index != job["job_id"]) & before["date"].notna()]
    moved = after.loc[others, "week_start"] != before.loc[others, "week_start"]
    assert moved.sum() <= 1
    assert verifier.faults(again) == []


def test_a_pin_into_a_full_week_names_what_is_full_there(plan: Plan) -> None:
    """Every job pinned into the last week: those that do not fit say so of that week, no other."""
    last_week = plan.asked.weeks.week_start(4)
    free = plan.jobs[plan.jobs["day_fixed"].isna()]["job_id"]
    wishes = Wishes(pinned=dict.fromkeys(free, last_week))
    asked = made_up.asked(11, 14, 5, wishes=wishes)
    asked.fleet.hours = made_up.shaped(
        model.HOURS_COLUMNS,
        [{"date": pd.Timestamp(last_week), "skill": "all", "bay_hours": 12.0}],
    )
    again = make_plan(asked)
    weeks = again.jobs.set_index("job_id").loc[free, "week_start"].dropna()
    kept = set(again.setup.problem.allowed.sum(axis=1)) <= {0, 1}
    dropped = {job for job, _ in again.dropped_pins}
    assert kept or dropped
    assert all(when == pd.Timestamp(last_week) for job, when in weeks.items() if job not in dropped)
    left = again.unplaced[~again.unplaced["job_id"].isin(dropped)]
    assert "labour" in set(left["reason_code"])
    assert "pinned_elsewhere" not in set(left["reason_code"])


def test_forbidden_weeks_and_jobs_stay_empty(plan: Plan) -> None:
    placed = plan.jobs[plan.jobs["date"].notna() & plan.jobs["day_fixed"].isna()]
    first, second = placed["job_id"].iloc[0], placed["job_id"].iloc[-1]
    day = placed["date"].iloc[0].date()
    never = dt.date.min
    wishes = Wishes(forbidden={first: frozenset({day}), second: frozenset({never})})
    again = make_plan(made_up.asked(11, 14, 5, wishes=wishes)).jobs.set_index("job_id")
    assert again.at[first, "week_start"] != placed["week_start"].iloc[0]
    assert pd.isna(again.at[second, "date"])


def test_a_pin_that_cannot_be_kept_is_said() -> None:
    asked = made_up.asked(11, 14, 5)
    jobs = make_plan(asked).jobs
    job = jobs[jobs["day_fixed"].isna()].iloc[0]
    asked.fleet.pins = made_up.shaped(
        model.PIN_COLUMNS,
        [
            {"vehicle_id": job["vehicle_id"], "job": "", "date": pd.Timestamp("2026-09-01"),
             "pin": "pinned", "sheet": "Pins", "cell": "A2"},
            {"vehicle_id": "V03", "job": "no such job", "date": pd.Timestamp("2026-10-06"),
             "pin": "pinned", "sheet": "Pins", "cell": "A3"},
        ],
    )  # fmt: skip
    plan = make_plan(asked)
    assert (job["job_id"], "past") in plan.dropped_pins
    assert plan.idle_pins == (1,)
    text = " ".join(" ".join(plan_text.summary(plan, Path("f.xlsx"), {})).split())
    assert "that week is over" in text
    assert "No job answers to the pin in sheet Pins, A3" in text


@pytest.mark.parametrize(
    ("sheets", "code"),
    [
        ({"technicians": [{"name": "RJ", "skills": "C"}]}, "no_one_qualified"),
        ({"bays": [{"bay": "kart", "max_weight_lb": 500.0}]}, "no_bay"),
        ({"hours": [{"date": pd.Timestamp("2026-09-28"), "to": pd.Timestamp("2027-01-01"),
                     "skill": "all", "bay_hours": 0.0}]}, "labour"),
    ],
)  # fmt: skip
def test_a_shop_that_cannot_do_it_is_told_why(sheets: dict, code: str) -> None:
    asked = made_up.asked(11, 8, 3)
    shapes = {
        "technicians": model.TECHNICIAN_COLUMNS,
        "bays": model.BAY_COLUMNS,
        "hours": model.HOURS_COLUMNS,
    }
    for name in shapes:
        rows = sheets.get(name, [])
        setattr(asked.fleet, name, made_up.shaped(shapes[name], rows))
    asked.fleet.vehicles = asked.fleet.vehicles.assign(gvwr_lb=9_000.0)
    plan = make_plan(asked)
    assert code in set(plan.unplaced["reason_code"])
    assert verifier.faults(plan) == []


def test_all_away_and_no_jobs_are_plans_too() -> None:
    asked = made_up.asked(5, 6, 2)
    everyone = [
        {"vehicle_id": car, "from_date": pd.Timestamp("2026-09-01"),
         "to_date": pd.Timestamp("2027-01-01")}
        for car in asked.fleet.vehicles["vehicle_id"]
    ]  # fmt: skip
    asked.fleet.availability = made_up.shaped(model.AVAILABILITY_COLUMNS, everyone)
    plan = make_plan(asked)
    assert plan.visits.empty
    assert set(plan.unplaced["reason_code"]) == {"vehicle_away"}
    empty = dataclasses.replace(asked, exposures=asked.exposures.iloc[:0])
    for name in ("appointments", "services_due", "fixed_dates"):
        setattr(asked.fleet, name, getattr(asked.fleet, name).iloc[:0])
    nothing = make_plan(empty)
    assert nothing.jobs.empty
    assert "No visits are planned." in plan_text.summary(nothing, Path("f.xlsx"), {})


def test_safety_is_not_delayed_to_share_a_visit() -> None:
    """A found brake fault is due this week; the service of the same vehicle two weeks on.

    One visit would save a day off the road; the fault keeps its week all the same.
    """
    asked = made_up.asked(11, 4, 5)
    row = asked.exposures.iloc[[0]].assign(
        vehicle_id="V01", customer_id="C1", hazard_id="brake-hose-ageing", tier=1,
        evidence="confirmed", act_by_reason="confirmed", act_by_date="2026-10-06", severity="I",
    )  # fmt: skip
    for name in ("availability", "technicians", "bays", "hours", "appointments", "fixed_dates"):
        setattr(asked.fleet, name, getattr(asked.fleet, name).iloc[:0])
    asked.fleet.services_due = made_up.shaped(
        model.SERVICE_DUE_COLUMNS,
        [{"vehicle_id": "V01", "what": "PM-A", "date": pd.Timestamp("2026-11-02"), "hours": 1.0}],
    )
    plan = make_plan(dataclasses.replace(asked, exposures=row))
    fault = plan.jobs[plan.jobs["tier"] == 1].iloc[0]
    assert fault["date"] <= pd.Timestamp("2026-10-06")
    assert fault["late_days"] == 0


def test_inspection_is_booked_before_its_date_with_days_for_repairs() -> None:
    """49 CFR 396.17: every 12 months.  Booked at most 30 days ahead, 5 working days kept free."""
    asked = made_up.asked(11, 4, 9)
    asked.fleet.fixed_dates = made_up.shaped(
        model.FIXED_DATE_COLUMNS,
        [{"vehicle_id": "V02", "what": "annual inspection", "date": pd.Timestamp("2026-11-20")}],
    )
    jobs = make_plan(asked).jobs
    job = jobs[jobs["kind"] == "fixed"].iloc[0]
    assert pd.Timestamp("2026-10-21") <= job["date"] <= pd.Timestamp("2026-11-13")


def test_weeks_start_on_mondays_and_a_weekend_start_moves_on() -> None:
    """Calendar facts: 1 October 2026 is a Thursday, 3 October a Saturday."""
    assert Weeks(dt.date(2026, 10, 1), 2).monday == dt.date(2026, 9, 28)
    assert Weeks(dt.date(2026, 10, 1), 2).open_days().tolist() == [False] * 3 + [True] * 7
    assert Weeks(dt.date(2026, 10, 3), 2).monday == dt.date(2026, 10, 5)
    assert Weeks(dt.date(2026, 10, 1), 2).week_of(dt.date(2026, 9, 27)) == -1


def test_learning_curve_halves_as_wright_says() -> None:
    """Wright 1936: each doubling multiplies the unit's hours by the rate (0.8: 1, 0.8, 0.64)."""
    hours = learned_hours(2.0, 4, 0.8)
    assert hours[[0, 1, 3]] == pytest.approx([2.0, 1.6, 1.28])


def test_first_few_looks_are_judged_by_the_beta_binomial() -> None:
    """By hand for a flat belief (beta 1, 1): every count of n is equally likely, 1/(n+1).

    Half expected with the widest range gives the flat belief; 0 of 19 then has a chance of 1/20,
    below a tenth; 2 of 19 three twentieths, which is not; 19 of 19 again 1/20.
    """
    flat = Figure(0.5, "1", "invented", 0.0, 1.0)
    wide = 3.29 / np.sqrt(12.0) / 2.0  # range whose deviation is that of the flat belief
    flat = Figure(0.5, "1", "invented", 0.5 - wide, 0.5 + wide)
    assert decide(flat, 0, 2, POLICY)[0] == "wait"
    assert decide(flat, 0, 19, POLICY) == ("call_off", pytest.approx(1 / 20, abs=1e-6))
    assert decide(flat, 2, 19, POLICY)[0] == "go_on"
    assert decide(flat, 19, 19, POLICY) == ("widen", pytest.approx(1 / 20, abs=1e-6))


def test_looks_put_together_are_one_job_and_small_ones_ride_along() -> None:
    """A look over of three hazards is one job of the hours that pricing gave it.

    A look for the next visit is planned with the vehicle's own visit, never as a visit of its own.
    """
    asked = made_up.asked(11, 4, 3)
    for name in ("availability", "appointments", "services_due", "fixed_dates", "hours"):
        setattr(asked.fleet, name, getattr(asked.fleet, name).iloc[:0])
    row = asked.exposures.iloc[[0]].assign(
        evidence="none", act_by_reason="people", act_by_date="2026-10-01", wait_month=5.0,
        net_benefit=60.0, vehicle_id="V01", customer_id="C1", tier=3, x_tier_reason="",
    )  # fmt: skip
    together = "brake-hose-ageing; tyre-age-tread; ball-joint-tie-rod-wear"
    rows = [
        row.assign(hazard_id=name, x_look_with=together, x_look_hours=0.8,
                   tier=3 if number == 0 else 7, rank=number + 1,
                   x_tier_reason="" if number == 0 else "in_combined_look")
        for number, name in enumerate(together.split("; "))
    ]  # fmt: skip
    rider = {"x_tier_reason": "small_job_next_visit", "tier": 7, "rank": 9}
    rows.append(row.assign(hazard_id="battery-age-parasitic", **rider))
    rows.append(row.assign(hazard_id="battery-age-parasitic", vehicle_id="V02", **rider))
    plan = make_plan(dataclasses.replace(asked, exposures=pd.concat(rows, ignore_index=True)))
    looks = plan.jobs[plan.jobs["kind"] == "look"]
    assert looks["hours"].tolist() == [0.8]
    assert looks["hazard_ids"].tolist() == [tuple(together.split("; "))]
    assert plan.jobs["vehicle_id"].unique().tolist() == ["V01"]
    assert plan.jobs.set_index("job_id").at["V01:battery-age-parasitic", "rides"]
    assert len(plan.visits) == 1


def test_recorded_finds_decide_on_the_rest_of_a_kind() -> None:
    """Looks at six of a kind: none of twelve found where four in ten were expected.

    A brake hose may hurt people, so looking goes on and says so; a coolant look is called off.
    """
    asked = made_up.asked(11, 12, 3)
    for name in ("availability", "hours", "technicians", "bays"):
        setattr(asked.fleet, name, getattr(asked.fleet, name).iloc[:0])
    asked.fleet.vehicles = asked.fleet.vehicles.assign(make="Tovask", model="Carrier")
    one = asked.exposures.iloc[[0]].assign(
        evidence="none", act_by_reason="people", act_by_date="2026-10-01", tier=3,
        probability_now=0.5, x_now_low=0.4, x_now_high=0.6,
    )  # fmt: skip
    cars = asked.fleet.vehicles["vehicle_id"]
    rows = [
        one.assign(vehicle_id=car, hazard_id=hazard, rank=number, customer_id="R1")
        for hazard in ("brake-hose-ageing", "coolant-age")
        for number, car in enumerate(cars)
    ]
    outcomes = pd.DataFrame(
        [
            (car, hazard, "not_found")
            for car in cars
            for hazard in ("brake-hose-ageing", "coolant-age")
        ],
        columns=["vehicle_id", "hazard_id", "outcome"],
    )  # fmt: skip
    plan = make_plan(
        dataclasses.replace(asked, exposures=pd.concat(rows, ignore_index=True), outcomes=outcomes)
    )
    found = plan.trials.set_index("hazard_id")
    assert found.at["brake-hose-ageing", "decision"] == "keep_looking"
    assert found.at["coolant-age", "decision"] == "call_off"
    assert found.at["coolant-age", "looked_at"] == len(cars)
    said = " ".join(plan_words.trial_lines(plan))
    assert "people could be hurt: keep looking" in said
    assert "call the rest off" in said
