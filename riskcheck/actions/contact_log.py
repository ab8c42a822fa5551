"""Contacts already made, from the shop's own log and from the ledger, in one shape.

Codes are those of ``riskcheck.actions.etiquette``; a result in the shop's own words that none of
them fits is kept as ``talked``: somebody was spoken to.
"""

from __future__ import annotations

import re
from datetime import date

import pandas as pd

from riskcheck.actions.etiquette import RESULTS

COLUMNS = ["customer_id", "vehicle_id", "hazard_id", "date", "channel", "topic", "result", "note"]
CHANNELS = ("call", "text", "email", "letter")
TALKED = "talked"
UNANSWERED = frozenset({"no_answer", "message_left"})
_RESULT_WORDS = (
    ("opt_out", r"no more (?:calls|contact)|do not (?:call|contact)|stop (?:call|text)ing|unsub"),
    ("wrong_number", r"wrong (?:number|no|#|person|e-?mail)|disconnected|bounced|undeliverable"),
    ("sold", r"\bsold\b|scrapped|traded in|no longer (?:has|owns)|totalled|totaled"),
    ("done_elsewhere", r"elsewhere|other shop|did it (?:himself|herself|themselves)"),
    ("declined_signed", r"(?:declin|refus|said no).*sign|sign.*(?:declin|refus|said no)"),
    ("booked", r"\bbooked\b|\bappt\b|appointment|scheduled"),
    ("declined", r"declin|\bdecl\b|refus|not interested|said no|no thanks"),
    ("message_left", r"voice ?mail|left (?:a )?(?:message|msg|vm)|\blm\b|\bvm\b"),
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

    ``shop_log``: the fleet file's own log (customer_id, vehicle_id, date, channel, topic, result,
    note).  ``remembered``: the ledger's contacts (also hazard_id; result already a code), or None.
    ``vehicles`` (vehicle_id, customer_id) names the customer where only a vehicle is given.
    """
    own = shop_log.reindex(columns=COLUMNS).assign(
        result=[result_code(str(text)) for text in shop_log["result"].fillna("")]
    )
    frames = [own]
    if remembered is not None and len(remembered):
        frames.append(remembered.reindex(columns=COLUMNS))
    log = pd.concat(frames, ignore_index=True).astype(object)
    texts = [name for name in COLUMNS if name != "date"]
    log[texts] = log[texts].fillna("").astype(str)
    log["date"] = pd.to_datetime(log["date"]).astype("datetime64[s]")
    owner = vehicles.drop_duplicates("vehicle_id").set_index("vehicle_id")["customer_id"]
    theirs = log["vehicle_id"].map(owner).astype(object).fillna("").astype(str)
    log["customer_id"] = log["customer_id"].where(log["customer_id"].ne(""), theirs)
    log["channel"] = [channel_code(text) for text in log["channel"]]
    log = log[log["date"].notna() & (log["date"] <= pd.Timestamp(as_of))]
    return log.sort_values("date", kind="stable").reset_index(drop=True)


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
