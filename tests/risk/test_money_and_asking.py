"""Costs of outcomes, shared losses and the worth of a question, worked by hand beside each test."""

from __future__ import annotations

import itertools

import numpy as np
import pandas as pd
import pytest

from riskcheck.reasoning.reasoned import VehicleWorlds
from riskcheck.risk.asking import bench_cost, best_questions, values, worth
from riskcheck.risk.factors import multiplier
from riskcheck.risk.losses import together, with_group_losses
from riskcheck.risk.money import Spread, downtime_cost, failure_cost
from riskcheck.rulebook.model import Factor


def outcome(name, share, cost, days, tow):
    def f(value, unit):
        return {"value": value, "unit": unit, "source": "invented"}

    return {"name": name, "share": f(share, "1"), "cost": f(cost, "USD"),
            "days_down": f(days, "d"), "tow": tow}  # fmt: skip


def test_a_repair_never_costs_more_than_the_vehicle(shop):
    """0.9·(50) + 0.1·(min(9,000; 4,000) + 3·60 + 200) = 45 + 438 = 483."""
    hazard = shop.hazard(
        outcomes=[outcome("nipped up", 0.9, 50, 0, False), outcome("lost", 0.1, 9000, 3, True)]
    )
    day = Spread(*(np.array([60.0]) for _ in range(3)))
    cost = failure_cost(hazard, shop.policy(), np.array([4000.0]), day)
    assert cost.value[0] == pytest.approx(483.0)
    assert downtime_cost(hazard, shop.policy(), day)[0] == pytest.approx(0.1 * (3 * 60 + 200))


def exposed(chance, cost, group, cap=1e9, vehicle="V1"):
    return pd.DataFrame({
        "vehicle_id": vehicle, "x_loss_group": group, "x_loss_chance": chance,
        "cost_if_fails": cost, "x_loss_cap": cap,
    })  # fmt: skip


def test_losses_in_one_group_happen_once_against_every_combination():
    """Enumerate all combinations of events; a group loses its dearest event only."""
    chance, cost = np.array([0.3, 0.5, 0.2, 0.4]), np.array([100.0, 900.0, 400.0, 50.0])
    groups = ["engine", "engine", "brakes", "engine"]
    total = 0.0
    for happened in itertools.product((0, 1), repeat=4):
        weight = np.prod([p if h else 1 - p for p, h in zip(chance, happened, strict=True)])
        for group in ("engine", "brakes"):
            losses = [c for c, h, g in zip(cost, happened, groups, strict=True) if h and g == group]
            total += weight * max(losses, default=0.0)
    rows = exposed(chance, cost, groups)
    assert together(rows)["loss"].tolist() == pytest.approx([total])
    assert together(rows)["chance"].tolist() == pytest.approx([1 - 0.7 * 0.5 * 0.8 * 0.6])
    assert together(rows.assign(x_loss_cap=200.0))["loss"].tolist() == [200.0]
    # Said on every row: 0.5·900 + 0.5·0.3·100 + 0.5·0.7·0.4·50 = 472 for the engine, 80 brakes.
    full = with_group_losses(rows)
    assert full["x_group_loss"].tolist() == pytest.approx([472.0, 472.0, 80.0, 472.0])
    assert full["x_group_chance"].tolist() == pytest.approx([0.79, 0.79, 0.2, 0.79])
    assert full["x_vehicle_loss"].tolist() == pytest.approx([552.0] * 4)


def test_two_ways_to_wreck_an_engine_do_not_cost_two_engines():
    """Both certain at 6,000 on a vehicle worth 4,000 with 500 downtime: 4,500 in all."""
    sure = exposed([1.0, 1.0], [6000.0, 5000.0], "engine", cap=4500.0)
    assert together(sure)["loss"].tolist() == [4500.0]
    apart = exposed([1.0, 1.0], [6000.0, 5000.0], ["engine", "brakes"], cap=1e9)
    assert together(apart)["loss"].tolist() == pytest.approx([11000.0])


def test_vehicles_and_selections_keep_apart():
    rows = pd.concat([
        exposed([0.5, np.nan], [100.0, 50.0], "a", vehicle="V2"), exposed([0.1], [10.0], "a"),
    ], ignore_index=True)  # fmt: skip
    assert together(rows)["loss"].to_dict() == pytest.approx({"V2": 50.0, "V1": 1.0})
    assert together(rows.iloc[2:])["exposures"].to_dict() == {"V1": 1}
    assert together(rows.iloc[:0]).empty
    assert with_group_losses(rows)["x_vehicle_loss"].isna().tolist() == [False, True, False]


def test_worth_of_one_question_by_hand():
    """Two worlds at 0.3/0.7, W 1,000 if exposed, look 60, bench 100.

    Unasked: fix = 300 − 70 = 230, look = 300 − 60 = 240.  Asked: 0.3·1,000 + 0.7·0 = 300.
    So the answer is worth 60.
    """
    exposed = np.array([True, False])
    value = values(np.full(2, 1000.0), exposed, np.full(2, 60.0), np.full(2, 100.0))
    vehicle, weight = np.zeros(2, dtype=np.int64), np.array([0.3, 0.7])
    assert worth(vehicle, weight, value, np.array([1, 0]))[0] == pytest.approx(60.0)
    assert worth(vehicle, weight, value, np.array([1, 1]))[0] == pytest.approx(0.0, abs=1e-9)


def test_two_questions_that_only_tell_something_together_are_named_as_a_pair():
    """Exposed where the two answers differ: either answer alone leaves the odds at one half.

    W 1,000, look 60 (bench the same).  Unasked: look = 500 − 60 = 440, fix = 500 − 30 = 470.
    Both asked: 0.5·1,000 = 500.  So the pair is worth 30 and either alone nothing.
    """
    worlds = VehicleWorlds(
        vehicle=np.zeros(4, dtype=np.int64), exposed=np.array([False, True, True, False]),
        weight=np.full(4, 0.25),
        answers={"a": np.array([0, 0, 1, 1]), "b": np.array([0, 1, 0, 1])},
    )  # fmt: skip
    asked = best_questions(worlds, np.array([1000.0, 1000.0]), 60.0, 60.0)
    assert asked.worth.tolist() == pytest.approx([30.0, 0.0])
    assert asked.facts == ["a; b", ""]
    assert asked.minutes.tolist() == [4.0, 2.0]


def test_one_question_that_tells_all_is_not_made_a_pair():
    worlds = VehicleWorlds(
        vehicle=np.zeros(4, dtype=np.int64), exposed=np.array([False, False, True, True]),
        weight=np.array([0.35, 0.35, 0.15, 0.15]),
        answers={"a": np.array([0, 0, 1, 1]), "b": np.array([0, 1, 0, 1])},
    )  # fmt: skip
    asked = best_questions(worlds, np.array([1000.0]), 60.0, 60.0)
    assert asked.facts == ["a"]
    assert asked.worth.tolist() == pytest.approx([300.0 - 258.0])


def test_cost_of_finding_out_at_the_bench_by_hand(shop):
    """A belt of 5 h at $150: the visit's hour and 0.4 · 5 h of opening up, 3 h · 150 = 450.

    Where nothing is opened (``NONE``) the visit's hour alone is lost: 150.
    """
    belt = shop.hazard()
    assert bench_cost(belt, shop.policy()) == pytest.approx(450.0)
    plain = shop.hazard(job={**belt.job.model_dump(), "teardown": "NONE"})
    assert bench_cost(plain, shop.policy()) == pytest.approx(150.0)
    free = shop.policy(labour_rate=shop.figure(0.0))
    assert bench_cost(belt, free) == 0.0


def test_looking_first_can_be_the_best_that_is_done_without_asking():
    """Exposed 0.5, W 600, look 60, bench 450.

    Fix: 300 − 225 = 75; look: 300 − 60 = 240; asked: 300.  So the answer is worth 60, the price of
    the look that it saves.  Were the bench as cheap as the look, fixing (270) would beat looking.
    """
    worlds = VehicleWorlds(
        vehicle=np.zeros(2, dtype=np.int64), exposed=np.array([True, False]),
        weight=np.array([0.5, 0.5]), answers={"a": np.array([1, 0])},
    )  # fmt: skip
    assert best_questions(worlds, np.array([600.0]), 60.0, 450.0).worth == pytest.approx([60.0])
    assert best_questions(worlds, np.array([600.0]), 60.0, 60.0).worth == pytest.approx([30.0])


@pytest.mark.parametrize("seed", range(8))
def test_worth_is_that_of_the_best_of_all_decision_rules(seed):
    """Brute force: every way to answer k answers with leave, look or fix, 3^k rules in all.

    Value of information as the best rule's mean less the best single action's (Raiffa &
    Schlaifer 1961, from memory).
    """
    rng = np.random.default_rng(seed)
    worlds, answers = 9, 4
    weight = rng.dirichlet(np.ones(worlds))
    answer = rng.integers(0, answers, worlds)
    exposed, gain = rng.random(worlds) < 0.5, np.full(worlds, rng.normal(150.0, 250.0))
    look, bench = 60.0, 60.0 + 300.0 * rng.random()

    def mean(rule):
        total = 0.0
        for w in range(worlds):
            act = rule[answer[w]]
            if act == "look":
                total += weight[w] * ((max(gain[w], 0.0) if exposed[w] else 0.0) - look)
            elif act == "fix":
                total += weight[w] * (gain[w] if exposed[w] else -bench)
        return total

    acts = ("leave", "look", "fix")
    best = max(mean(rule) for rule in itertools.product(acts, repeat=answers))
    alone = max(mean([act] * answers) for act in acts)
    value = values(gain, exposed, np.full(worlds, look), np.full(worlds, bench))
    found = worth(np.zeros(worlds, dtype=np.int64), weight, value, answer)
    assert found == pytest.approx([best - alone], abs=1e-9)


def test_worth_never_below_zero_and_never_above_knowing_everything():
    rng = np.random.default_rng(8)
    vehicle = np.repeat(np.arange(200), 6)
    weight = rng.random(1200)
    weight /= np.bincount(vehicle, weight)[vehicle]
    value = values(rng.normal(200, 400, 1200), rng.random(1200) < 0.5, np.full(1200, 60.0),
                   np.full(1200, 90.0))  # fmt: skip
    some = worth(vehicle, weight, value, rng.integers(0, 3, 1200))
    everything = worth(vehicle, weight, value, np.tile(np.arange(6), 200))
    assert (some >= 0.0).all()
    assert (some <= everything + 1e-9).all()


def factor(shop, finding, group, value, share, acts="always"):
    return Factor(finding=finding, group=group, multiplier=shop.figure(value),
                  share=shop.figure(share), acts=acts)  # fmt: skip


def test_factors_are_centred_grouped_and_capped(shop):
    """Salt ×2 in half of all: 2/1.5 where it acts, 1/1.5 where not, 1 where unknown."""
    salt = factor(shop, "salt", "climate", 2.0, 0.5)
    holds = {"salt": np.array([1, 0, -1], dtype=np.int8)}
    assert multiplier([salt], holds, 3) == pytest.approx([2 / 1.5, 1 / 1.5, 1.0])
    heat = factor(shop, "heat", "climate", 3.0, 0.1)
    both = {"salt": np.array([1], dtype=np.int8), "heat": np.array([1], dtype=np.int8)}
    assert multiplier([salt, heat], both, 1)[0] == pytest.approx(3.0 / 1.7)
    wild = factor(shop, "wild", "duty", 40.0, 0.0)
    assert multiplier([wild], {"wild": np.array([1], dtype=np.int8)}, 1)[0] == 6.0
    seen = factor(shop, "seen", "condition", 10.0, 0.01, "from_seen")
    told = {"seen": np.array([1], dtype=np.int8)}
    assert multiplier([seen], told, 1, "from_seen")[0] == pytest.approx(10.0 / 1.09)
    assert multiplier([seen], told, 1)[0] == 1.0


def test_over_the_population_centred_factors_average_to_one(shop):
    """The B10 speaks of that population, so its mean rate must not move."""
    salt = factor(shop, "salt", "climate", 2.5, 0.3)
    holds = {"salt": np.array([1] * 3 + [0] * 7, dtype=np.int8)}
    assert multiplier([salt], holds, 10).mean() == pytest.approx(1.0)
