"""Edges and ties of the calling order: the shop's own rules, by pairs that differ in one way.

No outside source; the limits are those of the ranking's own words (60 days, three days of urgency,
a third of weight, one bay-hour, the tolerance line).
"""

from __future__ import annotations

import importlib.util
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from riskcheck.risk.ranking import rank

_spec = importlib.util.spec_from_file_location(
    "ranking_rows", Path(__file__).parent / "test_ranking.py"
)
assert _spec is not None
assert _spec.loader is not None
ranking_rows = importlib.util.module_from_spec(_spec)
_spec.loader.exec_module(ranking_rows)
LINE = ranking_rows.LINE


def placed(*changes, line=LINE):
    return ranking_rows.tiers(pd.DataFrame([ranking_rows.row(**one) for one in changes]), line)


def ranked(*changes):
    """Ranks of rows that are alike but for these changes."""
    base = {"tier": 5.0, "key": 1.0, "then": 0.0, "p_harm": 1e-6, "net_benefit": 10.0,
            "act_by_days": 30.0, "vehicle_id": "V1", "hazard_id": "belt"}  # fmt: skip
    return rank(pd.DataFrame([{**base, **one} for one in changes])).tolist()


# Of each pair the second comes first.
TIES = [
    ({"tier": 5.0}, {"tier": 4.0}), ({"key": 2.0}, {"key": 1.0}), ({"then": 0.0}, {"then": -5.0}),
    ({"p_harm": 1e-6}, {"p_harm": 2e-6}), ({"net_benefit": 10.0}, {"net_benefit": 11.0}),
    ({"act_by_days": 30.0}, {"act_by_days": 29.0}), ({"act_by_days": np.nan}, {}),
    ({"vehicle_id": "V10"}, {"vehicle_id": "V9"}), ({"hazard_id": "hose"}, {"hazard_id": "belt"}),
    ({"tier": np.nan}, {}), ({"p_harm": np.nan}, {"p_harm": 1e-9}),
    ({"net_benefit": -1.0}, {"net_benefit": np.nan}),
]  # fmt: skip


@pytest.mark.parametrize(("later", "sooner"), TIES)
def test_each_tie_is_broken_by_the_next_thing(later, sooner):
    assert ranked(later, sooner) == [2, 1]
    assert ranked(sooner, later) == [1, 2]


def test_an_earlier_thing_beats_all_later_ones():
    """Tier, key, then, harm, net, date, vehicle, hazard: each row loses on all that follows."""
    worst = {"tier": 5.0, "key": 2.0, "then": 2.0, "p_harm": 1e-7, "net_benefit": 1.0,
             "act_by_days": 90.0, "vehicle_id": "V9", "hazard_id": "z"}  # fmt: skip
    good = {"tier": 4.0, "key": 1.0, "then": 1.0, "p_harm": 1e-6, "net_benefit": 2.0,
            "act_by_days": 9.0, "vehicle_id": "V1", "hazard_id": "a"}  # fmt: skip
    names = list(worst)
    rows = [
        {**worst, **{name: good[name] for name in [*names[:at], *names[at + 1 :]]}}
        for at in range(len(names))
    ]
    assert ranked(*rows) == list(range(len(names), 0, -1))


@pytest.mark.parametrize(
    ("word", "tier"), [("stop", 1), ("days", 1), ("week", 7), ("fortnight", 7), ("next_visit", 7)]
)
def test_a_sign_stops_a_vehicle_within_three_days_only(word, tier):
    row = placed({"evidence": "sign", "severity_people": "II", "urgency_word": word})
    assert row["tier"].tolist() == [tier]


@pytest.mark.parametrize(("severity", "tier"), [("I", 1), ("II", 1), ("III", 7), ("IV", 7)])
def test_a_fault_found_stops_a_vehicle_where_it_can_hurt(severity, tier):
    row = placed({"evidence": "confirmed", "severity_people": severity})
    assert row["tier"].tolist() == [tier]


def test_within_the_first_tier_severity_goes_before_harm():
    rows = placed(
        {"evidence": "confirmed", "severity_people": "II", "p_harm": 0.4},
        {"evidence": "confirmed", "severity_people": "I", "p_harm": 1e-7},
        {"evidence": "confirmed", "severity_people": "I", "p_harm": 1e-3},
    )
    assert rows["key"].rank().tolist() == [3, 2, 1]


def test_people_go_by_harm_and_the_words_give_it_in_a_hundred_thousand():
    rows = placed({"p_harm": 2.04e-5}, {"p_harm": 9e-5})
    assert rows["tier"].tolist() == [3, 3]
    assert rows["key"].tolist() == [-2.04e-5, -9e-5]
    assert rows["key_words"].tolist() == [
        "harm about 2 of 100,000 a year", "harm about 9 of 100,000 a year",
    ]  # fmt: skip


def test_equal_dates_go_by_what_a_bay_hour_saves():
    """$300 in two hours comes after $250 in one."""
    due = {"act_by_days": 10.0, "act_by_reason": "people"}
    rows = placed({**due, "net_benefit": 300.0, "hours": 2.0}, {**due, "net_benefit": 250.0})
    assert rows["tier"].tolist() == [4, 4]
    assert rows["key"].tolist() == [10.0, 10.0]
    assert rows["then"].tolist() == [-150.0, -250.0]


def test_a_minute_job_is_not_made_precious_by_its_shortness():
    """No hours at all count as three minutes: $3 is $60 a bay-hour."""
    row = placed({"net_benefit": 3.0, "hours": 0.0, "wait_gain": 900.0}).iloc[0]
    assert row["key"] == pytest.approx(-60.0)


def test_questions_go_by_their_worth_a_minute():
    ask = {"status": "unknown", "exposed_weight": 0.1}
    rows = placed(
        {**ask, "worth_asking": 40.0, "ask_minutes": 4.0},
        {**ask, "worth_asking": 30.0, "ask_minutes": 2.0},
    )
    assert rows["tier"].tolist() == [6, 6]
    assert rows["key"].tolist() == [-10.0, -15.0]
    assert rows["key_words"].tolist() == ["$10.00 a minute of asking", "$15.00 a minute of asking"]


def test_what_is_not_called_for_still_goes_by_what_it_would_save():
    rows = placed({"wait_gain": 20.0, "net_benefit": 5.0}, {"wait_gain": 20.0, "net_benefit": 9.0})
    assert rows["tier_reason"].tolist() == ["under_floor"] * 2
    assert rows["key"].tolist() == [-5.0, -9.0]


def test_nothing_gained_is_no_reason_to_call():
    row = placed({"wait_gain": 900.0, "net_benefit": 0.0}).iloc[0]
    assert (row["tier"], row["tier_reason"]) == (7, "waiting_is_cheaper")


@pytest.mark.parametrize(("hours", "gain", "tier"), [(1.0, 150.0, 5), (1.0, 149.9, 7),
                                                     (2.0, 300.0, 5), (2.0, 299.0, 7)])  # fmt: skip
def test_the_floor_is_per_bay_hour(hours, gain, tier):
    assert placed({"wait_gain": gain, "hours": hours})["tier"].tolist() == [tier]


@pytest.mark.parametrize(("gain", "reason"), [(150.0, "money"), (149.99, "small_job_next_visit")])
def test_one_bay_hour_is_the_least_a_call_is_made_for(gain, reason):
    assert placed({"wait_gain": gain, "hours": 0.4})["tier_reason"].tolist() == [reason]


@pytest.mark.parametrize(("days", "tier"), [(60.0, 4), (61.0, 7)])
def test_soon_is_within_sixty_days(days, tier):
    row = placed({"act_by_days": days, "act_by_reason": "people", "wait_gain": 1.0})
    assert row["tier"].tolist() == [tier]


@pytest.mark.parametrize(("weight", "tier"), [(0.30, 3), (0.299, 6)])
def test_a_doubtful_exposure_is_looked_for_from_three_in_ten(weight, tier):
    """Twice the line if it has the part: harm is weighed by the weight, then given exposed."""
    row = placed({"status": "unknown", "p_harm": 2e-5 * weight, "exposed_weight": weight,
                  "hidden": True, "look_minutes": 20.0})  # fmt: skip
    assert row["tier"].tolist() == [tier]


@pytest.mark.parametrize(("harm", "tier"), [(1e-5, 3), (0.999e-5, 7)])
def test_the_tolerance_line_belongs_to_what_is_over_it(harm, tier):
    assert placed({"p_harm": harm, "wait_gain": 1.0})["tier"].tolist() == [tier]
