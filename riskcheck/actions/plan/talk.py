"""Whom nobody may call in, and which vehicles the customer no longer has."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass

from riskcheck.actions import consent
from riskcheck.actions.contact_log import contact_log
from riskcheck.actions.known import Memory
from riskcheck.actions.manners import ended_reasons
from riskcheck.actions.outreach import GONE
from riskcheck.fleet import Fleet


@dataclass(frozen=True)
class Talk:
    """``no_call``: customer ids that refused calls; ``gone``: why a vehicle is no longer there
    (sold, scrapped), by vehicle id.
    """

    no_call: frozenset[str]
    gone: dict[str, str]


def talk_of(fleet: Fleet, as_of: dt.date, memory: Memory | None = None) -> Talk:
    """What sheets, contact log and ledger say; the rules are those of the call list."""
    memory = memory or Memory()
    log = contact_log(fleet.contacts, memory.contacts, fleet.vehicles, as_of)
    words = consent.standing(
        consent.of_present_owners(
            consent.consents(fleet.customers, log, memory.consents), fleet.vehicles
        )
    )
    refused = {
        customer
        for (customer, channel), word in words.items()
        if channel == "call" and word.state == consent.NO
    }
    cars = fleet.vehicles[["vehicle_id", "state"]].to_dict("records")
    gone = {str(row["vehicle_id"]): str(row["state"]) for row in cars if row["state"] in GONE}
    ended = ended_reasons(log)
    gone |= {vehicle: "sold" for (vehicle, _), result in ended.items() if result == "sold"}
    return Talk(frozenset(refused), gone)
