"""What goes in comes out again: runs, contacts, corrections, outcomes, consents, on both databases.

All expected values are written by hand from the rows in ``ledger_samples``.
"""

from __future__ import annotations

import datetime as dt

import pandas as pd
import pytest
from ledger_samples import AS_OF, AT, RUN, cell, record, snapshot

from riskcheck.ledger import Consent, Correction, Ledger, LooseRow, Outcome, Run


def test_a_run_comes_back_as_known_then(filled: Ledger):
    back = filled.snapshot(RUN)
    assert back[["vehicle_id", "hazard_id"]].values.tolist() == [
        ["V1", "battery-age-parasitic"], ["V1", "brake-hose-ageing"], ["V2", "brake-hose-ageing"],
    ]  # fmt: skip
    assert back["tier"].tolist() == [6, 3, 1]
    assert back["probability_high"].tolist() == [0.6, 0.2, 0.8]
    assert back["act_by_date"].isna().tolist() == [True, False, False]
    assert back["listed"].tolist() == [False, True, True]
    assert not back["told"].any()
    runs = filled.runs()
    assert runs["run_id"].tolist() == [RUN]
    assert runs["as_of"].dt.date.tolist() == [AS_OF]


def test_the_same_run_again_replaces_itself_and_others_stay(filled: Ledger):
    run = Run(RUN, AT, AS_OF, 12, "fleet.xlsx", "f", "d")
    filled.record_run(run, snapshot(tier=[2, 2, 2]))
    filled.record_run(Run("ffffffffffff", AT, AS_OF, 12, "fleet.xlsx", "f", "d"), snapshot())
    assert filled.runs()["run_id"].tolist() == [RUN, "ffffffffffff"]
    assert filled.snapshot(RUN)["tier"].tolist() == [2, 2, 2]


def test_a_typed_row_is_a_contact_with_its_meaning(filled: Ledger):
    record(
        filled,
        cell("k-c1", "Result", "said no for now", meaning="declined"),
        cell("k-c1", "Date", "10/3/2026", meaning="2026-10-03"),
        cell("k-c1", "Note", "wants a price\nby letter"),
        cell("k-c1", "Next step", "send a letter", meaning="letter"),
        cell("k-c1", "Phone", "555 0199"),
    )
    row = filled.contacts().iloc[0]
    assert row["customer_id"] == "C1"
    assert row["result"] == "declined"
    assert row["date"] == pd.Timestamp(2026, 10, 3)
    assert row["note"] == "wants a price\nby letter"
    assert row["next_step"] == "letter"
    assert row["words"] == "Phone: 555 0199"
    assert (row["by"], row["at"]) == ("jo", "2026-10-02T09:00:00")
    assert filled.promises()["due"].tolist() == [pd.Timestamp(2026, 10, 3)]


def test_a_day_that_is_not_understood_stays_as_typed(filled: Ledger):
    record(filled, cell("k-c1", "Date", "after harvest"))
    assert filled.contacts()["date"].isna().all()
    assert filled.typed()["value"].tolist() == ["after harvest"]


def test_recording_twice_doubles_nothing(filled: Ledger):
    cells = (cell("k-c1", "Note", "called"), cell("k-c1", "Result", "booked", meaning="booked"))
    row = LooseRow(RUN, "Call to book", "added", {"Note": "and my cousin"})
    assert record(filled, *cells, loose=(row,)).count("new") == 2
    digest = filled.digest()
    again = record(filled, *cells, loose=(row,))
    assert (again.count("same"), again.loose_added) == (2, 0)
    assert filled.digest() == digest
    assert not filled.unrecorded(cells, [row])
    assert filled.unrecorded([cell("k-c2", "Note", "x")], [])


def test_a_blank_erases_nothing(filled: Ledger):
    record(filled, cell("k-c1", "Note", "called"))
    record(filled, cell("k-c1", "Note", "  "))
    assert filled.contacts()["note"].tolist() == ["called"]


def test_later_words_of_the_same_copy_follow_and_history_stays(filled: Ledger):
    record(filled, cell("k-c1", "Result", "no answer", meaning="no_answer"))
    done = record(filled, cell("k-c1", "Result", "booked", meaning="booked"))
    assert done.count("revised") == 1
    assert filled.contacts()["result"].tolist() == ["booked"]
    assert filled.typed()["value"].tolist() == ["no answer", "booked"]
    record(filled, cell("k-c1", "Result", "no answer", meaning="no_answer"))
    assert filled.contacts()["result"].tolist() == ["no_answer"]


def test_two_copies_merge_cell_by_cell_and_keep_both_sides_of_a_conflict(filled: Ledger):
    record(
        filled,
        cell("k-c1", "Result", "booked", "one", "booked"),
        cell("k-c1", "Note", "Tuesday", "one"),
        cell("k-c2", "Note", "left word", "two"),
        cell("k-c1", "Result", "said no for now", "two", "declined"),
        cell("k-c1", "Note", "Tuesday", "two"),
    )
    assert filled.conflicts()[["row_key", "heading", "values"]].values.tolist() == [
        ["k-c1", "Result", "booked | said no for now"]
    ]
    contacts = filled.contacts().set_index("row_key")
    assert contacts["conflict"].to_dict() == {"k-c1": True, "k-c2": False}
    assert contacts.loc["k-c2", "note"] == "left word"
    record(filled, cell("k-c1", "Result", "booked", "two", "booked"))
    assert filled.conflicts().empty


def test_an_older_state_of_a_copy_is_no_second_opinion(filled: Ledger):
    record(filled, cell("k-c1", "Note", "left word", "one"))
    record(filled, cell("k-c1", "Note", "left word, called back", "one"))
    assert record(filled, cell("k-c1", "Note", "left word", "two")).count("same") == 1
    assert filled.conflicts().empty


def test_an_added_row_that_names_a_customer_is_a_contact(filled: Ledger):
    row = LooseRow(
        RUN, "Call to book", "added", {"Customer": "C2", "Result": "booked", "Note": "walked in"},
        "C2", "", {"Result": "booked"},
    )  # fmt: skip
    record(filled, loose=(row,))
    contact = filled.contacts().iloc[0]
    assert (contact["customer_id"], contact["result"], contact["kind"]) == ("C2", "booked", "added")
    more = LooseRow(RUN, "Call to book", "added", {**row.cells, "Next step": "estimate"}, "C2")
    record(filled, loose=(more,))
    assert len(filled.loose_rows()) == 1, "a row that was filled in further is still one row"


def test_told_means_that_somebody_heard_it(filled: Ledger):
    record(filled, cell("k-c1", "Result", "left a message", meaning="message_left"))
    assert not filled.snapshot(RUN)["told"].any()
    record(filled, cell("k-c1", "Result", "said no for now", meaning="declined"))
    told = filled.snapshot(RUN).set_index("vehicle_id")["told"]
    assert told["V1"].all()
    assert not told["V2"]


def test_a_correction_has_an_author_a_reason_and_an_end(ledger: Ledger):
    ledger.add_correction(Correction("V1", "fuel", "diesel", "filler flap"), at=AT, by="jo")
    ledger.add_correction(Correction("V1", "road_salt", True, "island"), at=AT, by="al")
    last = ledger.add_correction(Correction("V1", "fuel", "petrol", "registration"), at=AT, by="al")
    live = ledger.corrections(AS_OF + dt.timedelta(days=1))
    assert live[["fact", "value", "by"]].values.tolist() == [
        ["road_salt", "yes", "al"], ["fuel", "petrol", "al"],
    ]  # fmt: skip
    assert live["words"].tolist()[1] == "registration (al, 2026-10-02)"
    assert ledger.corrections(AS_OF).empty, "made on 2 October, not known on the 1st"
    ended = pd.DataFrame({"correction_id": [last], "ended_by": ["newer line of 2026-11-01"]})
    ledger.end_corrections(ended, at=AT)
    assert ledger.corrections()["fact"].tolist() == ["road_salt"], "an ended word revives no other"


def test_undo_takes_back_the_last_and_then_the_one_before(filled: Ledger):
    filled.add_correction(Correction("V1", "fuel", "diesel", "flap"), at=AT, by="jo")
    cells = [cell("k-c1", "Note", "called")]
    record(filled, *cells)
    assert "outreach.xlsx" in str(filled.undo(at=AT))
    assert filled.contacts().empty
    assert "V1 fuel=diesel" in str(filled.undo(at=AT))
    assert filled.corrections().empty
    assert filled.undo(at=AT) is None
    assert record(filled, *cells).count("new") == 1, "taken back, it may be recorded again"


def test_outcomes_come_from_the_bay_and_from_the_sheet(filled: Ledger):
    seen = Outcome("V2", "brake-hose-ageing", dt.date(2026, 10, 9), "not_found", 0.4)
    filled.add_outcome(seen, at=AT, by="jo")
    record(
        filled,
        cell("k-v1h", "Result", "looked: found", meaning="found"),
        cell("k-v1h", "Date", "2026-10-08", meaning="2026-10-08"),
        cell("k-c2", "Result", "looked: found", meaning="found"),
    )
    found = filled.outcomes()
    assert found[["vehicle_id", "hazard_id", "outcome"]].values.tolist() == [
        ["V1", "brake-hose-ageing", "found"], ["V2", "brake-hose-ageing", "not_found"],
    ]  # fmt: skip
    assert found["hours"].isna().tolist() == [True, False]
    assert found["date"].dt.day.tolist() == [8, 9]


def test_consents_and_holdouts_are_kept(filled: Ledger):
    filled.add_consent(Consent("C1", "call", False, AS_OF, "on the phone"), at=AT, by="jo")
    assert filled.consents()[["customer_id", "channel", "state"]].values.tolist() == [
        ["C1", "call", "no"]
    ]
    pairs = pd.DataFrame({"vehicle_id": ["V1"], "hazard_id": ["brake-hose-ageing"]})
    filled.record_holdout(RUN, pairs)
    filled.record_holdout(RUN, pairs)
    assert filled.holdout()["vehicle_id"].tolist() == ["V1"]


def test_empty_ledgers_give_empty_frames_with_their_columns(ledger: Ledger):
    assert "row_key" in ledger.contacts()
    assert "conflict" in ledger.contacts()
    assert list(ledger.outcomes().columns)[:3] == ["vehicle_id", "hazard_id", "date"]
    for frame in (ledger.runs(), ledger.promises(), ledger.corrections(), ledger.consents(),
                  ledger.holdout(), ledger.loose_rows(), ledger.conflicts()):  # fmt: skip
        assert frame.empty


def test_the_digest_is_of_what_people_said_not_of_runs(ledger: Ledger):
    before = ledger.digest()
    ledger.record_run(Run(RUN, AT, AS_OF, 12, "fleet.xlsx", "f", "d"), snapshot())
    assert ledger.digest() == before
    ledger.add_correction(Correction("V1", "fuel", "diesel", "flap"), at=AT, by="jo")
    assert ledger.digest() != before


@pytest.mark.parametrize("text", ["=1+1", "@x", "Robert'); DROP TABLE typed;--", "ß\u20ac\n\ttab"])
def test_any_text_comes_back_unchanged(filled: Ledger, text: str):
    record(filled, cell("k-c1", "Note", text))
    assert filled.contacts()["note"].tolist() == [text]
