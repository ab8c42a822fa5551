"""The plan for machines: what ``riskcheck plan --json`` prints."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import asdict
from pathlib import Path

from riskcheck.actions.plan import Odd, Plan, hours_by_week


def summary(plan: Plan, written: Mapping[str, Path], odd: Sequence[Odd] = ()) -> dict[str, object]:
    """Counts, costs (USD), gap, weeks, what is left undone with reason codes, and files."""
    weeks = plan.shop.weeks
    booked, there = hours_by_week(plan), plan.week_hours
    return {
        "as_of": plan.asked.as_of.isoformat(),
        "from": weeks.start.isoformat(),
        "jobs": len(plan.jobs),
        "placed": int(plan.jobs["date"].notna().sum()),
        "visits": len(plan.visits),
        "late": int((plan.jobs["late_days"] > 0).sum()),
        "cost": {**asdict(plan.cost), "total": plan.cost.total},
        "bound": plan.solution.bound,
        "gap": plan.gap,
        "stopped_by": plan.solution.stopped,
        "first_come_first_served": plan.first_come.total,
        "highest_risk_first": plan.highest_risk.total,
        "assumed": list(plan.shop.assumed),
        "weeks": [
            {
                "week_start": weeks.week_start(week).isoformat(),
                "hours_booked": round(float(booked[week]), 2),
                "hours_there": round(float(there[week]), 2),
            }
            for week in range(weeks.count)
        ],
        "unplaced": plan.unplaced.to_dict("records"),
        "worth_of_one_more": [asdict(one) for one in plan.worth],
        "pins_not_kept": [{"job_id": job, "reason": code} for job, code in plan.dropped_pins],
        "typed_not_used": [asdict(one) for one in odd],
        "files": {name: str(path) for name, path in written.items()},
    }
