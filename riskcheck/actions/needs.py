"""What each exposure asks of the customer, and how much of it one visit takes on."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
import pandas as pd

from riskcheck.actions.known import Known
from riskcheck.rulebook.model import Hazard, Policy

# In the order in which the sheets are worked through.
CALL_NEEDS = ("safety", "ours", "declined", "book", "look")
STOP_TIER, OURS_TIER, PEOPLE_TIER, FIND_OUT_TIER, NOT_NOW_TIER = 1, 2, 3, 6, 7
GRAVE = ("I", "II")
# A bay-day: nobody leaves a vehicle for more work than fits into one (common practice, no source).
BAY_DAY_HOURS = 8.0
NEXT_VISIT = ("look_at_next_visit", "small_job_next_visit")


def needs(rows: pd.DataFrame, known: Known, hazards: Mapping[str, Hazard]) -> pd.Series:
    """The need of each ranked exposure (n,).

    safety: found, or a sign, where people may be hurt; ours: opened by our own job; declined:
    safety work once offered and declined; book: a job; look: a look; next_visit: a look that can
    wait until the vehicle is here anyway; coming_in: it will be here within days; ask: not known;
    later: not now.  Looks are put together per vehicle where they are ranked: a row that is
    only part of such a visit shares its need.

    What is due before the appointment, or is a look that was called for although the vehicle is
    booked in, does not wait for it.

    ``rows``: vehicle_id, hazard_id, tier (1 to 7), evidence, x_tier_reason, act_by_date (ISO).
    """
    tier = rows["tier"].astype(float)
    grave = rows["hazard_id"].map({h.id: h.severity.people in GRAVE for h in hazards.values()})
    grave = grave.fillna(False).astype(bool)
    told = rows["evidence"].ne("none")
    pairs = pd.MultiIndex.from_frame(rows[["vehicle_id", "hazard_id"]])
    refused = pairs.isin(pd.MultiIndex.from_frame(known.declined[["vehicle_id", "hazard_id"]]))
    only_look = is_look(rows, hazards)
    reason = rows["x_tier_reason"]
    coming = rows["vehicle_id"].isin(known.coming_in.index) | reason.eq("already_coming_in")
    people = tier == PEOPLE_TIER
    booked = pd.to_datetime(rows["vehicle_id"].astype(object).map(known.coming_in.to_dict()))
    in_time = ~(pd.to_datetime(rows["act_by_date"]) < booked) & ~(people & only_look)
    steps = [
        (tier == STOP_TIER, "safety"),
        (tier == OURS_TIER, "ours"),
        (coming & in_time & (tier < NOT_NOW_TIER), "coming_in"),
        (coming & reason.isin(("already_coming_in", "in_combined_look", *NEXT_VISIT)), "coming_in"),
        (people & grave & told, "safety"),
        (grave & (tier < FIND_OUT_TIER) & refused, "declined"),
        ((tier < FIND_OUT_TIER) & only_look, "look"),
        (reason.eq("in_combined_look"), "look"),
        (reason.isin(NEXT_VISIT), "next_visit"),
        (tier < FIND_OUT_TIER, "book"),
        (tier == FIND_OUT_TIER, "ask"),
    ]
    codes = np.select([np.asarray(step[0], bool) for step in steps], [s[1] for s in steps], "later")
    return pd.Series(codes.astype(object), index=rows.index)


def is_look(rows: pd.DataFrame, hazards: Mapping[str, Hazard]) -> pd.Series:
    """Whether only a look is offered (n,): where only a look can tell and nothing is found yet."""
    looks = {h.id for h in hazards.values() if h.look is not None and h.reveals == "by_looking"}
    return rows["hazard_id"].isin(looks) & rows["evidence"].ne("confirmed")


def offers(rows: pd.DataFrame, hazards: Mapping[str, Hazard], policy: Policy) -> pd.DataFrame:
    """What is offered for each row, and whether it fits into the vehicle's one visit.

    ``rows``: calling rows in rank order.  Returns offer (look | fix), offer_hours (h) and offered
    (bool).  All looks of one vehicle are one visit on the lift, whose hours stand on its first
    row (``x_look_hours`` where they were put together, else up to the policy's minutes); jobs are
    taken on until a bay-day is full; the first of each is always offered.
    """
    look = is_look(rows, hazards)
    minutes = {h.id: h.look.minutes.value for h in hazards.values() if h.look is not None}
    hours = (
        rows["hours"]
        .astype(float)
        .where(~look, rows["hazard_id"].map(minutes).astype("float64") / 60.0)
    )
    limit = np.where(look, policy.etiquette.lift_visit.value / 60.0, BAY_DAY_HOURS)
    by = [rows["vehicle_id"], look]
    first = ~pd.concat(by, axis=1).duplicated()
    together = look & rows["x_look_hours"].notna() if "x_look_hours" in rows else look & False
    leads = together & ~rows["vehicle_id"].where(together).duplicated()
    if together.any():
        hours = hours.where(~together, rows["x_look_hours"].astype(float).where(leads, 0.0))
    used = hours.groupby(by, sort=False).cumsum()
    return pd.DataFrame(
        {
            "offer": np.where(look, "look", "fix"),
            "offer_hours": hours,
            "offered": first | together | (used <= limit + 1e-9),
        },
        index=rows.index,
    )
