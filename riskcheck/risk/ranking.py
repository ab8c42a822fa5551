"""Whom to call first: seven tiers, a key inside each, and a reason code for each step.

1 stop, 2 ours, 3 people, 4 date, 5 money, 6 find out, 7 not now.  Policy figures (floor, tolerance,
days) are common practice or invented and are tagged so where they are kept.  What only a look can
find is decided for the whole vehicle at once, in ``looks``.  Our own open work goes by the days
until its watch window ends: what is left in miles, in engine hours and in winters has no common
order, and a wheel to re-check in twelve days is more pressing than a heater by the spring.  A date
that stands for money alone (an act-by date of a job, a season) must clear the same floor as any
other job: being due is no reason to telephone about twenty dollars.  A sign on file has a date of
its own, which no sooner date of money takes away, and its owner is told of it even where the job
costs more than the vehicle is worth.  A job that clears the floor
for its minutes but is worth less than one bay-hour waits for the next visit, or joins one that the
vehicle is called for anyway.
"""

from __future__ import annotations

import re

import numpy as np
import pandas as pd

from riskcheck.risk.lines import DUE_WITHIN_DAYS, LEAST_VISIT_HOURS, LIVE, Line
from riskcheck.risk.looks import IN_LOOK, NEXT_VISIT
from riskcheck.rulebook.model import URGENCY_DAYS

DATE_TIER = 4
DATED_TIERS = (2, DATE_TIER)  # whose key is a number of days
FIRST_IN_TIER, LEAST_LINE = -1e6, 1e-12
SMALL = "small_job_next_visit"
MONEY_DATES = ("money", "season", "look_due")


def tiers(rows: pd.DataFrame, line: Line, looks: pd.DataFrame) -> pd.DataFrame:
    """Tier, reason code, sort key and its words for each exposure.

    ``rows`` columns: row (vehicle index), status, evidence, severity_people, urgency_word,
    opened_window (bool), hidden (bool), look_minutes, window_days, p_harm, act_by_days (NaN: none),
    act_by_reason, net_benefit, wait_gain ((C_f − C_p)·p), hours, worth_asking, ask_minutes,
    told_days (the urgency of a sign or found fault, NaN: none), conflict (bool), coming_in (bool),
    over_value (bool), claim_days and claim_reason (the warranty that a fault on file could still
    be claimed under).  ``looks``: what ``combined_looks`` gave for these rows.
    Returns tier (float, NaN where no figures), tier_reason, key (lower first), then (net benefit
    per bay-hour on equal dates), key_words, own_days (the date that put a row into tier 4 where it
    is not the row's act-by date: an inspection, a warranty, a season of the combined look).
    """
    steps = _steps(rows, line, looks)
    conditions = [np.asarray(step[0], dtype=bool) for step in steps]
    places = [np.broadcast_to(np.asarray(step[1], dtype=float), len(rows)) for step in steps]
    reasons = [np.broadcast_to(np.asarray(step[2], dtype=object), len(rows)) for step in steps]
    tier = np.select(conditions, places, default=np.nan)
    reason = np.select(conditions, reasons, default="")
    tier, reason = _riding_along(rows, looks, tier, reason)
    days = np.where(looks["lead"], looks["days"], np.nan)
    days = np.fmin(days, np.where(reason == "claim", rows["claim_days"], np.nan))
    # Where money alone asked for a sooner date and is not worth the call, the sign's own counts.
    of_sign = (reason == rows["evidence"]) & (reason != rows["act_by_reason"])
    days = np.fmin(days, np.where(of_sign, rows["told_days"], np.nan))
    dated_here = np.isfinite(days)
    days = np.where(dated_here, days, rows["act_by_days"].to_numpy(float))
    key, then, words = _keys(rows, tier, looks, days)
    harm = rows["p_harm"].to_numpy(float)
    over = (reason == NEXT_VISIT) & line.over(harm)
    return pd.DataFrame(
        {
            "tier": tier,
            "tier_reason": np.where(reason == "claim", rows["claim_reason"], reason).astype(str),
            # What is over the line and waits for the next visit leads its tier.
            "key": np.where(over, FIRST_IN_TIER * harm / max(line.tolerance, LEAST_LINE), key),
            "then": then,
            "key_words": words,
            "own_days": np.where(dated_here & (tier == DATE_TIER), days, np.nan),
        },
        index=rows.index,
    )


def _riding_along(
    rows: pd.DataFrame, looks: pd.DataFrame, tier: np.ndarray, reason: np.ndarray
) -> tuple[np.ndarray, np.ndarray]:
    """Small jobs and due looks join the visit of a vehicle that is called for something else."""
    vehicle = rows["row"].to_numpy(dtype=np.int64)
    called = np.isin(vehicle, vehicle[(tier <= 5) & (reason != SMALL)])
    small, waits = reason == SMALL, (reason == NEXT_VISIT) & looks["member"].to_numpy(dtype=bool)
    reason = np.where(waits & called, IN_LOOK, np.where(small & called, "money", reason))
    return np.where(small, np.where(called, 5.0, 7.0), tier), reason


def _steps(
    rows: pd.DataFrame, line: Line, looks: pd.DataFrame
) -> list[tuple[object, object, object]]:
    """(condition, tier, reason) in order: the first that holds decides."""
    live = rows["status"].isin(LIVE)
    known = rows["status"].isin(("exposed", "unproven"))
    grave = rows["severity_people"].isin(("I", "II"))
    urgent = (rows["evidence"] == "sign") & (rows["urgency_word"].map(URGENCY_DAYS).fillna(99) <= 3)
    told = live & (rows["evidence"] != "none")
    stop = live & grave & ((rows["evidence"] == "confirmed") | urgent)
    over_line = line.over(rows["p_harm"].to_numpy(float))
    unknown, conflict, coming = rows["status"] == "unknown", rows["conflict"], rows["coming_in"]
    gains, floor = rows["net_benefit"] > 0.0, line.floor * rows["hours"]
    money = known & gains & (rows["wait_gain"] >= floor) & ~conflict
    small = money & (rows["wait_gain"] < line.floor * LEAST_VISIT_HOURS)
    # A found fault's date is its urgency; for a date of money there must be money in it.
    by_money = rows["act_by_reason"].isin(MONEY_DATES)
    dated = (known | told) & (rows["act_by_days"] <= DUE_WITHIN_DAYS) & (~by_money | money)
    dated &= ~(by_money & (small | rows["over_value"]))
    said = told & (rows["told_days"] <= DUE_WITHIN_DAYS)
    claim = told & (rows["claim_days"] <= DUE_WITHIN_DAYS)
    looked = looks["tier"].notna()
    hidden = rows["hidden"] & rows["look_minutes"].notna() & ~told
    worth_less = money & rows["over_value"]
    here_soon = ((dated & ~hidden) | said | claim) & coming
    return [
        (stop, 1, np.where(rows["evidence"] == "confirmed", "found", "sign_of_harm")),
        (live & rows["opened_window"], 2, "opened_by_our_job"),
        (looked, looks["tier"], looks["reason"]),
        (known & over_line & ~hidden, 3, "harm_over_line"),
        (here_soon, 7, "already_coming_in"),
        (claim, 4, "claim"),
        (dated & ~hidden, 4, rows["act_by_reason"]),
        (said, 4, rows["evidence"]),
        (money & ~hidden & coming, 7, "already_coming_in"),
        (small & ~hidden & ~worth_less, 5, SMALL),
        (money & ~hidden & ~worth_less, 5, "money"),
        (live & (unknown | conflict), 6, np.where(conflict, "record_conflict", "find_out")),
        (live & rows["over_value"], 7, "job_over_vehicle_value"),
        (live & ~gains, 7, "waiting_is_cheaper"),
        (live & hidden, 7, "look_not_due"),
        (live, 7, "under_floor"),
    ]


def _keys(
    rows: pd.DataFrame, tier: np.ndarray, looks: pd.DataFrame, days: np.ndarray
) -> tuple[np.ndarray, np.ndarray, list[str]]:
    """Key inside the tier (lower first), what follows on equal dates, and the key in words.

    A combined look is weighed as a whole: its harm, and what it saves per bay-hour.
    """
    lead = looks["lead"].to_numpy(dtype=bool)
    harm = np.where(lead, looks["harm"], rows["p_harm"].to_numpy(dtype=float))
    severity = rows["severity_people"].map({"I": 1, "II": 2, "III": 3, "IV": 4}).to_numpy(float)
    hours = rows["hours"].clip(lower=0.05).to_numpy(dtype=float)
    per_hour = rows["net_benefit"].to_numpy(dtype=float) / hours
    of_look = (looks["averted"] - looks["cost"]) / looks["hours"].clip(lower=0.05)
    per_hour = np.where(lead, of_look, per_hour)
    left = rows["window_days"].to_numpy(dtype=float)
    asking = rows["worth_asking"].to_numpy(float) / rows["ask_minutes"].to_numpy(float)
    keys = {1: severity - harm, 2: left, 3: -harm, 4: days, 5: -per_hour, 6: -asking, 7: -per_hour}
    key = np.zeros(len(rows))
    for number, values in keys.items():
        key = np.where(tier == number, np.nan_to_num(values, nan=1e9), key)
    words = [_key_words(*one) for one in zip(tier, harm, left, days, per_hour, asking, strict=True)]
    return key, np.where(tier == 4, -np.nan_to_num(per_hour), 0.0), words


def _key_words(
    tier: float, harm: float, left: float, days: float, per_hour: float, asking: float
) -> str:
    if tier in (1, 3):
        return f"harm about {float(f'{harm * 1e5:.2g}'):,g} of 100,000 a year"
    if tier == 2:
        return f"{left:.0f} days left of the watch window" if np.isfinite(left) else "watch window"
    if tier == 4:
        return f"in {days:.0f} days" if days >= 0 else f"{-days:.0f} days over"
    if tier in (5, 7):
        return f"${per_hour:.0f} per bay-hour"
    return f"${asking:.2f} a minute of asking" if tier == 6 else ""


def natural(text: str) -> tuple[tuple[int, int, str], ...]:
    """Sort key under which V2 comes before V10."""
    parts = re.findall(r"\d+|\D+", text)
    return tuple((0, int(p), "") if p.isdecimal() else (1, 0, p) for p in parts)


def natural_order(ids: pd.Series) -> pd.Series:
    """Place of each id among all ids in natural order."""
    place = {name: at for at, name in enumerate(sorted(set(ids), key=natural))}
    return ids.map(place)


def rank(rows: pd.DataFrame) -> pd.Series:
    """1..n by tier, key, ``then`` (if given), P_harm, net benefit, act-by, vehicle and hazard.

    Vehicles go in natural order: V2 before V10.

    ``rows``: tier, key, p_harm, net_benefit, act_by_days, vehicle_id, hazard_id.  Rows without a
    tier come last, by vehicle and hazard.
    """
    order = pd.DataFrame(
        {
            "tier": rows["tier"].fillna(99),
            "key": rows["key"],
            "then": rows.get("then", 0.0),
            "harm": -rows["p_harm"].fillna(0.0),
            "net": -rows["net_benefit"].fillna(0.0),
            "days": rows["act_by_days"].fillna(1e9),
            "vehicle": natural_order(rows["vehicle_id"]),
            "hazard": rows["hazard_id"],
        }
    ).sort_values(
        ["tier", "key", "then", "harm", "net", "days", "vehicle", "hazard"], kind="stable"
    )
    place = pd.Series(np.arange(1, len(rows) + 1), index=order.index)
    return place.reindex(rows.index)
