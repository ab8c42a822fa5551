"""Whom to call first: seven tiers, a key inside each, and a reason code for each step.

1 stop, 2 ours, 3 people, 4 date, 5 money, 6 find out, 7 not now.  Policy figures (floor, tolerance,
days) are common practice or invented and are tagged so where they are kept.
"""

from __future__ import annotations

import re
from typing import NamedTuple

import numpy as np
import pandas as pd

from riskcheck.rulebook.model import URGENCY_DAYS

DUE_WITHIN_DAYS = 60
COMING_IN_DAYS = 10
LOOK_WEIGHT = 0.3
DATE_TIER = 4
LIVE = ("exposed", "unproven", "unknown")


class Line(NamedTuple):
    """Shop's lines: tolerance for P_harm a year, and dollars a bay-hour must save."""

    tolerance: float
    floor: float


def tiers(rows: pd.DataFrame, line: Line) -> pd.DataFrame:
    """Tier, reason code, sort key and its words for each exposure.

    ``rows`` columns: status, evidence, severity_people, urgency_word, opened_window (bool),
    window_left, p_harm, exposed_weight, act_by_days (NaN: none), act_by_reason, season_days,
    net_benefit, wait_gain ((C_f − C_p)·p), hours, worth_asking, ask_minutes, conflict (bool),
    coming_in (bool), over_value (bool).  Returns tier (float, NaN where no figures), tier_reason,
    key (lower first), then (net benefit per bay-hour on equal dates), key_words.
    """
    live = rows["status"].isin(LIVE)
    known = rows["status"].isin(("exposed", "unproven"))
    grave = rows["severity_people"].isin(("I", "II"))
    urgent = (rows["evidence"] == "sign") & (rows["urgency_word"].map(URGENCY_DAYS).fillna(99) <= 3)
    stop = live & grave & ((rows["evidence"] == "confirmed") | urgent)
    ours = live & rows["opened_window"]
    over_line = rows["p_harm"] >= line.tolerance
    given = rows["p_harm"] / rows["exposed_weight"].clip(lower=1e-12)
    look = (rows["exposed_weight"] >= LOOK_WEIGHT) & (given >= line.tolerance)
    unknown = rows["status"] == "unknown"
    money_row = rows["act_by_reason"].isin(("money", "look_due"))
    due = (rows["act_by_days"] <= DUE_WITHIN_DAYS) & (~money_row | (rows["net_benefit"] >= 0.0))
    frost = (rows["season_days"] <= DUE_WITHIN_DAYS) & (rows["net_benefit"] > 0.0)
    conflict, coming = rows["conflict"], rows["coming_in"]
    per_hour = rows["wait_gain"] / rows["hours"].clip(lower=0.05)
    money = known & (rows["net_benefit"] > 0.0) & (per_hour >= line.floor) & ~conflict
    told = live & (rows["evidence"] != "none")
    dated = ((known & (due | frost)) | (told & due)) & ~(conflict & money_row)
    steps = [
        (stop, 1, np.where(rows["evidence"] == "confirmed", "found", "sign_of_harm")),
        (ours, 2, "opened_by_our_job"),
        (known & over_line, 3, "harm_over_line"),
        (unknown & look, 3, "look_harm_over_line"),
        (dated & coming, 7, "already_coming_in"),
        (dated & due, 4, rows["act_by_reason"]),
        (dated, 4, "season"),
        (money & coming, 7, "already_coming_in"),
        (money & ~rows["over_value"], 5, "money"),
        (live & (unknown | conflict), 6, np.where(conflict, "record_conflict", "find_out")),
        (live & rows["over_value"], 7, "job_over_vehicle_value"),
        (live & (rows["net_benefit"] <= 0.0), 7, "waiting_is_cheaper"),
        (live, 7, "under_floor"),
    ]
    conditions = [step[0].to_numpy() for step in steps]
    tier = np.select(conditions, [step[1] for step in steps], default=0).astype(float)
    reason = np.select(
        conditions,
        [np.broadcast_to(np.asarray(step[2], dtype=str), len(rows)) for step in steps],
        default="",
    )
    key, then, words = _keys(rows, tier)
    return pd.DataFrame(
        {
            "tier": np.where(tier == 0, np.nan, tier),
            "tier_reason": reason.astype(str),
            "key": key,
            "then": then,
            "key_words": words,
        },
        index=rows.index,
    )


def _keys(rows: pd.DataFrame, tier: np.ndarray) -> tuple[np.ndarray, np.ndarray, list[str]]:
    """Key inside the tier (lower first), what follows on equal dates, and the key in words."""
    harm = rows["p_harm"].to_numpy(dtype=float)
    severity = rows["severity_people"].map({"I": 1, "II": 2, "III": 3, "IV": 4}).to_numpy(float)
    hours = rows["hours"].clip(lower=0.05).to_numpy(dtype=float)
    per_hour = rows["net_benefit"].to_numpy(dtype=float) / hours
    days = np.fmin(rows["act_by_days"].to_numpy(float), rows["season_days"].to_numpy(float))
    left = rows["window_left"].to_numpy(dtype=float)
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
        return f"harm {harm:.1e} a year"
    if tier == 2:
        return f"{left:.0f} left of the watch window" if np.isfinite(left) else "watch window"
    if tier == 4:
        return f"in {days:.0f} days"
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
