"""An invented figure is named on the rows that it acts on, and on no others."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest

from riskcheck.figures import Figure
from riskcheck.risk import price

ONE = {"value": 1.0, "unit": "1", "source": "from_memory"}


def known(hazard):
    """The hazard with every invented figure taken from memory instead."""
    text = hazard.model_dump_json().replace('"invented"', '"from_memory"')
    return type(hazard).model_validate_json(text)


def names(shop, hazard, covered="1990-01-01", values=(np.nan,), **policy):
    sources = {
        name: Figure(figure.value, figure.unit, "from_memory")
        for name, figure in vars(shop.policy()).items()
        if isinstance(figure, Figure)
    }
    plain = {
        key: {"default": Figure(value, "USD", "from_memory")}
        for key, value in (("day_cost", 60.0), ("vehicle_value", 9000.0), ("yearly_miles", 12e3))
    }
    given = {**sources, **plain, "seasons_source": "from_memory", **policy}
    book = SimpleNamespace(hazards={hazard.id: hazard}, policy=shop.policy(**given), vocabulary={})
    ids = [f"V{place}" for place in range(len(values))]
    fleet = shop.fleet(ids, shop.events(), covered)
    fleet.vehicles["value_usd"] = list(values)
    use = shop.use(tuple(ids), np.full(len(ids), 12.5))
    conclusions = {hazard.id: shop.reasoned(hazard.id, ["exposed"] * len(ids))}
    rows = price(book, conclusions, fleet, use, shop.as_of, 12).exposures
    return [set(filter(None, text.split("; "))) for text in rows["x_invented"]]


def invented(value, unit="USD"):
    return Figure(value, unit, "invented")


def test_nothing_is_named_where_nothing_is_invented(shop):
    assert names(shop, known(shop.hazard())) == [set()]


def test_figures_of_the_hazard_are_named_by_their_place(shop):
    belt = known(shop.hazard(life={
        "model": "weibull", "shape": {**ONE, "value": 4, "source": "invented"},
        "clocks": [{"clock": "miles", "b10": {**ONE, "value": 110_000, "unit": "mi"}}],
    }))  # fmt: skip
    assert names(shop, belt) == [set()]
    raw = shop.hazard()
    assert "hazard.life.shape" in names(shop, raw)[0]
    assert "hazard.outcomes.engine.cost" in names(shop, raw)[0]


def test_a_guessed_value_is_named_only_where_it_caps_a_cost(shop):
    """A $6,000 failure on a vehicle worth $4,000 by its class, $5,000 and $9,000 on file."""
    worth = {"vehicle_value": {"default": invented(4000.0)}}
    found = names(shop, known(shop.hazard()), values=(np.nan, 5000.0, 9000.0), **worth)
    assert found == [{"policy.vehicle_value.default"}, set(), set()]


@pytest.mark.parametrize(
    ("policy", "name"),
    [
        ({"labour_rate": invented(150.0)}, "policy.labour_rate"),
        ({"yearly_miles": {"default": invented(12e3)}}, "policy.yearly_miles.default"),
        ({"tolerance_p_harm": invented(1e-5)}, "policy.tolerance_p_harm"),
    ],
)
def test_policy_figures_are_named_where_they_act(shop, policy, name):
    """The belt of 150,000 miles is over the tolerance line, so the line acts too."""
    assert names(shop, known(shop.hazard()), **policy) == [{name}]


def test_the_deferral_rate_acts_on_one_off_jobs_only(shop):
    rate = {"deferral_rate": invented(0.08, "1/y")}
    assert names(shop, known(shop.hazard()), **rate) == [set()]
    base = shop.hazard().model_dump()
    once = known(shop.hazard(remedies=[{**base["remedies"][0], "effect": "eliminates"}]))
    assert names(shop, once, **rate) == [{"policy.deferral_rate"}]


def test_a_renewal_we_never_saw_rests_on_the_programs_own_defaults(shop):
    assert names(shop, known(shop.hazard()), covered="2025-09-01") == [
        {"riskcheck.unseen_renewal_interval", "riskcheck.unseen_renewal_share"}
    ]
