"""Free words typed beside a call: wishes are kept, nothing becomes "spoken to".

The sentences are invented, after how counters write (common practice, no source).
"""

from __future__ import annotations

import datetime as dt

import pandas as pd
import pytest

from riskcheck.actions.consent import ALL, consents, standing
from riskcheck.actions.contact_log import contact_log
from riskcheck.actions.contacts import _never_came
from riskcheck.actions.manners import Talk
from riskcheck.actions.wishes import refused_channels, says_gone
from riskcheck.reports.outreach_words import last_contact

AS_OF = dt.date(2026, 10, 20)
NOBODY = pd.DataFrame({"customer_id": pd.Series(dtype=object)})
VEHICLES = pd.DataFrame({"vehicle_id": ["V1", "V2", "V3"], "customer_id": ["C1", "C2", "C2"]})


@pytest.mark.parametrize(
    "said",
    ["do not call again", "Don\N{RIGHT SINGLE QUOTATION MARK}t call me", "NO MORE CALLS",
     "angry, says stop calling me", "dont text or call anymore", "asked not to be contacted",
     "stop", "take us off your list", "says quit bothering him", "please do not ever phone",
     "no calls please", "wants no more contact", "leave her alone", "unsubscribe"],
)  # fmt: skip
def test_a_wish_to_be_left_alone_is_heard(said: str) -> None:
    assert refused_channels(said) == ALL


@pytest.mark.parametrize(
    "said",
    ["did not call back", "do not call before 9", "don't call him at work, use cell", "call again",
     "will call back", "stopped by the shop", "brakes do not stop well", "don't text after 8 pm",
     "no answer", "do not let it go past spring", ""],
)  # fmt: skip
def test_other_words_are_no_such_wish(said: str) -> None:
    assert refused_channels(said) == ()


def test_a_channel_named_as_welcome_stays_open() -> None:
    assert refused_channels("don't call, text instead") == ("call", "email")


@pytest.mark.parametrize(
    ("said", "gone"),
    [("sold the truck", True), ("Truck sold", True), ("vehicle sold or gone", True), ("sold", True),
     ("traded the van in", True), ("no longer owns it", True), ("sold him new tires", False),
     ("told him about the truck", False), ("sold the brake job", False)],
)  # fmt: skip
def test_a_vehicle_that_is_gone_is_told_from_a_sale(said: str, gone: bool) -> None:
    assert says_gone(said) == gone


def remembered(*rows: tuple[str, str, str, str]) -> pd.DataFrame:
    """Contacts of the ledger as (customer, result, day, note), recorded on 2026-10-05."""
    frame = pd.DataFrame(rows, columns=["customer_id", "result", "date", "note"])
    return frame.assign(
        vehicle_id="", hazard_id="", channel="call", next_step="call_again",
        date=pd.to_datetime(frame["date"]), at="2026-10-05T17:00:00",
    )  # fmt: skip


def log_of(*rows: tuple[str, str, str, str]) -> pd.DataFrame:
    shop = pd.DataFrame(columns=["customer_id", "vehicle_id", "date", "channel", "result", "note"])
    return contact_log(shop, remembered(*rows), VEHICLES, AS_OF)


def test_words_of_ones_own_and_wishes_in_the_note_reach_the_next_list() -> None:
    log = log_of(
        ("C1", "do not call again", "2026-10-03", "angry, says stop calling me"),
        ("C2", "wants the price first", "2026-10-04", "asks for a ride"),
    )
    assert log["result"].tolist() == ["opt_out", "talked"]
    said = standing(consents(NOBODY, log))
    assert {channel: said[("C1", channel)].state for channel in ALL} == dict.fromkeys(ALL, "no")
    last = log.iloc[1].rename({"next_step": "next"}).add_prefix("last_").to_dict()
    told = last_contact({**last, "last_date": "2026-10-04"})
    assert "spoken" not in told
    assert told == (
        "Last contact 2026-10-04, call: wants the price first. Note: asks for a ride. "
        "Promised next: call again."
    )


def test_a_sold_vehicle_is_the_only_one_or_the_one_named() -> None:
    log = log_of(
        ("C1", "sold", "2026-10-03", ""),
        ("C2", "sold", "2026-10-03", ""),
        ("C2", "no answer", "2026-10-04", "sold the truck, V3"),
    )
    assert log[["vehicle_id", "result"]].values.tolist() == [
        ["V1", "sold"], ["", "sold"], ["V3", "sold"]
    ]  # fmt: skip


def test_what_was_typed_without_a_day_or_for_a_day_to_come_is_not_forgotten() -> None:
    log = log_of(("C1", "opt_out", "", ""), ("C2", "booked", "2026-11-15", ""))
    assert log["date"].tolist() == [pd.Timestamp("2026-10-05")] * 2


def test_who_booked_and_did_not_come_is_asked_about() -> None:
    booked = Talk((dt.date(2026, 10, 3),), ("booked",), ("",))
    assert _never_came(booked, None)
    assert _never_came(booked, pd.Timestamp("2026-09-01"))
    assert not _never_came(booked, pd.Timestamp("2026-10-03"))
    assert not _never_came(Talk((dt.date(2026, 10, 3),), ("declined",), ("",)), None)


def test_a_wrong_number_rests_nobody_and_a_letter_sent_is_no_answer() -> None:
    log = log_of(("C1", "wrong_number", "2026-10-19", ""), ("C1", "declined", "2026-09-01", ""))
    assert Talk.of(log.assign(topic="")).results == ("declined",)
    sent = Talk((dt.date(2026, 9, 1), dt.date(2026, 10, 3)), ("declined", "sent"), ("", ""))
    assert sent.last_refusal() == dt.date(2026, 9, 1)
