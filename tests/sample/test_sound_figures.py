"""Figures that stand in one row, or for one vehicle at several horizons, must agree.

Each check is an identity of probability or money, or a rule of the README's section on numbers;
none compares with a stored output.
"""

from __future__ import annotations

import datetime as dt
import itertools

import numpy as np
import pandas as pd
import pytest
from sample_paths import WORKBOOK

import riskcheck
from riskcheck import risk

AS_OF = dt.date(2026, 10, 1)
# Every kind of life that the rulebook has: shows itself or hides, one clock or two, falling and
# rising rates, a day-one share, a watch window, a season, designs that the record leaves open.
HAZARDS = [
    "battery-age-parasitic",
    "brake-hose-ageing",
    "coolant-age",
    "exhaust-fuel-line-corrosion",
    "fuel-filter-overdue",
    "heater-ground-strap-hot",
    "replacement-heater-no-ground",
    "timing-belt-overdue",
    "tyre-age-tread",
    "wheel-retorque-missed",
]
HORIZONS = (3, 12, 36)
SLACK = 1e-9
# The ends of a range are interpolated between the belief's points, whose order changes with time.
INTERPOLATED = 1e-4


@pytest.fixture(scope="module")
def assessment():
    return riskcheck.assess(WORKBOOK, as_of=AS_OF, only=HAZARDS)


@pytest.fixture(scope="module")
def at_horizon(assessment) -> dict[int, pd.DataFrame]:
    """Rows with figures, the same vehicles and hazards at every horizon."""
    told = (assessment.rulebook, assessment.reasoning.hazards, assessment.fleet, assessment.usage)
    priced = {months: risk.price(*told, AS_OF, months).exposures for months in (3, 36)}
    priced[12] = assessment.exposures
    return {
        months: rows[rows["probability"].notna()].reset_index(drop=True)
        for months, rows in priced.items()
    }


@pytest.fixture(scope="module")
def rows(at_horizon) -> pd.DataFrame:
    return at_horizon[12]


def hidden(assessment, rows):
    by_looking = [
        name
        for name, hazard in assessment.rulebook.hazards.items()
        if hazard.reveals == "by_looking"
    ]
    return rows["hazard_id"].isin(by_looking)


def named(rows, wrong) -> str:
    return rows.loc[wrong, ["vehicle_id", "hazard_id"]].head(5).to_string()


def test_the_sample_holds_every_kind_of_row(assessment, rows):
    assert {"exposed", "unproven", "unknown"} <= set(rows["status"])
    assert {"none", "sign", "confirmed"} <= set(rows["evidence"])
    assert 0.1 < hidden(assessment, rows).mean() < 0.9


@pytest.mark.parametrize("months", HORIZONS)
@pytest.mark.parametrize("name", ["probability", "x_p3", "x_p6", "x_p12", "x_now", "x_if_exposed"])
def test_every_range_holds_its_chance(at_horizon, months, name):
    rows = at_horizon[months]
    chance = rows["probability_now" if name == "x_now" else name]
    low, high = rows[f"{name}_low"], rows[f"{name}_high"]
    wrong = ~((low <= chance) & (chance <= high) & (low >= 0.0) & (high <= 1.0 + SLACK))
    assert not wrong.any(), named(rows, wrong)


def test_chances_only_grow_with_time(at_horizon):
    for sooner, later in itertools.pairwise(HORIZONS):
        one, two = at_horizon[sooner], at_horizon[later]
        for name in ("probability", "probability_low", "probability_high"):
            wrong = one[name] > two[name] + (SLACK if name == "probability" else INTERPOLATED)
            assert not wrong.any(), (name, sooner, named(one, wrong))
    rows = at_horizon[12]
    path = rows[["probability_now", "x_p1", "x_p3", "x_p6", "x_p12"]].to_numpy()
    wrong = (np.diff(path, axis=1) < -SLACK).any(axis=1)
    assert not wrong.any(), named(rows, wrong)


@pytest.mark.parametrize("months", [3, 12])
def test_one_month_has_one_chance_and_one_cost_of_waiting(at_horizon, months):
    rows = at_horizon[months]
    for end in ("", "_low", "_high"):
        np.testing.assert_array_equal(rows[f"x_p{months}{end}"], rows[f"probability{end}"])
    np.testing.assert_array_equal(rows[f"x_wait_{months}"], rows["net_benefit"])
    np.testing.assert_array_equal(rows["probability_12m"], rows["x_p12"])


def test_codes_harm_and_act_by_do_not_know_the_horizon(at_horizon):
    for months in (3, 36):
        other, rows = at_horizon[months], at_horizon[12]
        for name in ("probability_12m", "probability_now", "p_harm"):
            np.testing.assert_allclose(other[name], rows[name], rtol=1e-9, atol=1e-15)
        for name in ("people_code", "money_code"):
            assert other[name].equals(rows[name])


def test_a_chance_is_weight_times_the_chance_if_exposed(rows):
    np.testing.assert_allclose(
        rows["probability"], rows["x_if_exposed"] * rows["exposed_weight"], rtol=1e-9
    )
    assert (rows["probability"] <= rows["exposed_weight"] + SLACK).all()


def test_what_shows_itself_is_not_there_today_unless_it_was_found(assessment, rows):
    shown = rows[~hidden(assessment, rows) & rows["evidence"].ne("confirmed")]
    assert (shown["probability_now"] < SLACK).all()


def test_dates_and_odometers_lie_ahead_and_say_why(assessment, rows):
    dated = rows["act_by_date"].notna()
    assert (rows.loc[dated, "act_by_date"] >= str(AS_OF)).all()
    assert (dated == rows["act_by_reason"].ne("")).all()
    miles = rows["act_by_odometer_mi"].notna()
    assert rows.loc[miles, "usage_unit"].eq("mi").all()
    driven_to = rows.loc[miles, "act_by_reason"]
    assert driven_to.isin(["window", "people", "look_due", "money"]).all(), set(driven_to)
    now = pd.Series(assessment.usage.now("miles")[1], index=assessment.usage.vehicle_ids)
    today = rows.loc[miles, "vehicle_id"].map(now)
    assert (rows.loc[miles, "act_by_odometer_mi"] >= today - 1.0).all()


def test_a_found_hidden_fault_costs_by_the_time_it_is_left(assessment, at_horizon):
    """A constant yearly rate κ: C_f·(1 − exp(−κt)), less the interest on the job."""
    interest = assessment.rulebook.policy.deferral_rate.value
    for months in HORIZONS:
        rows = at_horizon[months]
        found = rows[rows["evidence"].eq("confirmed") & hidden(assessment, rows)]
        assert len(found) > 3
        yearly = found["hazard_id"].map(
            lambda name: assessment.rulebook.hazards[name].becomes_costly_per_year.value
        )
        for name, left in (("wait_month", 1), ("x_wait_6", 6), ("net_benefit", months)):
            loss = found["cost_if_fails"] * (1.0 - np.exp(-yearly * left / 12.0))
            loss -= interest * found["cost_to_prevent"] * left / 12.0
            np.testing.assert_allclose(found[name], loss, rtol=1e-9)
        chance = 1.0 - np.exp(-yearly * months / 12.0)
        np.testing.assert_allclose(found["x_loss_chance"], chance, rtol=1e-9)


def test_losses_add_up_to_no_more_than_they_may(rows):
    assert (rows["x_loss_chance"] <= rows["probability"] + SLACK).all()
    assert (rows["x_group_chance"] >= rows["x_loss_chance"] - SLACK).all()
    most = rows.groupby("vehicle_id")["x_loss_cap"].transform("max")
    assert (rows["x_vehicle_loss"] <= most + 1e-6).all()
    apart = (rows["x_loss_chance"] * rows["cost_if_fails"]).groupby(rows["vehicle_id"])
    assert (rows["x_vehicle_loss"] <= apart.transform("sum") + 1e-6).all()
    for name in ("cost_if_fails", "cost_to_prevent"):
        assert rows[name].between(rows[f"x_{name}_low"], rows[f"x_{name}_high"]).all()


def test_nothing_over_the_tolerance_line_is_dropped(assessment, rows):
    """What may hurt somebody is called for, asked about, or goes on a ticket, never 'not now'."""
    line = assessment.rulebook.policy.tolerance_p_harm.value
    over = rows[(rows["p_harm"] >= line) & (rows["tier"] == 7)]
    kept = ["look_at_next_visit", "in_combined_look", "already_coming_in"]
    assert over["x_tier_reason"].isin(kept).all(), set(over["x_tier_reason"])
    grave = rows[rows["evidence"].eq("confirmed") & rows["people_code"].str.match("[12]")]
    assert len(grave) > 2
    assert grave["tier"].eq(1).all()
    assert not rows.loc[rows["evidence"].ne("none"), "tier"].eq(6).any()
