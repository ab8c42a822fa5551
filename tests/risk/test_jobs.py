"""A job that renews a worn part never raises that part's own chance; what it opens is priced."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from riskcheck import rulebook
from riskcheck.risk.hazard_figures import belief_of, kept_by_leading_job
from riskcheck.risk.histories import survived
from riskcheck.risk.life import posterior
from riskcheck.risk.opened import opened
from riskcheck.rulebook.model import WeibullLife

BOOK = rulebook.load()
WEARING = [
    hazard.id
    for hazard in BOOK.hazards.values()
    if isinstance(hazard.life, WeibullLife)
    and hazard.life.shape.range[0] > 1.0
    and (kept_by_leading_job(hazard) == 0.0)
]


@pytest.mark.parametrize("hazard_id", WEARING)
@settings(max_examples=15, deadline=None, derandomize=True)
@given(age=st.floats(0.05, 3.0), ahead=st.floats(0.01, 0.5), m=st.floats(0.4, 4.0))
def test_renewing_a_worn_part_never_raises_its_own_chance(hazard_id, age, ahead, m):
    """Ages and horizons in B10 lives, up to where a mixture's hazard may begin to fall."""
    hazard = BOOK.hazards[hazard_id]
    unit = np.array([clock.b10.value for clock in hazard.life.clocks])
    belief = belief_of(hazard)

    def chance(now):
        past = survived([(0.0 * unit, now * unit)], now * unit, now * unit, m)
        end = ((now + ahead) * unit).reshape(1, 1, 1, -1)
        return posterior(belief, past).chance(end)[0, 0]

    assert chance(0.0) <= chance(age) * (1 + 1e-9)


def test_most_shipped_hazards_wear():
    assert len(WEARING) >= 15


def test_whatever_a_job_opens_is_listed_and_priced():
    table = opened(BOOK)
    named = {(hazard.id, remedy.id, name) for hazard in BOOK.hazards.values()
             for remedy in hazard.remedies for name in remedy.opens}  # fmt: skip
    assert len(named) > 10
    known = {one for one in named if one[2] in BOOK.hazards}
    assert set(table[["hazard_id", "remedy_id", "opens"]].itertuples(index=False, name=None)) == (
        known
    )
    assert named == known, "a remedy opens a hazard that the rulebook does not have"
    assert table["chance"].between(0.0, 1.0, inclusive="neither").all()
    assert (table["chance_low"] <= table["chance"]).all()
    assert (table["chance"] <= table["chance_high"]).all()
    assert (table["expected_cost"] > 0.0).all()
    assert (table["expected_cost"] <= table["cost_if_fails"]).all()
    assert (table["harm"] > 0.0).all()


def test_a_wheel_that_was_off_has_the_chance_of_its_own_window():
    """Integrated here with numpy over shape 0.4 (0.3 to 0.6) and B10 2,000 (600 to 6,000) mi.

    As the file states them; the window's miles from zero, nothing survived yet.
    """
    wheel = BOOK.hazards["wheel-retorque-missed"]
    row = opened(BOOK).query("opens == 'wheel-retorque-missed'").iloc[0]
    rng = np.random.default_rng(19)

    def drawn(figure):
        low, high = figure.range
        z = rng.standard_normal(400_000)
        reach = np.where(z < 0, np.log(figure.value / low), np.log(high / figure.value))
        return figure.value * np.exp(reach * z / 1.6448536269514722)

    shape, b10 = drawn(wheel.life.shape), drawn(wheel.life.clocks[0].b10)
    window = wheel.watch_window.length.value
    p = -np.expm1(np.log(0.9) * (window / b10) ** shape)
    assert (row["within"], row["unit"]) == (window, "mi")
    assert row["chance"] == pytest.approx(p.mean(), rel=0.01)
    assert row["chance_low"] == pytest.approx(np.quantile(p, 0.05), rel=0.07)
    assert row["chance_high"] == pytest.approx(np.quantile(p, 0.95), rel=0.07)
