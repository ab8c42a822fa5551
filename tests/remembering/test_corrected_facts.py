"""A person's word: before any rule, with who and when, until a newer line contradicts it."""

from __future__ import annotations

import datetime as dt

import pandas as pd
import pytest
from small_shop import AS_OF, Judge

from riskcheck import assessment, reasoning, remembering, usage
from riskcheck.errors import UsageError
from riskcheck.ledger import Ledger
from riskcheck.reasoning import evidence
from riskcheck.rulebook import Rulebook

MADE = dt.datetime(2026, 10, 2, 9, 0, 0)
LATER = dt.date(2026, 12, 1)
BELT, HOSE = "timing-belt-overdue", "brake-hose-ageing"


def said(fact: str, value: str, vehicle: str = "V5") -> pd.DataFrame:
    return pd.DataFrame(
        [{"correction_id": 7, "vehicle_id": vehicle, "fact": fact, "value": value,
          "words": "cover off (jo, 2026-10-02)", "at": MADE.isoformat()}]
    )  # fmt: skip


def row(run: assessment.Assessment, vehicle: str, hazard: str) -> pd.Series:
    rows = run.exposures.set_index(["vehicle_id", "hazard_id"])
    return rows.loc[(vehicle, hazard)]


def test_a_correction_decides_what_the_record_left_open(judge: Judge, first_run):
    assert row(first_run, "V5", BELT)["status"] == "unknown"
    assert row(judge(corrections=said("timing_drive", "chain")), "V5", BELT)["status"] == (
        "not_applicable"
    )
    fixed = judge(corrections=said("timing_drive", "dry_belt"))
    sources = fixed.reasoning.evidence.provenance
    own = sources[(sources["vehicle_id"] == "V5") & (sources["file"] == "ledger")].iloc[0]
    assert own["words"] == "recorded correction: cover off (jo, 2026-10-02)"
    assert (own["value_words"], own["date"]) == ("dry_belt", "2026-10-02")


def test_it_outranks_the_sheet(judge: Judge, first_run):
    assert row(first_run, "V6", BELT)["status"] == "exposed"
    assert row(judge(corrections=said("timing_drive", "chain", "V6")), "V6", BELT)["status"] == (
        "not_applicable"
    )


def test_the_live_chain_of_rules_sees_it_too(judge: Judge):
    fixed = judge(corrections=said("timing_drive", "chain", "V6"))
    trace = reasoning.chain(BELT, "V6", fixed.reasoning)
    assert "applies" not in [step.finding for step in trace.fired]


def test_it_lapses_when_a_newer_line_contradicts_it(judge: Judge):
    word = said("brake_hose_found_bad", "no", "V2")
    fixed = judge(corrections=word, as_of=LATER)
    assert row(fixed, "V2", HOSE)["evidence"] == "none"
    assert fixed.reasoning.evidence.expired.empty
    lines = [("V2", "2026-11-05", 123000, "brake hose LF found cracked")]
    again = judge(corrections=word, as_of=LATER, more_lines=lines)
    assert row(again, "V2", HOSE)["evidence"] == "confirmed"
    expired = again.reasoning.evidence.expired
    assert expired[["correction_id", "vehicle_id", "ended_by"]].values.tolist() == [
        [7, "V2", "contradicted by the record of 2026-11-05"]
    ]


@pytest.mark.parametrize(
    ("day", "words"),
    [
        ("2026-11-05", "oil change"),  # newer, but about something else
        ("2026-11-05", "inspected brake hoses, all good"),  # newer, and of the same opinion
        ("2026-09-20", "brake hose LF found cracked"),  # older than the correction
        ("2026-10-02", "brake hose LF found cracked"),  # the same day: the person knew of it
    ],
)
def test_it_stands_against_anything_else(judge: Judge, day: str, words: str):
    fixed = judge(
        corrections=said("brake_hose_found_bad", "no", "V2"),
        as_of=LATER,
        more_lines=[("V2", day, 123000, words)],
    )
    assert fixed.reasoning.evidence.expired.empty
    assert row(fixed, "V2", HOSE)["evidence"] == "none"


def evidence_of(
    run: assessment.Assessment, facts: list[str], as_of: dt.date, word: pd.DataFrame
) -> evidence.Evidence:
    book, fleet = run.rulebook, run.fleet
    clocks = usage.clocks(fleet.vehicles, fleet.readings, fleet.events, book.policy, as_of)
    return evidence.build(fleet, clocks, book, as_of, facts=facts, corrections=word)


def test_years_since_a_job_go_on_counting(first_run):
    word = said("years_since_brake_hoses", "1", "V1")
    two_years_on = dt.date(2028, 10, 1)
    found = evidence_of(first_run, ["years_since_brake_hoses"], two_years_on, word)
    assert found.words_of("years_since_brake_hoses", 0) == "3 y"


def test_what_is_computed_from_a_corrected_fact_follows_it(first_run):
    # 120 A through 4 mm2 is 30 A/mm2, by division.
    word = pd.concat(
        [said("heater_rated_current_a", "120", "V1"), said("strap_section_mm2", "4", "V1")]
    )
    found = evidence_of(first_run, ["strap_amps_per_mm2"], AS_OF, word)
    assert found.words_of("strap_amps_per_mm2", 0) == "30 A/mm2"


def test_a_statement_must_fit_the_vocabulary(ledger: Ledger, rules: Rulebook):
    def state(text: str, because: str = "seen") -> None:
        remembering.record_statement(ledger, rules, "V1", text, because, at=MADE, by="jo")

    for wrong, told in {
        "timing_drive": "of the form",
        "timing_drive=": "of the form",
        "timing_driv=chain": "timing_drive",
        "timing_drive=rope": "chain",
        "interference_engine=perhaps": "true or false",
        "years_since_brake_hoses=200": "outside the range",
        "strap_section_mm2=big": "number",
    }.items():
        with pytest.raises(UsageError, match=told):
            state(wrong)
    with pytest.raises(UsageError, match="because"):
        state("timing_drive=chain", "  ")
    assert ledger.corrections().empty
    state("timing_drive=Dry Belt")
    state("interference_engine=Y")
    state("years_since_brake_hoses=2.5")
    live = ledger.corrections()
    assert live["value"].tolist() == ["dry_belt", "yes", "2.5"]
