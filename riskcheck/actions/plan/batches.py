"""The same job on vehicles of one kind, back to back and worst first.

Wright's law: the n-th job takes h·n^(log2 r) of the first one's hours.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import pandas as pd

from riskcheck.actions.plan.improve import stay_cost
from riskcheck.actions.plan.jobs import JOB
from riskcheck.actions.plan.problem import Floats, Ints
from riskcheck.actions.plan.room import Room
from riskcheck.actions.plan.shop import PAID_HOURS_A_DAY
from riskcheck.rulebook.plan_policy import PlanPolicy

BATCH_COLUMNS = (
    "hazard_id", "vehicle_kind", "jobs", "placed", "weeks", "hours_booked", "hours_learned",
)  # fmt: skip


@dataclass(frozen=True, eq=False)
class Batch:
    """Jobs (places in the frame) of one hazard on one kind of vehicle, worst first."""

    hazard_id: str
    kind: str
    jobs: Ints


def batches_of(frame: pd.DataFrame, kinds: pd.Series, plan: PlanPolicy) -> list[Batch]:
    """Batches of at least ``batch_smallest`` jobs; ``kinds``: kind of vehicle by vehicle id.

    Worst first: by rank in the call list.
    """
    rows = frame[frame["kind"].eq(JOB)]
    key = rows["hazard_ids"].str[0] + "|" + rows["vehicle_id"].map(kinds)
    found = []
    for name, places in rows.groupby(key, sort=True).groups.items():
        if len(places) < int(plan.batch_smallest.value):
            continue
        own = np.array(sorted(places, key=lambda job: (frame.at[job, "rank"], job)))
        hazard_id, kind = str(name).split("|", 1)
        found.append(Batch(hazard_id, kind, own.astype(np.int64)))
    return found


def learned_hours(first: float, count: int, rate: float) -> Floats:
    """Hours of the 1st to the count-th job of a batch (count,) by Wright's law."""
    return np.asarray(first * np.arange(1, count + 1) ** math.log2(rate), dtype=np.float64)


def together(room: Room, batches: list[Batch], plan: PlanPolicy) -> None:
    """Bring jobs of a batch into one week where the hours saved pay for the move.

    A week holds no more of a batch than one technician does in ``batch_days``.  What a later job
    saves is counted at the second job's rate, which is the least that Wright's law gives.
    """
    rate = plan.learning_rate.value
    for batch in batches:
        hours = float(room.problem.hours[batch.jobs].max())
        most = max(2, int(plan.batch_days.value * PAID_HOURS_A_DAY / max(hours, 0.1)))
        saves = (1.0 - rate) * hours * room.problem.labour_rate
        for job in batch.jobs[::-1]:
            _join(room, batch, int(job), most, saves)


def _join(room: Room, batch: Batch, job: int, most: int, saves: float) -> None:
    own = int(room.week[job])
    weeks = room.week[batch.jobs]
    if own < 0 or (weeks == own).sum() > 1:
        return
    room.take(job)
    one = np.array([job])
    here, best = stay_cost(room, one, own), own
    for week in sorted(set(weeks[(weeks >= 0) & (weeks != own)].tolist())):
        if (weeks == week).sum() < most and stay_cost(room, one, week) < here + saves:
            here, best, saves = stay_cost(room, one, week), week, 0.0
    room.put(job, best)


def batch_frame(frame: pd.DataFrame, batches: list[Batch], plan: PlanPolicy) -> pd.DataFrame:
    """One row a batch (``BATCH_COLUMNS``): jobs placed, their weeks, hours booked and learned."""
    rows = []
    for batch in batches:
        own = frame.loc[batch.jobs]
        placed = own[own["date"].notna()]
        learned = 0.0
        for _, week in placed.groupby("week_start"):
            first = float(week["hours"].max())
            learned += float(learned_hours(first, len(week), plan.learning_rate.value).sum())
        rows.append(
            (
                batch.hazard_id, batch.kind, len(batch.jobs), len(placed),
                placed["week_start"].nunique(), float(placed["hours"].sum()), learned,
            )
        )  # fmt: skip
    return pd.DataFrame(rows, columns=list(BATCH_COLUMNS))
