"""Checks a finished plan against the shop's own sheets, without the planner's limit code.

People are checked by handing out every hour by name with a linear program (who may do what is read
from the sheet again here); bays, absences, spares, parts and dates by plain loops.
"""

from __future__ import annotations

import datetime as dt
import math
from collections import defaultdict

import numpy as np
import pandas as pd
from scipy.optimize import linprog

from riskcheck.actions.plan import Plan

GAP = 1e-6


def faults(plan: Plan) -> list[str]:
    """Everything that the plan breaks, in words."""
    found = [*_dates(plan), *_bays(plan), *_spares(plan)]
    for week in sorted(set(plan.visits["week_start"])):
        found += _people(plan, week)
    every = set(plan.jobs["job_id"])
    placed = [job for jobs in plan.visits["jobs"] for job in jobs.split("; ")]
    if len(placed) != len(set(placed)):
        found.append("a job is planned twice")
    if set(placed) | set(plan.unplaced["job_id"]) != every or set(placed) & set(
        plan.unplaced["job_id"]
    ):
        found.append("jobs planned and jobs explained are not all jobs")
    return found


def _away(plan: Plan, column: str, name: str, day: dt.date) -> bool:
    sheet = plan.asked.fleet.availability
    for row in sheet[sheet[column] == name].to_dict("records"):
        last = row["from_date"] if pd.isna(row["to_date"]) else row["to_date"]
        if row["from_date"].date() <= day <= last.date():
            return True
    return False


def _visit_days(visit: dict, per_day: float) -> list[tuple[dt.date, float]]:
    left, parts = float(visit["hours"]), []
    for number in range(int(visit["days"])):
        parts.append((visit["date"].date() + dt.timedelta(days=number), min(left, per_day)))
        left -= per_day
    assert left < GAP, "a visit has more hours than its days"
    return parts


def _dates(plan: Plan) -> list[str]:
    found = []
    for job in plan.jobs[plan.jobs["date"].notna()].to_dict("records"):
        day = job["date"].date()
        if day < plan.asked.weeks.start or day.weekday() > 4:
            found.append(f"{job['job_id']} on {day}, no working day of the plan")
        if not pd.isna(job["earliest"]) and day < job["earliest"].date():
            found.append(f"{job['job_id']} on {day} before {job['earliest']}")
        if not pd.isna(job["day_fixed"]) and day != job["day_fixed"].date():
            found.append(f"{job['job_id']} is booked for {job['day_fixed']}")
        if _away(plan, "vehicle_id", job["vehicle_id"], day):
            found.append(f"{job['vehicle_id']} is away on {day}")
    return found


def _bays(plan: Plan) -> list[str]:
    sheet = {
        (f"bay {r['bay']}" if r["bay"].isdecimal() else r["bay"]): r
        for r in plan.asked.fleet.bays.to_dict("records")
    }
    use = plan.asked.book.policy.plan.bay_day_hours.value / 8.0
    weights = dict(zip(plan.asked.fleet.vehicles["vehicle_id"],
                       plan.asked.fleet.vehicles["gvwr_lb"], strict=True))  # fmt: skip
    found, taken = [], defaultdict(float)
    for visit in plan.visits.to_dict("records"):
        row = sheet.get(visit["bay"], {})
        stated = row.get("hours_per_day", math.nan)
        per_day = use * (8.0 if math.isnan(stated) else stated)
        for day, hours in _visit_days(visit, per_day):
            taken[visit["bay"], day] += hours
            if row and _away(plan, "bay", row["bay"], day):
                found.append(f"{visit['bay']} is closed on {day}")
            if taken[visit["bay"], day] > per_day + 1e-4:
                found.append(f"{visit['bay']} holds {taken[visit['bay'], day]} h on {day}")
        most = row.get("max_weight_lb", math.nan)
        weight = weights[visit["vehicle_id"]]
        if weight > most:
            found.append(f"{visit['vehicle_id']} is too heavy for {visit['bay']}")
        if int(visit["days"]) > 1 and not any(
            job["hours"] > per_day + 1e-9 or len(visit["jobs"].split("; ")) >= 1
            for job in plan.jobs.to_dict("records")
            if job["job_id"] in visit["jobs"].split("; ")
        ):
            found.append(f"{visit['visit_id']} takes more than a bay-day without need")
    return found


def _spares(plan: Plan) -> list[str]:
    cars = plan.asked.fleet.vehicles
    kind = dict(zip(cars["vehicle_id"], cars["make"] + " " + cars["model"], strict=True))
    policy = plan.asked.book.policy.plan
    found, out = [], defaultdict(set)
    for visit in plan.visits.to_dict("records"):
        if visit["customer_id"] == "C1":
            for number in range(int(visit["days"])):
                day = visit["date"].date() + dt.timedelta(days=number)
                out[kind[visit["vehicle_id"]], day].add(visit["vehicle_id"])
    for (name, day), vehicles in out.items():
        owned = sum(1 for v, k in kind.items() if k == name and
                    cars.set_index("vehicle_id").at[v, "customer_id"] == "C1")  # fmt: skip
        spares = min(int(policy.spare_share.value * owned), int(policy.spares_small_fleet.value))
        if len(vehicles) > max(1, spares):
            found.append(f"{len(vehicles)} of {name} out on {day}")
    return found


def _may(skills: str, wanted: str) -> bool:
    """Whether "A brakes; high voltage" covers "B brakes", read as a person would."""
    if not skills:
        return "high voltage" not in wanted
    own = [one.strip() for one in skills.split(";")]
    level = max((one[0] for one in own if one[:1] in "ABC"), key="CBA".index, default="C")
    asked, _, special = wanted.partition(" ")
    if wanted == "high voltage":
        return "high voltage" in own
    high_enough = "CBA".index(level) >= "CBA".index(asked)
    return high_enough and (not special or any(one[2:] == special for one in own))


def _people(plan: Plan, week: pd.Timestamp) -> list[str]:
    """Hand out the week's hours by name: least overtime must be within what is allowed."""
    policy = plan.asked.book.policy.plan
    rows = plan.asked.fleet.technicians.to_dict("records")
    own = plan.visits[plan.visits["week_start"] == week]
    jobs = plan.jobs.set_index("job_id")
    total_hours = float(own["hours"].sum())
    place = plan.asked.weeks.week_of(week.date())
    allowed = plan.solution.overtime[:, place].sum()
    # A visit that was pushed for want of a bay-day uses hours left, never overtime of its own.
    limit = float(plan.shop.total[place])
    found = []
    if np.isfinite(limit) and total_hours > limit + allowed + 1e-4:
        found.append(f"{total_hours} h in the week of {week.date()}, of {limit + allowed}")
    if not rows:
        return found
    days = [week.date() + dt.timedelta(days=n) for n in range(5)]
    days = [day for day in days if day >= plan.asked.weeks.start]
    there = []
    for row in rows:
        usable = policy.present_share.value * (1.0 - policy.walk_in_reserve.value)
        a_day = (8.0 if math.isnan(row["hours_per_day"]) else row["hours_per_day"]) * usable
        there.append(sum(a_day for day in days if not _away(plan, "technician", row["name"], day)))
    # Own hours of each skill; openings and the way in and out may be done by whoever is easiest
    # to find, so they only count in the total.
    need: dict[str, float] = defaultdict(float)
    for visit in own["jobs"]:
        members = [jobs.loc[job] for job in visit.split("; ")]
        for job in members:
            need[job["skill"]] += float(job["hours"] - job["opening_hours"])
    names = sorted(need)
    count = len(rows)
    cost = [0.0] * (len(names) * count) + [1.0] * count
    equal, equal_to = [], []
    for n, name in enumerate(names):
        line = np.zeros(len(cost))
        for t, row in enumerate(rows):
            line[n * count + t] = 1.0 if _may(row["skills"], name) else 0.0
        equal.append(line)
        equal_to.append(need[name])
    most, most_to = [], []
    for t in range(count):
        line = np.zeros(len(cost))
        line[[n * count + t for n in range(len(names))]] = 1.0
        line[len(names) * count + t] = -1.0
        most.append(line)
        most_to.append(there[t])
    handed = linprog(cost, most, most_to, equal, equal_to, bounds=(0.0, None))
    if handed.status != 0:
        found.append(f"the week of {week.date()} has work that nobody may do")
    elif handed.fun > allowed + 1e-4:
        found.append(f"the week of {week.date()} needs {handed.fun} h more than its people have")
    return found
