"""Every sum of dollars, worked by hand beside its test; prices and rates here are invented.

Costs keep value, low and high apart; harm is a ratio of events or a rate per year present.
"""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest

from riskcheck.risk import price
from riskcheck.risk.money import (
    Spread,
    by_class,
    downtime_cost,
    failure_cost,
    harm_12m,
    job_cost,
)

ONE = {"value": 1.0, "unit": "1", "source": "invented"}


def ranged(value, low, high, unit="USD"):
    return {"value": value, "low": low, "high": high, "unit": unit, "source": "invented"}


def three(value, low, high):
    return Spread(*(np.array([float(x)]) for x in (value, low, high)))


def told(spread):
    return [float(part[0]) for part in spread]


def wreck(shop, **changes):
    """0.8 re-tightened: 50 (40 to 70); 0.2 lost: 5,000 (3,000 to 9,000), 4 (2 to 6) days, tow."""
    return shop.hazard(
        outcomes=[
            {"name": "tightened", "share": {**ONE, "value": 0.8}, "cost": ranged(50, 40, 70),
             "days_down": ranged(0, 0, 0, "d"), "tow": False},
            {"name": "lost", "share": {**ONE, "value": 0.2}, "cost": ranged(5000, 3000, 9000),
             "days_down": ranged(4, 2, 6, "d"), "tow": True},
        ],
        job={"title": "job", "hours": ranged(1.5, 1.0, 2.5, "h"), "parts": ranged(90, 40, 160),
             "teardown": "LOF", "skill": "A"},
        **changes,
    )  # fmt: skip


def test_a_failure_costs_its_outcomes_by_their_shares(shop):
    """0.8·50 + 0.2·(5,000 + 4·100 + 220) = 1,164; low 0.8·40 + 0.2·(3,000 + 2·80 + 120) = 688;

    high, the vehicle being worth 8,000: 0.8·70 + 0.2·(8,000 + 6·150 + 450) = 1,926.
    """
    policy = shop.policy(tow_cost=shop.figure(220.0, 120.0, 450.0))
    cost = failure_cost(wreck(shop), policy, np.array([8000.0]), three(100, 80, 150))
    assert told(cost) == pytest.approx([1164.0, 688.0, 1926.0])
    down = downtime_cost(wreck(shop), policy, three(100, 80, 150))
    assert down[0] == pytest.approx(0.2 * (400 + 220))


def test_a_job_costs_its_hours_and_parts(shop):
    """1.5·140 + 90 = 300; 1.0·140 + 40 = 180; 2.5·140 + 160 = 510."""
    policy = shop.policy(labour_rate=shop.figure(140.0))
    assert told(job_cost(wreck(shop), policy, 1)) == pytest.approx([300.0, 180.0, 510.0])


def test_harm_by_event_and_by_year_present(shop):
    """2e-3·0.05 = 1e-4; 3e-4·0.3 y = 9e-5; both, with 2.5e-4·0.4, 1.9e-4."""
    year, there = np.array([0.4]), np.array([0.3])
    per_event = shop.hazard(harm={"per_event": {**ONE, "value": 2e-3}})
    assert harm_12m(per_event, np.array([0.05]), np.array([0.0]))[0] == pytest.approx(1e-4)
    per_year = shop.hazard(harm={"per_year_present": {**ONE, "value": 3e-4}})
    assert harm_12m(per_year, year, there)[0] == pytest.approx(9e-5)
    both = shop.hazard(
        harm={"per_year_present": {**ONE, "value": 3e-4}, "per_event": {**ONE, "value": 2.5e-4}}
    )
    assert harm_12m(both, year, there)[0] == pytest.approx(1.9e-4)


def test_a_duty_without_an_entry_takes_the_first(shop):
    table = {"default": shop.figure(60.0, 20.0, 120.0), "van": shop.figure(180.0, 90.0, 350.0)}
    spread = by_class(table, ["van", "", "hearse"])
    assert spread.value.tolist() == [180.0, 60.0, 60.0]
    assert spread.low.tolist() == [90.0, 20.0, 20.0]
    assert spread.high.tolist() == [350.0, 120.0, 120.0]


def hidden(shop, **changes):
    return wreck(
        shop, **{
            "id": "hose", "reveals": "by_looking",
            "harm": {"per_year_present": {**ONE, "value": 2e-4}},
            "becomes_costly_per_year": {**ONE, "value": 0.3},
            "life": {"model": "weibull", "shape": ranged(3.5, 2.5, 4.5, "1"),
                     "clocks": [{"clock": "years", "b10": ranged(10, 7, 14, "y")}]},
            "look": {"title": "look", "recorded_as": [], "minutes": {**ONE, "value": 20},
                     "cost": {**ONE, "value": 60}, "finds": ONE},
            **changes,
        },
    )  # fmt: skip


def rows(shop, hazard, years, evidence=None, horizon=12):
    ids = tuple(f"V{at}" for at in range(len(years)))
    book = SimpleNamespace(hazards={hazard.id: hazard}, policy=shop.policy(), vocabulary={})
    conclusions = {hazard.id: shop.reasoned(hazard.id, ["exposed"] * len(ids), evidence=evidence)}
    use = shop.use(ids, np.array(years, dtype=float))
    fleet = shop.fleet(list(ids), shop.events(), "1930-01-01")
    return price(book, conclusions, fleet, use, shop.as_of, horizon).exposures


# Made-up shop: vehicle 9,000, day 60, tow 200, labour 150: C_f = 40 + 0.2·(5,000 + 240 + 200) =
# 1,128 and C_p = 1.5·150 + 90 = 315; the loss a year of a hidden one is 0.3·1,128 = 338.4.
FAILURE, JOB = 1128.0, 315.0


def test_the_rows_name_both_costs_with_their_ranges(shop):
    """Low 32 + 0.2·(3,000 + 120 + 200) = 696; high 56 + 0.2·(9,000 + 360 + 200) = 1,968."""
    row = rows(shop, wreck(shop), [9.0]).iloc[0]
    assert (row["cost_if_fails"], row["cost_to_prevent"]) == (FAILURE, JOB)
    assert row["x_cost_if_fails_low"] == pytest.approx(696.0)
    assert row["x_cost_if_fails_high"] == pytest.approx(1968.0)
    assert (row["x_cost_to_prevent_low"], row["x_cost_to_prevent_high"]) == (190.0, 535.0)
    # What the vehicle can lose at most: its value and the expected downtime of this event.
    assert row["x_loss_cap"] == pytest.approx(9000.0 + 0.2 * (4 * 60 + 200))


def test_a_revealed_event_found_costs_the_difference(shop):
    row = rows(shop, wreck(shop), [9.0], evidence=["confirmed"]).iloc[0]
    assert row["net_benefit"] == row["wait_month"] == pytest.approx(FAILURE - JOB)
    assert row["x_loss_chance"] == 1.0


@pytest.mark.parametrize("months", [3, 12, 24])
def test_a_hidden_fault_found_costs_by_the_chance_of_turning_costly(shop, months):
    """C_f·(1 − exp(−0.3·t)) less the interest of 8 % a year on the job's price."""
    row = rows(shop, hidden(shop), [9.0], evidence=["confirmed"], horizon=months).iloc[0]
    t = months / 12.0
    turned = -np.expm1(-0.3 * t)
    assert row["net_benefit"] == pytest.approx(FAILURE * turned - 0.08 * JOB * t, rel=1e-9)
    assert row["x_loss_chance"] == pytest.approx(turned, rel=1e-9)


def test_a_hidden_fault_not_found_costs_by_its_expected_years(shop):
    """W lies between what is averted and that less one look of 60."""
    for _, row in rows(shop, hidden(shop), [6.0, 12.0]).iterrows():
        assert 0.0 < row["x_loss_chance"] < row["probability"]
        averted = FAILURE * row["x_loss_chance"]
        assert averted - 60.0 < row["net_benefit"] < averted


def test_a_day_one_fault_waits_at_its_share_and_saves_the_tests_interest(shop):
    """κ 0 (never costly by itself): W is minus the interest on a test of 60, 4.80 a year."""
    share = {"model": "share", "share": ranged(0.10, 0.03, 0.25, "1")}
    row = rows(shop, hidden(shop, life=share, becomes_costly_per_year=None), [4.0]).iloc[0]
    assert row["net_benefit"] == pytest.approx(-4.80, rel=1e-9)
    assert row["probability"] == pytest.approx(0.10, rel=1e-9)


def test_a_day_one_fault_that_turns_costly_has_been_silent_for_its_age(shop):
    """κ 0.3 over four silent years: fade e^(−1.2), p = 0.1·fade/(1 − 0.1·(1 − fade)).

    W = C_f·p·(1 − e^(−0.3)) less 4.80; nothing arrives later.
    """
    share = {"model": "share", "share": ranged(0.10, 0.03, 0.25, "1")}
    row = rows(shop, hidden(shop, life=share), [4.0]).iloc[0]
    fade = np.exp(-1.2)
    p = 0.1 * fade / (1.0 - 0.1 * (1.0 - fade))
    assert row["probability"] == pytest.approx(p, rel=1e-6)
    assert row["net_benefit"] == pytest.approx(FAILURE * p * -np.expm1(-0.3) - 4.80, rel=1e-6)
    assert row["x_loss_chance"] == pytest.approx(p * -np.expm1(-0.3), rel=1e-6)


def test_a_renewing_job_saves_its_best_rate_while_it_waits(shop):
    """W(month) = (C_f − C_p)·p(month) − g*·∫S̄, g* from a fine schedule worked out beside it."""
    from riskcheck.risk import act_by
    from riskcheck.risk.hazard_figures import belief_of

    row = rows(shop, wreck(shop), [9.0]).iloc[0]
    part = act_by.survivor(belief_of(wreck(shop)), 1.0, np.ones(1), 110.0, 660_000.0)
    best = act_by.age_replacement(part, np.array([JOB]), np.array([FAILURE]))
    assert best.gains[0]
    used = 1000.0 * (1.0 - 0.5 * row["x_p1"])
    expected = (FAILURE - JOB) * row["x_p1"] - best.cost_rate[0] * used
    assert row["wait_month"] == pytest.approx(expected, rel=2e-3)


def test_a_one_off_job_saves_the_interest_on_its_price(shop):
    """A job that does away with the part: 0.08·315 a year, 2.10 a month while it lasts."""
    jobs = shop.hazard().model_dump()["remedies"]
    row = rows(shop, wreck(shop, remedies=[{**jobs[0], "effect": "eliminates"}]), [9.0]).iloc[0]
    expected = (FAILURE - JOB) * row["x_p1"] - 0.08 * JOB / 12.0 * (1.0 - 0.5 * row["x_p1"])
    assert row["wait_month"] == pytest.approx(expected, rel=1e-6)


def test_asking_is_worth_what_a_hidden_fault_would_cost_by_its_weight(shop):
    """One in twenty has the part: left alone unless known, so the answer is worth 0.05·W.

    W if exposed = averted/weight − price of the looks, with averted = C_f·(chance of turning
    costly) and the looks' price = averted − W as printed.
    """
    ids = ("V0",)
    hazard = hidden(shop)
    book = SimpleNamespace(hazards={hazard.id: hazard}, policy=shop.policy(), vocabulary={})
    given = shop.reasoned(hazard.id, ["unknown"], weight=0.05)
    fleet = shop.fleet(list(ids), shop.events(), "1930-01-01")
    use = shop.use(ids, np.array([12.0]))
    row = price(book, {hazard.id: given}, fleet, use, shop.as_of, 12).exposures.iloc[0]
    averted = FAILURE * row["x_loss_chance"]
    gain = averted / row["exposed_weight"] - (averted - row["net_benefit"])
    assert gain > 0.0
    assert row["x_worth_asking"] == pytest.approx(0.05 * gain, rel=1e-9)


def test_a_warranty_that_ends_calls_where_the_repairs_likely_found_pay_the_look(shop):
    """P(there today)·C_p above the look's 60: by hand, vehicle by vehicle of rising age."""
    years = np.linspace(6.0, 18.0, 1201)
    ids = tuple(f"V{at}" for at in range(len(years)))
    hazard = hidden(shop, harm={})
    book = SimpleNamespace(hazards={hazard.id: hazard}, policy=shop.policy(), vocabulary={})
    fleet = shop.fleet(list(ids), shop.events(), "1930-01-01", "2025-09-01")
    soon = np.datetime64(shop.as_of) + np.timedelta64(30, "D")
    fleet.vehicles = fleet.vehicles.assign(warranty_end=soon.astype("datetime64[s]"))
    given = shop.reasoned(hazard.id, ["exposed"] * len(ids))
    use = shop.use(ids, years)
    table = price(book, {hazard.id: given}, fleet, use, shop.as_of, 12).exposures
    found = table["probability_now"] * JOB
    assert found.between(59.5, 60.0).any()
    assert found.between(60.0, 60.5).any()
    called = table["x_tier_reason"].eq("warranty")
    assert (called == (found > 60.0))[found.between(58.0, 62.0)].all()
