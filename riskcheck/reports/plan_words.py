"""How a plan is spoken of: kinds of jobs, reasons for what is left undone, limits."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import pandas as pd

from riskcheck.actions.plan import Plan
from riskcheck.reports import words
from riskcheck.rulebook import Rulebook

KIND_WORDS = {
    "look": "look",
    "job": "job",
    "appointment": "booked already",
    "service": "service due",
    "fixed": "fixed date",
}
LATEST_WORDS = {
    **words.ACT_BY_REASONS,
    "appointment": "booked for that day",
    "service": "the service is due",
    "fixed": "a fixed date, less the days kept for repairs",
}
REASON_WORDS = {
    "no_one_qualified": "nobody on the technicians sheet is listed for this skill",
    "no_bay": "no bay takes this vehicle or has what the job needs",
    "forbidden": "forbidden by hand",
    "pinned_elsewhere": "pinned by hand to a week that cannot hold it",
    "parts": "parts do not arrive before these weeks end",
    "too_early": "its time begins after these weeks",
    "vehicle_away": "the vehicle is away",
    "labour": "no hours left of the people who may do it",
    "bay": "no bay hours left",
    "spares": "too many of its type would be out at once",
    "visit_hours": "the vehicle's jobs would exceed one bay-day",
    "no_bay_day": "no single bay-day is left that is long enough",
    "not_worth": "it would fit, but coming in for it now costs more than waiting for the next plan",
    "past": "that week is over",
}
ASSUMED_WORDS = {
    "hours": "bay hours a week (policy figure bay_hours_per_week) where no hours sheet gives them",
    "technicians": "that everyone in the shop may do every job: there is no technicians sheet",
    "bays": "bays that are all alike: there is no bays sheet",
}
STOPPED_WORDS = {
    "gap": "",
    "nodes": "The search stopped at its limit of branches, before the gap asked for.",
    "time": (
        "The time safety net struck: on another machine, or another day, the plan may differ. "
        "Give it longer with --seconds."
    ),
    "fallback": (
        "No plan was found in the time given: this is the better of the two simple policies. "
        "Give it longer with --seconds."
    ),
}


def vehicle_names(plan: Plan) -> Mapping[str, str]:
    """ "B01 Sturven Shuttle" by vehicle id."""
    cars = plan.asked.fleet.vehicles
    named = {}
    for row in cars[["vehicle_id", "unit", "make", "model"]].to_dict("records"):
        unit = str(row["unit"] or row["vehicle_id"])
        named[str(row["vehicle_id"])] = " ".join(
            part for part in (unit, str(row["make"]), str(row["model"])) if part
        )
    return named


def customer_names(plan: Plan) -> Mapping[str, str]:
    """Fleet name, else the customer's name, by customer id."""
    people = plan.asked.fleet.customers
    rows = people[["customer_id", "name", "fleet"]].to_dict("records")
    return {str(r["customer_id"]): str(r["fleet"] or r["name"] or r["customer_id"]) for r in rows}


def job_words(job: Mapping[Any, Any], book: Rulebook) -> str:
    """What is done, in one line: "Look: hoses from lock to lock with the wheels off"."""
    name = str(job["name"]) or KIND_WORDS[str(job["kind"])]
    first = {"look": "Look: ", "service": "Service: ", "fixed": "", "appointment": "Booked: "}
    if (
        job["kind"] == "look"
        and isinstance(job["hazard_ids"], tuple)
        and len(job["hazard_ids"]) > 2
    ):
        systems = dict.fromkeys(book.hazards[one].title for one in job["hazard_ids"])
        name = f"{len(systems)} looks at once ({'; '.join(systems)})"
    return first.get(str(job["kind"]), "") + name


def reason(row: Mapping[Any, Any]) -> str:
    """Why a job is left undone, with the limit and the weeks in which it binds."""
    said = REASON_WORDS[str(row["reason_code"])]
    if row["detail"] and row["reason_code"] in ("labour", "bay", "spares"):
        said += f" ({row['detail']})"
    return f"{said} ({words.plural(int(str(row['weeks'])), 'week')})"


def late(jobs: pd.DataFrame) -> pd.DataFrame:
    """Jobs that come after their latest date, worst first."""
    behind = jobs[jobs["late_weeks"] > 0]
    return behind.sort_values(["tier", "rank"], kind="stable")
