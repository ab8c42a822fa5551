"""What a finding and a job change, and what they must not: rates before, parts after."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest

from riskcheck.figures import Figure
from riskcheck.risk import price
from riskcheck.risk.factors import multiplier, without_findings

ONE = {"value": 1.0, "unit": "1", "source": "invented"}


def factor(finding, group, value, share, acts="from_seen"):
    figure = Figure(value, "1", "invented")
    return SimpleNamespace(
        finding=finding, group=group, multiplier=figure, share=Figure(share, "1", "invented"),
        acts=acts,
    )  # fmt: skip


def states(*values):
    return np.array(values, dtype=np.int8)


def test_who_is_known_to_lack_a_finding_has_run_at_one_rate_all_along():
    """Rattles 4 (share 0.1) and leaks 2 (0.2): centres 1.3 and 1.2, by hand."""
    factors = [factor("rattles", "noise", 4.0, 0.1), factor("leaks", "fluid", 2.0, 0.2),
               factor("towing", "duty", 3.0, 0.5, acts="always")]  # fmt: skip
    holds = {
        "rattles": states(0, 1, -1, 0), "leaks": states(0, 0, 0, -1), "towing": states(1, 1, 1, 1)
    }  # fmt: skip
    before = without_findings(factors, holds, 4)
    assert before == pytest.approx([1 / 1.3 / 1.2, 1 / 1.3 / 1.2, 1 / 1.2, 1 / 1.3], rel=1e-12)
    ahead = multiplier(factors, holds, 4, "from_seen")
    assert ahead == pytest.approx([before[0], 4 * before[1], before[2], before[3]], rel=1e-12)
    # Over the population that the B10 speaks of the mean multiplier is one.
    told = {"rattles": states(*[1] * 10, *[0] * 90), "leaks": states(*[0] * 100)}
    noise = [factors[0]]
    assert multiplier(noise, told, 100, "from_seen").mean() == pytest.approx(1.0, rel=1e-12)


def priced(shop, hazards, years, **held):
    ids = tuple(f"V{at}" for at in range(len(years)))
    book = SimpleNamespace(hazards={h.id: h for h in hazards}, policy=shop.policy(), vocabulary={})
    conclusions = {
        h.id: shop.reasoned(h.id, ["exposed"] * len(ids), **held.get(h.id, {})) for h in hazards
    }
    use = shop.use(ids, np.array(years, dtype=float))
    fleet = shop.fleet(list(ids), shop.events(), "1935-01-01")
    return price(book, conclusions, fleet, use, shop.as_of, 12).exposures


def with_rattle(shop, **changes):
    return shop.hazard(
        factors=[{"finding": "rattles", "group": "noise", "multiplier": {**ONE, "value": 4},
                  "share": {**ONE, "value": 0.1}, "acts": "from_seen"}],
        findings={"applies": {"says": "has a belt", "when": [{"belt": True}]},
                  "rattles": {"says": "it rattles", "when": [{"noise": True}]}},
        **changes,
    )  # fmt: skip


def test_no_rate_drops_on_the_day_one_looks(shop):
    """At 1/1.3 of the rate all along: the belief of a B10 longer by 1.3^(1/4), shape 4 certain."""
    shape = {**ONE, "value": 4}

    def life(longer):
        b10 = {name: value * longer for name, value in
               (("value", 110_000), ("low", 85_000), ("high", 140_000))}  # fmt: skip
        clock = {"clock": "miles", "b10": {**b10, "unit": "mi", "source": "invented"}}
        return {"model": "weibull", "shape": shape, "clocks": [clock]}

    quiet = {"belt": {"factors": {"rattles": states(0)}}}
    found = priced(shop, [with_rattle(shop, life=life(1.0))], [9.0], **quiet).iloc[0]
    stated = priced(shop, [shop.hazard(life=life(1.3**0.25))], [9.0]).iloc[0]
    assert found["x_m"] == pytest.approx(1 / 1.3, rel=1e-12)
    for name in ("probability", "probability_low", "probability_high", "x_surprise_chance",
                 "x_p_after_job", "net_benefit"):  # fmt: skip
        assert found[name] == pytest.approx(stated[name], rel=2e-3), name


def test_a_finding_on_the_old_part_does_not_change_what_a_new_one_costs(shop):
    """Worse today, so the date is no later and waiting costs no less than without the finding."""
    rattling = {"belt": {"factors": {"rattles": states(1, 0)}}}
    rows = priced(shop, [with_rattle(shop)], [6.0, 6.0], **rattling)
    with_it, without = rows.iloc[0], rows.iloc[1]
    assert with_it["probability"] > without["probability"]
    assert with_it["net_benefit"] > without["net_benefit"]
    assert with_it["act_by_date"] <= without["act_by_date"]
    assert with_it["x_p_after_job"] == pytest.approx(without["x_p_after_job"], rel=1e-12)


def renewing(shop, name, kept):
    return shop.hazard(
        id=name,
        remedies=[{
            "id": f"{name}-kit", "title": "kit", "effect": "renews", "proof": "invoice",
            "kept_age": {**ONE, "value": kept},
            "recorded_as": [{"topics": ["timing_belt"], "marks": ["done", "proof"]}]}],
    )  # fmt: skip


@pytest.mark.parametrize("kept", [0.2, 0.5])
def test_a_job_that_renews_in_part_is_never_worth_more_than_one_that_renews(shop, kept):
    """At the same price: no greater gain from doing it now, and no date of money."""
    years = [3.0, 6.0, 8.0, 10.0, 14.0]
    rows = priced(shop, [renewing(shop, "full", 0.0), renewing(shop, "part", kept)], years)
    full, part = (rows[rows["hazard_id"] == name].reset_index() for name in ("full", "part"))
    assert (part["net_benefit"] <= full["net_benefit"] + 1e-9).all()
    assert (part["x_p_after_job"] > full["x_p_after_job"]).all()
    assert full["act_by_reason"].eq("money").any()
    assert not part["act_by_reason"].eq("money").any()


@pytest.mark.parametrize("years", [4.0, 9.0, 15.0])
def test_the_worth_of_knowing_goes_by_what_is_believed_today(shop, years):
    """Survival has made the exposure less likely than the rules alone say; by hand from the row.

    Known: act where W pays.  Not known: the best of leaving, looking and booking the job.
    """
    ids, unknown = ("V0",), {"belt": {"status": ["unknown"], "weight": 0.4}}
    book = SimpleNamespace(hazards={"belt": shop.hazard()}, policy=shop.policy(), vocabulary={})
    told = {"belt": shop.reasoned("belt", **unknown["belt"])}
    fleet = shop.fleet(list(ids), shop.events(), "1935-01-01")
    use = shop.use(ids, np.array([years]))
    row = price(book, told, fleet, use, shop.as_of, 12).exposures.iloc[0]
    weight = row["exposed_weight"]
    assert weight < 0.4
    gain = row["net_benefit"] / weight
    known = weight * max(0.0, gain)
    fix = weight * gain - (1.0 - weight) * row["x_bench_cost"]
    look = weight * max(0.0, gain) - row["x_cost_look"]
    assert row["x_worth_asking"] == pytest.approx(max(known - max(0.0, fix, look), 0.0), abs=1e-9)
