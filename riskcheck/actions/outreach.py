"""From priced exposures to contacts: one per decision-maker, best reason first.

Codes and figures only; how they are said is the business of ``riskcheck.reports``.
"""

from __future__ import annotations

from collections.abc import Hashable, Mapping
from dataclasses import dataclass
from typing import Any

import pandas as pd

from riskcheck.rulebook.model import Hazard, Policy

CALL_TIERS = (1, 2, 3, 4, 5)
FIND_OUT_TIER = 6
NOT_NOW_TIER = 7
WORK_DAYS = 10
# Of 100 people called about half are reached, and of those three in ten book (common practice, no
# source): so many calls may be made that the bookings they bring still fit the bays.
REACHED = 0.5
BOOKED = 0.3
# A safety finding or our own open work is told even to someone who asked for no calls: by letter.
DUTY_TIERS = (1, 2)


@dataclass(frozen=True)
class Outreach:
    """Who is contacted, about what, and who is not.

    ``calls``: one row per contact in calling order (call, customer_id, name, kind, phone, email,
    address, channel, tier, rank, vehicles, exposures, hours, act_by_date).
    ``rows``: the exposures behind the calls, in order (call + contract columns).
    ``find_out``: exposures that one question or look would settle, most worth asking first.
    ``not_now``: exposures left for later, with their tier reason.
    ``not_called``: calls that are not made (same columns as ``calls`` + reason code).
    """

    calls: pd.DataFrame
    rows: pd.DataFrame
    find_out: pd.DataFrame
    not_now: pd.DataFrame
    not_called: pd.DataFrame


@dataclass(frozen=True)
class Capacity:
    """What the shop can take on in the coming two weeks: bay hours (h) and calls."""

    bay_hours: float
    calls: int

    @staticmethod
    def of(policy: Policy) -> Capacity:
        """Two weeks of the policy's bay hours and calls."""
        return Capacity(
            bay_hours=policy.bay_hours_per_week.value * WORK_DAYS / 5,
            calls=int(policy.calls_per_day.value * WORK_DAYS),
        )


def offer_hours(exposures: pd.DataFrame, hazards: Mapping[str, Hazard]) -> pd.Series:
    """Bay hours of what is offered (n,): the look where only a look can tell, else the job."""
    looks = {
        name: hazard.look.minutes.value / 60.0
        for name, hazard in hazards.items()
        if hazard.look is not None and hazard.reveals == "by_looking"
    }
    look = exposures["hazard_id"].map(looks)
    only_look = exposures["evidence"].ne("confirmed") & look.notna()
    return exposures["hours"].where(~only_look, look)


def plan_outreach(
    exposures: pd.DataFrame, customers: pd.DataFrame, capacity: Capacity | None = None
) -> Outreach:
    """Group ranked exposures into contacts.

    With a ``capacity``, contacts beyond what can be booked in two weeks are cut from the bottom
    (never those of tiers 1 and 2) and listed with their reason.

    ``exposures``: contract columns incl. ``tier`` (1 to 7 or NA) and ``rank``; ``customers``: one
    row per customer_id with name, kind, phone, email, address and consent columns.  A vehicle
    without a customer on file keeps its call, under its own vehicle id: nobody is dropped.
    """
    ranked = exposures[exposures["tier"].notna()].sort_values("rank", kind="stable")
    ranked = ranked.assign(contact=_decision_maker(ranked))
    calling = ranked[ranked["tier"].isin(CALL_TIERS)]
    contacts = _contacts(calling, customers)
    if capacity is not None:
        contacts = _cut(contacts, capacity)
    refused = contacts["reason"].ne("")
    calls = contacts[~refused].drop(columns="reason").reset_index(drop=True)
    calls.insert(0, "call", range(1, len(calls) + 1))
    order = dict(zip(calls["contact"], calls["call"], strict=True))
    rows = calling.assign(call=calling["contact"].map(order)).dropna(subset="call")
    rows = rows.astype({"call": int}).sort_values(["call", "rank"], kind="stable")
    return Outreach(
        calls=calls,
        rows=rows.reset_index(drop=True),
        find_out=ranked[ranked["tier"] == FIND_OUT_TIER].reset_index(drop=True),
        not_now=ranked[ranked["tier"] == NOT_NOW_TIER].reset_index(drop=True),
        not_called=contacts[refused].reset_index(drop=True),
    )


def _cut(contacts: pd.DataFrame, capacity: Capacity) -> pd.DataFrame:
    """Mark contacts beyond the bays or the phone with the reason ``no_room``."""
    asked = contacts["reason"].eq("")
    booked = (contacts["hours"].where(asked, 0.0) * REACHED * BOOKED).cumsum()
    over = booked.gt(capacity.bay_hours) | asked.cumsum().gt(capacity.calls)
    cut = asked & over & ~contacts["tier"].isin(DUTY_TIERS)
    return contacts.assign(reason=contacts["reason"].mask(cut, "no_room"))


def _decision_maker(exposures: pd.DataFrame) -> pd.Series:
    named = exposures["customer_id"].fillna("").astype(str)
    alone = "vehicle " + exposures["vehicle_id"].astype(str)
    return named.where(named.ne(""), alone)


def _contacts(calling: pd.DataFrame, customers: pd.DataFrame) -> pd.DataFrame:
    """One row per contact, in order of its best exposure, with what the shop may do."""
    grouped = calling.groupby("contact", sort=False)
    contacts = pd.DataFrame(
        {
            "customer_id": grouped["customer_id"].first(),
            "tier": grouped["tier"].first().astype(int),
            "rank": grouped["rank"].min(),
            "vehicles": grouped["vehicle_id"].nunique(),
            "exposures": grouped.size(),
            "hours": grouped["offer_hours" if "offer_hours" in calling else "hours"].sum(),
            "act_by_date": grouped["act_by_date"].min(),
        }
    ).reset_index()
    details = customers.drop_duplicates("customer_id")
    contacts = contacts.merge(details, on="customer_id", how="left")
    contacts[list(details.columns)] = contacts[list(details.columns)].fillna("")
    contacts["channel"] = [_channel(row) for row in contacts.to_dict("records")]
    contacts["reason"] = [_reason_not_to_call(row) for row in contacts.to_dict("records")]
    return contacts.sort_values("rank", kind="stable").reset_index(drop=True)


def _says_no(value: object) -> bool:
    return str(value).strip().lower() in {"no", "n", "false", "0"}


def _opted_out(contact: Mapping[Hashable, Any]) -> bool:
    """Whether the customer asked not to be called (an opt-out outranks an older consent)."""
    opt_out = str(contact.get("opt_out") or "").strip().lower()
    ticked = opt_out in {"x", "y", "1", "true"}
    return ticked or any(word in opt_out for word in ("call", "phone", "all", "yes"))


def _channel(contact: Mapping[Hashable, Any]) -> str:
    """The first channel that is on file and not refused: call, letter or none."""
    if str(contact.get("phone") or "") and not _opted_out(contact):
        return "call"
    return "letter" if str(contact.get("address") or "") else "none"


def _reason_not_to_call(contact: Mapping[Hashable, Any]) -> str:
    """Empty where the contact is made; else a reason code."""
    if contact["tier"] in DUTY_TIERS:
        return ""
    if _opted_out(contact):
        return "opted_out"
    if _says_no(contact.get("consent_call")):
        return "no_consent"
    return ""
