"""Contacts already made, from the shop's own log and from the ledger, in one shape.

Codes are those of ``riskcheck.actions.etiquette``; a result in the shop's own words that none of
them fits is kept as ``talked``, and its words as they were typed stand in ``said``.
"""

from __future__ import annotations

import re
from datetime import date

import pandas as pd

from riskcheck.actions import wishes
from riskcheck.actions.etiquette import BAY_RESULTS, RESULTS

COLUMNS = [
    "customer_id", "vehicle_id", "hazard_id", "date", "channel", "topic", "result", "note",
    "next_step", "said", "refuses",
]  # fmt: skip
CHANNELS = ("call", "text", "email", "letter")
TALKED = "talked"
KEPT_BESIDE_GONE = (*BAY_RESULTS, "booked")
UNANSWERED = frozenset({"no_answer", "message_left"})
NO_REPLY = UNANSWERED | {"sent"}  # nobody has answered, though it need not be tried again soon
_RESULT_WORDS = (
    ("opt_out", r"no more (?:calls|contact)|do not (?:call|contact)|stop (?:call|text)ing|unsub"),
    ("wrong_number", r"wrong (?:number|no|#|person|e-?mail)|disconnected|bounced|undeliverable"),
    ("sold", r"\bsold\b|scrapped|traded in|no longer (?:has|owns)|totalled|totaled"),
    ("done_elsewhere", r"elsewhere|other shop|did it (?:himself|herself|themselves)"),
    ("declined_signed", r"(?:declin|refus|said no).*sign|sign.*(?:declin|refus|said no)"),
    ("booked", r"\bbooked\b|\bappt\b|appointment|scheduled"),
    ("declined", r"declin|\bdecl\b|refus|not interested|said no|no thanks"),
    ("message_left", r"voice ?mail|left (?:a )?(?:message|msg|vm)|\blm\b|\bvm\b"),
    ("sent", r"^\s*(?:letter |text |e-?mail )?(?:sent|mailed|posted)\b"),
    ("no_answer", r"no (?:answer|reply|response)|\bn/a\b|did not pick up"),
    ("call_back", r"call(?:s|ing)? back|callback|think about|will let us know"),
)
_CHANNEL_WORDS = (
    ("text", r"text|sms|message"),
    ("email", r"mail.*@|e-?mail"),
    ("letter", r"letter|post|mail"),
    ("call", r"call|phone|tel|voice"),
)


def contact_log(
    shop_log: pd.DataFrame, remembered: pd.DataFrame | None, vehicles: pd.DataFrame, as_of: date
) -> pd.DataFrame:
    """Every contact up to ``as_of``, oldest first (``COLUMNS``; date as datetime64).

    A wish not to be contacted counts wherever it was written, in the result or in the note
    (``refuses``: the channels, "; " between); a vehicle said to be sold is the customer's only
    one, or the one that is named.

    ``shop_log``: the fleet file's own log (customer_id, vehicle_id, date, channel, topic, result,
    note).  ``remembered``: the ledger's contacts (also hazard_id; result already a code), or None.
    ``vehicles`` (vehicle_id, customer_id) names the customer where only a vehicle is given.
    """
    frames = [shop_log.reindex(columns=COLUMNS)]
    if remembered is not None and len(remembered):
        frames.append(_on_known_days(remembered, as_of).reindex(columns=COLUMNS))
    log = pd.concat(frames, ignore_index=True).astype(object)
    texts = [name for name in COLUMNS if name != "date"]
    log[texts] = log[texts].fillna("").astype(str)
    log["date"] = pd.to_datetime(log["date"]).astype("datetime64[s]")
    owner = vehicles.drop_duplicates("vehicle_id").set_index("vehicle_id")["customer_id"]
    theirs = log["vehicle_id"].map(owner).astype(object).fillna("").astype(str)
    log["customer_id"] = log["customer_id"].where(log["customer_id"].ne(""), theirs)
    log["channel"] = [channel_code(text) for text in log["channel"]]
    log = _understood(log, vehicles)
    log = log[log["date"].notna() & (log["date"] <= pd.Timestamp(as_of))]
    return log.sort_values("date", kind="stable").reset_index(drop=True)


def _on_known_days(remembered: pd.DataFrame, as_of: date) -> pd.DataFrame:
    """A row without a day, or with one to come (booked for), counts on the day it was recorded."""
    if "at" not in remembered:
        return remembered
    day, kept = (pd.to_datetime(remembered[name], errors="coerce") for name in ("date", "at"))
    return remembered.assign(
        date=day.where(day <= pd.Timestamp(as_of), kept.dt.normalize().astype(day.dtype))
    )


def _understood(log: pd.DataFrame, vehicles: pd.DataFrame) -> pd.DataFrame:
    """``log`` with results as codes, the words beside them, and what the words ask of us."""
    typed = log["result"]
    codes = [result_code(text) for text in typed]
    words = [f"{result}; {note}" for result, note in zip(typed, log["note"], strict=True)]
    refused = ["; ".join(wishes.refused_channels(text)) for text in words]
    gone = [wishes.says_gone(text) for text in words]
    result = [
        "opt_out" if no else "sold" if sold and code not in KEPT_BESIDE_GONE else code
        for code, no, sold in zip(codes, refused, gone, strict=True)
    ]
    said = typed.where(~typed.isin(RESULTS), "")
    log = log.assign(result=result, said=said, refuses=refused)
    fleet: dict[str, list[str]] = {}
    for vehicle, owner in zip(vehicles["vehicle_id"], vehicles["customer_id"], strict=True):
        fleet.setdefault(str(owner), []).append(str(vehicle))
    which = [
        own or (_the_one(fleet.get(who, []), text) if code == "sold" else "")
        for own, who, text, code in zip(
            log["vehicle_id"], log["customer_id"], words, result, strict=True
        )
    ]
    return log.assign(vehicle_id=which)


def _the_one(own: list[str], words: str) -> str:
    """The only vehicle of a customer, or the only one that the words name; "" if neither."""
    named = [v for v in own if re.search(rf"(?<!\w){re.escape(v)}(?!\w)", words, re.I)]
    found = named or own
    return found[0] if len(found) == 1 else ""


def result_code(text: str) -> str:
    """The code that a result in the shop's own words stands for; ``talked`` where none fits."""
    if text in RESULTS:
        return text
    said = text.casefold()
    for code, pattern in _RESULT_WORDS:
        if re.search(pattern, said):
            return code
    return TALKED if said.strip() else ""


def channel_code(text: str) -> str:
    """call, text, email or letter; a contact by no named channel counts as a call."""
    said = text.casefold()
    for code, pattern in _CHANNEL_WORDS:
        if re.search(pattern, said):
            return code
    return "call"
