"""How a plan is spoken of: kinds of jobs, reasons for what is left undone, limits."""

from __future__ import annotations

import datetime as dt
from collections import Counter
from collections.abc import Iterable, Mapping
from typing import Any

import pandas as pd

from riskcheck.actions.plan import Odd, Plan
from riskcheck.reports import chances, words
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
    "no_one_qualified": "nobody on the technicians sheet is listed for the skill it asks for",
    "no_bay": "no bay takes this vehicle or has what the job needs",
    "forbidden": "forbidden by hand",
    "pinned_elsewhere": "pinned by hand to a week that cannot hold it",
    "parts": "parts do not arrive before these weeks end",
    "notice": "its customer is told ahead, and the first day after that is not in these weeks",
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
NAMED = ("forbidden", "pinned_elsewhere", "no_bay")
NAMES_SHOWN = 6
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


def reasons(plan: Plan) -> dict[str, str]:
    """``reason`` by job id."""
    return {str(row["job_id"]): reason(row, plan) for row in plan.unplaced.to_dict("records")}


def reason(row: Mapping[Any, Any], plan: Plan) -> str:
    """Why a job is left undone, with the limit and the weeks in which it binds."""
    code = str(row["reason_code"])
    weeks = words.plural(int(str(row["weeks"])), "week")
    if code == "no_one_qualified":
        job = plan.jobs.set_index("job_id").loc[row["job_id"]]
        return f"{REASON_WORDS[code]}, {job['skill']!r} ({vehicle_names(plan)[job['vehicle_id']]})"
    said = REASON_WORDS[code]
    if row["detail"] and code in ("labour", "bay", "spares"):
        said += f" ({_whose(str(row['detail']), plan)})"
    return f"{said} ({weeks})"


def left_undone(rows: pd.DataFrame, plan: Plan) -> list[tuple[str, pd.DataFrame]]:
    """Jobs left undone by reason, most first: what is said of each kind, vehicles named where a
    person has to act, and its rows (``rows``: the plan's unplaced jobs with their skill).
    """
    by_skill = rows["skill"].where(rows["reason_code"].eq("no_one_qualified"), "")
    found = []
    for key, own in rows.groupby(["reason_code", "detail", by_skill], sort=True):
        code, detail, skill = (str(part) for part in key)
        said = REASON_WORDS[code]
        if skill:
            said += f", {skill!r}"
        if detail:
            said += f" ({_whose(detail, plan)})"
        if skill or code in NAMED:
            cars = vehicle_names(plan)
            said += ": " + some(cars[one] for one in own["vehicle_id"])
        found.append((said, own))
    return sorted(found, key=lambda one: -len(one[1]))


def some(names: Iterable[str]) -> str:
    """A few names, without repeats, and how many more."""
    own = list(dict.fromkeys(names))
    more = f" and {len(own) - NAMES_SHOWN} more" if len(own) > NAMES_SHOWN else ""
    return ", ".join(own[:NAMES_SHOWN]) + more


def _whose(detail: str, plan: Plan) -> str:
    """A limit's detail with the fleet's name in place of its customer id."""
    people = customer_names(plan)
    for customer, kind, most in plan.setup.spare_names:
        if detail == f"{kind} of {customer}":
            return f"{kind} of {people.get(customer, customer)}, {most} at once"
    return detail


def late(jobs: pd.DataFrame) -> pd.DataFrame:
    """Jobs whose day comes after their latest date, worst first."""
    behind = jobs[jobs["late_days"] > 0]
    ranked = behind.assign(first=behind["tier"].where(behind["tier"] > 0, 4))
    return ranked.sort_values(["first", "severity", "rank"], kind="stable")


LATE_WORDS = {
    "plan_begins": "the plan begins after that date",
    "notice": "the customer is told {notice} working days ahead",
    "parts": "parts take {lead:.0f} days from today",
    "too_early": "its time begins after that date",
    "by_hand": "put there by hand",
    "kept": "the day of the last plan is kept",
    "no_earlier_day": "no earlier day of that week has room for the visit",
    "labour": "no hours left of {of}",
    "bay": "no hours left in {of}",
    "spares": "no more may be out at once: {of}",
    "visit_hours": "all its work is more than one bay-day",
    "no_bay_day": "no single bay-day is long enough",
    "vehicle_away": "the vehicle is away",
    "forbidden": "earlier weeks are forbidden by hand",
    "dearer": "it fits earlier, but costs more there than waiting does",
    "pinned_elsewhere": "put there by hand",
    "no_one_qualified": "nobody listed for its skill",
    "no_bay": "no bay that takes it",
}
LATE_KINDS = {
    "notice": "the days of notice before a first booking",
    "parts": "parts that take longer",
    "labour": "hours of the people who may do it",
    "bay": "bay hours",
    "spares": "vehicles of one type out at once",
    "by_hand": "put there by hand",
    "kept": "the last plan's day is kept",
}


def late_words(job: Mapping[Any, Any], plan: Plan) -> str:
    """How many days late a job is and the limits that make it so, "" if it is not late."""
    if not job["late_days"]:
        return ""
    why = "; then ".join(
        LATE_WORDS[code].format(
            notice=int(plan.asked.book.policy.plan.notice_days.value),
            lead=float(job["lead_days"]),
            of=_who_is_short(job, of, plan) if code == "labour" else _whose(of, plan),
        )
        for code, of in job["late_why"]
    )
    return f"{words.plural(int(job['late_days']), 'day')}: {why}"


def _who_is_short(job: Mapping[Any, Any], names: str, plan: Plan) -> str:
    """The people of a limit; said to be the only one where nobody else may do the job."""
    able = [plan.shop.technicians[place].name for place in sorted(plan.shop.who(job["skill"]))]
    return f"{names}, the only one for {job['skill']!r}" if able == [names] and names else names


def late_kinds(jobs: pd.DataFrame) -> list[tuple[str, int]]:
    """Limits that make jobs late, with how many jobs each holds back, most first."""
    codes = [code for why in jobs["late_why"] for code in {code for code, _ in why}]
    counts = Counter(codes)
    order = sorted(counts, key=lambda code: (-counts[code], code))
    return [(LATE_KINDS.get(code, LATE_WORDS[code]), counts[code]) for code in order]


ODD_WORDS = {
    "no_date": "is no date (write it as 2026-10-20): not used",
    "no_choice": "is none of the choices of that column: not used",
    "no_yes_no": "is neither yes nor no: taken as no",
    "no_day_to_keep": "has no planned day that it could speak of: not used",
    "no_hours": "are no hours a day (above 0, at most 24): the plan goes without this row",
    "weekend": "is no working day: the week of {monday} is kept to, on a working day",
    "move_wins": "stands beside a day to move to, which goes first: not used",
}


def odd_line(odd: Odd) -> str:
    """A typed cell of the last plan that was not used as it stands, with what became of it."""
    monday = ""
    if odd.why == "weekend":
        day = dt.date.fromisoformat(odd.text[:10])
        monday = str(day - dt.timedelta(days=day.weekday()))
    of = f" of {odd.job_id}" if odd.job_id else ""
    return (
        f"{odd.sheet} {odd.cell}, {odd.heading!r}{of}: {odd.text!r} "
        f"{ODD_WORDS[odd.why].format(monday=monday)}."
    )


NO_CALL = "may not be called: a letter, or when it is here anyway"


def keeps_off_road(job: Mapping[Any, Any]) -> bool:
    """Whether the vehicle is not to be driven before this job is done."""
    grave = job["evidence"] == "confirmed" and job["severity"] in ("I", "II")
    return bool(int(job["tier"]) == 1 or grave)


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


def other_week(job: Mapping[Any, Any]) -> str:
    """The second-best week and what it costs more."""
    if pd.isna(job["date"]):
        return ""
    if keeps_off_road(job):
        return "none: it stays off the road until this is done"
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
        title = plan.asked.book.hazards[row["hazard_id"]].title
        lines.append(
            f"{title}, {row['vehicle_kind']}: {words.plural(int(row['looks']), 'look')}, "
            f"{_expected(row)}; first {row['first']}: {said}"
        )
    if (left := len(plan.trials) - len(shown)) > 0:
        lines.append(f"{left:,} more kinds of look, of fewer vehicles, wait for their first {few}")
    return lines


def _expected(row: Mapping[Any, Any]) -> str:
    """How many finds to expect of looks at vehicles of one kind, and whether it applies to them."""
    many, low, high = (float(row[f"estimate{end}"]) for end in ("", "_low", "_high"))
    applies = float(row["applies"])
    unsure = applies < chances.APPLIES_SURELY
    of = words.denominator((many, low, high, *([applies] if unsure else [])))
    told = f"{words.frequency(many, low, high, of)} expected to be found"
    if high - low > chances.WIDEST_RANGE:
        told = "how many to expect is not known"
    return f"{told} (it applies to {words.about(applies, of)} of {of:,})" if unsure else told
