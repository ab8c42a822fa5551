"""The plan as plain rows, one a job."""

from __future__ import annotations

import pandas as pd

from riskcheck.actions.plan import Plan
from riskcheck.reports import plan_words

DECIMALS = {"hours": 2, "follow_up_hours": 2, "parts_usd": 2}
COLUMNS = (
    "job_id", "vehicle_id", "customer_id", "kind", "job", "hazard_ids", "date", "week_start",
    "bay", "visit_id", "hours", "follow_up_hours", "skill", "part", "parts_usd", "earliest",
    "latest", "latest_reason", "late_days", "late_why", "no_call", "tier", "rank",
    "severity", "evidence", "pinned", "told", "last_date", "reason_code", "reason",
)  # fmt: skip


def table(plan: Plan) -> pd.DataFrame:
    """Every job with its day, or the reason why it has none (``COLUMNS``)."""
    jobs = plan.jobs.copy()
    jobs["job"] = [plan_words.job_words(job, plan.asked.book) for job in jobs.to_dict("records")]
    jobs["hazard_ids"] = jobs["hazard_ids"].map("; ".join)
    jobs["late_why"] = [
        "; ".join(f"{code} {of}".strip() for code, of in why) for why in plan.jobs["late_why"]
    ]
    why = plan.unplaced.set_index("job_id")
    jobs["reason_code"] = jobs["job_id"].map(why["reason_code"]).fillna("")
    jobs["reason"] = jobs["job_id"].map(plan_words.reasons(plan)).fillna("")
    return jobs[list(COLUMNS)]
