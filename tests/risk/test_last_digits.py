"""Edges at which a hundredth decides: printed digits, floors, values, findings nobody spoke of."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest

from riskcheck.risk import level, price
from riskcheck.risk.asking import values
from riskcheck.risk.factors import multiplier
from riskcheck.risk.opened import opened
from riskcheck.rulebook.model import Factor

ONE = {"value": 1.0, "unit": "1", "source": "invented"}


def rows(shop, hazard, years, factors=None, value=np.nan, vocabulary=None):
    ids = tuple(f"V{at}" for at in range(len(years)))
    book = SimpleNamespace(
        hazards={hazard.id: hazard}, policy=shop.policy(), vocabulary=vocabulary or {}
    )
    given = shop.reasoned(hazard.id, ["exposed"] * len(ids))
    given.factors.update(factors or {})
    fleet = shop.fleet(list(ids), shop.events(), "1930-01-01")
    fleet.vehicles = fleet.vehicles.assign(value_usd=value)
    use = shop.use(ids, np.array(years, dtype=float))
    return price(book, {hazard.id: given}, fleet, use, shop.as_of, 12).exposures


@pytest.mark.parametrize(
    ("chance", "letter"), [(0.099999996, "A"), (0.099999994, "B"), (0.0099999951, "B")]
)
def test_a_chance_is_lettered_with_eight_decimals(chance, letter):
    """0.099999996 is printed 0.10000000, 0.099999994 is printed 0.09999999."""
    assert level.letters(np.array([chance]))[0] == letter


def test_a_look_finds_no_loss_that_is_not_there():
    """W −50 where it is exposed: a look leaves it alone and costs its 60; fixing loses the 50."""
    found = values(np.array([-50.0]), np.array([True]), np.array([60.0]), np.array([90.0]))
    assert found[:, 0].tolist() == [0.0, -60.0, -50.0]


def test_a_finding_that_nobody_spoke_of_is_unknown(shop):
    """×2 in half of all: 1/1.5 where told it does not act, 1 where nothing is known."""
    salt = Factor(
        finding="salt", group="climate", multiplier=shop.figure(2.0), share=shop.figure(0.5)
    )
    assert multiplier([salt], {}, 2).tolist() == [1.0, 1.0]
    told = {"salt": np.zeros(2, dtype=np.int8)}
    assert multiplier([salt], told, 2) == pytest.approx([1 / 1.5] * 2)


def test_what_acts_always_and_what_was_seen_multiply(shop):
    """×2 always (share 0.5) and ×3 since it was seen (share 0): 4/3 and 3 make 4."""
    factors = [
        {"finding": "salt", "group": "climate", "multiplier": {**ONE, "value": 2.0},
         "share": {**ONE, "value": 0.5}},
        {"finding": "worn", "group": "condition", "multiplier": {**ONE, "value": 3.0},
         "share": {**ONE, "value": 0.0}, "acts": "from_seen"},
    ]  # fmt: skip
    findings = {**shop.hazard().model_dump()["findings"],
                "salt": {"says": "x", "when": [{"salted": True}]},
                "worn": {"says": "x", "when": [{"worn_out": True}]}}  # fmt: skip
    hazard = shop.hazard(factors=factors, findings=findings)
    vocabulary = {
        name: SimpleNamespace(derivation=SimpleNamespace(params={}, kind="column"))
        for name in ("worn_out", "salted")
    }
    for salt, worn, m in ((1, 1, 4.0), (1, 0, 4 / 3), (0, 1, 2.0), (0, 0, 2 / 3)):
        states = {"salt": np.full(1, salt, np.int8), "worn": np.full(1, worn, np.int8)}
        row = rows(shop, hazard, [6.0], states, vocabulary=vocabulary).iloc[0]
        assert row["x_m"] == pytest.approx(m)


def test_the_floor_is_held_against_what_the_job_would_save(shop):
    """(C_f − C_p)·p against 150 a bay-hour for 5 hours: 5,100·p of at least 750."""
    table = rows(shop, shop.hazard(harm={}), np.linspace(9.0, 15.0, 1201).tolist())
    gain = 5_100.0 * table["probability"]
    near = gain.between(735.0, 765.0)
    assert near.sum() > 20
    assert gain.between(743.0, 750.0).any()
    assert gain.between(750.0, 757.0).any()
    assert ((table["tier"] < 7) == (gain >= 750.0))[near].all()


@pytest.mark.parametrize(("value", "over"), [(899.0, True), (900.0, False), (904.0, False)])
def test_a_job_dearer_than_the_vehicle_is_told(shop, value, over):
    """The belt job is 5·150 + 150 = 900."""
    assert rows(shop, shop.hazard(), [12.0], value=value)["x_over_value"].tolist() == [over]


def test_what_a_job_opens_that_shows_itself_hurts_by_its_events(shop):
    """A belt that may let go after a job: harm is the ratio 1e-3 times its chance of the year."""
    first = shop.hazard().model_dump()
    belt = shop.hazard(remedies=[{**first["remedies"][0], "opens": ["belt"]}])
    book = SimpleNamespace(hazards={"belt": belt}, policy=shop.policy())
    row = opened(book).iloc[0]
    assert row["harm"] == pytest.approx(1e-3 * row["chance"], rel=1e-12)
    assert row["expected_cost"] == pytest.approx(6_000.0 * row["chance"], rel=1e-12)
