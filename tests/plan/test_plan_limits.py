"""What a plan says of late jobs, sold vehicles, refused calls, and jobs that people ruled out."""

from __future__ import annotations

import dataclasses
import datetime as dt
import sys
from pathlib import Path

import pandas as pd
import pytest

sys.path.insert(0, str(Path(__file__).parent))

import made_up

from riskcheck.actions.plan import Asked, Plan, Wishes, make_plan
from riskcheck.fleet import model
from riskcheck.reports import plan_book, plan_cards, plan_json, plan_picture, plan_text, plan_words
from riskcheck.sheets import Sheet

SHEETS = ("availability", "technicians", "bays", "hours", "appointments", "fixed_dates",
          "services_due", "parts")  # fmt: skip


def bare(count: int = 6, weeks: int = 4) -> Asked:
    """Vehicles without any shop sheet."""
    asked = made_up.asked(11, count, weeks)
    for name in SHEETS:
        setattr(asked.fleet, name, getattr(asked.fleet, name).iloc[:0])
    asked.fleet.vehicles = asked.fleet.vehicles.assign(gvwr_lb=9_000.0)
    return asked


def rows_of(asked: Asked, changes: list[dict]) -> Asked:
    """The asked fleet with just these exposures: looks due today where nothing else is said."""
    usual = {"hazard_id": "brake-hose-ageing", "evidence": "none", "tier": 3, "severity": "I",
             "act_by_reason": "people", "act_by_date": "2026-10-01", "x_tier_reason": "",
             "customer_id": "C1", "vehicle_id": "V01"}  # fmt: skip
    rows = [
        asked.exposures.iloc[[0]].assign(**{**usual, "rank": number, **change})
        for number, change in enumerate(changes, start=1)
    ]
    return dataclasses.replace(asked, exposures=pd.concat(rows, ignore_index=True))


def summary(plan: Plan) -> str:
    return " ".join(" ".join(plan_text.summary(plan, Path("f.xlsx"), {})).split())


def column(sheet: Sheet, heading: str) -> list:
    at = [one.heading for one in sheet.columns].index(heading)
    return [row[at] for row in sheet.rows]


def codes(plan: Plan, job: int = 0) -> list[str]:
    return [code for code, _ in plan.jobs["late_why"].iloc[job]]


@pytest.mark.parametrize("state", ["sold", "scrapped"])
def test_a_vehicle_that_is_gone_has_no_jobs(state: str) -> None:
    asked = rows_of(bare(), [{}, {"vehicle_id": "V00"}])
    asked.fleet.vehicles.loc[asked.fleet.vehicles["vehicle_id"].eq("V01"), "state"] = state
    asked.fleet.appointments = made_up.shaped(
        model.APPOINTMENT_COLUMNS,
        [{"vehicle_id": "V01", "date": pd.Timestamp("2026-10-08"), "note": "oil"}],
    )
    plan = make_plan(asked)
    assert set(plan.jobs["vehicle_id"]) == {"V00"}
    assert plan.beyond.empty
    assert f"is {state}: oil on 2026-10-08 is left out" in summary(plan)


def test_a_vehicle_said_to_be_sold_on_the_telephone_has_no_jobs() -> None:
    asked = rows_of(bare(), [{}, {"vehicle_id": "V00"}])
    asked.fleet.contacts = made_up.shaped(
        model.CONTACT_COLUMNS,
        [{"customer_id": "C1", "vehicle_id": "V01", "date": pd.Timestamp("2026-09-20"),
          "channel": "call", "result": "sold"}],
    )  # fmt: skip
    assert set(make_plan(asked).jobs["vehicle_id"]) == {"V00"}


def test_late_is_counted_by_the_day_and_everywhere_alike() -> None:
    """Against the plain comparison of the two dates that the Jobs sheet shows."""
    plan = make_plan(made_up.asked(3, 24, 5))
    names = plan_words.vehicle_names(plan)
    sheet = plan_book.jobs(plan, names, {})
    days, latest = column(sheet, "Planned day"), column(sheet, "No later than")
    expected = sum(1 for day, last in zip(days, latest, strict=True) if day and last and day > last)
    assert expected > 3
    assert sum(1 for said in column(sheet, plan_book.LATE) if said[:1].isdigit()) == expected
    assert plan_json.summary(plan, {})["late"] == expected
    assert (plan_picture.classes(plan) == "late").sum() == expected
    assert f"Late: {expected} jobs" in summary(plan)
    lines = plan_text.summary(plan, Path("f.xlsx"), {})
    weekly = [line.split() for line in lines if line[:5] == "2026-"]
    assert sum(int(parts[5]) for parts in weekly if len(parts) > 5) == expected
    late = [job for job in plan.jobs.to_dict("records") if job["late_days"]]
    assert all(job["late_why"] for job in late)
    marked = "\n".join(
        str(cell) for row in plan_book.calendar(plan, names).rows for cell in row[1:-1]
    )
    assert marked.count("LATE ") == len({job["visit_id"] for job in late})


def test_notice_and_not_a_full_week_is_what_makes_a_look_late() -> None:
    plan = make_plan(rows_of(bare(), [{}]))
    assert codes(plan) == ["notice"]
    assert "told" in plan_words.late_words(plan.jobs.iloc[0], plan)
    assert "full" not in summary(plan)


def test_parts_that_take_longer_are_what_makes_a_job_late() -> None:
    asked = rows_of(
        bare(), [{"evidence": "confirmed", "tier": 1, "hazard_id": "brake-hose-ageing"}]
    )
    asked.fleet.parts = made_up.shaped(
        model.PART_COLUMNS,
        [{"part": "hoses", "on_hand": 0.0, "lead_days": 9.0, "topic": "brake-hose-ageing"}],
    )
    plan = make_plan(asked)
    assert codes(plan)[0] == "parts"
    assert "parts take 9 days" in plan_words.late_words(plan.jobs.iloc[0], plan)


def test_the_only_one_with_the_skill_is_named() -> None:
    """Twelve looks of 6 h for one person, who has less than 8 h a day."""
    asked = rows_of(
        bare(24), [{"vehicle_id": f"V{n:02d}", "customer_id": "R1", "x_look_hours": 6.0,
                    "x_look_with": "brake-hose-ageing"} for n in range(12)],
    )  # fmt: skip
    asked.fleet.technicians = made_up.shaped(
        model.TECHNICIAN_COLUMNS,
        [{"name": "DK", "skills": "A brakes"}, {"name": "RJ", "skills": "C"}],
    )
    plan = make_plan(asked)
    said = [plan_words.late_words(job, plan) for job in plan.jobs.to_dict("records")]
    assert any("no hours left of DK, the only one for 'B'" in one for one in said)


def test_vehicles_out_at_once_are_what_makes_the_others_late() -> None:
    """Eight of a kind in one fleet of twelve: few may be out on one day, however free the bays."""
    asked = bare(24)
    asked.fleet.vehicles = asked.fleet.vehicles.assign(make="Tovask", model="Carrier")
    cars = asked.fleet.vehicles
    own = cars[cars["customer_id"].eq("C1")]["vehicle_id"].tolist()[:8]
    asked = rows_of(
        asked, [{"vehicle_id": car, "customer_id": "C1", "x_look_hours": 0.5,
                 "x_look_with": "brake-hose-ageing"} for car in own],
    )  # fmt: skip
    plan = make_plan(asked)
    said = " ".join(plan_words.late_words(job, plan) for job in plan.jobs.to_dict("records"))
    assert "no more may be out at once: Tovask Carrier of Parcel runs" in said


def test_a_hand_that_put_it_there_is_why_it_is_late() -> None:
    asked = rows_of(bare(), [{}])
    job = make_plan(asked).jobs["job_id"].iloc[0]
    wishes = Wishes(pinned={job: dt.date(2026, 10, 20)})
    plan = make_plan(dataclasses.replace(asked, wishes=wishes))
    assert codes(plan) == ["by_hand"]


def test_who_refused_calls_is_marked_wherever_somebody_would_call() -> None:
    asked = rows_of(bare(), [{}, {"vehicle_id": "V02", "customer_id": "R1"}])
    asked.fleet.customers = asked.fleet.customers.assign(opt_out=["", "no calls please", ""])
    plan = make_plan(asked)
    assert plan.jobs.set_index("vehicle_id")["no_call"].to_dict() == {"V01": False, "V02": True}
    names = plan_words.vehicle_names(plan)
    customers = column(plan_book.jobs(plan, names, {}), "Customer or fleet")
    assert sum(plan_words.NO_CALL in who for who in customers) == 1
    marked = "\n".join(
        str(cell) for row in plan_book.calendar(plan, names).rows for cell in row[1:-1]
    )
    assert marked.count("NO CALL") == 1
    assert "Not to be called: 1 job of 1 customer" in summary(plan)


def test_a_found_fault_that_was_forbidden_by_hand_is_said_loudly() -> None:
    asked = rows_of(bare(), [{"tier": 1, "evidence": "confirmed"},
                             {"vehicle_id": "V00", "rank": 2}])  # fmt: skip
    jobs = make_plan(asked).jobs["job_id"]
    never = dict.fromkeys(jobs, frozenset({dt.date.min}))
    plan = make_plan(dataclasses.replace(asked, wishes=Wishes(forbidden=never)))
    names = plan_words.vehicle_names(plan)
    said = summary(plan)
    assert f"2 forbidden by hand: {names['V01']}, {names['V00']}" in said
    assert f"{names['V01']} STAYS OFF THE ROAD" in said
    assert f"{names['V00']} STAYS OFF" not in said


def test_no_other_week_is_offered_for_what_is_not_to_be_driven() -> None:
    asked = rows_of(bare(), [{"tier": 1, "evidence": "confirmed", "act_by_reason": "confirmed"}])
    plan = make_plan(asked)
    assert plan.jobs["second_week"].notna().all()  # the planner knows one; the sheets keep it back
    names = plan_words.vehicle_names(plan)
    (sheet,) = plan_book.fleets(plan, names)
    assert column(sheet, "Another week") == ["none: it stays off the road until this is done"]
    own = plan_book.jobs(plan, names, {})
    assert column(own, "Second-best week of") == [None]
    assert column(own, "It costs more") == [None]


def test_a_skill_that_nobody_has_is_named_with_its_vehicle() -> None:
    asked = rows_of(bare(), [{"evidence": "confirmed", "tier": 1}])
    asked.fleet.technicians = made_up.shaped(
        model.TECHNICIAN_COLUMNS, [{"name": "RJ", "skills": "C"}]
    )
    plan = make_plan(asked)
    skill = plan.jobs["skill"].iloc[0]
    name = plan_words.vehicle_names(plan)["V01"]
    assert plan_words.reasons(plan)[plan.jobs["job_id"].iloc[0]].endswith(f"{skill!r} ({name})")
    assert f"{skill!r}: {name}" in summary(plan)


def test_no_part_is_to_be_ordered_on_a_day_that_is_past() -> None:
    """Parts of 30 days for a job in the coming days: today, with the day that was missed."""
    asked = rows_of(bare(), [{"evidence": "confirmed", "tier": 1}])
    asked.fleet.parts = made_up.shaped(
        model.PART_COLUMNS,
        [{"part": "hoses", "on_hand": 1.0, "lead_days": 30.0, "topic": "brake-hose-ageing"}],
    )
    sheet = plan_cards.parts(make_plan(asked))
    assert column(sheet, "Order by") == [made_up.AS_OF]
    assert column(sheet, "Mind")[0].startswith("order today: it should have been ordered by 2026-")


def test_a_card_says_what_its_job_opens_by_title() -> None:
    plan = make_plan(rows_of(bare(), [{"evidence": "confirmed", "tier": 1}]))
    said = column(plan_cards.cards(plan, plan_words.vehicle_names(plan)), "Opens")
    opened = made_up.BOOK.hazards["brake-hose-ageing"].remedies[0].opens
    assert opened
    assert said == ["; ".join(made_up.BOOK.hazards[name].title for name in opened)]
