"""Ranges that inform nobody, and those who cannot hear a telephone.

The limit of 80 of 100 and the words of notes are common practice, no source.
"""

from __future__ import annotations

import datetime as dt

import pytest

from riskcheck.actions.channels import Reach, choose
from riskcheck.actions.consent import Word
from riskcheck.reports import chances, owner
from riskcheck.rulebook import load, shipped_dir

HAZARDS = load(shipped_dir()).hazards


def row(low: float, high: float) -> dict[str, object]:
    return {
        "evidence": "none", "findings": "", "probability": 0.4, "probability_low": low,
        "probability_high": high, "exposed_weight": 1.0, "probability_now": 0.3, "x_now_low": low,
        "x_now_high": high, "x_unseen": 0.0, "x_use_wide": 0.0, "x_last_good_look": "",
    }  # fmt: skip


@pytest.mark.parametrize("hazard_id", sorted(HAZARDS))
def test_a_range_that_says_nothing_is_not_told(hazard_id: str) -> None:
    hazard = HAZARDS[hazard_id]
    wide, narrow = row(0.0, 1.0), row(0.1, 0.6)
    for said in (chances.chance(wide, hazard, 12), owner.sentence(wide, hazard, 12)):
        assert "not known" in said
        assert " of 100" not in said
        if hazard.look is not None:
            assert f"{hazard.look.minutes.value:g} min" in said
    assert "10 to 60" in chances.chance(narrow, hazard, 12)


@pytest.mark.parametrize("note", ["text pls", "Hard of hearing", "prefers texts", "txt only"])
@pytest.mark.parametrize("need", ["safety", "book"])
def test_who_asks_for_text_is_texted_where_a_consent_is_on_file(note: str, need: str) -> None:
    addresses = {"call": "+14065550100", "text": "+14065550100", "email": "", "letter": "1 Lane"}
    reach = Reach("C1", addresses, False, note, dt.date(2026, 9, 1))
    yes = {("C1", "text"): Word("yes", "form", "2026-01-01")}
    since = dt.date(2025, 4, 1)
    assert choose(reach, need, yes, since).channel == "text"
    assert choose(reach, need, {}, since).channel == "call"
