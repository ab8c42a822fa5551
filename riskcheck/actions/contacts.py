"""One row per decision-maker: what for, how much, by which channel, or why not today."""

from __future__ import annotations

from collections.abc import Hashable, Mapping
from typing import Any

import pandas as pd

from riskcheck.actions.channels import DUTY_NEEDS, Reach, choose, established_since
from riskcheck.actions.consent import Word, standing
from riskcheck.actions.known import Known
from riskcheck.actions.manners import (
    NEW_ARGUMENTS,
    Change,
    Talk,
    held_out,
    season_begun,
    why_not_now,
)
from riskcheck.actions.needs import CALL_NEEDS, PEOPLE_TIER
from riskcheck.rulebook.model import Policy

DETAILS = ["name", "kind", "fleet", "phone", "email", "address", "notes"]
COLUMNS = [
    "contact", "customer_id", *DETAILS, "need", "tier", "rank", "vehicles", "exposures", "hours",
    "act_by_date", "channel", "consent_state", "consent_source", "consent_date", "attempts",
    "last_date", "last_channel", "last_topic", "last_result", "last_said", "last_note",
    "last_next", "never_came", "changed", "reason",
]  # fmt: skip
LAST = ("date", "channel", "topic", "result", "said", "note", "next")
_NO_TALK = {f"last_{name}": "" for name in LAST}


def contacts_of(calling: pd.DataFrame, known: Known, policy: Policy) -> pd.DataFrame:
    """Contacts by tier, then by their best row (``COLUMNS``); ``reason`` is "" where one is made.

    ``calling``: rows in rank order with contact, need, offer_hours, offered.  ``changed`` holds
    what is new since the customer last said no, as "miles:3200; season:before_frost; moved:2".
    """
    details = _details(known.customers)
    logs = dict(list(known.log.groupby("customer_id", sort=False)))
    words = standing(known.consents)
    records = []
    for contact, own in calling.groupby("contact", sort=False):
        summary = _summary(str(contact), own)
        summary |= details.get(summary["customer_id"], dict.fromkeys(DETAILS, ""))
        log = logs.get(summary["customer_id"], known.log.iloc[:0])
        records.append(summary | _manner(summary, own, log, (known, policy, words)))
    frame = pd.DataFrame(records, columns=COLUMNS)
    # People first: a settled order from an earlier run may hold a money row above them.
    return frame.sort_values(["tier", "rank"], kind="stable").reset_index(drop=True)


def _details(customers: pd.DataFrame) -> dict[str, dict[str, str]]:
    shown = customers.drop_duplicates("customer_id").reindex(columns=["customer_id", *DETAILS])
    shown = shown.astype(object).fillna("").astype(str)
    return {
        row["customer_id"]: {name: row[name] for name in DETAILS}
        for row in shown.to_dict("records")
    }


def _summary(contact: str, own: pd.DataFrame) -> dict[str, Any]:
    dates = own["act_by_date"].dropna()
    return {
        "contact": contact,
        "customer_id": str(own["customer_id"].fillna("").iloc[0]),
        "need": min(own["need"], key=CALL_NEEDS.index),
        "tier": int(own["tier"].min()),
        "rank": int(own["rank"].min()),
        "vehicles": own["vehicle_id"].nunique(),
        "exposures": len(own),
        "hours": float(own["offer_hours"].where(own["offered"], 0.0).sum()),
        "act_by_date": dates.astype(str).min() if len(dates) else "",
    }


def _manner(
    summary: Mapping[str, Any],
    own: pd.DataFrame,
    log: pd.DataFrame,
    context: tuple[Known, Policy, Mapping[tuple[str, str], Word]],
) -> dict[str, Any]:
    """Channel with its consent, last contact, what changed, and the reason for silence."""
    known, policy, words = context
    etiquette, need = policy.etiquette, summary["need"]
    since = established_since(known.as_of, etiquette.relationship.value)
    choice = choose(_reach(summary, log, known), need, words, since)
    talk = Talk.of(log)
    change = _change(own, talk, known, policy)
    reason = choice.reason
    if need not in DUTY_NEEDS:
        reason = reason or why_not_now(talk, known.as_of, etiquette, change)
        spared = summary["tier"] > PEOPLE_TIER and need in ("book", "look")
        if not reason and spared and summary["customer_id"]:
            out = held_out(summary["customer_id"], known.as_of, etiquette.holdout.value)
            reason = "holdout" if out else ""
    return {
        "channel": choice.channel,
        "consent_state": choice.word.state,
        "consent_source": choice.word.source,
        "consent_date": choice.word.date,
        "attempts": talk.open_attempts(),
        **_last(log),
        "never_came": _never_came(talk, known.last_visit.get(summary["customer_id"])),
        "changed": change_code(change),
        "reason": reason,
    }


def _reach(summary: Mapping[str, Any], log: pd.DataFrame, known: Known) -> Reach:
    phone = str(summary["phone"])
    calls = log[log["channel"].isin(("call", "text"))]
    if len(calls) and calls["result"].iloc[-1] == "wrong_number":
        phone = ""
    mails = log[log["channel"].eq("email")]
    wrong_mail = len(mails) and mails["result"].iloc[-1] == "wrong_number"
    visit = known.last_visit.get(summary["customer_id"])
    return Reach(
        customer_id=str(summary["customer_id"]),
        addresses={
            "call": phone,
            "text": phone,
            "email": "" if wrong_mail else str(summary["email"]),
            "letter": str(summary["address"]),
        },
        is_fleet=str(summary["kind"]) == "fleet",
        notes="; ".join((str(summary["notes"]), *log["note"].astype(str))),
        last_visit=None if visit is None or pd.isna(visit) else pd.Timestamp(visit).date(),
    )


def _change(own: pd.DataFrame, talk: Talk, known: Known, policy: Policy) -> Change:
    """What happened since the customer last said no; nothing where nobody did."""
    since = talk.last_refusal()
    if since is None:
        return Change()
    years = (known.as_of - since).days / 365.25
    rates = known.miles_a_year.reindex(own["vehicle_id"].unique())
    moved = own["x_change"].isin(NEW_ARGUMENTS).sum() if "x_change" in own else 0
    miles = rates.max() * years
    return Change(
        miles=0.0 if pd.isna(miles) else float(miles),
        season=season_begun(since, known.as_of, policy),
        moved=int(moved),
    )


def change_code(change: Change) -> str:
    """The change as "miles:3200; season:before_frost; moved:2"; "" where there is none."""
    parts = []
    if change.miles >= 1.0:
        parts.append(f"miles:{change.miles:.0f}")
    if change.season:
        parts.append(f"season:{change.season}")
    if change.moved:
        parts.append(f"moved:{change.moved}")
    return "; ".join(parts)


def _never_came(talk: Talk, last_visit: Any) -> bool:
    """Whether somebody booked for a day that is past and no visit since is on file."""
    if not talk.results or talk.results[-1] != "booked":
        return False
    return last_visit is None or pd.isna(last_visit) or last_visit.date() < talk.dates[-1]


def _last(log: pd.DataFrame) -> Mapping[str, Any]:
    if log.empty:
        return _NO_TALK
    row: Mapping[Hashable, Any] = log.iloc[-1].to_dict()
    return {
        "last_date": str(row["date"])[:10],
        "last_channel": str(row["channel"]),
        "last_topic": str(row["hazard_id"] or row["topic"]),
        "last_result": str(row["result"]),
        "last_said": str(row.get("said") or ""),
        "last_note": str(row["note"]),
        "last_next": str(row.get("next_step") or ""),
    }
