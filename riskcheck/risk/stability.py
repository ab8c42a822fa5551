"""A list that does not jump about: last run's order stands unless something really moved.

A row keeps its place while its tier is the same and its key moved by at most 20 % (common
practice, no source; a move of 20 % to the last digit is none).  What is compared is the key under
which the row was last *placed*, so a slow drift is noticed once it adds up, and two runs on the
same day change nothing.  Dates are compared in days: a date that comes nearer only because time
passed has not moved.  The first tier goes by severity, then by harm: there 20 % are those of the
harm.  A row that was off the list, or not in the last run at all, comes back as new.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from typing import Any, NamedTuple

import numpy as np
import pandas as pd

from riskcheck.risk.beliefs import Floats
from riskcheck.risk.lines import DUE_WITHIN_DAYS
from riskcheck.risk.looks import IN_LOOK
from riskcheck.risk.ranking import DATED_TIERS

KEY_MOVED, ROUNDING = 0.20, 1e-9
STOP_TIER = 1
DATE_MOVED_DAYS = KEY_MOVED * DUE_WITHIN_DAYS
PAIR = ["vehicle_id", "hazard_id"]
# What may have moved, in the order in which it is told, and the digits it is told with.
COMPARED = (
    ("tier", 0), ("status", None), ("evidence", None), ("probability", 6), ("act_by_date", None),
    ("cost_if_fails", 0), ("cost_to_prevent", 0),
)  # fmt: skip


class Moved(NamedTuple):
    """One thing that differs from the last run: a code with the values then and now."""

    code: str
    before: str
    now: str


def re_ranked(
    exposures: pd.DataFrame,
    before: pd.DataFrame | None,
    *,
    as_of: date | None = None,
    before_as_of: date | None = None,
) -> pd.DataFrame:
    """Exposures in an order that keeps to the last run's, and what moved since.

    ``exposures``: what ``price`` gave (vehicle_id, hazard_id, tier, rank, x_key_value and the
    contract columns).  ``before``: the last run's snapshot (vehicle_id, hazard_id, tier, rank,
    key_value = that run's x_key_value; status, evidence, probability, act_by_date, cost_if_fails,
    cost_to_prevent where it has them), or None / empty for a first run.  The two dates say how
    much time passed; left out, none did.

    Returns a copy in the same row order with rank and x_key_value replaced, and with
    x_change: new | up | down | same ("" for rows without a tier, and on a first run) and
    x_change_because: ``code:before>now`` joined with "; " (see ``moves``), codes being
    vehicle_new, hazard_new, key and the names in ``COMPARED``; "" where nothing is worth saying.
    """
    out = exposures.copy()
    if before is None or not len(before):
        return out.assign(x_change="", x_change_because="")
    days = (as_of - before_as_of).days if as_of and before_as_of else 0
    now = out[PAIR].assign(tier=out["tier"].astype("Float64"), key=out["x_key_value"])
    last = before.drop_duplicates(PAIR).rename(columns={"key_value": "key"})
    last = _lead_handed_over(out, last)
    placed = settled(now, last, days)
    out["x_key_value"] = placed["key"]
    out["rank"] = _rank(out, placed["last_rank"])
    out["x_change"] = placed["change"]
    out["x_change_because"] = _because(exposures, last, placed["change"])
    return out


def _lead_handed_over(now: pd.DataFrame, last: pd.DataFrame) -> pd.DataFrame:
    """The last run as it would read had today's row led its vehicle's combined look already.

    Which of several hazards leads the look may change with a hair's breadth; the call is the same
    call.  Where the row that led last time now rides along in the look and the new one leads it in
    the same tier, the two exchange their last places.
    """
    if "x_look_lead" not in now or not now["x_look_lead"].any():
        return last
    led = now.loc[now["x_look_lead"], [*PAIR, "tier"]]
    riding = now.loc[now["x_tier_reason"].eq(IN_LOOK), PAIR].merge(last[[*PAIR, "tier"]], on=PAIR)
    former = riding.merge(led, on=["vehicle_id", "tier"], suffixes=("", "_lead"))
    former = former.drop_duplicates("vehicle_id")
    there = set(zip(last["vehicle_id"], last["hazard_id"], strict=True))
    names: dict[tuple[str, str], str] = {}
    columns = (former[name] for name in ("vehicle_id", "hazard_id", "hazard_id_lead"))
    for vehicle, rides, leads in zip(*columns, strict=True):
        if (vehicle, leads) in there:
            names[vehicle, rides], names[vehicle, leads] = leads, rides
    vehicles, hazards = (last[name].astype(str) for name in PAIR)
    exchanged = [names.get(pair, pair[1]) for pair in zip(vehicles, hazards, strict=True)]
    return last.assign(hazard_id=exchanged)


def settled(now: pd.DataFrame, before: pd.DataFrame, days_between: int = 0) -> pd.DataFrame:
    """Which rows keep their place, and which way the others moved.

    Both frames: vehicle_id, hazard_id, tier, key (lower comes first); ``before`` may have rank.
    Returns per row of ``now``: key to sort by (last run's where it barely moved), change
    (new|up|down|same, "" without a tier) and last_rank (NaN where the row moved or is new).
    """
    old = before.set_index(PAIR).reindex(pd.MultiIndex.from_frame(now[PAIR])).set_axis(now.index)
    tier, key = _numbers(now["tier"]), _numbers(now["key"])
    old_tier, old_key = _numbers(old["tier"]), _numbers(old["key"])
    listed = np.isfinite(tier)
    new = listed & ~np.isfinite(old_tier)
    other_tier = listed & ~new & (tier != old_tier)
    dated = np.isin(tier, DATED_TIERS)
    # A row due today stays due today however often it is asked: it is not held to last week's.
    nearer = np.maximum(old_key - days_between, np.minimum(key, 0.0))
    # An urgency counts from each run's own day, so its date is as far off as it was.
    steady = np.abs(key - old_key) <= np.abs(key - nearer)
    old_key = np.where(dated & ~steady, nearer, old_key)
    share = KEY_MOVED * np.where(tier == STOP_TIER, _harm(old_key), np.abs(old_key))
    room = np.where(dated, DATE_MOVED_DAYS, share) * (1.0 + ROUNDING) + 1e-12
    other_key = listed & ~new & ~other_tier & ~(np.abs(key - old_key) <= room)
    kept = listed & ~new & ~other_tier & ~other_key
    up = (other_tier & (tier < old_tier)) | (other_key & (key < old_key))
    change = np.select(
        [new, up, other_tier | other_key, kept], ["new", "up", "down", "same"], default=""
    )
    rank = _numbers(old["rank"]) if "rank" in old else np.full(len(now), np.nan)
    return pd.DataFrame(
        {
            "key": np.where(kept, old_key, key),
            "change": change,
            "last_rank": np.where(kept, rank, np.nan),
        },
        index=now.index,
    )


def _harm(key: Floats) -> Floats:
    """The chance of harm in a key of the first tier, which is severity − harm."""
    return np.asarray(np.ceil(key) - key)


def moves(because: str) -> tuple[Moved, ...]:
    """The parts of one x_change_because: ``tier:5>4; evidence:none>sign``."""
    parts = [part.partition(":") for part in because.split("; ") if part]
    return tuple(Moved(code, *_two(values)) for code, _, values in parts)


def _two(values: str) -> tuple[str, str]:
    before, _, now = values.partition(">")
    return before, now


def _numbers(column: pd.Series) -> Floats:
    return pd.to_numeric(column, errors="coerce").to_numpy("float64", na_value=np.nan)


def _rank(rows: pd.DataFrame, last_rank: pd.Series) -> pd.Series:
    """1..n by tier, key and last run's rank, then as this run alone would have it."""
    order = pd.DataFrame(
        {
            "tier": _numbers(rows["tier"]),
            "key": rows["x_key_value"],
            "last": last_rank,
            "now": _numbers(rows["rank"]),
        },
        index=rows.index,
    ).sort_values(["tier", "key", "last", "now"], kind="stable", na_position="last")
    place = pd.Series(np.arange(1, len(rows) + 1), index=order.index).reindex(rows.index)
    return place.astype("Int64").where(rows["tier"].notna())


def _because(exposures: pd.DataFrame, last: pd.DataFrame, change: pd.Series) -> list[str]:
    """Codes and figures of what differs, for rows that are new or moved."""
    told = [name for name in ("x_key_value", *(n for n, _ in COMPARED)) if name in exposures]
    rows = exposures[PAIR + told].rename(columns={"x_key_value": "key"})
    old = last.set_index(PAIR).reindex(pd.MultiIndex.from_frame(rows[PAIR]))
    vehicles, hazards = set(last["vehicle_id"]), set(last["hazard_id"])
    out = [""] * len(rows)
    for place in np.flatnonzero(change.isin(("new", "up", "down")).to_numpy()):
        row, was = rows.iloc[place], old.iloc[place]
        if row["vehicle_id"] not in vehicles:
            out[place] = f"vehicle_new:>{row['vehicle_id']}"
        elif row["hazard_id"] not in hazards:
            out[place] = f"hazard_new:>{row['hazard_id']}"
        else:
            out[place] = "; ".join(_differences(was, row))
    return out


def _differences(was: pd.Series, row: pd.Series) -> Sequence[str]:
    names = [(name, digits) for name, digits in COMPARED if name in row and name in was]
    same_tier = _text(was.get("tier"), 0) == _text(row.get("tier"), 0)
    names += [("key", 6)] if same_tier and "key" in was else []
    told = [(name, _text(was[name], digits), _text(row[name], digits)) for name, digits in names]
    return [f"{name}:{then}>{now}" for name, then, now in told if then != now]


def _text(value: Any, digits: int | None) -> str:
    if value is None or pd.isna(value):
        return ""
    return str(value) if digits is None else f"{float(value):.{digits}f}"
