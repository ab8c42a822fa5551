"""Identities of the whole pricing, whatever the figures: from a record to the rows people read.

No published value is needed: q = 1 changes nothing, q = 0 forgets, a good look never raises a
chance, splitting what was survived changes nothing, a harsher or longer use is never milder.
"""

from __future__ import annotations

import itertools
from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from riskcheck import rulebook
from riskcheck.figures import Figure
from riskcheck.risk import price
from riskcheck.risk.beliefs import life_belief
from riskcheck.risk.hazard_figures import belief_of, kept_by_leading_job
from riskcheck.risk.histories import survived
from riskcheck.risk.life import posterior
from riskcheck.rulebook.model import WeibullLife

BOOK = rulebook.load()
ONE = {"value": 1.0, "unit": "1", "source": "invented"}
FIGURES = ["probability", "probability_low", "probability_high", "probability_12m", "x_p1", "x_p3",
           "net_benefit", "wait_month", "x_p_after_job"]  # fmt: skip
SHOP_HIDDEN = {
    "id": "hose", "reveals": "by_looking", "harm": {"per_year_present": {**ONE, "value": 2e-4}},
    "severity": {"people": "I", "money": "III"},
    "life": {
        "model": "weibull", "shape": {**ONE, "value": 3.5, "low": 2.5, "high": 4.5},
        "clocks": [{"clock": "years", "b10": {**ONE, "value": 10, "low": 7, "high": 14}}],
    },
    "look": {
        "title": "look", "recorded_as": [{"topics": ["hose"], "marks": ["checked_good"]}],
        "minutes": {**ONE, "value": 20}, "cost": {**ONE, "value": 60}, "finds": ONE,
    },
}  # fmt: skip


def priced(shop, hazard, years, happened, horizon=12):
    """Rows of vehicles V0, V1, ... of these ages, whose whole life is on record."""
    ids = tuple(f"V{at}" for at in range(len(years)))
    book = SimpleNamespace(hazards={hazard.id: hazard}, policy=shop.policy(), vocabulary={})
    conclusions = {hazard.id: shop.reasoned(hazard.id, ["exposed"] * len(ids))}
    use = shop.use(ids, np.array(years, dtype=float))
    fleet = shop.fleet(list(ids), happened, "1930-01-01")
    return price(book, conclusions, fleet, use, shop.as_of, horizon).exposures


def lessening(shop, kept):
    """The made-up belt with a job that keeps this share of its age."""
    job = {"id": "tension", "title": "t", "effect": "lessens", "proof": "p",
           "kept_age": {**ONE, "value": kept},
           "recorded_as": [{"topics": ["tension"], "marks": ["done"]}]}  # fmt: skip
    return shop.hazard(remedies=[*shop.hazard().model_dump()["remedies"], job])


def ago(shop, years):
    return str(pd.Timestamp(shop.as_of) - pd.Timedelta(days=round(365.25 * years)))[:10]


def same(one, other, rel):
    for name in FIGURES:
        if name in one:
            assert one[name] == pytest.approx(other[name], rel=rel, abs=1e-9), name


def test_a_job_that_keeps_all_age_changes_nothing(shop):
    happened = shop.events(("V1", ago(shop, 3), "tension", "done"),
                           ("V2", ago(shop, 6), "tension", "done"),
                           ("V2", ago(shop, 2), "tension", "done"))  # fmt: skip
    rows = priced(shop, lessening(shop, 1.0), [9.0] * 3, happened)
    for other in (1, 2):
        same(rows.iloc[other], rows.iloc[0], 1e-6)


def test_a_job_that_keeps_no_age_forgets_all_that_was_survived(shop):
    """A belt of four years is the same belt in an old vehicle and in one of four years."""
    happened = shop.events(("V1", ago(shop, 4), "timing_belt", "done"),
                           ("V2", ago(shop, 8), "tension", "done"),
                           ("V2", ago(shop, 4), "timing_belt", "done"))  # fmt: skip
    rows = priced(shop, lessening(shop, 0.6), [4.0, 15.0, 15.0], happened)
    for other in (1, 2):
        same(rows.iloc[other], rows.iloc[0], 2e-3)  # whole days against years
    assert rows["x_surprise_chance"].tolist() == pytest.approx(
        [rows["x_surprise_chance"].iloc[0]] * 3, rel=1e-3
    )


def test_a_partial_job_counts_by_its_share_of_age(shop):
    """q 0.6 at 80,000 of 108,000 mi: 48,000 + 28,000 lived since, and 80,000 survived before."""
    nine = 9.0 * 12_000.0
    day = ago(shop, (nine - 80_000.0) / 12_000.0)
    row = priced(shop, lessening(shop, 0.6), [9.0],
                 shop.events(("V0", day, "tension", "done"))).iloc[0]  # fmt: skip
    assert row["usage"] == pytest.approx(76_000.0, abs=40.0)
    belief = belief_of(shop.hazard())
    past = survived([((0.0,), (80_000.0,)), ((48_000.0,), (76_000.0,))], (76_000.0,), (76_000.0,))
    paces = np.array(shop.use.__dataclass_fields__["spread"].default) * 12_000.0
    p = posterior(belief, past).chance((76_000.0 + paces).reshape(1, 1, -1, 1)).mean()
    assert row["probability"] == pytest.approx(p, rel=2e-3)


def test_where_half_of_the_age_goes_twice_a_quarter_is_left(shop):
    """q 0.5 at 60,000 and again at 100,000 (virtual 70,000): 35,000 + 8,000 by today."""
    days = [ago(shop, (108_000.0 - miles) / 12_000.0) for miles in (60_000.0, 100_000.0)]
    happened = shop.events(*(("V0", day, "tension", "done") for day in days))
    row = priced(shop, lessening(shop, 0.5), [9.0], happened).iloc[0]
    assert row["usage"] == pytest.approx(43_000.0, abs=60.0)


@pytest.mark.parametrize("looked", [0.1, 1.0, 3.0, 6.0])
@pytest.mark.parametrize("finds", [1.0, 0.8, 0.3])
@pytest.mark.parametrize("costly", [None, 0.4])
def test_a_good_look_never_raises_the_chance(shop, looked, finds, costly):
    changes = {} if costly is None else {"becomes_costly_per_year": {**ONE, "value": costly}}
    look = {**SHOP_HIDDEN["look"], "finds": {**ONE, "value": finds}}
    hose = shop.hazard(**{**SHOP_HIDDEN, **changes, "look": look})
    happened = shop.events(("V1", ago(shop, looked), "hose", "checked_good"))
    unseen, seen = (row for _, row in priced(shop, hose, [12.0, 12.0], happened).iterrows())
    for name in ("probability_now", "probability", "probability_12m", "x_p3", "p_harm"):
        assert seen[name] <= unseen[name] * (1 + 1e-9), name
    assert seen["usage"] == unseen["usage"]


@pytest.mark.parametrize("years", [[1.0, 9.0, 14.0]])
def test_horizon_zero(shop, years):
    """Nothing is expected at once of what reveals itself; the hidden may be there already."""
    belt = priced(shop, shop.hazard(), years, shop.events(), horizon=0)
    hose = priced(shop, shop.hazard(**SHOP_HIDDEN), years, shop.events(), horizon=0)
    assert (belt[["probability", "probability_now", "net_benefit"]].abs() < 1e-9).all(axis=None)
    for end in ("", "_low", "_high"):
        assert hose[f"probability{end}"].tolist() == pytest.approx(
            hose[f"x_now{end}" if end else "probability_now"].tolist(), rel=1e-9
        )
    assert (hose["probability"] > 1e-5).all()
    assert (hose["net_benefit"].abs() < 1e-9).all()


def test_what_is_hidden_is_never_less_likely_than_what_shows_itself(shop):
    """The same life, the same record, m fixed: only what is known of today differs."""
    hidden = shop.hazard(**SHOP_HIDDEN)
    open_ = shop.hazard(**{**SHOP_HIDDEN, "reveals": "by_itself",
                           "harm": {"per_event": {**ONE, "value": 1e-4}}})  # fmt: skip
    years = [0.5, 3.0, 9.0, 14.0]
    one, other = (priced(shop, each, years, shop.events()) for each in (hidden, open_))
    assert (one["probability"] >= other["probability"] * (1 - 1e-9)).all()
    assert (one["probability_now"] > 0.0).all()
    assert (other["probability_now"] < 1e-12).all()


SIZE = (21, 11)


def life(shape):
    return life_belief(
        Figure(shape, "1", "invented", shape * 0.8, shape * 1.3),
        [Figure(1.0, "1", "invented", 0.6, 1.7)], size=SIZE,
    )  # fmt: skip


@settings(max_examples=60, deadline=None)
@given(
    st.floats(0.4, 5.0), st.lists(st.floats(0.01, 0.99), min_size=1, max_size=5),
    st.floats(0.1, 2.0), st.floats(0.01, 1.0), st.floats(0.2, 3.0), st.floats(1.0, 4.0),
    st.floats(0.0, 1.0),
)  # fmt: skip
def test_splitting_a_stretch_changes_nothing(shape, cuts, age, ahead, m, worse, seen):
    """Cut anywhere, also where a finding was seen inside the last piece."""
    places = sorted({0.0, *cuts, 1.0})
    since = max(seen, places[-2])  # a finding falls into the last stretch (that is how it is read)
    changes = {"m_ahead": np.array([m * worse]), "seen": np.array([[[since * age]]])}
    whole = replace(survived([((0.0,), (age,))], (age,), (age,), m), **changes)
    pieces = [((a * age,), (b * age,)) for a, b in itertools.pairwise(places)]
    parts = replace(survived(pieces, (age,), (age,), m), **changes)
    end = np.array([[[[age + ahead]]]])
    one, other = (posterior(life(shape), past) for past in (whole, parts))
    assert other.survival[0] == pytest.approx(one.survival[0], rel=1e-9)
    for a, b in zip(one.chance_with_range(end), other.chance_with_range(end), strict=True):
        assert b == pytest.approx(a, rel=1e-7, abs=1e-12)


@settings(max_examples=60, deadline=None)
@given(st.floats(0.4, 5.0), st.floats(0.05, 2.0), st.floats(0.01, 1.0), st.floats(0.2, 4.0))
def test_a_job_done_today_at_its_two_ends(shape, age, ahead, m):
    """q = 1 is no job at all; q = 0 is a new part, whatever was lived through before."""
    past = survived([((0.0,), (age,))], (age,), (age,), m)
    state, gain = posterior(life(shape), past), np.full((1, 1, 1), ahead)
    without = state.chance(np.array([[[[age + ahead]]]]))[0, 0]
    assert state.chance_after(1.0, gain)[0] == pytest.approx(without, rel=1e-9, abs=1e-12)
    new = posterior(life(shape), survived([], (0.0,), (0.0,), m))
    fresh = new.chance(np.array([[[[ahead]]]]))[0, 0]
    assert state.chance_after(0.0, gain)[0] == pytest.approx(fresh, rel=1e-9, abs=1e-12)
    # In between: the nodes go on from q·age with the weights they have (by the module's formula).
    q, belief = 0.6, state.belief
    load = belief.load(np.array([[q * age + ahead], [q * age]]), m)
    direct = state.weight[0, 0] @ -np.expm1(load[1] - load[0])
    assert state.chance_after(q, gain)[0] == pytest.approx(direct, rel=1e-9, abs=1e-12)


def test_a_finding_on_the_old_part_goes_with_it_and_stays_on_one_that_is_kept():
    """m 1 before and 3 since: a new part has m 1 again, one that keeps half its age has m 3."""
    past = replace(survived([((0.0,), (1.0,))], (1.0,), (1.0,)), m_ahead=np.array([3.0]))
    state, gain = posterior(life(2.5), past), np.full((1, 1, 1), 0.3)
    new = posterior(life(2.5), survived([], (0.0,), (0.0,)))
    fresh = new.chance(np.array([[[[0.3]]]]))[0, 0]
    assert state.chance_after(0.0, gain)[0] == pytest.approx(fresh, rel=1e-9)
    load = state.belief.load(np.array([[0.8], [0.5]]))
    direct = state.weight[0, 0] @ -np.expm1(3.0 * (load[1] - load[0]))
    assert state.chance_after(0.5, gain)[0] == pytest.approx(direct, rel=1e-9)


WEARING = [
    hazard.id
    for hazard in BOOK.hazards.values()
    if isinstance(hazard.life, WeibullLife)
    and hazard.life.shape.range[0] > 1.0
    and (kept_by_leading_job(hazard) == 0.0)
]


@settings(max_examples=60, deadline=None)
@given(
    st.sampled_from(WEARING), st.floats(0.05, 2.0), st.floats(0.01, 0.5), st.floats(0.4, 4.0),
    st.floats(0.0, 1.0),
)  # fmt: skip
def test_what_is_said_after_a_renewing_job_is_never_above_what_is_said_without(
    hazard_id, age, ahead, m, weight
):
    """In B10 lives, the exposure itself in doubt; for wear-out parts up to two lives."""
    belief = belief_of(BOOK.hazards[hazard_id])
    unit = belief.middle_b10
    past = survived([(0.0 * unit, age * unit)], age * unit, age * unit, m)
    past = replace(past, prior=np.array([[weight]]), absent=np.array([1.0 - weight]))
    state = posterior(belief, past)
    without = state.chance(((age + ahead) * unit).reshape(1, 1, 1, -1))[0, 0]
    after = state.chance_after(0.0, (ahead * unit).reshape(1, 1, -1))[0]
    assert after <= without * (1 + 1e-9) + 1e-15


@settings(max_examples=40, deadline=None)
@given(st.floats(0.4, 5.0), st.floats(0.01, 1.0), st.floats(0.2, 4.0), st.floats(1.0, 3.0),
       st.floats(0.0, 0.9))  # fmt: skip
def test_p_rises_with_the_multiplier_and_the_horizon(shape, ahead, m, more, absent):
    """With m where nothing was survived (on both sides of today it may go either way)."""

    def new(m, ahead):
        past = replace(survived([], (0.0,), (0.0,), m), absent=np.array([absent]),
                       prior=np.array([[1.0 - absent]]))  # fmt: skip
        p, spread = posterior(life(shape), past).chance_with_range(np.array([[[[ahead]]]]))
        return np.array([p[0], *spread[0]])

    base = new(m, ahead)
    assert (new(m * more, ahead) >= base - 1e-9).all()
    assert (new(m, ahead * more) >= base - 1e-9).all()
