"""Work that has a date of its own: appointments, services coming due, inspections."""

from __future__ import annotations

import datetime as dt

import numpy as np
import pandas as pd

from riskcheck.actions.plan.jobs import COLUMNS, Jobs
from riskcheck.actions.plan.losses import late_charges, latest_weeks
from riskcheck.actions.plan.problem import Floats
from riskcheck.actions.plan.weeks import Weeks
from riskcheck.fleet import Fleet
from riskcheck.rulebook.plan_policy import PlanPolicy
from riskcheck.usage import Usage

APPOINTMENT, SERVICE, FIXED = "appointment", "service", "fixed"


def booked_jobs(fleet: Fleet, usage: Usage, plan: PlanPolicy, as_of: dt.date, weeks: Weeks) -> Jobs:
    """One job for each row with a date in reach of the plan.

    A service may be pulled forward or put back by the policy's tolerance, an inspection is booked
    from ``inspection_lead_days`` before its date to ``inspection_buffer_days`` working days before
    it; an appointment keeps its day.
    """
    rows = [
        *_appointments(fleet, plan),
        *_services(fleet, usage, plan),
        *_fixed(fleet, plan),
    ]
    owner = dict(zip(fleet.vehicles["vehicle_id"], fleet.vehicles["customer_id"], strict=True))
    end = pd.Timestamp(weeks.week_start(weeks.count))
    start = pd.Timestamp(weeks.start)
    frame = pd.DataFrame(rows, columns=list(COLUMNS))
    fixed_past = frame["day_fixed"].notna() & (frame["day_fixed"] < start)
    near = (frame["earliest"] < end) & frame["vehicle_id"].isin(list(owner)) & ~fixed_past
    frame = frame[near].reset_index(drop=True)
    frame["customer_id"] = frame["vehicle_id"].map(owner)
    if frame.empty:
        return Jobs(pd.DataFrame(columns=list(COLUMNS)), np.zeros((0, weeks.count + 1)))
    again = frame.groupby("job_id").cumcount()
    frame["job_id"] += again.map(lambda count: f"-{count + 1}" if count else "")
    # A date that somebody else set is kept before anything but a found fault.
    firm = frame["kind"].eq(FIXED).to_numpy()
    rate = np.where(firm, plan.late_stop.value, plan.late_service.value)
    loss: Floats = late_charges(latest_weeks(frame["latest"], weeks), rate, weeks)
    loss[:, -1] += plan.undone_charge.value + plan.late_service.value
    return Jobs(frame, loss)


def _row(
    kind: str, vehicle_id: str, what: str, hours: float, day: pd.Timestamp
) -> dict[str, object]:
    return {
        "job_id": f"{vehicle_id}:{kind}:{day.date().isoformat()}",
        "kind": kind,
        "vehicle_id": vehicle_id,
        "customer_id": "",
        "hazard_ids": (),
        "name": what,
        "hours": hours,
        "opening_hours": 0.0,
        "teardown": "",
        "skill": "C",
        "needs": "",
        "parts_usd": 0.0,
        "earliest": day,
        "latest": day,
        "latest_reason": kind,
        "tier": 0,
        "rank": 0,
        "severity": "",
        "evidence": "none",
        "p_harm": 0.0,
        "chance_now": 0.0,
        "follow_up_hours": 0.0,
        "day_fixed": pd.NaT,
        "rides": False,
    }


def _appointments(fleet: Fleet, plan: PlanPolicy) -> list[dict[str, object]]:
    dated = fleet.appointments[fleet.appointments["date"].notna()]
    rows = []
    for row in dated.to_dict("records"):
        day = pd.Timestamp(row["date"])
        made = _row(
            APPOINTMENT, str(row["vehicle_id"]), str(row["note"]), plan.service_hours.value, day
        )
        rows.append({**made, "day_fixed": day})
    return rows


def _services(fleet: Fleet, usage: Usage, plan: PlanPolicy) -> list[dict[str, object]]:
    place = {name: at for at, name in enumerate(usage.vehicle_ids)}
    odometer = usage.now("miles")[1]
    around = pd.Timedelta(days=plan.service_tolerance_days.value)
    rows = []
    for row in fleet.services_due.to_dict("records"):
        vehicle_id, day = str(row["vehicle_id"]), pd.Timestamp(row["date"])
        if pd.isna(day) and vehicle_id in place:
            index = np.array([place[vehicle_id]])
            left = np.maximum(float(row["odometer_mi"]) - odometer[index], 0.0)
            day = pd.Timestamp(usage.date_of("miles", index, left)[0])
        if pd.isna(day):
            continue
        hours = float(row["hours"])
        hours = hours if hours > 0.0 else plan.service_hours.value
        made = _row(SERVICE, vehicle_id, str(row["what"]), hours, day)
        rows.append({**made, "earliest": day - around, "latest": day + around})
    return rows


def _fixed(fleet: Fleet, plan: PlanPolicy) -> list[dict[str, object]]:
    rows = []
    for row in fleet.fixed_dates.to_dict("records"):
        day, what = pd.Timestamp(row["date"]), str(row["what"])
        made = _row(FIXED, str(row["vehicle_id"]), what, plan.service_hours.value, day)
        if "inspection" in what.casefold():
            lead = pd.Timedelta(days=plan.inspection_lead_days.value)
            buffer = pd.offsets.BusinessDay(int(plan.inspection_buffer_days.value))
            window = {"earliest": day - lead, "latest": day - buffer}
        else:
            around = pd.Timedelta(days=float(np.nan_to_num(row["tolerance_days"])))
            window = {"earliest": day - around, "latest": day + around}
        rows.append({**made, **window})
    return rows
