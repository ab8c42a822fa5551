"""What the shop knows about its customers on one day, beside the exposures of their vehicles."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

import pandas as pd

from riskcheck.actions import consent, declined
from riskcheck.actions.contact_log import contact_log
from riskcheck.fleet import Fleet
from riskcheck.risk.lines import COMING_IN_DAYS
from riskcheck.rulebook import Rulebook
from riskcheck.usage import Usage

_MIDDLE = 2
DAYS_AHEAD = 14


@dataclass(frozen=True)
class Memory:
    """What the ledger remembers of earlier talk: contacts and consents, in the ledger's columns."""

    contacts: pd.DataFrame | None = None
    consents: pd.DataFrame | None = None


@dataclass(frozen=True)
class Known:
    """Customers, talk and calendar of one fleet on one day.

    ``log``: see ``contact_log``; ``consents``: see ``consent``; ``declined``: see ``declined``;
    ``last_visit``: last service date by customer_id; ``coming_in``: next appointment (datetime64)
    by vehicle_id, within ten days; ``miles_a_year``: middle rate by vehicle_id; ``parts_days``:
    longest wait in days for a part that is not on the shelf, by hazard_id; ``bay_hours``: what the
    shop's own calendar gives for the coming two weeks (h), None where it has none.
    """

    as_of: date
    customers: pd.DataFrame
    vehicles: pd.DataFrame
    log: pd.DataFrame
    consents: pd.DataFrame
    declined: pd.DataFrame
    last_visit: pd.Series
    coming_in: pd.Series
    miles_a_year: pd.Series
    parts_days: pd.Series
    bay_hours: float | None


def known_of(
    fleet: Fleet, clocks: Usage, book: Rulebook, as_of: date, memory: Memory | None = None
) -> Known:
    """Gather what outreach needs from a fleet as read and, if there is one, from the ledger."""
    memory = memory or Memory()
    log = contact_log(fleet.contacts, memory.contacts, fleet.vehicles, as_of)
    owner = fleet.vehicles.set_index("vehicle_id")["customer_id"].fillna("").astype(str)
    past = fleet.service[fleet.service["date_hi"] <= pd.Timestamp(as_of)]
    visits = past.assign(customer_id=past["vehicle_id"].map(owner))
    today = pd.Timestamp(as_of)
    soon = fleet.appointments["date"].between(today, today + pd.Timedelta(days=COMING_IN_DAYS))
    booked = fleet.appointments[soon]
    return Known(
        as_of=as_of,
        customers=fleet.customers,
        vehicles=fleet.vehicles,
        log=log,
        consents=consent.of_present_owners(
            consent.consents(fleet.customers, log, memory.consents), fleet.vehicles
        ),
        declined=declined.of_present_owners(
            declined.with_answers(declined.declined_work(fleet.events, book.hazards), log),
            fleet.vehicles,
        ),
        last_visit=visits.groupby("customer_id")["date_hi"].max(),
        coming_in=booked.groupby("vehicle_id")["date"].min(),
        miles_a_year=pd.Series(
            clocks.rates("miles")[:, _MIDDLE], index=list(clocks.vehicle_ids), dtype=float
        ),
        parts_days=_parts_days(fleet.parts, book),
        bay_hours=_bay_hours(fleet.hours, today),
    )


def _bay_hours(hours: pd.DataFrame, today: pd.Timestamp) -> float | None:
    """Bay-hours of the weeks that begin within the coming two (h)."""
    soon = hours["date"].between(today, today + pd.Timedelta(days=DAYS_AHEAD), inclusive="left")
    own = hours.loc[soon, "bay_hours"].dropna()
    return float(own.sum()) if len(own) else None


def _parts_days(parts: pd.DataFrame, book: Rulebook) -> pd.Series:
    """Longest wait (days) by hazard: parts are told by hazard id or by the topic of its job."""
    missing = parts[parts["on_hand"].fillna(0.0).le(0.0) & parts["lead_days"].notna()]
    days: dict[str, float] = {}
    for part in missing.to_dict("records"):
        topic = str(part["topic"])
        for hazard in book.hazards.values():
            recorded = [event for remedy in hazard.remedies for event in remedy.recorded_as]
            if topic == hazard.id or any(topic in event.topics for event in recorded):
                days[hazard.id] = max(days.get(hazard.id, 0.0), float(part["lead_days"]))
    return pd.Series(days, dtype=float)
