"""The plan as a workbook to work in: calendar, jobs, job cards, parts, a sheet for each fleet."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from typing import Any

import pandas as pd

from riskcheck.actions.plan import Plan
from riskcheck.actions.plan import returned as back
from riskcheck.reports import plan_about, plan_cards, plan_words, words
from riskcheck.reports.layout import fitted
from riskcheck.sheets import Column, Sheet, Style, Workbook

DAY = "ddd yyyy-mm-dd"
STYLES = {
    "week": Style(bold=True, fill="E4EAED", border=True),
    "late": Style(fill="FBE9D7", border=True),
    "day": Style(border=True),
}
LARGEST_FLEETS = 12
LATE = "Late, or why not placed"


def workbook(plan: Plan, notes: Mapping[str, str] | None = None) -> Workbook:
    """All sheets of the plan; ``notes`` (by job id) typed into the last one are carried over."""
    names = plan_words.vehicle_names(plan)
    sheets = [
        calendar(plan, names),
        jobs(plan, names, notes or {}),
        plan_cards.cards(plan, names),
        plan_cards.parts(plan),
        *fleets(plan, names),
        plan_about.sheet(plan),
    ]
    return Workbook([fitted(sheet) for sheet in sheets], "Maintenance plan", STYLES)


def calendar(plan: Plan, names: Mapping[str, str]) -> Sheet:
    """One row a working day, one column a bay."""
    bays = [bay.name for bay in plan.shop.bays]
    columns = [
        Column("Day", 17, DAY, align="left"),
        *[Column(name, 38, wrap=True) for name in bays],
        Column("Hours", 8, "0.0"),
    ]
    by_job = {row["job_id"]: row for row in plan.jobs.to_dict("records")}
    rows: list[list[object]] = []
    styles: dict[int, str] = {}
    cells: dict[tuple[int, int], str] = {}
    for number, day in enumerate(plan.shop.weeks.days):
        own = plan.visits[plan.visits["date"] == pd.Timestamp(day)]
        if not plan.shop.weeks.open_days()[number]:
            continue
        line: list[object] = [day]
        for place, bay in enumerate(bays):
            visits = own[own["bay"] == bay].to_dict("records")
            line.append("\n".join(_visit(visit, names, by_job, plan) for visit in visits))
            late = any(by_job[j]["late_days"] for v in visits for j in v["jobs"].split("; "))
            cells[len(rows), place + 1] = "late" if late else "day"
        line.append(float(own["hours"].sum()))
        if day.weekday() == 0 or not rows:
            cells[len(rows), 0] = "week"
        rows.append(line)
    title = (
        f"Calendar from {plan.shop.weeks.start} to {plan.shop.weeks.days[-1]}",
        "LATE: after its latest date (Jobs says why). NO CALL: its customer " + plan_words.NO_CALL,
    )
    return Sheet("Calendar", columns, rows, title, styles, cells, freeze_columns=1, filters=False)


def _visit(
    visit: Mapping[Any, Any],
    names: Mapping[str, str],
    by_job: Mapping[str, Mapping[Any, Any]],
    plan: Plan,
) -> str:
    own = [by_job[one] for one in visit["jobs"].split("; ")]
    late = "LATE " if any(job["late_days"] for job in own) else ""
    late += "NO CALL " if own[0]["no_call"] else ""
    longer = f", {visit['days']} days" if visit["days"] > 1 else ""
    work = [str(job["name"]) or "booked" for job in own if job["kind"] != "look"]
    looks = sum(len(job["hazard_ids"]) for job in own if job["kind"] == "look")
    work += [words.plural(looks, "look")] if looks else []
    return f"{late}{names[visit['vehicle_id']]}, {visit['hours']:.1f} h{longer}: {'; '.join(work)}"


def jobs(plan: Plan, names: Mapping[str, str], notes: Mapping[str, str]) -> Sheet:
    """Every job with its day or the reason why it has none; this is the sheet to work in."""
    reasons = plan_words.reasons(plan)
    people = plan_words.customer_names(plan)
    columns = [
        Column("Vehicle", 22, wrap=True),
        Column("Customer or fleet", 22, wrap=True),
        Column("Job", 40, wrap=True),
        Column(back.PLANNED, 16, DAY, align="left"),
        Column("Bay", 8),
        Column("Hours", 7, "0.0"),
        Column("No later than", 12, "yyyy-mm-dd", align="left"),
        Column(LATE, 34, wrap=True),
        Column(back.KEEP, 16, choices=back.CHOICES, input_cell=True,
               hint="Holds on the next run of riskcheck plan into this folder."),
        Column(back.MOVE, 14, "yyyy-mm-dd", input_cell=True,
               hint="A day in the week you want it in, such as 2026-10-20."),
        Column(back.TOLD, 11, choices=("yes",), input_cell=True,
               hint="Yes once the customer has the date: moving it then costs the plan more."),
        Column(back.NOTE, 24, wrap=True, input_cell=True),
        Column("Because", 30, wrap=True),
        Column("Second-best week of", 13, "yyyy-mm-dd", align="left"),
        Column("It costs more", 12, "$#,##0"),
        Column(back.RULED_OUT, 14),
        Column(back.JOB_ID, 30, hidden=True),
    ]  # fmt: skip
    rows = [
        [
            names[job["vehicle_id"]], _customer(job, people),
            plan_words.job_words(job, plan.asked.book), _date(job["date"]), job["bay"],
            float(job["hours"]), _date(job["latest"]),
            reasons.get(job["job_id"], "") or plan_words.late_words(job, plan),
            *_typed(job, plan), notes.get(job["job_id"], ""),
            plan_words.LATEST_WORDS.get(job["latest_reason"], ""), *_second_best(job),
            _ruled_out(job["job_id"], plan), job["job_id"],
        ]
        for job in _in_order(plan.jobs).to_dict("records")
    ]  # fmt: skip
    title = (
        "Jobs: work in this sheet, save it, and run riskcheck plan again into the same folder",
        "Yellow cells are yours. The next plan keeps to them and changes as little else as it can.",
    )
    printed = [one.heading for one in columns].index(LATE) + 1
    return Sheet("Jobs", columns, rows, title, freeze_columns=1, print_columns=printed)


def _customer(job: Mapping[Any, Any], people: Mapping[str, str]) -> str:
    """Whose it is, and whether nobody may call them in."""
    name = people.get(job["customer_id"], job["customer_id"])
    return f"{name} ({plan_words.NO_CALL})" if job["no_call"] else name


def _second_best(job: Mapping[Any, Any]) -> list[object]:
    """The second-best week and what it costs more; none for what is not to be driven."""
    if pd.isna(job["second_extra"]) or plan_words.keeps_off_road(job):
        return [None, None]
    return [_date(job["second_week"]), round(float(job["second_extra"]))]


def _typed(job: Mapping[Any, Any], plan: Plan) -> list[object]:
    """What was typed for this job before, so that it holds on the run after next too."""
    wishes = plan.wishes
    wish = ""
    if back.FOREVER in wishes.forbidden.get(job["job_id"], ()):
        wish = back.NOT_AT_ALL
    elif job["job_id"] in wishes.pinned:
        wish = back.KEEP_HERE
    move = None
    if wish == back.KEEP_HERE and pd.isna(job["date"]):
        wish, move = "", wishes.pinned[job["job_id"]]
    return [wish, move, "yes" if job["told"] else ""]


def _ruled_out(job_id: str, plan: Plan) -> str:
    days = plan.wishes.forbidden.get(job_id, frozenset()) - {back.FOREVER}
    return "; ".join(sorted(day.isoformat() for day in days))


def _in_order(frame: pd.DataFrame) -> pd.DataFrame:
    return frame.sort_values(
        ["date", "bay", "vehicle_id", "rank"], kind="stable", na_position="last"
    )


def _date(value: object) -> dt.date | None:
    stamp = pd.Timestamp(value)  # type: ignore[arg-type]
    return None if pd.isna(stamp) else stamp.date()


def fleets(plan: Plan, names: Mapping[str, str]) -> list[Sheet]:
    """A sheet for the manager of each fleet: what goes in when, and what is not in the plan."""
    people = plan.asked.fleet.customers
    own = people[people["kind"].eq("fleet") | people["fleet"].ne("")]
    counts = plan.jobs["customer_id"].value_counts()
    shown = [name for name in own["customer_id"] if counts.get(name, 0)]
    shown = sorted(shown, key=lambda name: (-counts[name], name))[:LARGEST_FLEETS]
    called = plan_words.customer_names(plan)
    return [_fleet(plan, names, customer, called[customer]) for customer in shown]


def _fleet(plan: Plan, names: Mapping[str, str], customer: str, called: str) -> Sheet:
    columns = [
        Column("Day", 17, DAY, align="left"),
        Column("Vehicle", 26, wrap=True),
        Column("Work", 56, wrap=True),
        Column("Hours", 8, "0.0"),
        Column("Back", 16, wrap=True),
        Column("No later than", 14, "yyyy-mm-dd", align="left"),
        Column("Late", 26, wrap=True),
        Column("Another week", 28, wrap=True),
        Column("Not planned because", 44, wrap=True),
        Column("Approved by", 14),
    ]
    reasons = plan_words.reasons(plan)
    length = dict(zip(plan.visits["visit_id"], plan.visits["days"], strict=True))
    rows: list[list[object]] = []
    for job in _in_order(plan.jobs[plan.jobs["customer_id"] == customer]).to_dict("records"):
        days = length.get(job["visit_id"], 0)
        rows.append(
            [
                _date(job["date"]), names[job["vehicle_id"]],
                plan_words.job_words(job, plan.asked.book), float(job["hours"]),
                {0: "", 1: "same day"}.get(days, f"after {days} working days"),
                _date(job["latest"]), plan_words.late_words(job, plan), plan_words.other_week(job),
                reasons.get(job["job_id"], ""), "",
            ]
        )  # fmt: skip
    spares = [
        f"{kind}: at most {words.plural(count, 'vehicle')} out at once"
        for who, kind, count in plan.setup.spare_names
        if who == customer
    ]
    title = (f"{called}: what goes in when", "; ".join(spares)) if spares else (called,)
    return Sheet(called[:28], columns, rows, title, freeze_columns=2)
