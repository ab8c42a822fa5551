"""What an owner is told is a chance within a time, not so many a year.

"57 of 100 a year" is a rate and would come to 114 of 100 in two years; the figure of an exposure is
the share of vehicles like it on which the event is there by the end of the time ahead (as in the
reporting of absolute risks, Gigerenzer & Edwards, BMJ 2003;327:741-744, from memory).
"""

from __future__ import annotations

import pytest

from riskcheck import rulebook
from riskcheck.reports import owner

ROW = {
    "evidence": "none",
    "probability": 0.57,
    "probability_low": 0.17,
    "probability_high": 0.90,
    "probability_now": 0.30,
    "x_now_low": 0.10,
    "x_now_high": 0.60,
    "exposed_weight": 1.0,
    "x_unseen": 0.0,
    "x_use_wide": 0.0,
    "x_last_good_look": "",
    "findings": "applies",
}


@pytest.fixture(scope="module")
def hazards():
    return rulebook.load(rulebook.shipped_dir()).hazards.values()


@pytest.mark.parametrize(
    ("months", "time"), [(12, "within a year"), (6, "within 6 months"), (24, "within 2 years")]
)
def test_every_chance_told_to_an_owner_is_within_a_time(hazards, months, time):
    for hazard in hazards:
        said = " ".join(owner.sentence(ROW, hazard, months).split())
        assert said.count(time) == 1, said
        assert "within within" not in said, said
        assert "57" in said
        assert "100" in said


def test_a_range_that_informs_nobody_is_not_told(hazards):
    for hazard in hazards:
        said = owner.sentence({**ROW, "probability_low": 0.0, "probability_high": 1.0}, hazard, 12)
        assert "not known" in said
        assert " of 100" not in said, said
