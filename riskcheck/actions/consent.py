"""Who may be contacted how: consent and refusal per channel and topic, each with its source.

A refusal without a date outranks every consent: nobody can show that the consent came later.
Otherwise the latest word counts, and on one day the refusal.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass

import pandas as pd

COLUMNS = ["customer_id", "channel", "topic", "state", "source", "date"]
# "All" never includes the letter: a safety matter may still be told once by post.
ALL = ("call", "text", "email")
YES, NO, SILENT = "yes", "no", ""
_OWN_SHEET = "customer sheet"
_SAYS_YES = frozenset({"yes", "y", "true", "1", "x", "ok"})
_SAYS_NO = frozenset({"no", "n", "false", "0", "stop"})
_REFUSED = (
    ("call", r"call|phone"),
    ("text", r"text|sms"),
    ("email", r"e-?mail"),
    ("letter", r"letter|post"),
)


@dataclass(frozen=True)
class Word:
    """The word that counts for one customer and channel: yes, no or "" (silent)."""

    state: str = SILENT
    source: str = ""
    date: str = ""


def consents(
    customers: pd.DataFrame, log: pd.DataFrame, remembered: pd.DataFrame | None = None
) -> pd.DataFrame:
    """Every consent and refusal on file (``COLUMNS``; date ISO or ""; topic "" means any).

    ``customers``: consent_call, consent_text, consent_email ("yes" | "no" | "") and opt_out in
    the shop's words.  ``log``: contacts in which a customer asked for no more calls.
    ``remembered``: the ledger's consents (channel may be "all").
    """
    rows = [*_of_customers(customers), *_of_log(log)]
    frame = pd.DataFrame(rows, columns=COLUMNS)
    if remembered is not None and len(remembered):
        spread = remembered.reindex(columns=COLUMNS).astype(object).fillna("").astype(str)
        spread = spread.assign(
            channel=spread["channel"].map(lambda name: ALL if name == "all" else (name,))
        ).explode("channel")
        frame = pd.concat([frame, spread], ignore_index=True)
    return frame.astype(str)


def of_present_owners(frame: pd.DataFrame, vehicles: pd.DataFrame) -> pd.DataFrame:
    """Without a dated yes from before the customer took over the first of their vehicles.

    It was given by somebody else under the same number.  ``vehicles``: customer_id, owner_since.
    """
    if "owner_since" not in vehicles or vehicles.empty:
        return frame
    since = pd.to_datetime(vehicles["owner_since"]).groupby(vehicles["customer_id"])
    # One vehicle held for ever (no day on file) keeps every consent.
    began = since.min().where(since.count() == since.size())
    day = pd.to_datetime(frame["date"], errors="coerce")
    old = frame["state"].eq(YES) & (day < pd.to_datetime(frame["customer_id"].map(began)))
    return frame[~old].reset_index(drop=True)


def standing(frame: pd.DataFrame, topic: str = "") -> dict[tuple[str, str], Word]:
    """The word that counts by (customer_id, channel), for one topic and for every topic.

    Only refusals are kept per topic; a consent without a topic covers them all.
    """
    own = frame[frame["topic"].isin(("", topic))]
    order = own.assign(
        weight=(own["state"].eq(NO) & own["date"].eq("")).astype(int), no=own["state"].eq(NO)
    ).sort_values(["weight", "date", "no"], kind="stable")
    return {
        (str(row["customer_id"]), str(row["channel"])): Word(
            str(row["state"]), str(row["source"]), str(row["date"])
        )
        for row in order.to_dict("records")
    }


def _of_customers(customers: pd.DataFrame) -> Iterator[tuple[str, ...]]:
    for row in customers.to_dict("records"):
        who = str(row["customer_id"])
        for channel in ALL:
            said = str(row.get(f"consent_{channel}") or "").strip().casefold()
            state = YES if said in _SAYS_YES else NO if said in _SAYS_NO else SILENT
            if state:
                yield who, channel, "", state, _OWN_SHEET, ""
        for channel in refused_channels(str(row.get("opt_out") or "")):
            yield who, channel, "", NO, _OWN_SHEET, ""


def _of_log(log: pd.DataFrame) -> Iterator[tuple[str, ...]]:
    for row in log[log["result"].eq("opt_out")].to_dict("records"):
        refused = str(row.get("refuses") or row["channel"])
        for channel in refused.split("; "):
            yield str(row["customer_id"]), channel, "", NO, "asked us", str(row["date"])[:10]


def refused_channels(opt_out: str) -> tuple[str, ...]:
    """Channels that an opt-out cell speaks of: the named ones, else all but the letter."""
    said = opt_out.strip().casefold()
    if not said or said in _SAYS_NO - {"stop"}:
        return ()
    if re.search(r"\b(?:all|any|everything|every)\b", said):
        return ALL
    named = tuple(channel for channel, pattern in _REFUSED if re.search(pattern, said))
    return named or ALL
