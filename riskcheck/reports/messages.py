"""One message per contact, by the channel it is reached by: phone script, text, e-mail or letter.

Nothing is made ready to be sent by machine without a consent on file for that very channel and a
shop that says who it is; a text that claims too much is left out with its template and line.
"""

from __future__ import annotations

import re
from collections.abc import Hashable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

import pandas as pd
import phonenumbers

from riskcheck.actions.channels import DUTY_NEEDS
from riskcheck.actions.consent import YES
from riskcheck.actions.row_keys import row_key
from riskcheck.reports import outreach_cells as cells
from riskcheck.reports import outreach_words
from riskcheck.reports.message_templates import Templates
from riskcheck.reports.outreach_rows import grouped_reasons
from riskcheck.reports.outreach_sheets import lead_first
from riskcheck.reports.run import Run
from riskcheck.rulebook.etiquette_policy import Shop
from riskcheck.sheets import one_line

BLANK = "________"
MAILBOX = re.compile(r"^[^\s@<>,;:\"()\[\]\\]+@[^\s@<>,;:\"()\[\]\\]+\.[^\s@<>,;:\"()\[\]\\]+$")
OFFERS_IN_A_MESSAGE = 6
LEFT_OUT = {
    "no_consent": "no consent to this channel on file",
    "no_shop": "nobody knows who writes (put shop: {name, phone, address, email} into a "
    "policy.yaml of your own and give its folder with --rules)",
    "no_sender": "the shop's e-mail and postal address are missing (policy.yaml, shop)",
    "no_address": "the number or address on file cannot be one",
    "overclaims": "the text says more than is known",
}


@dataclass(frozen=True)
class Letters:
    """What messages are made with: templates, and the name of the person who calls."""

    templates: Templates
    caller: str = ""


@dataclass(frozen=True)
class Letter:
    """One finished message: who, by which channel, on which consent, and what it says.

    ``fields`` holds what a mail merge may want to place by itself.
    """

    row_key: str
    call: int
    channel: str
    customer_id: str
    name: str
    address: str
    consent_source: str
    consent_date: str
    subject: str
    text: str
    fields: Mapping[str, str]


@dataclass(frozen=True)
class Messages:
    """All messages of a run in calling order, and those left out (call, row_key, channel, why)."""

    letters: tuple[Letter, ...]
    left_out: pd.DataFrame
    notes: list[str]

    def by(self, channel: str) -> list[Letter]:
        """The messages of one channel."""
        return [letter for letter in self.letters if letter.channel == channel]


@dataclass(frozen=True)
class _Left:
    call: int
    row_key: str
    channel: str
    why: str
    where: str = ""


def messages(run: Run, flat: pd.DataFrame, letters: Letters) -> Messages:
    """The messages of every contact: its own channel's, and for duties also a letter.

    Raises RulebookError where a template is at fault for every message.
    """
    by_call = dict(list(flat.groupby("call", sort=False)))
    made: list[Letter] = []
    left: list[_Left] = []
    for contact in run.outreach.calls.to_dict("records"):
        own = lead_first(by_call[contact["call"]], str(contact["need"]))
        for channel in _channels(contact):
            result = _message(run, contact, own, channel, letters)
            if isinstance(result, Letter):
                made.append(result)
            else:
                left.append(result)
    frame = pd.DataFrame([vars(one) for one in left], columns=list(_Left.__dataclass_fields__))
    return Messages(tuple(made), frame, list(_notes(frame)))


def _channels(contact: Mapping[Hashable, Any]) -> tuple[str, ...]:
    """The contact's own channel; a duty also gets a letter, as proof that it was told."""
    own = str(contact["channel"])
    first = "call" if own == "none" else own
    duty = contact["need"] in DUTY_NEEDS and contact["address"] and first != "letter"
    return (first, "letter") if duty else (first,)


def _message(
    run: Run, contact: Mapping[Hashable, Any], own: pd.DataFrame, channel: str, letters: Letters
) -> Letter | _Left:
    key = row_key(str(contact["contact"]), "", "", str(contact["need"]))
    shop = run.rulebook.policy.shop
    why = _not_ready(contact, channel, shop)
    if why:
        return _Left(contact["call"], key, channel, LEFT_OUT[why])
    context = context_of(run, contact, own, letters.caller)
    names = _names(contact, own, shop, letters.caller)
    kind = {"call": "script"}.get(channel, channel)
    body = letters.templates.render(kind, context, names)
    subject = letters.templates.render("email_subject", context, names)
    flaws = [*body.flaws, *(subject.flaws if channel == "email" else ())]
    if flaws:
        where = "; ".join(flaw.told() for flaw in flaws)
        return _Left(contact["call"], key, channel, LEFT_OUT["overclaims"], where)
    address = {"call": "phone", "text": "phone", "email": "email", "letter": "address"}[channel]
    return Letter(
        row_key=key,
        call=int(contact["call"]),
        channel=channel,
        customer_id=str(contact["customer_id"]),
        name=str(context["customer"]),
        address=str(contact[address]),
        consent_source=str(contact["consent_source"]),
        consent_date=str(contact["consent_date"]),
        subject=one_line(subject.text.strip()),
        text=body.text,
        fields=_fields(context),
    )


def _not_ready(contact: Mapping[Hashable, Any], channel: str, shop: Shop) -> str:
    """Why a message may not be made ready to be sent by machine; "" where it may."""
    if channel not in ("text", "email"):
        return ""
    if contact["consent_state"] != YES or not contact["consent_source"]:
        return "no_consent"
    if not (shop.name and shop.phone):
        return "no_shop"
    if channel == "email" and not (shop.email and shop.address):
        return "no_sender"
    address = str(contact["phone"] if channel == "text" else contact["email"])
    usable = number_of(address) is not None if channel == "text" else MAILBOX.match(address)
    return "" if usable else "no_address"


def number_of(text: str) -> phonenumbers.PhoneNumber | None:
    """The telephone number that a text in E.164 stands for, if it can be one."""
    try:
        number = phonenumbers.parse(text, None)
    except phonenumbers.NumberParseException:
        return None
    return number if phonenumbers.is_possible_number(number) else None


def context_of(
    run: Run, contact: Mapping[Hashable, Any], own: pd.DataFrame, caller: str = ""
) -> dict[str, Any]:
    """What a template may use: see the shipped templates for what each name holds."""
    first = own.iloc[0]
    shop = run.rulebook.policy.shop
    last_day = str(first["no_later_than"])
    due = bool(last_day) and last_day[:10] <= run.as_of.isoformat()
    reasons = cells.several(grouped_reasons(own)).split("\n")
    # A message about safety or our own work sells nothing else.
    duty = own[own["need"].isin(DUTY_NEEDS)]
    offered = cells.offer_lines(duty if len(duty) else own, run.rulebook.hazards)
    return {
        "call": int(contact["call"]),
        "customer": str(contact["name"] or contact["contact"]),
        "greeting": greeting(str(contact["name"])),
        "phone": str(contact["phone"]),
        "email": str(contact["email"]),
        "address": str(contact["address"]),
        "notes": str(contact["notes"]),
        "last_contact": outreach_words.last_contact(contact),
        "did_they_come": outreach_words.did_they_come(contact),
        "changed": outreach_words.changed(contact["changed"]) or _since(str(first["declined"])),
        "voicemail_only": contact["need"] in DUTY_NEEDS,
        "voicemail": contact["channel"] == "call" and bool(contact["phone"]),
        "declined": str(first["declined"]),
        "me": caller or BLANK,
        "shop": {name: value or BLANK for name, value in shop.model_dump().items()},
        "as_of": run.as_of.isoformat(),
        "lead": {
            "vehicle": str(first["vehicle"]),
            "vehicle_short": f"your {first['vehicle_short']}"
            if not str(first["vehicle_short"]).startswith("vehicle ")
            else str(first["vehicle_short"]),
            "hazard": str(first["hazard"]),
            "why": str(first["why"]),
            "ask": str(first["ask"]),
            "say": str(first["say"]),
        },
        "offers": offered[:OFFERS_IN_A_MESSAGE],
        "how_soon": str(first["how_soon"]) or ("By our reckoning it is due now" if due else ""),
        "also": [line for line in reasons[1:] if line],
        "no_later_than": "" if due else last_day,
        "counsel": run.rulebook.policy.etiquette.counsel,
    }


def greeting(name: str) -> str:
    """How a letter opens: "Caspar Ashgrimley" for "Ashgrimley, Caspar"; "customer" for no name."""
    last, comma, first = name.partition(",")
    if not name.strip():
        return "customer"
    return f"{first.strip()} {last.strip()}" if comma and "," not in first else name


def _since(declined: str) -> str:
    """What has changed since the record says the work was declined, without the shop's words."""
    before, _, changed = declined.rpartition(" Since then: ")
    return f"Since it was last offered: {changed}" if before else ""


def _names(
    contact: Mapping[Hashable, Any], own: pd.DataFrame, shop: Shop, caller: str
) -> list[str]:
    """Words that are people's own and not ours: names, addresses, notes, vehicles."""
    of_contact = (
        "name", "contact", "phone", "email", "address", "notes", "last_topic", "last_said",
        "last_note", "last_next",
    )  # fmt: skip
    vehicles = [*own["vehicle"].unique(), *own["vehicle_short"].unique()]
    return [
        *(str(contact[name]) for name in of_contact),
        *(str(name) for name in vehicles),
        *(line for line in own["declined"].unique() if line),
        greeting(str(contact["name"])),
        shop.name,
        shop.address,
        caller,
    ]


def _fields(context: Mapping[str, Any]) -> dict[str, str]:
    return {
        "vehicle": context["lead"]["vehicle"],
        "question": context["lead"]["ask"],
        "sentence": context["lead"]["say"],
        "offer": " ".join(context["offers"]),
        "no_later_than": context["no_later_than"],
    }


def _notes(left: pd.DataFrame) -> Iterator[str]:
    for why, own in left.groupby("why", sort=True):
        count = "1 message was" if len(own) == 1 else f"{len(own)} messages were"
        where = sorted({place for places in own["where"] for place in places.split("; ") if place})
        told = f" ({'; '.join(where[:3])})" if where else ""
        yield f"{count} not written: {why}{told}."
