"""What a job opens elsewhere, every row priced again by quadrature that shares no code with it.

Chance, years present, dollars and harm from the figures of the hazard files: a shape and a B10 on
a grid of their own (two-piece log-normal, 161 by 81 normal scores), a fault that arrives with the
Weibull density and turns costly at its yearly rate, integrated over 400 steps of time.
"""

from __future__ import annotations

import numpy as np
import pytest

from riskcheck import rulebook
from riskcheck.risk.opened import opened
from riskcheck.rulebook.model import ShareLife

BOOK = rulebook.load()
ROWS = opened(BOOK)
# The usual vehicle of the policy: its first entries.
A_YEAR = {"miles": 12_000.0, "engine_hours": 400.0, "cold_starts": 110.0}
VALUE, DAY, TOW = 9_000.0, 60.0, 220.0


def drawn(figure, z):
    low, high = figure.range
    reach = np.where(z < 0, np.log(figure.value / low), np.log(high / figure.value))
    return figure.value * np.exp(reach * z / 1.6448536269514722)


def watched(hazard):
    """Use on the first clock until the window's end (else a year's), and the years it takes."""
    clock = hazard.life.clocks[0].clock if hazard.life.model == "weibull" else (
        hazard.watch_window.clock if hazard.watch_window else "years")  # fmt: skip
    if hazard.watch_window is None:
        return A_YEAR.get(clock, 1.0), 1.0
    length = hazard.watch_window.length.value
    years = length / A_YEAR.get(hazard.watch_window.clock, 1.0)
    same = hazard.watch_window.clock == clock
    return (length if same else years * A_YEAR.get(clock, 1.0)), years


def path(hazard, within, years, steps=400):
    """Mean chance by each of ``steps`` + 1 times, and the nodes' own with weights at the end."""
    times = np.linspace(0.0, years, steps + 1)
    if isinstance(hazard.life, ShareLife):
        return times, np.full(len(times), hazard.life.share.value), None
    z_b10, z_shape = np.linspace(-5, 5, 161), np.linspace(-5, 5, 81)
    weight = np.exp(-0.5 * (z_b10[:, None] ** 2 + z_shape**2))
    weight = (weight / weight.sum()).ravel()
    shape = np.tile(drawn(hazard.life.shape, z_shape), len(z_b10))
    use = np.zeros((len(times), len(shape)))
    for place, clock in enumerate(hazard.life.clocks):
        end = within if place == 0 else years
        b10 = np.repeat(drawn(clock.b10, z_b10), len(z_shape))
        use = np.maximum(use, (times / years * end)[:, None] / b10)
    p = -np.expm1(np.log(0.9) * use**shape)
    return times, p @ weight, (p[-1], weight)


def years_present(times, chance, costly):
    """∫ ∫ arrivals that have not turned costly: each arrival stays exp(−κ·time) present."""
    came = np.concatenate(([chance[0]], np.diff(chance)))
    middle = np.concatenate(([0.0], 0.5 * (times[1:] + times[:-1])))
    left = times[-1] - middle
    stays = left if costly == 0.0 else -np.expm1(-costly * left) / costly
    return float(came @ stays)


@pytest.mark.parametrize("place", range(len(ROWS)))
def test_every_opened_hazard_is_priced_as_by_quadrature(place):
    row = ROWS.iloc[place]
    hazard = BOOK.hazards[row["opens"]]
    within, years = watched(hazard)
    assert row["within"] == pytest.approx(within, rel=1e-9)
    times, chance, spread = path(hazard, within, years)
    assert row["chance"] == pytest.approx(chance[-1], rel=5e-3)
    if spread is not None:
        order = np.argsort(spread[0])
        gathered = np.cumsum(spread[1][order]) - 0.5 * spread[1][order]
        ends = np.interp([0.05, 0.95], gathered, spread[0][order])
        assert row["chance_low"] == pytest.approx(ends[0], rel=0.07)
        assert row["chance_high"] == pytest.approx(ends[1], rel=0.07)
    yearly = hazard.becomes_costly_per_year
    costly = yearly.value if yearly else 0.0
    present = years_present(times, chance, costly)
    cost = sum(
        o.share.value
        * (min(o.cost.value, VALUE) + o.days_down.value * DAY + (TOW if o.tow else 0.0))
        for o in hazard.outcomes
    )
    assert row["cost_if_fails"] == pytest.approx(cost, rel=1e-9)
    happens = costly * present if hazard.reveals == "by_looking" else chance[-1]
    assert row["expected_cost"] == pytest.approx(happens * cost, rel=8e-3)
    harm = hazard.harm
    hurt = (harm.per_year_present.value * present if harm.per_year_present else 0.0) + (
        harm.per_event.value * chance[-1] if harm.per_event else 0.0
    )
    assert row["harm"] == pytest.approx(hurt, rel=8e-3)
    if hazard.look:
        assert row["look_minutes"] == hazard.look.minutes.value
        assert row["look_cost"] == hazard.look.cost.value


def test_the_usual_vehicle_is_the_policys_first():
    policy = BOOK.policy
    assert next(iter(policy.yearly_miles.values())).value == A_YEAR["miles"]
    assert next(iter(policy.yearly_engine_hours.values())).value == A_YEAR["engine_hours"]
    assert policy.yearly_cold_starts.value == A_YEAR["cold_starts"]
    assert next(iter(policy.vehicle_value.values())).value == VALUE
    assert next(iter(policy.day_cost.values())).value == DAY
    assert policy.tow_cost.value == TOW


def test_both_kinds_are_among_them():
    kinds = {BOOK.hazards[name].reveals for name in ROWS["opens"]}
    assert "by_looking" in kinds
    assert len(set(ROWS["opens"])) >= 3
