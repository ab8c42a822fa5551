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
    "rides": "not worth a visit of its own: it goes on the vehicle's next ticket",
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


def short_words(job: Mapping[Any, Any]) -> str:
    """The same in a few words: several looks at once are only counted."""
    many = len(job["hazard_ids"])
    if job["kind"] == "look" and many > 1:
        return f"look over, {many} hazards"
    first = {"look": "look: ", "service": "service: ", "appointment": "booked: "}
    return first.get(str(job["kind"]), "") + (str(job["name"]) or KIND_WORDS[str(job["kind"])])


def reason(row: Mapping[Any, Any]) -> str:
    """Why a job is left undone, with the limit and the weeks in which it binds."""
    said = REASON_WORDS[str(row["reason_code"])]
    if row["detail"] and row["reason_code"] in ("labour", "bay", "spares"):
        said += f" ({row['detail']})"
    return f"{said} ({words.plural(int(str(row['weeks'])), 'week')})"


def late(jobs: pd.DataFrame) -> pd.DataFrame:
    """Jobs that come after their latest date, worst first."""
    behind = jobs[jobs["late_weeks"] > 0]
    ranked = behind.assign(first=behind["tier"].where(behind["tier"] > 0, 4))
    return ranked.sort_values(["first", "severity", "rank"], kind="stable")


WAITING_SHOWN = 10
DECISION_WORDS = {
    "wait": "record what the first {few} find before going through the rest",
    "go_on": "{found} of {looked} found, as could be expected: go on",
    "widen": (
        "{found} of {looked} found, more than expected: bring the rest forward and look wider"
    ),
    "call_off": (
        "{found} of {looked} found, fewer than expected: call the rest off, or spread it out"
    ),
    "keep_looking": (
        "{found} of {looked} found, fewer than expected, but people could be hurt: keep looking, "
        "and let riskcheck learn from it"
    ),
}


def late_words(job: Mapping[Any, Any]) -> str:
    """How late a job is and why, "" if it is not."""
    if not job["late_weeks"]:
        return ""
    why = {
        "start": "parts or notice" if job["part"] else "notice",
        "full": "the weeks before are full",
    }
    return f"{words.plural(int(job['late_weeks']), 'week')}: {why[str(job['late_reason'])]}"


def other_week(job: Mapping[Any, Any]) -> str:
    """The second-best week and what it costs more."""
    if pd.isna(job["date"]):
        return ""
    if pd.isna(job["second_week"]):
        return "no other week has room"
    extra = float(job["second_extra"])
    more = f"{words.money(extra)} more" if extra >= 0.5 else "no dearer"
    return f"week of {job['second_week']:%Y-%m-%d}, {more}"


def worth_lines(plan: Plan) -> list[str]:
    """What one more of each short thing would save, where the solver can tell."""
    lines = []
    people = customer_names(plan)
    for one in plan.worth:
        if not one.sure:
            continue
        if one.kind == "spare":
            kind, customer = one.name.split("|", 1)
            what = f"one more {kind} of {people.get(customer, customer)} that may be out"
        else:
            week = plan.shop.weeks.week_start(one.week)
            day = "technician-day" if one.kind == "labour" else "bay-day"
            what = f"one more {day} ({one.name}) in the week of {week}"
        lines.append(f"{what} would save about {words.money(one.saves)}")
    if plan.asked.price_more and not lines:
        lines.append("nothing for certain: what one more day would save is within the gap")
    return lines


def batch_lines(plan: Plan) -> list[str]:
    """Batches: hours booked in full, and hours that doing them back to back should take."""
    book = plan.asked.book
    return [
        f"{book.hazards[row['hazard_id']].job.title} on {row['vehicle_kind']}: "
        f"{row['placed']} of {words.plural(int(row['jobs']), 'job')} in "
        f"{words.plural(int(row['weeks']), 'week')}, {row['hours_booked']:.1f} h booked; done back "
        f"to back within each week about {row['hours_learned']:.1f} h"
        for row in plan.batches.to_dict("records")
        if row["placed"]
    ]


def trial_lines(plan: Plan) -> list[str]:
    """What the first few looks of each kind say of the rest."""
    few = int(plan.asked.book.policy.plan.pilot_jobs.value)
    waits = plan.trials["decision"].eq("wait")
    largest = plan.trials[waits].sort_values("looks", ascending=False, kind="stable")
    shown = pd.concat([plan.trials[~waits], largest.head(WAITING_SHOWN)])
    lines = []
    for row in shown.to_dict("records"):
        said = DECISION_WORDS[row["decision"]].format(
            few=few, found=row["found"], looked=row["looked_at"]
        )
        expected = words.frequency(row["estimate"], row["estimate_low"], row["estimate_high"])
        title = plan.asked.book.hazards[row["hazard_id"]].title
        lines.append(
            f"{title}, {row['vehicle_kind']}: {words.plural(int(row['looks']), 'look')}, "
            f"{expected} expected to be found; first {row['first']}: {said}"
        )
    if (left := len(plan.trials) - len(shown)) > 0:
        lines.append(f"{left:,} more kinds of look, of fewer vehicles, wait for their first {few}")
    return lines
