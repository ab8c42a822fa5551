"""New, gone, moved and why; the letter that takes back; what came of the calls.

Each change below is brought about on purpose, so the expected reason is known without riskcheck.
"""

from __future__ import annotations

import datetime as dt
import re
from dataclasses import replace

import pytest
from small_shop import AS_OF, Judge

from riskcheck import calm, remembering, rulebook
from riskcheck.actions.etiquette import RESULTS
from riskcheck.errors import UsageError
from riskcheck.ledger import Correction, Ledger, Outcome, TypedCell
from riskcheck.ledger.running import HEARD
from riskcheck.remembering.tally import NOT_REACHED
from riskcheck.reports import changes_text, withdrawal
from riskcheck.rulebook import Rulebook

AT = dt.datetime(2026, 10, 5, 9, 0, 0)
BELT, HOSE = "timing-belt-overdue", "brake-hose-ageing"


def reached(ledger: Ledger, customer: str, result: str = "declined") -> None:
    """Somebody was told: a result in the customer's call row."""
    issued = ledger.issued()
    call = issued[(issued["customer_id"] == customer) & (issued["vehicle_id"] == "")].iloc[0]
    cell = TypedCell(call["run_id"], call["row_key"], "Result", "one", result, result)
    ledger.record_typed([cell], [], source="outreach.xlsx", at=AT, by="jo")


def why(changes: remembering.Changes) -> dict[tuple[str, str], tuple[str, str]]:
    rows = changes.rows
    return {
        (row.vehicle_id, row.hazard_id): (row.change, row.because)
        for row in rows.itertuples(index=False)
    }


def test_the_same_day_again_changes_nothing(ledger: Ledger, judge: Judge):
    found = remembering.changes(ledger, judge(as_of=AS_OF + dt.timedelta(days=1)))
    assert found.rows.empty
    assert "nothing moved" in " ".join(changes_text.changed(found, judge()))


def test_a_new_line_makes_something_new_and_is_the_reason(ledger: Ledger, judge: Judge):
    lines = [("V4", "2026-10-03", 88100, "brake hose RF found bulging, declined")]
    run = judge(more_lines=lines, as_of=dt.date(2026, 10, 6))
    assert why(remembering.changes(ledger, run)) == {("V4", HOSE): ("new", "evidence")}


def test_a_job_that_was_done_is_gone_by_the_evidence(ledger: Ledger, judge: Judge):
    lines = [("V6", "2026-10-03", 183100, "replaced all brake hoses, no leaks at test")]
    run = judge(more_lines=lines, as_of=dt.date(2026, 10, 6))
    found = remembering.changes(ledger, run)
    assert why(found)[("V6", HOSE)] == ("gone", "evidence")
    assert found.withdrawals.empty, "work done is no reason to take anything back"


def test_a_correction_is_the_reason_and_drafts_the_letter_only_to_who_was_told(
    ledger: Ledger, judge: Judge
):
    for vehicle, fact, value in (("V2", "brake_hose_found_bad", False),
                                 ("V5", "timing_drive", "chain")):  # fmt: skip
        ledger.add_correction(Correction(vehicle, fact, value, "seen"), at=AT, by="jo")
    day = dt.date(2026, 10, 6)
    run = judge(corrections=ledger.corrections(day), as_of=day)
    found = remembering.changes(ledger, run)
    assert why(found)[("V5", BELT)] == ("gone", "correction")
    assert why(found)[("V2", HOSE)][1] == "correction"
    assert found.withdrawals.empty, "nobody was told"
    reached(ledger, "C1")
    found = remembering.changes(ledger, run)
    assert found.withdrawals["vehicle_id"].tolist() == ["V2"]
    (draft,) = withdrawal.drafts(found, run)
    assert draft.name == "Ada Quillfen"
    assert "Dear Ada Quillfen," in draft.text
    assert "that our record said it had been found" in draft.text
    assert "put our own record right" in draft.text
    expected = r"we expect it on (about|fewer than) [\d,]+ of 1,?000? such vehicles"
    assert re.search(expected, draft.text), draft.text
    assert (draft.faults, calm.faults(draft.text)) == ((), ())
    assert all(len(line) <= 80 for line in withdrawal.lines([draft]))


def test_a_letter_about_what_does_not_apply_names_the_feature(ledger: Ledger, judge: Judge):
    reached(ledger, "C1")
    ledger.add_correction(Correction("V1", "hydraulic_brakes", False, "air"), at=AT, by="jo")
    day = dt.date(2026, 10, 6)
    run = judge(corrections=ledger.corrections(day), as_of=day)
    (draft,) = withdrawal.drafts(remembering.changes(ledger, run), run)
    meaning = run.rulebook.vocabulary["hydraulic_brakes"].meaning
    assert f'"{meaning}": no' in draft.text
    assert "does not concern your vehicle" in draft.text


def test_undoing_a_correction_is_a_correction_too(ledger: Ledger, judge: Judge):
    ledger.add_correction(Correction("V5", "timing_drive", "chain", "seen"), at=AT, by="jo")
    day = dt.date(2026, 10, 6)
    run = judge(corrections=ledger.corrections(day), as_of=day)
    remembering.note_run(ledger, run, at=AT)
    ledger.undo(at=AT)
    later = judge(as_of=dt.date(2026, 10, 7))
    assert why(remembering.changes(ledger, later)) == {("V5", BELT): ("new", "correction")}


def test_a_changed_rule_is_the_reason_and_takes_back_what_it_lowers(
    ledger: Ledger, judge: Judge, rules: Rulebook
):
    reached(ledger, "C1")
    hazard = rules.hazards[HOSE]
    clocks = [
        clock.model_copy(
            update={"b10": replace(b10, value=b10.value * 3, low=b10.low * 3, high=b10.high * 3)}
        )
        for clock in hazard.life.clocks
        for b10 in (clock.b10,)
    ]
    life = hazard.life.model_copy(update={"clocks": clocks})
    longer = hazard.model_copy(update={"life": life})
    book = replace(rules, hazards={**rules.hazards, HOSE: longer}, digest="changed")
    run = judge(book=book, as_of=dt.date(2026, 10, 6))
    found = remembering.changes(ledger, run)
    assert set(found.rows.loc[found.rows["hazard_id"] == HOSE, "because"]) == {"rules"}
    assert "rules" not in set(found.rows.loc[found.rows["hazard_id"] != HOSE, "because"])
    lowered = found.withdrawals[["vehicle_id", "hazard_id", "because"]].values.tolist()
    assert lowered == [["V1", HOSE, "rules"]], "what was found on V2 is no matter of its life"
    text = withdrawal.drafts(found, run)[0].text
    assert "put right how we estimate this" in text
    assert calm.faults(text) == ()


def test_time_alone_is_called_time(ledger: Ledger, judge: Judge):
    run = judge(as_of=dt.date(2028, 10, 1))
    reasons = set(remembering.changes(ledger, run).rows["because"])
    assert reasons == {"clock"}


def test_a_vehicle_that_left_or_came_is_said_to(ledger: Ledger, judge: Judge):
    run = judge(as_of=dt.date(2026, 10, 6))
    there = run.exposures["vehicle_id"] != "V6"
    gone = remembering.changes(ledger, replace(run, exposures=run.exposures[there]))
    assert {because for _, because in why(gone).values()} == {"vehicle_gone"}
    remembering.note_run(ledger, replace(run, exposures=run.exposures[there]), at=AT)
    back = remembering.changes(ledger, judge(as_of=dt.date(2026, 10, 7)))
    assert {because for _, because in why(back).values()} == {"vehicle_new"}


def test_an_earlier_run_is_named_by_day_or_number(ledger: Ledger, judge: Judge):
    later = judge(as_of=dt.date(2026, 11, 1))
    number = remembering.note_run(ledger, later, at=AT)
    today = dt.date(2026, 11, 1)
    assert remembering.earlier_run(ledger, as_of=today)["run_id"] == number
    assert remembering.earlier_run(ledger, "2026-10-15", as_of=today)["as_of"].date() == AS_OF
    assert remembering.earlier_run(ledger, number, as_of=today)["run_id"] == number
    # A run judged by an earlier day is not compared with its own future.
    assert remembering.earlier_run(ledger, as_of=dt.date(2026, 10, 15))["as_of"].date() == AS_OF
    for wrong in ("2026-09-01", "yesterday", "abc"):
        with pytest.raises(UsageError):
            remembering.earlier_run(ledger, wrong, as_of=today)


# Newcombe, Statistics in Medicine 17 (1998) 857-872, table I, method 3 (the score interval without
# continuity correction), 95 %; 3/10 and 0/10: R's prop.test as in scipy's own tests.
WILSON = [
    (81, 263, 0.95, 0.2553, 0.3662),
    (15, 148, 0.95, 0.0624, 0.1605),
    (0, 20, 0.95, 0.0, 0.1611),
    (1, 29, 0.95, 0.0061, 0.1718),
    (3, 10, 0.95, 0.1077913, 0.6032219),
    (0, 10, 0.95, 0.0, 0.2775328),
]


@pytest.mark.parametrize(("found", "looks", "level", "low", "high"), WILSON)
def test_the_score_interval_is_the_published_one(found, looks, level, low, high):
    assert remembering.wilson(found, looks, level) == pytest.approx((low, high), abs=6e-5)


def test_nothing_looked_at_says_nothing():
    assert remembering.wilson(0, 0) == (0.0, 1.0)


def test_after_two_weeks_it_can_say_what_came_of_it(ledger: Ledger, judge: Judge):
    reached(ledger, "C1", "booked")
    reached(ledger, "C3", "no_answer")
    day = dt.date(2026, 10, 12)
    for vehicle, outcome, hours in (("V1", "not_found", 0.4), ("V3", "found", 0.6),
                                    ("V7", "other", None)):  # fmt: skip
        find = Outcome(vehicle, HOSE, day, outcome, hours)
        ledger.add_outcome(find, at=AT, by="jo")
    ledger.add_outcome(Outcome("V99", HOSE, day, "found", None), at=AT, by="jo")
    ledger.add_outcome(Outcome("V1", HOSE, day + dt.timedelta(90), "found"), at=AT, by="jo")
    hazards = rulebook.load(rulebook.shipped_dir()).hazards
    counted = remembering.tally(ledger, AS_OF, dt.date(2026, 10, 15), hazards)
    assert (counted.calls, counted.reached, counted.booked) == (2, 1, 1)
    assert counted.outcomes == {"found": 2, "not_found": 1, "other": 1}
    assert (counted.hours, counted.without_hours) == (1.0, 2)
    rate = counted.rate
    assert (rate.found, rate.looks, rate.compared, rate.compared_found) == (2, 4, 3, 1)
    then = ledger.snapshot(ledger.runs()["run_id"].iloc[0])
    chances = then[then["hazard_id"] == HOSE].set_index("vehicle_id")["probability_now"]
    # A look finds what is there, times the share of faults that such a look finds.
    finds = hazards[HOSE].look.finds.value
    assert 0.0 < finds < 1.0
    assert rate.expected == pytest.approx(finds * chances[["V1", "V3", "V7"]].sum())
    lines = changes_text.came_of(counted)
    assert any("2 contacts, 1 reached" in line for line in lines)
    assert any("Wilson 1927" in line for line in lines)
    assert all(len(line) <= 80 for line in lines)
    assert calm.faults(" ".join(lines)) == ()
    nothing = remembering.tally(ledger, dt.date(2020, 1, 1), dt.date(2020, 2, 1), hazards)
    assert "Nothing has been recorded" in " ".join(changes_text.came_of(nothing))


def test_an_estimate_that_is_far_off_is_said_to_be():
    def rate(found: int, looks: int, expected: float) -> remembering.Rate:
        return remembering.Rate(found, looks, 0.0, 1.0, looks, found, expected)

    assert rate(1, 40, 20.0).verdict == "above"
    assert rate(30, 40, 4.0).verdict == "below"
    assert rate(4, 40, 4.4).verdict == "within"
    assert rate(0, 0, 0.0).verdict == ""


def test_every_result_says_whether_somebody_was_reached_and_told() -> None:
    """Reached but told nothing: who asked for no more calls, or has sold the vehicle."""
    not_told = {"opt_out", "sold"}
    assert set(RESULTS) <= HEARD | NOT_REACHED | not_told
    assert not HEARD - set(RESULTS)
    assert not HEARD & (NOT_REACHED | not_told)


@pytest.mark.parametrize(
    ("change", "before", "today", "said"),
    [("up", 280, 276, "place 280 -> 276"), ("up", 276, 280, "more pressing"),
     ("down", 3, 9, "place 3 -> 9"), ("down", 9, 3, "less pressing"),
     ("up", 4, 4, "more pressing")],
)  # fmt: skip
def test_up_is_never_shown_as_a_place_further_down(change: str, before: int, today: int, said: str):
    row = {"change": change, "rank_before": before, "rank_today": today}
    assert said in changes_text._moved_place(row)
