"""Tiers, keys and the order that last run left: the shop's own rules, no outside source."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from riskcheck.risk.lines import Line
from riskcheck.risk.looks import VehicleDates, combined_looks
from riskcheck.risk.ranking import natural, rank
from riskcheck.risk.ranking import tiers as tiers_with_looks

LINE = Line(tolerance=1e-5, floor=150.0)


def tiers(rows, line):
    """Tiers of vehicles without any visit or date on file; one row a vehicle if not said."""
    rows = rows.assign(row=rows["row"].where(rows["row"] >= 0, rows.index))
    dates = VehicleDates(np.full(len(rows), np.nan), {})
    return tiers_with_looks(rows, line, combined_looks(rows, line, dates))


def row(**changes):
    base = {
        "row": -1, "hazard_id": "belt", "x_loss_group": "engine", "hidden": False,
        "look_minutes": np.nan, "look_cost": 0.0,
        "look_place": "LOF", "look_finds": 1.0, "days_since_look": np.nan, "probability_now": 0.0,
        "costly_a_year": 0.0,
        "loss_a_year": 0.0, "harm_a_year": 0.0, "repair_chance": 0.0, "claim_days": np.nan,
        "claim_reason": "warranty",
        "status": "exposed", "evidence": "none", "severity_people": "III", "urgency_word": "week",
        "opened_window": False, "window_days": np.nan, "told_days": np.nan, "p_harm": 0.0,
        "exposed_weight": 1.0,
        "act_by_days": np.nan, "act_by_reason": "", "season_days": np.nan, "net_benefit": 100.0,
        "wait_gain": 100.0, "hours": 1.0, "worth_asking": 0.0, "ask_minutes": 2.0,
        "conflict": False, "coming_in": False, "over_value": False,
    }  # fmt: skip
    return {**base, **changes}


@pytest.mark.parametrize(
    ("changes", "tier", "reason"),
    [
        ({"evidence": "confirmed", "severity_people": "II"}, 1, "found"),
        ({"evidence": "sign", "severity_people": "I", "urgency_word": "days"}, 1, "sign_of_harm"),
        ({"evidence": "sign", "severity_people": "I", "urgency_word": "week"}, 7, "under_floor"),
        (
            {"evidence": "confirmed", "act_by_days": 7.0, "act_by_reason": "confirmed"},
            4,
            "confirmed",
        ),
        ({"opened_window": True, "window_days": 30.0}, 2, "opened_by_our_job"),
        ({"p_harm": 1e-5}, 3, "harm_over_line"),
        ({"p_harm": 9.9e-6, "wait_gain": 149.0}, 7, "under_floor"),
        (
            {
                "status": "unknown",
                "p_harm": 5e-6,
                "exposed_weight": 0.4,
                "hidden": True,
                "look_minutes": 20.0,
            },
            3,
            "look_harm_over_line",
        ),
        ({"status": "unknown", "p_harm": 5e-6, "exposed_weight": 0.2}, 6, "find_out"),
        ({"act_by_days": 60.0, "act_by_reason": "money", "wait_gain": 150.0}, 4, "money"),
        ({"act_by_days": 60.0, "act_by_reason": "money", "wait_gain": 149.0}, 7, "under_floor"),
        ({"act_by_days": 61.0, "act_by_reason": "money", "wait_gain": 150.0}, 5, "money"),
        (
            {"act_by_days": 5.0, "act_by_reason": "money", "net_benefit": -1.0},
            7,
            "waiting_is_cheaper",
        ),
        ({"act_by_days": 5.0, "act_by_reason": "people", "net_benefit": -1.0}, 4, "people"),
        ({"act_by_days": 14.0, "act_by_reason": "season", "wait_gain": 150.0}, 4, "season"),
        ({"act_by_days": 14.0, "act_by_reason": "season"}, 7, "under_floor"),
        (
            {
                "act_by_days": 14.0,
                "act_by_reason": "season",
                "wait_gain": 150.0,
                "over_value": True,
            },
            7,
            "job_over_vehicle_value",
        ),
        ({"wait_gain": 60.0, "hours": 0.4}, 7, "small_job_next_visit"),
        ({"wait_gain": 59.0, "hours": 0.4}, 7, "under_floor"),
        (
            {"evidence": "sign", "claim_days": 30.0, "act_by_days": 14.0, "act_by_reason": "sign"},
            4,
            "warranty",
        ),
        ({"evidence": "sign", "claim_days": 90.0}, 7, "under_floor"),
        ({"claim_days": 30.0}, 7, "under_floor"),
        ({"evidence": "sign", "claim_days": 60.0}, 4, "warranty"),
        ({"evidence": "sign", "claim_days": 61.0}, 7, "under_floor"),
        ({"evidence": "sign", "claim_days": 30.0, "coming_in": True}, 7, "already_coming_in"),
        # A sooner date of money that is not worth the call does not take the sign's own away.
        (
            {"evidence": "sign", "told_days": 7.0, "act_by_days": 0.0, "act_by_reason": "money"},
            4,
            "sign",
        ),
        (
            {
                "evidence": "sign",
                "told_days": 7.0,
                "act_by_days": 0.0,
                "act_by_reason": "money",
                "wait_gain": 500.0,
                "over_value": True,
            },
            4,
            "sign",
        ),
        ({"evidence": "sign", "told_days": 60.0}, 4, "sign"),
        ({"evidence": "sign", "told_days": 61.0}, 7, "under_floor"),
        ({"evidence": "sign", "told_days": 7.0, "coming_in": True}, 7, "already_coming_in"),
        ({"wait_gain": 150.0}, 5, "money"),
        ({"wait_gain": 150.0, "coming_in": True}, 7, "already_coming_in"),
        ({"wait_gain": 150.0, "over_value": True}, 7, "job_over_vehicle_value"),
        ({"wait_gain": 500.0, "conflict": True}, 6, "record_conflict"),
        ({"evidence": "confirmed", "severity_people": "I", "coming_in": True}, 1, "found"),
    ],
)
def test_each_tier_and_its_reason(changes, tier, reason):
    placed = tiers(pd.DataFrame([row(**changes)]), LINE).iloc[0]
    assert (placed["tier"], placed["tier_reason"]) == (tier, reason)


def test_a_sign_goes_by_its_own_date_where_money_alone_asked_for_a_sooner_one():
    sign = {"evidence": "sign", "told_days": 7.0, "act_by_days": 0.0, "act_by_reason": "money"}
    placed = tiers(pd.DataFrame([row(**sign), row(**sign, wait_gain=500.0)]), LINE)
    assert placed["tier_reason"].tolist() == ["sign", "money"]
    assert placed["key_words"].tolist() == ["in 7 days", "in 0 days"]
    assert placed["own_days"].iloc[0] == 7.0
    assert np.isnan(placed["own_days"].iloc[1])  # the row's own act-by date stands


def test_a_small_job_joins_a_visit_but_makes_none():
    """$60 in 24 minutes clears $150 a bay-hour, but nobody is telephoned for sixty dollars."""
    small = {"row": 0, "wait_gain": 60.0, "hours": 0.4}
    alone = tiers(pd.DataFrame([row(**small)]), LINE)
    joined = tiers(pd.DataFrame([row(**small), row(row=0, hazard_id="x", wait_gain=200.0)]), LINE)
    assert alone["tier_reason"].tolist() == ["small_job_next_visit"]
    assert joined["tier"].tolist() == [5, 5]


def test_a_row_without_figures_has_no_tier():
    for status in ("closed", "not_applicable", "no_answer"):
        assert np.isnan(tiers(pd.DataFrame([row(status=status)]), LINE)["tier"].iloc[0])


def test_keys_within_a_tier():
    """People: harm descending; money: dollars per bay-hour descending; ours: use left ascending."""
    people = tiers(pd.DataFrame([row(p_harm=2e-5), row(p_harm=9e-5)]), LINE)
    assert people["key"].iloc[1] < people["key"].iloc[0]
    money = tiers(
        pd.DataFrame([row(wait_gain=900.0, net_benefit=600.0, hours=6.0),
                      row(wait_gain=300.0, net_benefit=250.0)]), LINE)  # fmt: skip
    assert money["tier"].tolist() == [5, 5]
    assert money["key_words"].tolist() == ["$100 per bay-hour", "$250 per bay-hour"]
    assert money["key"].iloc[1] < money["key"].iloc[0]
    ours = tiers(
        pd.DataFrame([row(opened_window=True, window_days=left) for left in (90, 10)]), LINE
    )
    assert ours["key"].tolist() == [90.0, 10.0]


def test_equal_keys_fall_back_to_the_natural_order_of_vehicles():
    rows = pd.DataFrame({
        "tier": 5.0, "key": 1.0, "p_harm": 0.0, "net_benefit": 1.0, "act_by_days": np.nan,
        "vehicle_id": ["V10", "V2", "V1"], "hazard_id": "belt",
    })  # fmt: skip
    assert rank(rows).tolist() == [3, 2, 1]
    assert sorted(["B10", "B9", "7", "A2"], key=natural) == ["7", "A2", "B9", "B10"]
