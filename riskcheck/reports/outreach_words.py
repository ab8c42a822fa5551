"""How the call list names its sheets, its channels and its reasons for silence."""

from __future__ import annotations

from collections.abc import Mapping
from typing import NamedTuple

from riskcheck.actions.etiquette import RESULTS
from riskcheck.reports import words


class NeedWords(NamedTuple):
    """One call sheet: its name, what it is for, and its tab colour."""

    sheet: str
    purpose: str
    colour: str


NEEDS: Mapping[str, NeedWords] = {
    "safety": NeedWords(
        "Safety first",
        "People could be hurt, and something was found or there is a sign. By voice, the same "
        "day; no detail on voicemail.",
        "8C2F1B",
    ),
    "ours": NeedWords(
        "Our own work",
        "Our own job opened a follow-up that is still owed. No selling: ask them in.",
        "5B4B7A",
    ),
    "declined": NeedWords(
        "Said no before",
        "Safety work that was offered and declined. Say what has changed since; say it, show it, "
        "and have the answer initialled.",
        "8A6D1D",
    ),
    "book": NeedWords(
        "Call to book",
        "A job with a date or with money in it. Waiting is a choice: say what it may cost.",
        "2F5D50",
    ),
    "look": NeedWords(
        "Worth a look",
        "One short visit on the lift tells. Only what is found is quoted.",
        "2B5876",
    ),
}
CHANNELS = {
    "call": "call",
    "text": "text",
    "email": "e-mail",
    "letter": "letter",
    "none": "no way to reach them on file",
}
REASONS = {
    "opted_out": "asked not to be contacted",
    "no_consent": "calls refused, and no consent to text or e-mail on file",
    "long_ago": "last visit too long ago for a call without consent",
    "no_room": "more than can be booked in the coming two weeks: next in line",
    "booked_lately": "booked lately: see the calendar",
    "tried_lately": "tried in the last days: let it rest",
    "tried_enough": "tried often enough: let it rest",
    "cool_down": "contacted lately",
    "topics_a_year": "enough topics raised this year",
    "nothing_changed": "said no, and nothing has changed since",
    "holdout": "left alone this quarter, to learn whether calling helps",
}
LATER = {
    "later": "",
    "next_visit": "a look at the next visit is soon enough",
    "declined_lately": "declined, and nothing has changed since",
    "parts_wait": "the parts take longer than we can promise",
    "topic_refused": "asked not to be told about this",
    "gone": "the vehicle is sold or scrapped",
    "ended": "the last answer ended this talk",
}
SEASONS = {
    "before_frost": "the first frost",
    "after_salt": "the end of the salt season",
    "before_heat": "the summer heat",
    "before_towing": "the towing season",
    "tyre_change": "the tyre change",
}
CHANGES = {"new": "New on the list.", "up": "Moved up since the last list.",
           "down": "Moved down since the last list."}  # fmt: skip


def changed(code: str) -> str:
    """What is new since a customer said no: "Since they said no: about 3,200 miles."."""
    parts = []
    for part in code.split("; ") if code else []:
        kind, _, value = part.partition(":")
        if kind == "miles":
            parts.append(f"about {int(value):,} miles")
        elif kind == "season":
            parts.append(SEASONS.get(value, value))
        elif kind == "moved":
            parts.append(words.plural(int(value), "reason") + " moved up")
    return f"Since they said no: {words.listing(parts)}." if parts else ""


def last_contact(date: str, channel: str, topic: str, result: str) -> str:
    """ "Last contact 2026-09-16, call, brake hoses: booked"; "" where there was none."""
    if not date:
        return ""
    about = f", {topic}" if topic else ""
    said = RESULTS.get(result, "spoken to" if result else "")
    return f"Last contact {date}, {CHANNELS[channel]}{about}" + (f": {said}" if said else "")
