"""What each exposure loses by waiting until each week of a plan, in USD."""

from __future__ import annotations

import datetime as dt

import numpy as np
import pandas as pd
from scipy.interpolate import PchipInterpolator

from riskcheck.actions.plan.problem import Floats, Ints
from riskcheck.actions.plan.weeks import Weeks
from riskcheck.risk.dates import days_to_season
from riskcheck.rulebook import Rulebook
from riskcheck.rulebook.model import Policy

DAYS_A_MONTH = 365.25 / 12.0
MIDWEEK_DAYS = 2
WEEKS_TO_NEXT_PLAN = 4  # what is left undone is taken up again about a month after the plan
TIMES_TOLERANCE_MOST = 10.0
DATED = ("confirmed", "sign", "window", "people")
NEVER = 10_000


def waiting(rows: pd.DataFrame, as_of: dt.date, weeks: Weeks, horizon_months: int) -> Floats:
    """W by week and, last, left undone: (n, w + 1) USD.

    W at 0, 1, 3, 6 and 12 months (and the horizon) from pricing, monotone cubics between (Fritsch
    & Carlson 1980).  A found fault has no cost of waiting here: its date and its charge rule.
    """
    known: dict[float, Floats] = {0.0: np.zeros(len(rows))}
    for months, name in (
        (1.0, "wait_month"),
        (3.0, "x_wait_3"),
        (6.0, "x_wait_6"),
        (12.0, "x_wait_12"),
        (float(horizon_months), "net_benefit"),
    ):
        if name in rows:
            known[months] = rows[name].fillna(0.0).to_numpy(dtype=np.float64)
    points = np.array(sorted(known))
    values = np.stack([known[point] for point in points])
    days = [(weeks.week_start(week) - as_of).days + MIDWEEK_DAYS for week in range(weeks.count)]
    days.append(days[-1] + 7 * WEEKS_TO_NEXT_PLAN)
    at = np.clip(np.array(days) / DAYS_A_MONTH, 0.0, points[-1])
    loss = np.asarray(PchipInterpolator(points, values, axis=0)(at).T, dtype=np.float64)
    loss[rows["evidence"].eq("confirmed").to_numpy()] = 0.0
    return loss


def latest_dates(rows: pd.DataFrame, book: Rulebook, as_of: dt.date) -> pd.DataFrame:
    """The latest date of each exposure (NaT: none) and its reason code.

    A date by which money alone says to act is no latest date: the cost of waiting holds it.
    """
    latest = pd.to_datetime(rows["act_by_date"]).where(rows["act_by_reason"].isin(DATED))
    reason = rows["act_by_reason"].where(rows["act_by_reason"].isin(DATED), "")
    in_season = rows["x_tier_reason"].eq("season")
    for hazard_id in sorted(set(rows.loc[in_season, "hazard_id"])):
        left = days_to_season(book.hazards[hazard_id].season, book.policy, as_of)
        own = in_season & rows["hazard_id"].eq(hazard_id) & latest.isna()
        if own.any() and np.isfinite(left):
            latest = latest.mask(own, pd.Timestamp(as_of + dt.timedelta(days=int(left))))
            reason = reason.mask(own, "season")
    return pd.DataFrame({"latest": latest, "latest_reason": reason})


def late_rates(rows: pd.DataFrame, policy: Policy) -> Floats:
    """Charge for each week after the latest date (n,), USD: graver and likelier harm first."""
    plan = policy.plan
    line = policy.tolerance_p_harm.value
    times = (rows["p_harm"].fillna(0.0) / line).clip(1.0, TIMES_TOLERANCE_MOST).to_numpy(float)
    found = rows["evidence"].eq("confirmed").to_numpy()
    people = rows["act_by_reason"].eq("people").to_numpy() | rows["tier"].eq(3).to_numpy(bool)
    return np.select(
        [rows["tier"].eq(1).to_numpy(bool), rows["tier"].eq(2).to_numpy(bool), found, people],
        [
            np.full(len(rows), plan.late_stop.value),
            np.full(len(rows), plan.late_ours.value),
            np.full(len(rows), plan.late_service.value),
            plan.late_people.value * times,
        ],
        default=plan.late_date.value,
    )


def latest_weeks(latest: pd.Series, weeks: Weeks) -> Ints:
    """Week in which each latest date lies (n,): 0 at the earliest, NEVER without a date."""
    found = [NEVER if pd.isna(day) else max(0, weeks.week_of(day.date())) for day in latest]
    return np.array(found, dtype=np.int64)


def late_charges(latest_week: Ints, rate: Floats, weeks: Weeks) -> Floats:
    """Charge by week and, last, left undone (n, w + 1) USD."""
    at = np.append(np.arange(weeks.count), weeks.count - 1 + WEEKS_TO_NEXT_PLAN)
    return np.asarray(np.maximum(at[None] - latest_week[:, None], 0) * rate[:, None])
