"""Parts: which job waits for what, and what to order by when."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Mapping
from typing import Any

import numpy as np
import pandas as pd

from riskcheck.actions.plan.jobs import JOB, LOOK
from riskcheck.rulebook.model import Hazard
from riskcheck.rulebook.plan_policy import PlanPolicy

ORDER_COLUMNS = (
    "part", "hazard_id", "needed", "spare", "on_hand", "order", "lead_days", "lead_known",
    "first_use", "order_by", "late", "unit_cost", "jobs",
)  # fmt: skip


def parts_for(hazards: Mapping[str, Hazard], parts: pd.DataFrame) -> dict[str, dict[str, object]]:
    """The row of the parts sheet for each hazard: named by hazard, remedy topic or job title."""
    found: dict[str, dict[str, object]] = {}
    rows = [{str(k): v for k, v in row.items()} for row in parts.to_dict("records")]
    for hazard_id, hazard in hazards.items():
        names = {hazard_id.casefold(), hazard.title.casefold(), hazard.job.title.casefold()}
        for remedy in hazard.remedies:
            names.add(remedy.title.casefold())
            names.update(t.casefold() for ref in remedy.recorded_as for t in ref.topics)
        for row in rows:
            topic = str(row["topic"]).casefold().strip()
            if {topic, topic.replace(" ", "_"), topic.replace(" ", "-")} & names:
                found.setdefault(hazard_id, row)
    return found


def with_parts(
    frame: pd.DataFrame,
    known: Mapping[str, Mapping[str, object]],
    plan: PlanPolicy,
    as_of: dt.date,
) -> pd.DataFrame:
    """Jobs with ``part``, ``lead_days``, the earliest date that their parts allow, and what sets
    that date in ``waits_for``: parts, notice, too_early (its window), "" for nothing.

    What is on hand goes to the jobs in the order of the call list; the others wait for an order
    placed today.  A part that is not on the sheet takes the policy's lead time.
    """
    needs = (frame["kind"].eq(JOB) & frame["parts_usd"].gt(0.0)).to_numpy()
    jobs = frame.to_dict("records")
    part, lead_days = [""] * len(jobs), [0.0] * len(jobs)
    lead_known, earliest = [False] * len(jobs), frame["earliest"].tolist()
    waits_for = [_window(job) for job in jobs]
    left: dict[str, float] = {}
    for place in sorted(np.flatnonzero(needs), key=lambda job: (jobs[job]["rank"], job)):
        row = known.get(str(jobs[place]["hazard_ids"][0]))
        part[place] = str(row["part"]) if row else f"kit for {jobs[place]['name']}"
        on_hand = left.setdefault(part[place], _number(row["on_hand"]) if row else 0.0)
        lead = _number(row["lead_days"], math.nan) if row else math.nan
        lead_known[place] = not math.isnan(lead)
        if on_hand >= 1.0:
            left[part[place]] = on_hand - 1.0
            continue
        lead_days[place] = plan.part_lead_days.value if math.isnan(lead) else lead
        arrives = pd.Timestamp(as_of) + pd.Timedelta(days=math.ceil(lead_days[place]))
        before = earliest[place]
        if pd.isna(before) or arrives > before:
            earliest[place], waits_for[place] = arrives, "parts"
    return frame.assign(
        part=part,
        lead_days=lead_days,
        lead_known=lead_known,
        earliest=pd.to_datetime(earliest),
        waits_for=waits_for,
    )


def _window(job: Mapping[Any, Any]) -> str:
    """What sets a job's first date before its parts are looked at."""
    if pd.isna(job["earliest"]):
        return ""
    return "notice" if job["kind"] in (JOB, LOOK) else "too_early"


def order_list(
    frame: pd.DataFrame,
    first_use: pd.Series,
    known: Mapping[str, Mapping[str, object]],
    plan: PlanPolicy,
    as_of: dt.date,
) -> pd.DataFrame:
    """What to order: need of the placed jobs, a tenth over, and one spare.

    ``first_use`` (j,): day of each job, NaT where it is not placed.  ``order_by`` is the lead time
    before the first use beyond what is on hand; ``late``: that day is past.
    """
    placed = frame.assign(day=first_use)
    placed = placed[placed["part"].ne("") & placed["day"].notna()]
    rows = []
    for part, own in placed.groupby("part", sort=True):
        hazard_id = str(own["hazard_ids"].iloc[0][0])
        row = known.get(hazard_id)
        on_hand = _number(row["on_hand"]) if row else 0.0
        lead = _number(row["lead_days"], math.nan) if row else math.nan
        days = own["day"].sort_values()
        needed = len(own)
        over = math.floor(plan.parts_over.value * needed)
        order = max(0, math.ceil(needed + over + 1 - on_hand))
        short = days.iloc[min(int(on_hand), needed - 1)]
        used = plan.part_lead_days.value if math.isnan(lead) else lead
        by = short - pd.Timedelta(days=math.ceil(used))
        rows.append(
            {
                "part": part, "hazard_id": hazard_id, "needed": needed, "spare": over + 1,
                "on_hand": on_hand, "order": order, "lead_days": used,
                "lead_known": not math.isnan(lead), "first_use": days.iloc[0], "order_by": by,
                "late": bool(by < pd.Timestamp(as_of)) and on_hand < needed,
                "unit_cost": _number(row["unit_cost"], float(own["parts_usd"].iloc[0]))
                if row else float(own["parts_usd"].iloc[0]),
                "jobs": "; ".join(own["job_id"]),
            }
        )  # fmt: skip
    return pd.DataFrame(rows, columns=list(ORDER_COLUMNS))


def _number(value: object, otherwise: float = 0.0) -> float:
    number = float(value) if isinstance(value, int | float) else math.nan
    return otherwise if math.isnan(number) else number
