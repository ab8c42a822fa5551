"""What may be claimed of the sign of W, and that no wider claim would be true.

W(Δ) = (C_f − C_p)·p(Δ) − s·∫S̄ is never above zero up to the act-by age (for there h̄·(C_f − C_p)
stays below s), and rises at once where act-by is today: d/dΔ W = S̄·(h̄·(C_f − C_p) − s).  The hazard
of a belief, a mixture, peaks near 3 to 5 B10 lives and falls after that (worked out apart from this
project), so nothing is claimed of W beyond.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from riskcheck.figures import Figure
from riskcheck.risk import act_by
from riskcheck.risk.beliefs import life_belief
from riskcheck.risk.figures_of import Question, answer, month_points
from riskcheck.risk.histories import survived
from riskcheck.risk.life import posterior

ONE = np.ones(1)


def belief(shape, b10):
    return life_belief(
        Figure(shape[0], "1", "invented", *shape[1:]), [Figure(b10[0], "1", "invented", *b10[1:])]
    )


STUD = belief((2.0, 1.6, 2.8), (300.0, 180.0, 500.0))
BELT = belief((4.0, 3.0, 6.0), (110.0, 85.0, 140.0))
HOSE = belief((3.5, 2.5, 4.5), (10.0, 7.0, 14.0))


def asked(life, past, a_year, **changes):
    """Answer for one exposure at one sure pace (units of its clock a year)."""
    months = month_points(12.0)
    gain = np.broadcast_to(a_year * months / 12.0, (1, 5, len(months)))[..., None]
    plain = {
        "loss": 5100.0 * ONE, "saved_rate": 0.0 * ONE, "look_cost": 60.0 * ONE,
        "loss_a_year": 250.0 * ONE, "harm_a_year": 2e-4, "tolerance": 1e-5, "hidden": False,
    }  # fmt: skip
    past = replace(past, pace=np.full((1, past.prior.shape[1]), a_year))
    question = Question(
        histories=past, months=months, gain=gain, pace=np.ones((1, 1)),
        a_year=np.array([a_year]), horizon=12.0, **{**plain, **changes},
    )  # fmt: skip
    return months, answer(life, question)


def lived(age, m=1.0):
    return survived([((0.0,), (age,))], (age,), (age,), m)


def renewing(life, planned, failure, m):
    """s of a renewing job, or None where no schedule gains."""
    b10 = float(life.middle_b10[0])
    part = act_by.survivor(life, m, ONE, b10 / 200, 6.0 * b10)
    best = act_by.age_replacement(part, planned * ONE, failure * ONE)
    return best.cost_rate if best.gains[0] else None


@settings(max_examples=40, deadline=None)
@given(
    st.sampled_from([BELT, STUD, HOSE]), st.floats(0.05, 1.5), st.floats(2.0, 30.0),
    st.floats(0.3, 3.0), st.floats(0.03, 0.3),
)  # fmt: skip
def test_waiting_until_the_act_by_date_of_a_renewing_job_never_costs(life, age, ratio, m, pace):
    """Ages and yearly use in B10 lives; within a year W is exact to the trapezoid's error."""
    saved = renewing(life, 1.0, ratio, m)
    assume(saved is not None)
    b10 = float(life.middle_b10[0])
    loss = ratio - 1.0
    months, found = asked(life, lived(age * b10, m), pace * b10, loss=loss * ONE, saved_rate=saved)
    due = found.act_months[0]
    due = np.inf if np.isnan(due) else due
    before = months <= min(due, 12.0)
    assert (found.waits[0, before] <= 2e-4 * loss).all()
    assert found.waits[0, 0] == pytest.approx(0.0, abs=1e-12)


@settings(max_examples=40, deadline=None)
@given(
    st.sampled_from([BELT, STUD, HOSE]), st.floats(0.05, 1.5), st.floats(2.0, 30.0),
    st.floats(0.3, 3.0), st.floats(0.02, 0.15),
)  # fmt: skip
def test_due_today_means_that_waiting_costs_from_the_first_moment(life, age, ratio, m, interest):
    """A one-off job: s = r·C_p/ū, here with ū = a tenth of a B10 life a year."""
    b10 = float(life.middle_b10[0])
    saved = act_by.one_off_cost_rate(ONE, interest, 0.1 * b10 * ONE)
    loss = ratio - 1.0
    _, found = asked(life, lived(age * b10, m), 0.1 * b10, loss=loss * ONE, saved_rate=saved)
    state = posterior(life, lived(age * b10, m))
    now = np.full((1, 1, 1, 1), age * b10)
    slope = float(state.rate(now, np.ones((1, 1)))[0, 0]) * loss - float(saved[0])
    step = 1e-5 * b10
    chance = state.chance(now + step)[0, 0]
    first = loss * chance - saved[0] * step * (1.0 - 0.5 * chance)
    if found.act_months[0] == 0.0:
        assert slope >= 0.0
        assert first >= -1e-3 * float(saved[0]) * step
    else:
        assert slope < 0.0
    # A finite step against a difference of two nearly equal rates.
    assert first == pytest.approx(slope * step, rel=0.02, abs=0.05 * float(saved[0]) * step)


@pytest.mark.parametrize(("life", "at"), [(STUD, 4.26), (BELT, 3.01), (HOSE, 3.01)])
def test_the_hazard_of_a_belief_peaks_at_three_to_five_lives_and_falls(life, at):
    b10 = float(life.middle_b10[0])
    state = posterior(life, survived([], (0.0,), (0.0,)))
    lives_ = np.linspace(0.1, 10.0, 991)
    rate = state.rate((lives_ * b10).reshape(1, 1, -1, 1), np.ones((1, 1)))[0]
    peak = lives_[rate.argmax()]
    assert 2.95 <= peak <= 5.0
    assert peak == pytest.approx(at, abs=0.06)
    assert rate[-1] < 0.9 * rate.max()


def test_past_the_act_by_age_w_may_turn_again():
    """A part that has lived four times its book life is a strong one: W falls below zero again.

    The act-by age lay far behind (W was above zero there), which is why no claim is made of it.
    """
    life = belief((2.0, 1.6, 2.8), (100.0, 40.0, 250.0))
    job, interest, pace = 975.0, 0.08, 15.0
    saved = act_by.one_off_cost_rate(job * ONE, interest, pace * ONE)
    loss = 1500.0 * ONE

    def rises(age):
        state = posterior(life, lived(age))
        rate = state.rate(np.full((1, 1, 1, 1), age), np.ones((1, 1)))[0, 0]
        return float(rate * loss[0] - saved[0])

    assert rises(10.0) < 0.0 < rises(250.0)
    assert rises(1500.0) < 0.0
    _, found = asked(life, lived(1500.0), pace, loss=loss, saved_rate=saved)
    assert found.waits[0, 4] < 0.0


@settings(max_examples=20, deadline=None)
@given(st.floats(0.0, 12.0), st.floats(0.0, 5.0), st.floats(0.4, 4.0), st.floats(5.0, 2000.0),
       st.floats(20.0, 200.0))  # fmt: skip
def test_not_looking_costs_nothing_at_once_and_is_worked_out_beside_the_code(
    looked, since, m, loss, look
):
    """W = L·∫F̄ − C_look·Δt/τ with F̄ integrated finely here; the answer steps by months.

    τ is the time from the last good look to the next due one, where L·∫F̄ reaches C_look.
    """
    now = looked + since
    past = survived([((0.0,), (looked,))], (looked,), (now,), m)
    months, found = asked(
        HOSE, past, 1.0, hidden=True, loss_a_year=loss * ONE, look_cost=look * ONE
    )
    assert found.waits[0, 0] == 0.0
    state = posterior(HOSE, past)
    years = np.linspace(0.0, since + 10.0, 601)
    present = state.chance((looked + years).reshape(1, 1, -1, 1))[0]
    gathered = np.concatenate(([0.0], np.cumsum(np.diff(years) * (present[1:] + present[:-1]) / 2)))
    due = np.interp(look / loss, gathered, years, right=np.inf)
    tau = since + 10.0 if np.isinf(due) else due
    ahead = np.interp(since + months / 12.0, years, gathered) - np.interp(since, years, gathered)
    if abs(due - since - 10.0) > 0.5:
        stated = loss * ahead[4] - look * 1.0 / tau
        assert found.waits[0, 4] == pytest.approx(stated, rel=0.03, abs=0.05 * look)
        wait, dated = max(due - since, 0.0), found.act_months[0] / 12.0
        never = np.isinf(wait)
        assert np.isnan(dated) if never else 0.97 * wait - 0.1 <= dated <= 1.01 * wait + 0.02
    assert found.present[0, 4] == pytest.approx(ahead[4], rel=0.01, abs=2e-4)
