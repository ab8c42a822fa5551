"""Shop policy for planning: capacity, charges and lead times (section ``plan`` of policy.yaml)."""

from __future__ import annotations

from pydantic import BaseModel, ConfigDict

from riskcheck.figures import Figure


class PlanPolicy(BaseModel):
    """Figures of ``actions.plan``; each has a unit and a source like every other figure.

    Capacity: bay_day_hours a bay holds in a day; weekly_fill: share of the bay-days that a week's
    jobs may fill; walk_in_reserve, present_share: shares of paid hours.  Charges in USD: late_*
    a week after the latest date (people: for each time the tolerance line, ten times at most).
    opening_share: share of a job's hours that opening up takes, by teardown.
    """

    model_config = ConfigDict(extra="forbid", strict=True, frozen=True)

    bay_day_hours: Figure
    weekly_fill: Figure
    walk_in_reserve: Figure
    present_share: Figure
    overtime_hours: Figure
    overtime_premium: Figure
    visit_cost: Figure
    visit_overhead_hours: Figure
    undone_charge: Figure
    notice_days: Figure
    late_stop: Figure
    late_ours: Figure
    late_people: Figure
    late_date: Figure
    late_service: Figure
    move_charge: Figure
    move_told_charge: Figure
    service_hours: Figure
    service_tolerance_days: Figure
    inspection_lead_days: Figure
    inspection_buffer_days: Figure
    part_lead_days: Figure
    parts_over: Figure
    learning_rate: Figure
    batch_smallest: Figure
    batch_days: Figure
    pilot_jobs: Figure
    pilot_tail: Figure
    spare_share: Figure
    spares_small_fleet: Figure
    jobs_most: Figure
    opening_share: dict[str, Figure]
