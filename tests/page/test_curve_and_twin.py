"""The curve is the Weibull law; two vehicles differ in what makes them differ, and in no name."""

from __future__ import annotations

import json
import math

import numpy as np
import pytest

from riskcheck import explaining
from riskcheck.assessment import Assessment
from riskcheck.errors import UsageError
from riskcheck.explain import VehicleView
from riskcheck.explain.curve import life_curve
from riskcheck.figures import Figure
from riskcheck.reports import explain_twin, page_icons
from riskcheck.risk.beliefs import life_belief


def figure(value: float, unit: str = "mi") -> Figure:
    return Figure(value, unit, "invented")


def test_a_certain_life_gives_the_weibull_curve_itself() -> None:
    """F(t) = 1 - exp(-(t/alpha)^beta), NIST/SEMATECH e-Handbook 8.1.6.2; F(B10) = 0.10."""
    belief = life_belief(figure(2.0, "1"), [figure(100_000.0)])
    curve = life_curve(belief, 1.0, np.array([100_000.0]), "mi")
    alpha = 100_000.0 / (-math.log(0.9)) ** 0.5
    for use, share, low, high in zip(curve.usage, curve.share, curve.low, curve.high, strict=True):
        expected = 1.0 - math.exp(-((use / alpha) ** 2.0))
        assert share == pytest.approx(expected, abs=1e-12)
        assert low == pytest.approx(expected, abs=1e-9)
        assert high == pytest.approx(expected, abs=1e-9)
    assert curve.now_share == pytest.approx(0.10, abs=1e-12)


def test_an_uncertain_life_rises_inside_its_band_and_a_multiplier_lifts_it() -> None:
    """Identities: shares rise with use, stay in [0, 1] and inside the band, and rise with m."""
    unsure = life_belief(
        Figure(2.0, "1", "invented", 1.6, 2.8), [Figure(300e3, "mi", "invented", 180e3, 500e3)]
    )
    plain = life_curve(unsure, 1.0, np.array([150e3]), "mi")
    driven = life_curve(unsure, 3.0, np.array([150e3]), "mi")
    assert all(np.diff(plain.share) >= 0)
    assert all(0 <= share <= 1 for share in plain.share)
    inside = zip(plain.low, plain.share, plain.high, strict=True)
    assert all(low <= share <= high for low, share, high in inside)
    assert driven.now_share > plain.now_share
    assert np.interp(150e3, plain.usage, plain.share) == pytest.approx(plain.now_share, abs=2e-3)


def test_of_two_clocks_the_one_further_through_counts() -> None:
    """120,000 of 110,000 mi at 4 of 9 years: the miles decide, so F is that of the miles alone."""
    both = life_belief(figure(4.0, "1"), [figure(110_000.0), figure(9.0, "y")])
    miles = life_belief(figure(4.0, "1"), [figure(110_000.0)])
    told = life_curve(both, 1.0, np.array([120_000.0, 4.0]), "mi")
    alone = life_curve(miles, 1.0, np.array([120_000.0]), "mi")
    assert told.now_share == pytest.approx(alone.now_share, abs=1e-12)


@pytest.mark.parametrize(
    ("p", "high", "of", "expected"),
    [(0.07, 0.15, 100, (7, 8)), (0.0004, 0.0031, 1000, (0, 3)), (1.0, 1.0, 100, (100, 0))],
)
def test_icons_count_what_the_sentence_says(
    p: float, high: float, of: int, expected: tuple[int, int]
) -> None:
    """Counted by hand: 7 of 100 and up to 15 is 7 filled and 8 outlined of 100 squares."""
    assert page_icons.counts(p, high, of) == expected
    drawn = page_icons.icons(p, high, of)
    assert drawn.count("M") == of
    filled = drawn.split('class="possible"')[0].split('class="rest"')[0]
    assert filled.count("M") == expected[0]


def test_a_twin_of_another_customer_stays_nameless(assessed: Assessment) -> None:
    view = explaining.beside(assessed, "1201", "1206")
    vehicles = assessed.fleet.vehicles.set_index("vehicle_id")
    owners = vehicles.loc[["1201", "1206"], "customer_id"]
    assert owners.nunique() == 2
    text = json.dumps(explain_twin.json_of(view))
    other = vehicles.loc["1206"]
    people = assessed.fleet.customers.set_index("customer_id").loc[other["customer_id"]]
    secrets = [other["vin"], other["plate"], other["customer_id"], people["name"], people["phone"]]
    for secret in (*secrets, "1206"):
        assert not secret or json.dumps(str(secret)) not in text, secret
    assert view.other == ""


def test_only_differing_facts_are_told_with_what_each_does(assessed: Assessment) -> None:
    """1206 had its heater measured, 1201 did not: readings by which the two part."""
    view = explaining.beside(assessed, "1201", "1206")
    hazard = next(h for h in view.hazards if h.hazard.id == "replacement-heater-no-ground")
    assert (hazard.here["status"], hazard.there["status"]) == ("exposed", "closed")
    facts = {told.fact.name: told for told in hazard.facts}
    assert all(told.here != told.there for told in facts.values())
    assert facts["heater_ground_fitted"].status == "unproven"
    same = explaining.beside(assessed, "1206", "1201")
    back = next(h for h in same.hazards if h.hazard.id == hazard.hazard.id)
    assert {told.fact.name for told in back.facts} == set(facts)


def test_a_vehicle_is_no_twin_of_itself(assessed: Assessment) -> None:
    with pytest.raises(UsageError, match="same vehicle"):
        explaining.beside(assessed, "B31", "b31")


def test_what_would_change_a_conclusion_names_facts_and_the_outcome(
    views: dict[str, VehicleView],
) -> None:
    """By the rule's text: hoses renewed less than 6 years ago, and no finding, close the hazard."""
    view = next(h for h in views["B31"].hazards if h.hazard.id == "brake-hose-ageing")
    outcomes = {
        (frozenset(fact.name for fact, _, _ in change.facts), change.status)
        for change in view.changes
    }
    assert (frozenset({"brake_hose_found_bad", "years_since_brake_hoses"}), "closed") in outcomes
