"""Consent per channel: every combination is tried, and the law's lines are held in each.

47 CFR 64.1200(a)(1)-(3): no text by machine without consent; (a)(10): a refusal in any reasonable
way counts; (f)(5): 18 months from a purchase.  A reading of regulations, not legal advice.
"""

from __future__ import annotations

import datetime as dt
import itertools

import pandas as pd
import pytest

from riskcheck.actions.channels import Choice, Reach, choose, established_since
from riskcheck.actions.consent import (
    ALL,
    COLUMNS,
    consents,
    of_present_owners,
    refused_channels,
    standing,
)
from riskcheck.actions.contact_log import COLUMNS as LOG_COLUMNS

AS_OF = dt.date(2026, 10, 1)
SINCE = established_since(AS_OF, 18)
NO_LOG = pd.DataFrame({name: pd.Series(dtype=object) for name in LOG_COLUMNS})
STATES = ("yes", "no", "")
NEEDS = ("safety", "ours", "declined", "book", "look")


def customer(call: str = "", text: str = "", email: str = "", opt_out: str = "") -> pd.DataFrame:
    return pd.DataFrame(
        [{"customer_id": "C1", "consent_call": call, "consent_text": text, "consent_email": email,
          "opt_out": opt_out}]
    )  # fmt: skip


def choice(
    who: pd.DataFrame, need: str, *, last_visit: dt.date | None = AS_OF, address: str = "1 Lane"
) -> Choice:
    addresses = {"call": "+1", "text": "+1", "email": "a@example.org", "letter": address}
    reach = Reach("C1", addresses, is_fleet=False, notes="", last_visit=last_visit)
    return choose(reach, need, standing(consents(who, NO_LOG)), SINCE)


@pytest.mark.parametrize("need", NEEDS)
@pytest.mark.parametrize("opt_out", ["", "x", "no calls please", "text", "all"])
def test_no_combination_crosses_the_lines(need: str, opt_out: str) -> None:
    for call, text, email in itertools.product(STATES, repeat=3):
        for visit in (AS_OF, None):
            made = choice(customer(call, text, email, opt_out), need, last_visit=visit)
            refused = refused_channels(opt_out)
            if made.channel == "text":
                assert text == "yes"
                assert "text" not in refused
                assert made.word.source == "customer sheet"
            if made.channel == "email":
                assert email != "no"
                assert email == "yes" or need in ("safety", "ours")
                assert "email" not in refused
            if made.channel == "call":
                assert call != "no"
                assert "call" not in refused
                assert visit or call == "yes" or need in ("safety", "ours")
            if made.channel == "letter" and need not in ("safety", "ours"):
                assert (call, text, email) != ("no", "no", "no")
                assert refused != ALL
            if need in ("safety", "ours"):
                assert made.channel != "none"  # a letter is always left for these


@pytest.mark.parametrize("need", ["safety", "ours"])
def test_a_duty_is_told_by_letter_where_calls_were_refused(need: str) -> None:
    assert choice(customer(opt_out="all"), need).channel == "letter"


def test_a_sale_is_not_made_to_someone_who_refused_everything() -> None:
    for who in (customer("no", "no", "no"), customer(opt_out="x")):
        made = choice(who, "book")
        assert (made.channel, made.reason) == ("none", "opted_out")


def test_an_old_customer_is_not_called_without_consent() -> None:
    long_ago = SINCE - dt.timedelta(days=1)
    made = choice(customer(), "book", last_visit=long_ago, address="")
    assert (made.channel, made.reason) == ("none", "long_ago")
    assert choice(customer("yes"), "book", last_visit=long_ago).channel == "call"
    assert choice(customer(), "book", last_visit=SINCE).channel == "call"


def remembered(*rows: tuple[str, str, str]) -> pd.DataFrame:
    """Ledger consents as (channel, state, date)."""
    return pd.DataFrame(
        [("C1", channel, "", state, "asked us", date) for channel, state, date in rows],
        columns=COLUMNS,
    )


@pytest.mark.parametrize(
    ("rows", "sheet", "expected"),
    [
        ([("text", "yes", "2026-01-01"), ("text", "no", "2026-02-01")], "", "no"),
        ([("text", "no", "2026-01-01"), ("text", "yes", "2026-02-01")], "", "yes"),
        ([("text", "no", "2026-02-01"), ("text", "yes", "2026-02-01")], "", "no"),
        ([("text", "yes", "2026-02-01")], "no", "no"),  # nobody can show which came later
        ([("all", "no", "2026-02-01")], "yes", "no"),
        ([], "yes", "yes"),
        ([], "", ""),
    ],
)
def test_the_word_that_counts(rows: list[tuple[str, str, str]], sheet: str, expected: str) -> None:
    said = standing(consents(customer(text=sheet), NO_LOG, remembered(*rows)))
    found = said.get(("C1", "text"))
    assert (found.state if found else "") == expected


def test_a_contact_in_which_someone_asked_for_no_more_counts_as_a_refusal() -> None:
    log = pd.DataFrame(
        [("C1", "", "", pd.Timestamp("2026-05-01"), "text", "", "opt_out", "")],
        columns=LOG_COLUMNS[:8],
    )
    said = standing(consents(customer(text="yes"), log))[("C1", "text")]
    assert (said.state, said.source, said.date) == ("no", "asked us", "2026-05-01")


@pytest.mark.parametrize(
    ("cell", "channels"),
    [("", ()), ("no", ()), ("x", ALL), ("yes", ALL), ("STOP", ALL), ("no calls please", ("call",)),
     ("texts", ("text",)), ("all", ALL), ("e-mail and phone", ("call", "email")),
     ("post", ("letter",))],
)  # fmt: skip
def test_an_opt_out_cell_is_read_by_its_words(cell: str, channels: tuple[str, ...]) -> None:
    assert refused_channels(cell) == channels


def test_a_consent_from_before_the_present_owner_does_not_hold() -> None:
    said = consents(customer(), NO_LOG, remembered(("text", "yes", "2026-01-01")))
    took_over = pd.DataFrame({"customer_id": ["C1"], "owner_since": [pd.Timestamp("2026-03-01")]})
    assert standing(of_present_owners(said, took_over)) == {}
    earlier = took_over.assign(owner_since=pd.Timestamp("2025-12-31"))
    assert standing(of_present_owners(said, earlier))[("C1", "text")].state == "yes"
    also_kept = pd.concat([took_over, took_over.assign(owner_since=pd.NaT)])
    assert standing(of_present_owners(said, also_kept))[("C1", "text")].state == "yes"
    refusal = consents(customer(), NO_LOG, remembered(("text", "no", "2026-01-01")))
    assert standing(of_present_owners(refusal, took_over))[("C1", "text")].state == "no"


def test_all_never_includes_the_letter() -> None:
    assert "letter" not in ALL
