"""What moves a chance is told in its true size and order; what makes a range wide likewise.

The Weibull load H(v) = m·c·(v/B10)^β is that of the NIST/SEMATECH e-Handbook 8.1.6.2 with
F(B10) = 0.10; the effect of silence is held against lives simulated here.
"""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from riskcheck import rulebook
from riskcheck.explain.drivers import Stand, drivers_of, unknowns_of
from riskcheck.explain.view import Driver
from riskcheck.rulebook.model import Hazard

HAZARDS = rulebook.load(rulebook.shipped_dir()).hazards
HOSE, BELT = HAZARDS["brake-hose-ageing"], HAZARDS["timing-belt-overdue"]
ROW: dict[str, Any] = {"x_factors": "", "x_m": 1.0, "exposed_weight": 1.0, "evidence": "none"}


def stand(hazard: Hazard, now: float, ok_at: float = 0.0, **further: Any) -> Stand:
    b10 = np.array([clock.b10.value for clock in hazard.life.clocks])  # type: ignore[union-attr]
    known = Stand(
        now=np.full(len(b10), now), ok_at=np.full(len(b10), ok_at), b10=b10,
        renewed_at=np.zeros(5), renewed_weight=0.0, use=None, a_year=1.0,
    )  # fmt: skip
    return replace(known, **further)


def times(drivers: tuple[Driver, ...], code: str) -> float:
    return next(one.times for one in drivers if one.code == code)


def without_silence(hazard: Hazard) -> Hazard:
    return hazard.model_copy(update={"becomes_costly_per_year": None})


def test_use_raises_the_load_by_the_power_of_the_weibull_law() -> None:
    """At twice B10 the load is 2^β times that at B10; of an event that shows itself the rate is
    2^(β−1) times (the derivative of H)."""
    shape, b10 = HOSE.life.shape.value, HOSE.life.clocks[0].b10.value  # type: ignore[union-attr]
    told = drivers_of(without_silence(HOSE), ROW, stand(HOSE, 2.0 * b10))
    assert times(told, "use") == pytest.approx(2.0**shape)
    far = np.array([clock.b10.value for clock in BELT.life.clocks])  # type: ignore[union-attr]
    told = drivers_of(BELT, ROW, replace(stand(BELT, 0.0), now=2.0 * far, ok_at=2.0 * far))
    rate = BELT.life.shape.value - 1.0  # type: ignore[union-attr]
    assert times(told, "use") == pytest.approx(2.0**rate)


def test_a_good_look_leaves_what_came_since_and_what_it_missed() -> None:
    """By hand: at 0.5 of today's age a share f of 0.5^β of the load is ruled out."""
    hazard = without_silence(HOSE)
    assert hazard.look is not None
    told = drivers_of(hazard, ROW, stand(HOSE, 12.0, 6.0))
    shape = hazard.life.shape.value  # type: ignore[union-attr]
    assert times(told, "looked") == pytest.approx(1.0 - hazard.look.finds.value * 0.5**shape)
    assert all(one.code != "looked" for one in drivers_of(hazard, ROW, stand(HOSE, 12.0)))


@pytest.mark.parametrize(("age", "looked"), [(12.0, 0.0), (18.0, 0.0), (15.0, 9.0)])
def test_silence_speaks_for_the_part_as_in_simulated_lives(age: float, looked: float) -> None:
    """Lives drawn here: of those absent at the look and silent until today, how many have it."""
    rng = np.random.default_rng(20261001)
    shape, b10 = HOSE.life.shape.value, HOSE.life.clocks[0].b10.value  # type: ignore[union-attr]
    yearly = HOSE.becomes_costly_per_year
    assert yearly is not None
    comes = b10 * (rng.exponential(size=2_000_000) / -math.log(0.9)) ** (1.0 / shape)
    comes = comes[comes > looked]
    shows = comes + rng.exponential(1.0 / yearly.value, size=len(comes))
    plain = float((comes <= age).mean())
    silent = shows > age
    given = float((comes[silent] <= age).mean())
    told = drivers_of(HOSE, ROW, stand(HOSE, age, looked))
    error = math.sqrt(given * (1.0 - given) / silent.sum()) / plain + 2e-3
    assert times(told, "silent") == pytest.approx(given / plain, abs=4.0 * error)
    assert times(told, "silent") < 1.0


def test_drivers_multiply_to_the_multiplier_and_stand_largest_first() -> None:
    """The factors told and what their absence does give back x_m (centring: m / (1 + Σ s(m−1)))."""
    hazard = next(
        one for one in HAZARDS.values()
        if len([f for f in one.factors if f.acts == "always"]) >= 2 and one.reveals == "by_looking"
    )  # fmt: skip
    acting = next(factor for factor in hazard.factors if factor.acts == "always")
    row = {**ROW, "x_factors": acting.finding, "x_m": 0.8, "exposed_weight": 0.3}
    told = drivers_of(hazard, row, stand(hazard, 5.0, a_year=1e3))
    sizes = [abs(math.log(one.times)) for one in told]
    assert sizes == sorted(sizes, reverse=True)
    assert times(told, "applies") == pytest.approx(0.3)
    product = math.prod(one.times for one in told if one.code in ("factor", "elsewhere", "capped"))
    assert product == pytest.approx(0.8, rel=0.06)  # what moves it by less than 5 % is not told


def test_each_unknown_is_there_only_where_it_is_one() -> None:
    sure = unknowns_of(HOSE, ROW, stand(HOSE, 12.0))
    assert [one.code for one in sure] == ["life"]
    clock = HOSE.life.clocks[0]  # type: ignore[union-attr]
    assert sure[0].range == clock.b10.range
    unsure = stand(
        HOSE, 12.0, renewed_at=np.linspace(5.5, 9.5, 5), renewed_weight=0.6,
        use=np.array([[8.0, 16.0]]),
    )  # fmt: skip
    told = {one.code: one for one in unknowns_of(HOSE, ROW, unsure)}
    assert set(told) == {"life", "use", "renewed"}
    assert told["use"].range == (8.0, 16.0)
    # By hand: β·ln(16/8) over the 3.29 deviations between 5 and 95 %.
    shape = HOSE.life.shape.value  # type: ignore[union-attr]
    assert told["use"].spread == pytest.approx(shape * math.log(2.0) / 3.289707, rel=1e-6)
    share = HAZARDS["replacement-heater-no-ground"]
    assert [u.code for u in unknowns_of(share, ROW, stand(HOSE, 1.0))] == ["share"]


def test_how_much_a_factor_does_is_an_unknown_too() -> None:
    factor = next(one for one in HOSE.factors if one.multiplier.range[0] < one.multiplier.range[1])
    told = unknowns_of(HOSE, ROW | {"x_factors": factor.finding}, stand(HOSE, 12.0))
    own = next(one for one in told if one.code == "factor")
    low, high = factor.multiplier.range
    assert (own.of, own.range) == (factor.finding, (low, high))
    assert own.spread == pytest.approx(math.log(high / low) / 3.289707, rel=1e-6)


def test_what_has_shown_a_sign_is_not_called_silent() -> None:
    codes = [
        [one.code for one in drivers_of(HOSE, {**ROW, "evidence": evidence}, stand(HOSE, 15.0))]
        for evidence in ("none", "sign")
    ]
    assert "silent" in codes[0]
    assert "silent" not in codes[1]
