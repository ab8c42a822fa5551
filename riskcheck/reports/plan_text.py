"""The plan at the terminal: plain text that fits 80 columns."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

import pandas as pd

from riskcheck.actions.plan import Odd, Plan, hours_by_week
from riskcheck.reports import plan_words, words
from riskcheck.reports.wrapping import labelled, shortened, wrapped

FIRST_VISITS = 8
FIRST_LATE = 5


def summary(
    plan: Plan, source: Path, written: Mapping[str, Path], odd: Sequence[Odd] = ()
) -> list[str]:
    """What is planned, week by week; what is late or left undone and why; what it is worth.

    ``odd``: cells of the last plan or the shop's sheets that could not be used as they stand.
    """
    weeks = plan.shop.weeks
    return [
        *wrapped(
            f"{source.name}, as of {plan.asked.as_of}: "
            f"{words.plural(weeks.count, 'week')} from {max(weeks.start, weeks.monday)}"
        ),
        "",
        *_placed(plan),
        *_cost(plan),
        *_assumed(plan),
        "",
        *_weeks(plan),
        "",
        *_late(plan),
        *_unplaced(plan),
        *_no_call(plan),
        *_changed(plan),
        *_odd(odd),
        *_notes(plan),
        *_more(plan),
        *_first(plan),
        "",
        *[f"{path}  {FILES[name]}" for name, path in written.items() if name in FILES],
        "",
        *wrapped(words.CAUTIONS[0]),
        *wrapped(words.CAUTIONS[1]),
    ]


FILES = {
    "plan.xlsx": "the plan to work in: calendar, job cards, parts",
    "plan.ics": "the same for a calendar",
    "plan.csv": "one row a job",
    "plan.svg": "the plan as a picture",
    "plan.png": "the same as pixels",
}


def _placed(plan: Plan) -> list[str]:
    jobs = plan.jobs
    placed = jobs[jobs["date"].notna()]
    hours = plan.visits["hours"].sum()
    text = (
        f"{len(placed):,} of {words.plural(len(jobs), 'job')} placed in "
        f"{words.plural(len(plan.visits), 'visit')} of "
        f"{words.plural(plan.visits['vehicle_id'].nunique(), 'vehicle')}, {hours:,.0f} hours"
    )
    if len(plan.beyond):
        text += f"; {words.plural(len(plan.beyond), 'more job')} are next in line"
    lines = labelled("Plan", text + ".")
    follow = placed["follow_up_hours"].sum()
    if follow >= 1.0:
        lines += labelled(
            "Finds",
            f"The looks should find about {follow:,.0f} hours of repairs, not booked here: book "
            "them as they are found, and plan again.",
        )
    return lines


def _cost(plan: Plan) -> list[str]:
    own, first, risk = plan.cost.total, plan.first_come.total, plan.highest_risk.total
    lines = labelled(
        "Cost",
        f"{words.money(own)} in waiting, visits, overtime and work left undone; no plan under "
        f"these limits costs less than {words.money(plan.solution.bound)} "
        f"(gap {plan.gap:.2%}). First come, first served: {words.money(first)}; highest risk "
        f"first: {words.money(risk)}.",
    )
    stopped = plan_words.STOPPED_WORDS[plan.solution.stopped]
    return lines + (labelled("", stopped) if stopped else [])


def _assumed(plan: Plan) -> list[str]:
    if not plan.shop.assumed:
        return []
    said = words.listing(plan_words.ASSUMED_WORDS[code] for code in plan.shop.assumed)
    return labelled("Taken", f"As no sheet says so, the plan takes {said}.")


def _weeks(plan: Plan) -> list[str]:
    """A table: week, visits, jobs, hours booked and there, late jobs."""
    weeks, booked = plan.shop.weeks, hours_by_week(plan)
    limit = plan.week_hours
    heads = f"{'Week of':<12}{'visits':>8}{'jobs':>7}{'hours':>8}{'of':>7}"
    lines = [f"{heads}   jobs after their latest date"]
    for week in range(weeks.count):
        day = pd.Timestamp(weeks.week_start(week))
        jobs = plan.jobs[plan.jobs["week_start"] == day]
        visits = int((plan.visits["week_start"] == day).sum())
        late = int((jobs["late_days"] > 0).sum())
        lines.append(
            f"{weeks.week_start(week)!s:<12}{visits:>8}{len(jobs):>7}{booked[week]:>8.1f}"
            f"{limit[week]:>7.1f}{late or '':>8}".rstrip()
        )
    return lines


def _late(plan: Plan) -> list[str]:
    behind = plan_words.late(plan.jobs)
    if behind.empty:
        return []
    grave = behind[behind["tier"].eq(1)]
    people = behind["severity"].isin(["I", "II"]) | behind["evidence"].ne("none")
    lines = wrapped(
        f"Late: {words.plural(len(behind), 'job')} after the latest date; {people.sum():,} of them "
        "where people could be badly hurt or there is a sign or a find. What holds them back (one "
        "job may have two limits):"
    )
    for said, count in plan_words.late_kinds(behind):
        lines += wrapped(f"{count:>4}  {said}", " ", "       ")
    lines.append("Worst first:")
    names = plan_words.vehicle_names(plan)
    for job in behind.head(FIRST_LATE).to_dict("records"):
        lines += wrapped(_late_line(job, names), "  ", "    ")
    if len(behind) > FIRST_LATE:
        lines.append(f"  and {len(behind) - FIRST_LATE:,} more: see plan.xlsx")
    if len(grave):
        lines += wrapped(
            "Where a fault was found or a sign says that people could be hurt, the vehicle stays "
            "off the road until it is done; waiting for its day is no leave to drive it."
        )
    return [*lines, ""]


def _late_line(job: Mapping[Any, Any], names: Mapping[str, str]) -> str:
    return (
        f"{names[job['vehicle_id']]}: {plan_words.short_words(job)}, "
        f"{job['date']:%Y-%m-%d} instead of {job['latest']:%Y-%m-%d}"
    )


def _unplaced(plan: Plan) -> list[str]:
    if plan.unplaced.empty:
        return []
    lines = [f"Not placed: {words.plural(len(plan.unplaced), 'job')}"]
    rows = plan.unplaced.merge(plan.jobs[["job_id", "skill"]], on="job_id")
    for said, own in plan_words.left_undone(rows, plan):
        lines += wrapped(f"{len(own):>4}  {said}", " ", "       ")
    by_hand = plan.unplaced[plan.unplaced["reason_code"].eq("forbidden")]["job_id"]
    for job in plan.jobs[plan.jobs["job_id"].isin(by_hand)].to_dict("records"):
        if plan_words.keeps_off_road(job):
            name = plan_words.vehicle_names(plan)[job["vehicle_id"]]
            lines += wrapped(
                f"{name} STAYS OFF THE ROAD: {plan_words.short_words(job)} was forbidden by hand, "
                "and people could be hurt by what was found there. It is not driven until this is "
                "done, here or elsewhere."
            )
    return [*lines, ""]


def _no_call(plan: Plan) -> list[str]:
    own = plan.jobs[plan.jobs["no_call"]]
    if own.empty:
        return []
    cars = plan_words.some(plan_words.vehicle_names(plan)[one] for one in own["vehicle_id"])
    return [
        *wrapped(
            f"Not to be called: {words.plural(len(own), 'job')} of "
            f"{words.plural(own['customer_id'].nunique(), 'customer')} who asked for no calls "
            f"({cars}). A letter, or when the vehicle is here anyway; their days are only held."
        ),
        "",
    ]


def _odd(odd: Sequence[Odd]) -> list[str]:
    if not odd:
        return []
    lines = ["Cells that were not used as they stand:"]
    for one in odd:
        lines += wrapped(plan_words.odd_line(one), "  ", "    ")
    if any(one.job_id for one in odd):
        lines += wrapped("The last plan's workbook as it was typed is kept as plan-before.xlsx.")
    return [*lines, ""]


def _notes(plan: Plan) -> list[str]:
    lines = []
    for left in plan.sold.to_dict("records"):
        lines += wrapped(
            f"{plan_words.vehicle_names(plan)[left['vehicle_id']]} is {left['why']}: "
            f"{left['what'] or 'booked work'} on {left['date']:%Y-%m-%d} is left out."
        )
    for job_id, code in plan.dropped_pins:
        lines += wrapped(
            f"A pin could not be kept: {job_id}: {plan_words.REASON_WORDS.get(code, code)}."
        )
    for place in plan.idle_pins:
        row = plan.asked.fleet.pins.iloc[place]
        lines += wrapped(
            f"No job answers to the pin in sheet {row['sheet']}, {row['cell']}: it was not used."
        )
    if len(plan.moved):
        lines += wrapped(
            f"{words.plural(len(plan.moved), 'job')} had to move a week or more because no single "
            "bay-day was long enough in the week that had the hours."
        )
    return [*lines, ""] if lines else []


def _changed(plan: Plan) -> list[str]:
    """What became of the last plan's days."""
    jobs = plan.jobs
    before = jobs[jobs["last_date"].notna()]
    if before.empty:
        return []
    moved = before[before["date"] != before["last_date"]]
    told = int(moved["told"].sum())
    text = (
        f"Against the last plan: {len(before) - len(moved):,} jobs keep their day, "
        f"{len(moved):,} move"
    )
    text += f", {told:,} of them though the customer was told." if told else "."
    return [*wrapped(text), ""]


def _more(plan: Plan) -> list[str]:
    lines = []
    for text in plan_words.worth_lines(plan):
        lines += wrapped(f"{text[0].upper()}{text[1:]}.")
    return [*lines, ""] if lines else []


def _first(plan: Plan) -> list[str]:
    if plan.visits.empty:
        return ["No visits are planned."]
    names = plan_words.vehicle_names(plan)
    lines = [f"First visits ({min(FIRST_VISITS, len(plan.visits))} of {len(plan.visits):,})"]
    for visit in plan.visits.head(FIRST_VISITS).to_dict("records"):
        head = (
            f"{visit['date']:%a %m-%d}  {visit['bay']}  {visit['hours']:.1f} h  "
            f"{names[visit['vehicle_id']]}"
        )
        lines += wrapped(head, "  ", "    ")
        own = plan.jobs[plan.jobs["visit_id"] == visit["visit_id"]]
        for job in own.to_dict("records"):
            lines.append(shortened(plan_words.short_words(job), "    ", end=" ..."))
    return lines
