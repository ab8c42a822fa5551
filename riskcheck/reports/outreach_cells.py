"""What stands in each cell of a contact's row: who, why, what to say, what to offer, by when."""

from __future__ import annotations

import datetime as dt
from collections.abc import Hashable, Iterable, Mapping
from typing import Any

import pandas as pd

from riskcheck.reports import outreach_words, owner, words
from riskcheck.reports.outreach_rows import grouped_reasons
from riskcheck.rulebook.model import Hazard

Contact = Mapping[Hashable, Any]
LINES_IN_A_CELL = 5
LOOKS_IN_A_LINE = 3


def who(contact: Contact) -> str:
    """Name, the channel with its address, notes and the last contact."""
    address = {
        "call": contact["phone"],
        "text": f"text {contact['phone']}",
        "email": contact["email"],
        "letter": f"letter: {contact['address']}",
        "none": outreach_words.CHANNELS["none"],
    }[contact["channel"]]
    last = outreach_words.last_contact(contact)
    note = f"Note: {contact['notes']}" if contact["notes"] else ""
    tried = f"Attempt {contact['attempts'] + 1}" if contact["attempts"] else ""
    return lines(contact["name"] or contact["contact"], address, note, last, tried)


def why_here(own: pd.DataFrame) -> str:
    """Why the contact stands where it does: the group of its best reason, and what moved it."""
    first = own.iloc[0]
    moved = outreach_words.CHANGES.get(str(first["changed"]), "")
    return lines(first["reason_group"], owner.capital(str(first["because"])) + ".", moved)


def reasons(own: pd.DataFrame) -> str:
    """Reasons, the first with its refusal and chance, cut with a count."""
    first = str(own["declined"].iloc[0])
    rest = own["declined"].ne("").sum() - bool(first)
    also = f"{words.plural(rest, 'other was', 'others were')} declined before." if rest else ""
    return lines(first, several(grouped_reasons(own)), also)


def say(contact: Contact, own: pd.DataFrame) -> str:
    """What to say: the question first, then the sentence, then what changed since a no."""
    first = own.iloc[0]
    changed = outreach_words.changed(contact["changed"])
    come = outreach_words.did_they_come(contact)
    known = "Open with the refusal on file, beside this; then ask." if first["declined"] else ""
    return lines(come, known, f"Ask: {first['ask']}", f"Then: {first['say']}", changed)


def offers(own: pd.DataFrame, hazards: Mapping[str, Hazard]) -> str:
    """What is offered, cut with a count."""
    return several(offer_lines(own, hazards))


def offer_lines(own: pd.DataFrame, hazards: Mapping[str, Hazard]) -> list[str]:
    """What is offered: one visit on the lift a vehicle, then jobs with hours, parts and price."""
    offered = own[own["offered"]]
    looks = offered[offered["offer_kind"].eq("look")]
    told = [look_line(visit, hazards) for _, visit in looks.groupby("vehicle_id", sort=False)]
    if len(told) > 2:
        hours = looks["hours"].sum()
        told = [f"A look at {words.plural(len(told), 'vehicle')}, about {hours:.1f} h in all."]
    fixes = offered[offered["offer_kind"].eq("fix")]
    jobs = [
        job_line(alike, hazards[str(hazard_id)])
        for hazard_id, alike in fixes.groupby("hazard_id", sort=False)
    ]
    starts_with_look = own["offer_kind"].iloc[0] == "look"
    return [*told, *jobs] if starts_with_look else [*jobs, *told]


def look_line(visit: pd.DataFrame, hazards: Mapping[str, Hazard]) -> str:
    """One visit on the lift: which looks, how long, what they cost, whether one can wait for it."""
    looks = [hazards[name].look for name in visit["hazard_id"]]
    known = [look for look in looks if look is not None]
    minutes = round(float(visit["hours"].sum()) * 60 / 5) * 5
    usd = look_price(visit, hazards)
    cost = words.money(usd) if usd else "no charge"
    if usd and visit["free"].any():
        cost += ", no charge for the re-check of our own work"
    shown = "; ".join(look.title for look in known[:LOOKS_IN_A_LINE])
    more = f" and {len(known) - LOOKS_IN_A_LINE} more" if len(known) > LOOKS_IN_A_LINE else ""
    wait = ", while you wait" if minutes <= 60 else ""
    name = visit["vehicle_short"].iloc[0]
    return f"Look at {name}, about {minutes} min{wait}, {cost}: {shown}{more}."


def look_price(visit: pd.DataFrame, hazards: Mapping[str, Hazard]) -> float:
    """What the looks of one visit cost (USD).

    Looks that pricing put together have one shared price (``look_cost``, on each of their rows);
    any other has its own.  A re-check of our own work has none: its part of a shared price, by
    what the looks cost one by one, is taken off.
    """
    looks = {name: hazards[name].look for name in visit["hazard_id"]}
    each = visit["hazard_id"].map({n: k.cost.value if k else 0.0 for n, k in looks.items()})
    each, charged, shared = each.astype(float), ~visit["free"], visit["look_cost"].notna()
    usd = float(each[charged & ~shared].sum())
    if (charged & shared).any() and each[shared].sum() > 0.0:
        part = each[charged & shared].sum() / each[shared].sum()
        usd += float(visit.loc[shared, "look_cost"].iloc[0] * part)
    return usd


def job_line(alike: pd.DataFrame, hazard: Hazard) -> str:
    """One job on one or several vehicles: hours, parts and price with its range."""
    first = alike.iloc[0]
    count = "" if len(alike) == 1 else f" on {len(alike)} vehicles, each"
    title = owner.capital(hazard.job.title)
    return f"{title}{count}: {first['price']}, {hazard.job.hours.value:g} h, {first['parts']}."


def by_when(own: pd.DataFrame, due: pd.Series, as_of: dt.date, rights: Iterable[str]) -> str:
    """No later than which day, why that day, and which right ends soon.

    ``due``: the exposure whose day comes first among those that the contact is about.
    """
    day = owner.no_later_than(due.to_dict(), as_of)
    why = words.ACT_BY_REASONS.get(str(due["act_by_reason"] or ""), "") if day else ""
    return lines(own.iloc[0]["how_soon"], day, owner.capital(why), *rights)


def several(texts: Iterable[str]) -> str:
    """Several lines in one cell, cut with a count rather than silently."""
    shown = [text for text in texts if text]
    rest = len(shown) - LINES_IN_A_CELL
    more = [f"and {rest} more: see 'Vehicle by vehicle'"] if rest > 0 else []
    return "\n".join(shown[:LINES_IN_A_CELL] + more)


def lines(*texts: str) -> str:
    """The texts that say something, each on its own line."""
    return "\n".join(text for text in texts if text)
