"""What is new, gone or moved since an earlier run, and why."""

from __future__ import annotations

import datetime as dt
import json
from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd

from riskcheck.assessment import Assessment
from riskcheck.errors import UsageError
from riskcheck.ledger import Ledger
from riskcheck.remembering.runs import (
    REST_OF_RULES,
    hazard_digests,
    run_before,
    run_id_of,
    snapshot_of,
)
from riskcheck.risk.stability import settled

PAIR = ["vehicle_id", "hazard_id"]
CHANGE_CODES = ("new", "gone", "up", "down")
CALLED_TIERS = (1, 2, 3, 4, 5, 6)
# A chance that is lower by less than this is the same message to a customer (common practice, no
# source); it is the room that a row's place in the list has, too.
LOWER_BY = 0.20
LIVE = ("exposed", "unproven", "unknown")
WITHDRAWN_FOR = ("correction", "rules")


@dataclass(frozen=True)
class Changes:
    """This run against an earlier one.

    ``rows``: vehicle_id, hazard_id, customer_id, change (new | gone | up | down), because
    (evidence | rules | correction | clock | vehicle_new | vehicle_gone | hazard_new |
    hazard_gone, joined with "; "), told, lowered (bool), then the snapshot's columns of both runs
    with the suffixes ``_before`` and ``_today``.
    ``withdrawals``: those rows about which someone was told and that a correction or the rules
    lowered.  ``expired``: corrections that newer lines contradict.
    """

    before: Any
    rows: pd.DataFrame
    withdrawals: pd.DataFrame
    corrections: pd.DataFrame
    expired: pd.DataFrame

    @property
    def counts(self) -> dict[str, int]:
        """How many pairs are new, gone, up and down: the one count that every output tells."""
        found = self.rows["change"].value_counts()
        return {code: int(found.get(code, 0)) for code in CHANGE_CODES}


def changes(ledger: Ledger, run: Assessment, since: str = "") -> Changes:
    """Compare a run with an earlier one of the ledger.

    ``since``: a run id, or an ISO day (the last run made for that day or before); default: the
    last run for the day of ``run`` or before.  Raises UsageError where there is none such.
    """
    run_id = run_id_of(run, ledger.digest())
    before = earlier_run(ledger, since, as_of=run.as_of, but=run_id)
    corrections = ledger.corrections(run.as_of)
    now = snapshot_of(run, corrections)
    was = ledger.snapshot(str(before["run_id"]))
    days = (run.as_of - before["as_of"].date()).days
    rows = _moved(now, was, days)
    rows["because"] = _because(rows, json.loads(before["hazard_digests"]), run)
    rows["lowered"] = _lowered(rows)
    told = rows["told"] & rows["lowered"]
    ours = rows["because"].str.contains("|".join(WITHDRAWN_FOR))
    listed = rows[rows["change"] != ""].sort_values(["rank_today", "rank_before", *PAIR])
    return Changes(
        before,
        listed.reset_index(drop=True),
        rows[told & ours].sort_values(["customer_id", *PAIR], ignore_index=True),
        corrections,
        run.reasoning.evidence.expired,
    )


def earlier_run(ledger: Ledger, since: str = "", *, as_of: dt.date, but: str = "") -> Any:
    """The run meant by ``since`` (see ``changes``), never the run ``but``; a row of ``runs()``."""
    runs = ledger.runs()
    named = runs[runs["run_id"].eq(since) & runs["run_id"].ne(but)]
    if len(named):
        return named.iloc[0]
    day = pd.to_datetime(since or as_of.isoformat(), format="%Y-%m-%d", errors="coerce")
    if pd.isna(day):
        raise UsageError(f"{since!r} is neither a run of this ledger nor a day (YYYY-MM-DD).")
    before = run_before(runs, but, day.date())
    if before is None:
        raise UsageError(
            f"The ledger {ledger.where} remembers no earlier run. 'riskcheck outreach' records one."
        )
    return before


def _moved(now: pd.DataFrame, was: pd.DataFrame, days: int) -> pd.DataFrame:
    """Both snapshots side by side, with the direction in which each pair moved."""
    both = was.merge(
        now.drop(columns="listed"), on=PAIR, how="outer", suffixes=("_before", "_today")
    )
    both["customer_id"] = both["customer_id_today"].fillna(both["customer_id_before"])
    was_in = both["tier_before"].isin(CALLED_TIERS)
    is_in = both["tier_today"].isin(CALLED_TIERS)
    placed = settled(
        both[PAIR].assign(tier=both["tier_today"], key=both["key_value_today"]),
        was[[*PAIR, "tier", "key_value", "rank"]].rename(columns={"key_value": "key"}),
        days,
    )
    change = np.select(
        [is_in & ~was_in, was_in & ~is_in, is_in & placed["change"].isin(("up", "down"))],
        ["new", "gone", placed["change"]],
        default="",
    )
    told = both["told"].astype("boolean").fillna(False).astype(bool)
    return both.assign(change=change, told=told)


def _because(rows: pd.DataFrame, then: dict[str, str], run: Assessment) -> list[str]:
    """Every reason that applies to a pair; time and miles where nothing else does."""
    today = hazard_digests(run.rulebook)
    vehicles = set(run.exposures["vehicle_id"])
    vehicles_then = set(rows.loc[rows["status_before"].notna(), "vehicle_id"])
    only_rest = {name: now for name, now in today.items() if name != REST_OF_RULES} == {
        name: was for name, was in then.items() if name != REST_OF_RULES
    }
    rest_moved = only_rest and today[REST_OF_RULES] != then.get(REST_OF_RULES)
    same_record = rows["record_digest_before"] == rows["record_digest_today"]
    same_words = rows["corrections_before"].fillna("") == rows["corrections_today"].fillna("")
    reasons = []
    pairs = zip(rows["vehicle_id"], rows["hazard_id"], same_record, same_words, strict=True)
    for vehicle, hazard, record, words in pairs:
        found = []
        if vehicle not in vehicles:
            found = ["vehicle_gone"]
        elif hazard not in today:
            found = ["hazard_gone"]
        elif hazard not in then:
            found = ["hazard_new"]
        elif vehicle not in vehicles_then:
            found = ["vehicle_new"]
        else:
            found += [] if words else ["correction"]
            found += [] if record else ["evidence"]
            found += ["rules"] if rest_moved or today[hazard] != then[hazard] else []
        reasons.append("; ".join(found) or "clock")
    return reasons


def _lowered(rows: pd.DataFrame) -> pd.Series:
    """Where less is to be feared than was said: no longer live, or the chance clearly lower."""
    live_before = rows["status_before"].isin(LIVE)
    live_now = rows["status_today"].isin(LIVE)
    lower = rows["probability_today"] < rows["probability_before"] * (1.0 - LOWER_BY)
    cleared = rows["evidence_before"].eq("confirmed") & rows["evidence_today"].ne("confirmed")
    return live_before & (~live_now | lower | cleared)
