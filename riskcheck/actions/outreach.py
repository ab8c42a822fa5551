"""From priced exposures to contacts: one per decision-maker, best reason first.

Codes and figures only; how they are said is the business of ``riskcheck.reports``.
"""

from __future__ import annotations

from dataclasses import dataclass

import pandas as pd

from riskcheck.actions.channels import DUTY_NEEDS
from riskcheck.actions.consent import NO
from riskcheck.actions.contacts import contacts_of
from riskcheck.actions.known import Known
from riskcheck.actions.manners import ended_reasons
from riskcheck.actions.needs import CALL_NEEDS, needs, offers
from riskcheck.actions.refusals import declined_lately, seasons_since, with_refusals
from riskcheck.rulebook import Rulebook
from riskcheck.rulebook.model import Policy

WORK_DAYS = 10
GONE = ("sold", "scrapped")


@dataclass(frozen=True)
class Outreach:
    """Who is contacted, about what, and who is not.

    ``calls``: one row per contact in calling order (columns of ``contacts.COLUMNS`` with ``call``
    first, from 1).
    ``rows``: the exposures behind the calls, in order (contract columns, call, need, offer,
    offer_hours, offered, parts_days with NaN for on the shelf or not said, declined_*).
    ``find_out``: exposures that one question or look would settle, most worth asking first.
    ``coming_in``: exposures of vehicles that will be here within days.
    ``unproven``: jobs done but not proven; repeats rows of the others.
    ``not_now``: exposures left for later, with ``why_later``.
    ``not_called``: contacts that are not made, with ``reason``.

    Every exposure with a tier is in exactly one of rows, find_out, coming_in and not_now, or
    counted in not_called.
    """

    calls: pd.DataFrame
    rows: pd.DataFrame
    find_out: pd.DataFrame
    coming_in: pd.DataFrame
    unproven: pd.DataFrame
    not_now: pd.DataFrame
    not_called: pd.DataFrame


@dataclass(frozen=True)
class Capacity:
    """What the shop can take on in the coming two weeks.

    ``bay_hours`` (h) that ordinary work leaves; ``calls``: attempts to reach somebody; ``reach``
    of those called are reached and ``booked`` of those reached book (shares).
    """

    bay_hours: float
    calls: int
    reach: float
    booked: float

    @staticmethod
    def of(policy: Policy, bay_hours: float | None = None) -> Capacity:
        """Two weeks of free bay hours and of calls; ``bay_hours`` from the shop's calendar (h)."""
        whole = policy.bay_hours_per_week.value * WORK_DAYS / 5 if bay_hours is None else bay_hours
        return Capacity(
            bay_hours=whole * policy.etiquette.free_share.value,
            calls=int(policy.calls_per_day.value * WORK_DAYS),
            reach=policy.etiquette.reach_share.value,
            booked=policy.etiquette.booking_share.value,
        )


def plan_outreach(exposures: pd.DataFrame, known: Known, book: Rulebook) -> Outreach:
    """Group ranked exposures into contacts that good manners and two weeks of work allow.

    ``exposures``: contract columns incl. ``tier`` (1 to 7 or NA), ``rank`` and x_tier_reason.  A
    vehicle without a customer on file keeps its contact, under its own vehicle id: nobody is
    dropped.
    """
    ranked = exposures[exposures["tier"].notna()].sort_values("rank", kind="stable")
    ranked = ranked.assign(contact=decision_maker(ranked))
    ranked = ranked.assign(need=_held_back(ranked, known, book))
    calling = ranked[ranked["need"].isin(CALL_NEEDS)]
    calling = calling.join(offers(calling, book.hazards, book.policy))
    wait = calling["hazard_id"].map(known.parts_days.to_dict()).astype(float)
    calling = with_refusals(calling.assign(parts_days=wait), known)
    calling = calling.assign(declined_season=seasons_since(calling, known, book.policy))
    contacts = contacts_of(calling, known, book.policy)
    contacts = cut(contacts, Capacity.of(book.policy, known.bay_hours))
    refused = contacts["reason"].ne("")
    calls = contacts[~refused].reset_index(drop=True)
    calls.insert(0, "call", range(1, len(calls) + 1))
    order = dict(zip(calls["contact"], calls["call"], strict=True))
    rows = calling.assign(call=calling["contact"].map(order)).dropna(subset="call")
    rows = rows.astype({"call": int}).sort_values(["call", "rank"], kind="stable")
    later = ~ranked["need"].isin((*CALL_NEEDS, "ask", "coming_in"))
    return Outreach(
        calls=calls,
        rows=rows.reset_index(drop=True),
        find_out=ranked[ranked["need"] == "ask"].reset_index(drop=True),
        coming_in=ranked[ranked["need"] == "coming_in"].reset_index(drop=True),
        unproven=ranked[ranked["status"] == "unproven"].reset_index(drop=True),
        not_now=ranked[later].rename(columns={"need": "why_later"}).reset_index(drop=True),
        not_called=contacts[refused].reset_index(drop=True),
    )


def decision_maker(exposures: pd.DataFrame) -> pd.Series:
    """Whom to talk to about each exposure (n,): its customer, else "vehicle" and its id."""
    named = exposures["customer_id"].fillna("").astype(str)
    alone = "vehicle " + exposures["vehicle_id"].astype(str)
    return named.where(named.ne(""), alone)


def cut(contacts: pd.DataFrame, capacity: Capacity) -> pd.DataFrame:
    """Mark contacts beyond the bays or the telephone with the reason ``no_room``, from the bottom.

    A contact by telephone takes 1/reach attempts, any other one turn at the desk; a contact
    brings its hours (at most all that are free) times reach times booked.  Duties are never cut.
    """
    asked = contacts["reason"].eq("")
    hours = contacts["hours"].clip(upper=capacity.bay_hours).where(asked, 0.0)
    booked = hours * capacity.reach * capacity.booked
    turns = contacts["channel"].eq("call").map({True: 1.0 / capacity.reach, False: 1.0})
    attempts = turns.where(asked, 0.0).cumsum()
    over = booked.cumsum().gt(capacity.bay_hours) | attempts.gt(capacity.calls)
    no_room = asked & over & ~contacts["need"].isin(DUTY_NEEDS)
    return contacts.assign(reason=contacts["reason"].mask(no_room, "no_room"))


def _held_back(ranked: pd.DataFrame, known: Known, book: Rulebook) -> pd.Series:
    """The need of each row, or why it is not raised now: ended and so on."""
    need = needs(ranked, known, book.hazards)
    free = need.isin(CALL_NEEDS) & ~need.isin(DUTY_NEEDS)
    said = ended_reasons(known.log)
    pairs = list(zip(ranked["vehicle_id"], ranked["hazard_id"], strict=True))
    ended = pd.Series([(v, h) in said or (v, "") in said for v, h in pairs], index=ranked.index)
    topics = known.consents[known.consents["topic"].ne("") & known.consents["state"].eq(NO)]
    no = set(zip(topics["customer_id"], topics["topic"], strict=True))
    about = zip(ranked["customer_id"].fillna(""), ranked["hazard_id"], strict=True)
    refused = pd.Series([pair in no for pair in about], index=ranked.index)
    days = ranked["hazard_id"].map(known.parts_days.to_dict()).fillna(0.0).astype(float)
    mortal = {h.id for h in book.hazards.values() if h.severity.people == "I"}
    waits = days.gt(book.policy.etiquette.parts_wait.value) & ~ranked["hazard_id"].isin(mortal)
    lately = declined_lately(ranked, known, book.policy)
    need = need.mask(free & lately, "declined_lately")
    need = need.mask(free & waits & need.isin(("book", "declined")), "parts_wait")
    need = need.mask(free & refused, "topic_refused")
    need = need.mask(free & ended, "ended")
    gone = set(known.vehicles[known.vehicles["state"].isin(GONE)]["vehicle_id"])
    gone |= {vehicle for (vehicle, _), result in said.items() if result == "sold"}
    return need.mask(ranked["vehicle_id"].isin(gone), "gone")
