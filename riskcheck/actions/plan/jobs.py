"""Jobs from exposures: the look where only a look can tell, else the preventive job.

Looks under one opening of a vehicle are one job: the wheels come off once.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import pandas as pd

from riskcheck.actions.plan.losses import (
    late_charges,
    late_rates,
    latest_dates,
    latest_weeks,
    waiting,
)
from riskcheck.actions.plan.problem import Floats
from riskcheck.actions.plan.shop import LEVELS, Skill
from riskcheck.actions.plan.weeks import Weeks
from riskcheck.rulebook import Rulebook
from riskcheck.rulebook.model import Hazard
from riskcheck.rulebook.plan_policy import PlanPolicy

CALL_TIERS = (1, 2, 3, 4, 5)
RIDES_ALONG = ("look_at_next_visit", "small_job_next_visit")
LOOK, JOB = "look", "job"
COLUMNS = (
    "job_id", "kind", "vehicle_id", "customer_id", "hazard_ids", "name", "hours", "opening_hours",
    "teardown", "skill", "needs", "parts_usd", "earliest", "latest", "latest_reason", "tier",
    "rank", "severity", "evidence", "p_harm", "chance_now", "follow_up_hours", "day_fixed", "rides",
)  # fmt: skip


@dataclass(frozen=True, eq=False)
class Jobs:
    """``frame``: one row a job (``COLUMNS``; hazard_ids a tuple, dates NaT where none, hours with
    its own opening); ``loss`` (j, w + 1): USD lost until done in that week, last: left undone.
    """

    frame: pd.DataFrame
    loss: Floats

    def keep(self, rows: np.ndarray) -> Jobs:
        """Some of the jobs, in the order given."""
        return Jobs(self.frame.iloc[rows].reset_index(drop=True), self.loss[rows])

    def and_(self, other: Jobs) -> Jobs:
        """These jobs and others after them."""
        if other.frame.empty:
            return self
        if self.frame.empty:
            return other
        frame = pd.concat([self.frame, other.frame], ignore_index=True)
        return Jobs(frame, np.concatenate((self.loss, other.loss)))


def opening_share(plan: PlanPolicy, teardown: str) -> float:
    """Share of a job's hours that opening up takes."""
    shares = plan.opening_share
    return shares[teardown if teardown in shares else "default"].value


def jobs_of(
    exposures: pd.DataFrame, book: Rulebook, as_of: dt.date, weeks: Weeks, horizon_months: int
) -> Jobs:
    """Jobs for all exposures that are worth a call, with what rides along on such a visit.

    Looks that pricing put together (``x_look_with``) are one job of ``x_look_hours``.
    """
    rows = _chosen(exposures)
    if rows.empty:
        return Jobs(pd.DataFrame(columns=list(COLUMNS)), np.zeros((0, weeks.count + 1)))
    dates = latest_dates(rows, book, as_of)
    rides = rows["rides"].to_numpy(dtype=bool)
    dates.loc[rides, "latest"], dates.loc[rides, "latest_reason"] = pd.NaT, ""
    loss = waiting(rows, as_of, weeks, horizon_months)
    loss += late_charges(latest_weeks(dates["latest"], weeks), late_rates(rows, book.policy), weeks)
    plan = book.policy.plan
    loss[:, -1] += np.where(rides, plan.late_date.value, plan.undone_charge.value)
    rows = rows.assign(**_offer(rows, book), latest=dates["latest"], why=dates["latest_reason"])
    notice = pd.offsets.BusinessDay(int(book.policy.plan.notice_days.value))
    rows["from"] = pd.Series(pd.Timestamp(as_of) + notice, index=rows.index).mask(
        rows["tier"].eq(1)
    )
    rows["key"] = np.where(
        rows["kind"].eq(LOOK),
        np.where(
            rows["x_look_with"].ne(""),
            rows["vehicle_id"] + ":look",
            rows["vehicle_id"] + ":look:" + rows["teardown"] + rows["special"],
        ),
        rows["vehicle_id"] + ":" + rows["hazard_id"],
    )
    frames, losses = [], []
    for places in rows.groupby("key", sort=False).indices.values():
        frames.append(_job(rows.iloc[places], book.hazards, book.policy.plan))
        losses.append(loss[places].sum(axis=0))
    return Jobs(pd.DataFrame(frames, columns=list(COLUMNS)), np.array(losses))


def _chosen(exposures: pd.DataFrame) -> pd.DataFrame:
    """Exposures to plan, with ``rides``: worth doing only where the vehicle is in anyway."""
    rows = exposures.copy()
    for name, missing in (("x_look_with", ""), ("x_look_hours", np.nan)):
        rows[name] = rows[name].fillna(missing) if name in rows else missing
    reason = rows["x_tier_reason"]
    called = rows["tier"].isin(CALL_TIERS) | reason.eq("already_coming_in")
    called = called.fillna(False).astype(bool)
    there = rows["vehicle_id"].isin(rows.loc[called, "vehicle_id"])
    called |= there & reason.eq("in_combined_look")
    rides = there & ~called & reason.isin(RIDES_ALONG)
    return rows.assign(rides=rides)[called | rides].reset_index(drop=True)


def _offer(rows: pd.DataFrame, book: Rulebook) -> dict[str, list[str]]:
    """kind, teardown and the speciality that a look keeps apart, per exposure."""
    kinds, teardowns, special = [], [], []
    for hazard_id, evidence in zip(rows["hazard_id"], rows["evidence"], strict=True):
        hazard = book.hazards[hazard_id]
        look = hazard.look is not None and hazard.reveals == "by_looking"
        kinds.append(LOOK if look and evidence != "confirmed" else JOB)
        teardowns.append(hazard.job.teardown)
        apart = Skill.of(hazard.job.skill).speciality == "high voltage"
        special.append(":high voltage" if apart else "")
    return {"kind": kinds, "teardown": teardowns, "special": special}


def _job(rows: pd.DataFrame, hazards: Mapping[str, Hazard], plan: PlanPolicy) -> dict[str, object]:
    """One job out of its exposures (several only for looks under one opening)."""
    first = rows.iloc[int(np.argmin(rows["rank"].to_numpy(dtype=float)))]
    members = [hazards[name] for name in rows["hazard_id"]]
    look = first["kind"] == LOOK
    share = opening_share(plan, str(first["teardown"]))
    alone = np.array([_minutes(h) / 60.0 if look else h.job.hours.value for h in members])
    opening = float(share * alone.max())
    own = float((alone * (1.0 - share)).sum())
    together = float(first["x_look_hours"]) if look else np.nan
    opening = min(opening, together) if np.isfinite(together) else opening
    due = rows.sort_values("latest", kind="stable", na_position="last").iloc[0]
    chance = rows["probability_now"].fillna(0.0).to_numpy(float)
    later = np.array([h.job.hours.value for h in members])
    return {
        "job_id": first["key"],
        "kind": first["kind"],
        "vehicle_id": first["vehicle_id"],
        "customer_id": first["customer_id"],
        "hazard_ids": tuple(rows["hazard_id"]),
        "name": "; ".join(
            h.look.title if look and h.look is not None else h.job.title for h in members
        ),
        "hours": together if np.isfinite(together) else opening + own,
        "opening_hours": opening,
        "teardown": first["teardown"],
        "skill": _look_skill(members) if look else members[0].job.skill,
        "needs": "" if look else _needs(members[0]),
        "parts_usd": 0.0 if look else members[0].job.parts.value,
        "earliest": rows["from"].min() if rows["from"].notna().all() else pd.NaT,
        "latest": due["latest"],
        "latest_reason": due["why"],
        "tier": int(rows["tier"].min()),
        "rank": int(first["rank"]),
        "severity": min(rows["severity"], key=lambda s: ("I", "II", "III", "IV").index(s)),
        "evidence": max(rows["evidence"], key=("none", "sign", "confirmed").index),
        "p_harm": float(rows["p_harm"].max()),
        "chance_now": float(1.0 - np.prod(1.0 - chance)),
        "follow_up_hours": float((chance * later).sum()) if look else 0.0,
        "day_fixed": pd.NaT,
        "rides": bool(rows["rides"].all()),
    }


def _minutes(hazard: Hazard) -> float:
    return hazard.look.minutes.value if hazard.look else 60.0 * hazard.job.hours.value


def _look_skill(members: list[Hazard]) -> str:
    """A look asks for level B where its job asks for A or B, and keeps high voltage apart."""
    skills = [Skill.of(hazard.job.skill) for hazard in members]
    if any(skill.speciality == "high voltage" for skill in skills):
        return "high voltage"
    return "B" if any(LEVELS.index(skill.level) > 0 for skill in skills) else "C"


def _needs(hazard: Hazard) -> str:
    """Bay equipment that the job cannot do without."""
    return "alignment" if Skill.of(hazard.job.skill).speciality == "alignment" else ""
