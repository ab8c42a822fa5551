"""How the call list names its sheets, its channels and its reasons for silence."""

from __future__ import annotations

from collections.abc import Hashable, Mapping
from typing import Any, NamedTuple

from riskcheck.actions.etiquette import NEXT_STEPS, RESULTS
from riskcheck.reports import words
from riskcheck.sheets import one_line

SAID_LETTERS = 120  # of what somebody typed, shown beside the last contact


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
    "declined_lately": "declined lately, or nothing has changed since",
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


def last_contact(contact: Mapping[Hashable, Any]) -> str:
    """ "Last contact 2026-09-16, call, brake hoses: booked. Note: asks for a ride."; "" if none.

    What somebody typed in his own words stands there as he typed it.
    """
    if not contact["last_date"]:
        return ""
    topic, result = contact["last_topic"], str(contact["last_result"])
    about = f", {topic}" if topic else ""
    said = _short(contact["last_said"]) or RESULTS.get(result, "")
    parts = [
        f"Last contact {contact['last_date']}, {CHANNELS[contact['last_channel']]}{about}"
        + (f": {said}" if said else "")
    ]
    if contact["last_note"]:
        parts.append(f"Note: {_short(contact['last_note'])}")
    if contact["last_next"] not in ("", "nothing"):
        step = NEXT_STEPS.get(contact["last_next"], contact["last_next"])
        parts.append(f"Promised next: {_short(step)}")
    return ". ".join(part.rstrip(".") for part in parts) + "." * (len(parts) > 1)


def did_they_come(contact: Mapping[Hashable, Any]) -> str:
    """What to ask first of someone who booked and is not known to have come; "" otherwise."""
    if not contact["never_came"]:
        return ""
    return (
        f"Booked ({contact['last_date']}), and no visit since is on file: did they come? If so, "
        "write down what the bay saw; if not, offer a new day."
    )


def _short(text: object) -> str:
    said = one_line(str(text)).strip()
    return said if len(said) <= SAID_LETTERS else f"{said[: SAID_LETTERS - 3].rstrip()}..."
