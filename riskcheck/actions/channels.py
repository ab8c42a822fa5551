"""By which channel a contact is made, or why by none."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, timedelta

from riskcheck.actions.consent import ALL, NO, YES, Word

# A safety finding or our own open work is told even to someone who asked for no calls: by letter;
# and it is never cut for lack of room.
DUTY_NEEDS = ("safety", "ours")
DAYS_A_MONTH = 30.44
_WANTS_TEXT = re.compile(
    r"\b(?:te?xts? (?:pls|plz|please|only|me|him|her|first|best|instead|preferred)"
    r"|(?:prefers?|wants?|by|via|rather) (?:a )?te?xts?|deaf|hard of hearing|hoh"
    r"|hearing (?:impaired|aids?|loss)|(?:cannot|can'?t|does not|doesn'?t) hear)\b"
)


@dataclass(frozen=True)
class Reach:
    """What is on file to reach one contact: its address by channel ("" where none)."""

    customer_id: str
    addresses: Mapping[str, str]
    is_fleet: bool
    notes: str
    last_visit: date | None


@dataclass(frozen=True)
class Choice:
    """The channel ("call", "text", "email", "letter" or "none"), its consent, and a reason code.

    ``reason`` is empty where the contact may be made: opted_out, no_consent or long_ago
    otherwise.
    """

    channel: str
    word: Word
    reason: str = ""


def choose(reach: Reach, need: str, words: Mapping[tuple[str, str], Word], since: date) -> Choice:
    """The best channel that is on file and allowed.

    Duties go by telephone, else by letter, whatever was refused but the telephone.  Everything
    else goes by the channel that suits it; text and e-mail need a consent on file, a call must not
    have been refused and, without consent, needs a visit since ``since``.
    """
    said = {channel: words.get((reach.customer_id, channel), Word()) for channel in reach.addresses}
    allowed = {
        channel: _allowed(channel, said, need, reach.last_visit, since)
        for channel in reach.addresses
    }
    for channel in _order(reach, need):
        if reach.addresses[channel] and allowed[channel]:
            return Choice(channel, said[channel])
    if need in DUTY_NEEDS or not any(reach.addresses.values()):
        # Nothing on file is no refusal: the shop may know them, or find the number.
        return Choice("none", Word())
    return Choice("none", Word(), _why_not(reach, said))


def established_since(as_of: date, months: float) -> date:
    """The day on or after which a visit still makes a business relationship."""
    return as_of - timedelta(days=round(months * DAYS_A_MONTH))


def _order(reach: Reach, need: str) -> tuple[str, ...]:
    prefers_text = bool(_WANTS_TEXT.search(reach.notes.casefold()))
    if need in DUTY_NEEDS:
        order = ("call", "letter", "text", "email")
    elif need == "look" and not reach.is_fleet:
        order = ("text", "email", "call", "letter")
    else:
        order = ("call", "text", "email", "letter")
    return ("text", *(c for c in order if c != "text")) if prefers_text else order


def _allowed(
    channel: str, said: Mapping[str, Word], need: str, last_visit: date | None, since: date
) -> bool:
    word = said[channel]
    if channel == "letter":
        # Who refused every channel wants no offers, by whatever channel.
        refused = word.state == NO or all(said[one].state == NO for one in ALL)
        return not refused or need in DUTY_NEEDS
    if channel in ("text", "email"):
        return word.state == YES or (need in DUTY_NEEDS and word.state != NO and channel == "email")
    if word.state == NO:
        return False
    known = last_visit is not None and last_visit >= since
    return word.state == YES or known or need in DUTY_NEEDS


def _why_not(reach: Reach, said: Mapping[str, Word]) -> str:
    on_file = [channel for channel, address in reach.addresses.items() if address]
    if all(said[one].state == NO for one in (*on_file, *ALL) if one != "letter"):
        return "opted_out"
    if "call" in on_file and said["call"].state != NO:
        return "long_ago"
    return "no_consent"
