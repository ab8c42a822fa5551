"""Chances of nine worked exposures, against stated values and against simulated lives.

The stated values (R1 to R7) were worked out on the 41 x 21 grid with plain numpy; each is held
three ways here: grid value, a much finer grid, and simulated lives (``lives.py``, seeded), which
share nothing with the code under test.  Life figures are from memory, see the hazard files.
"""

from __future__ import annotations

import importlib.util
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from riskcheck.figures import Figure
from riskcheck.risk.beliefs import life_belief, share_belief
from riskcheck.risk.histories import Histories, survived
from riskcheck.risk.life import posterior

_spec = importlib.util.spec_from_file_location("lives", Path(__file__).parent / "lives.py")
assert _spec is not None
assert _spec.loader is not None
lives = importlib.util.module_from_spec(_spec)
_spec.loader.exec_module(lives)


def figure(three):
    value, low, high = three
    return Figure(value, "1", "from_memory", low, high)


def belief(life, second=None, **size):
    b10s = [figure(life[1])] + ([figure(second)] if second else [])
    return life_belief(figure(life[0]), b10s, **size)


def stretch(*pairs):
    return [((a,), (b,)) for a, b in pairs]


# name: life, second clock, survived stretches, known clear at, now, multiplier, end
ROWS = {
    "R1": (lives.STUD, None, stretch((0, 150)), (150,), (150,), 1.0, (165,)),
    "R2": (lives.STUD, None, stretch((0, 120), (84, 124)), (124,), (124,), 3.0, (139,)),
    "R3": (
        lives.BELT, lives.BELT_YEARS, [((0, 0), (105, 8))], (105, 8), (105, 8), 1.0, (120, 9),
    ),
    "R4": (lives.HOSE, None, stretch((0, 9)), (9,), (12,), 1.7, (13,)),
    "R4b": (lives.HOSE, None, stretch((0, 12)), (12,), (12,), 1.7, (13,)),
    "R5": (lives.WHEEL, None, [], (0,), (0,), 3.0, (50,)),
    "R5b": (lives.WHEEL, None, stretch((0, 50)), (50,), (50,), 3.0, (100,)),
}  # fmt: skip
# name: p, low, high on the grid; p, low, high converged (401 x 201 on +-6)
STATED = {
    "R1": (0.006538, 0.001802, 0.014928, 0.006540, 0.001773, 0.015149),
    "R2": (0.015569, 0.004282, 0.035994, 0.015568, 0.004126, 0.035486),
    "R3": (0.074264, 0.022181, 0.181777, 0.074307, 0.022258, 0.181793),
    "R4": (0.293965, 0.086365, 0.662720, 0.293880, 0.089054, 0.659020),
    "R4b": (0.103550, 0.028467, 0.252347, 0.103509, None, None),
    "R5": (0.071089, 0.028719, 0.119262, 0.071058, 0.028610, 0.119551),
    "R5b": (0.023046, 0.012852, 0.036199, 0.023045, 0.012813, 0.035822),
}
# Shares counted among simulated lives by a program of its own, with their standard errors.
COUNTED = {
    "R1": (0.006540, 0.000058), "R2": (0.015584, 0.000046), "R3": (0.074219, 0.000098),
    "R4": (0.294337, 0.000349), "R4b": (0.103828, 0.000349), "R5": (0.071170, 0.000182),
    "R5b": (0.022992, 0.000055),
}  # fmt: skip
SURVIVAL = {"R1": 0.969451, "R2": 0.912039, "R3": 0.899205, "R4": 0.854178}


def worked(name, **size):
    life, second, stretches, ok_at, now, m, end = ROWS[name]
    state = posterior(belief(life, second, **size), survived(stretches, ok_at, now, m))
    p, spread = state.chance_with_range(np.array(end, dtype=float).reshape(1, 1, 1, -1))
    return state, float(p[0]), spread[0]


@pytest.mark.parametrize("name", ROWS)
def test_the_grid_gives_the_stated_chance_and_range(name):
    _, p, (low, high) = worked(name)
    assert (p, low, high) == pytest.approx(STATED[name][:3], abs=6e-7)


@pytest.mark.parametrize("name", ROWS)
def test_a_much_finer_grid_hardly_moves_the_answer(name):
    """Within 0.5 % for the chance, 7 % or 0.015 for the range."""
    _, p, spread = worked(name, size=(201, 101), reach=6.0)
    converged = STATED[name][3:]
    assert p == pytest.approx(converged[0], rel=5e-4)
    assert STATED[name][0] == pytest.approx(p, rel=5e-3)
    for coarse, fine in zip(STATED[name][1:3], spread, strict=True):
        assert abs(coarse - fine) <= max(0.07 * fine, 0.015)


@pytest.mark.parametrize("name", COUNTED)
def test_the_recorded_simulation_agrees(name):
    share, error = COUNTED[name]
    assert abs(worked(name)[1] - share) <= 2 * error + 0.002 * share


@pytest.mark.parametrize("name", SURVIVAL)
def test_chance_of_having_got_this_far(name):
    assert worked(name)[0].survival[0] == pytest.approx(SURVIVAL[name], abs=6e-7)


def simulated(name, count=800_000):
    """Draw lives; a life's exposure to failure is an exponential threshold on its own load."""
    life, second, stretches, ok_at, now, m, end = ROWS[name]
    rng = np.random.default_rng([20240501, int(name[1]), len(name)])
    drawn = lives.draw(life, count, rng, second)
    shape, b10s = drawn[0], drawn[1:]

    def through(usage):
        furthest = np.max([u / b for u, b in zip(usage, b10s, strict=True)], axis=0)
        return m * lives.C * furthest**shape

    threshold = rng.exponential(size=count)
    lived = sum((through(b) - through(a) for a, b in stretches), np.zeros(count))
    alive = threshold > lived
    failed = threshold <= lived + through(end) - through(ok_at)
    here = threshold <= lived + through(now) - through(ok_at)
    return lives.counted(failed, alive), lives.counted(here, alive)


@pytest.mark.parametrize("name", ROWS)
def test_simulated_lives_agree(name):
    state, p, _ = worked(name)
    (share, error), (now, now_error) = simulated(name)
    assert abs(p - share) <= 4 * error + 0.002 * p
    assert abs(state.chance_now()[0] - now) <= 4 * now_error + 0.002 * now


def test_a_fault_only_looking_finds_may_already_be_there():
    """R4: the same hose taken as self-revealing would be understated nearly threefold."""
    state, p, _ = worked("R4")
    assert state.chance_now()[0] == pytest.approx(0.212410, abs=6e-7)
    spread = state.chance_with_range(np.array([[[[12.0]]]]))[1][0]
    assert spread == pytest.approx([0.058310, 0.505347], abs=6e-7)
    fine, _, _ = worked("R4", size=(201, 101), reach=6.0)
    assert fine.chance_now()[0] == pytest.approx(0.212351, rel=5e-4)
    spread = fine.chance_with_range(np.array([[[[12.0]]]]))[1][0]
    assert spread == pytest.approx([0.060481, 0.502250], rel=0.01)
    assert abs(state.chance_now()[0] - 0.212580) <= 0.0008  # as simulated elsewhere
    assert p > 2.8 * worked("R4b")[1]


def test_a_look_that_finds_half_of_what_is_there():
    """f = 0.5: 0.349491 by the horizon, 0.274350 now; and lives with such looks agree."""
    _, _, stretches, ok_at, now, m, end = ROWS["R4"]
    state = posterior(belief(lives.HOSE), survived(stretches, ok_at, now, m), finds=0.5)
    p = state.chance(np.array([[[end]]], dtype=float))[0, 0]
    assert p == pytest.approx(0.349491, abs=6e-7)
    assert state.chance_now()[0] == pytest.approx(0.274350, abs=6e-7)
    rng = np.random.default_rng(44)
    shape, b10 = lives.draw(lives.HOSE, 1_000_000, rng)
    threshold = rng.exponential(size=len(shape))
    there = threshold <= m * lives.load(shape, b10, 9.0)
    clean = ~there | (rng.random(len(shape)) < 0.5)
    share, error = lives.counted(threshold <= m * lives.load(shape, b10, 13.0), clean)
    assert abs(p - share) < 4 * error


def silent_belt():
    """R6: belt, miles only, silent record at 150: original, or renewed at 65 ... 105."""
    renewed = np.array([0.0, 65.0, 75.0, 85.0, 95.0, 105.0])
    now = (150.0 - renewed)[None, :, None]
    zero = np.zeros((1, 6, 1, 1))
    return Histories(
        prior=np.array([[0.40, 0.12, 0.12, 0.12, 0.12, 0.12]]),
        absent=np.zeros(1),
        lived_from=zero,
        lived_to=now[:, :, None],
        ok_at=now,
        now=now,
        m_past=np.ones(1),
        m_ahead=np.ones(1),
    )


def test_a_silent_record_carries_both_clocks():
    past = silent_belt()
    state = posterior(belief(lives.BELT), past)
    p, spread = state.chance_with_range(past.now[:, :, None] + 15.0)
    assert p[0] == pytest.approx(0.065824, abs=6e-7)
    assert spread[0] == pytest.approx([0.003581, 0.250503], abs=6e-7)
    assert state.weight[0, 0].sum() == pytest.approx(0.304504, abs=6e-7)
    assert state.weight[0, 1:].sum() == pytest.approx(0.695496, abs=6e-7)
    assert abs(p[0] - 0.065683) <= 2 * 0.000191  # as simulated elsewhere
    fine = posterior(belief(lives.BELT, size=(201, 101), reach=6.0), past)
    far = fine.chance_with_range(past.now[:, :, None] + 15.0)
    assert far[0][0] == pytest.approx(0.065857, rel=5e-4)
    assert far[1][0] == pytest.approx([0.003607, 0.255542], rel=0.01)
    assert state.survival[0] == pytest.approx(0.845787, abs=6e-7)
    rng = np.random.default_rng(66)
    shape, b10 = lives.draw(lives.BELT, 800_000, rng)
    start = rng.choice([0.0, 65, 75, 85, 95, 105], p=[0.4] + [0.12] * 5, size=len(shape))
    threshold = rng.exponential(size=len(shape))
    alive = threshold > lives.load(shape, b10, 150.0 - start)
    share, error = lives.counted(threshold <= lives.load(shape, b10, 165.0 - start), alive)
    assert abs(p[0] - share) < 4 * error


def test_an_uncertain_rate_of_use_widens_the_range():
    """R7: R1 with 15 (10 to 22) k mi a year at its 10, 30, 50, 70 and 90 % points."""
    from scipy import stats

    rates = lives.two_piece((15.0, 10.0, 22.0), stats.norm.ppf([0.1, 0.3, 0.5, 0.7, 0.9]))
    state = posterior(belief(lives.STUD), survived(stretch((0, 150)), (150,), (150,)))
    p, spread = state.chance_with_range(150.0 + rates[None, None, :, None])
    assert p[0] == pytest.approx(0.006669, abs=6e-7)
    assert spread[0] == pytest.approx([0.001659, 0.015965], abs=6e-7)
    assert abs(p[0] - 0.006702) <= 2 * 0.000029  # as simulated elsewhere
    fine = posterior(belief(lives.STUD, size=(201, 101), reach=6.0),
                     survived(stretch((0, 150)), (150,), (150,)))  # fmt: skip
    far = fine.chance_with_range(150.0 + rates[None, None, :, None])
    assert far[0][0] == pytest.approx(0.006671, rel=5e-4)
    assert far[1][0] == pytest.approx([0.001665, 0.016042], rel=0.01)


def test_worlds_without_the_design_dilute_the_chance_and_reach_zero():
    """With weight 0.3 that the design is absent, survival makes absence likelier than that."""
    past = replace(
        survived(stretch((0, 150)), (150,), (150,)), absent=np.array([0.3]), prior=np.array([[0.7]])
    )
    state = posterior(belief(lives.STUD), past)
    exposed = 0.7 * 0.969451 / (0.7 * 0.969451 + 0.3)
    assert state.exposed[0] == pytest.approx(exposed, abs=1e-6)
    p, spread = state.chance_with_range(np.array([[[[165.0]]]]))
    assert p[0] == pytest.approx(exposed * 0.006538, abs=6e-7)
    assert spread[0, 0] == 0.0


def test_a_share_belief_keeps_its_mean_and_covers_its_range():
    """0.10 (0.03 to 0.25) is beta(2.857, 25.71), whose 5 and 95 % points are 0.028 and 0.204.

    The figures were computed apart from this project's code.
    """
    share = share_belief(Figure(0.10, "1", "invented", 0.03, 0.25))
    assert share.a / (share.a + share.b) == pytest.approx(0.10, abs=1e-12)
    assert (share.a, share.b) == pytest.approx((2.857, 25.71), rel=2e-4)
    one = np.ones(1)
    p, spread, _ = share.after_silence(one, one, one)
    assert spread[0] == pytest.approx([0.028, 0.204], abs=5e-4)
    assert p[0] == share.chance(one, one)[0] == pytest.approx(0.10, abs=1e-12)
    p, spread, given = share.after_silence(one, 0.9 * one, one)
    assert (p[0], spread[0, 0]) == (pytest.approx(0.09, abs=1e-12), 0.0)
    assert given[0] == pytest.approx([0.028, 0.204], abs=5e-4)


@pytest.mark.parametrize("weight", [0.01, 0.04, 0.06, 0.3, 0.9, 1.0])
def test_a_range_holds_its_mean_however_little_weight_the_exposure_has(weight):
    """Where 95 of 100 worlds are without the design both points of the mixture are 0, and "about
    20 of 1,000 (0 to 0)" misleads: the upper end is then the mean itself.
    """
    past = survived(stretch((0, 150)), (150,), (150,))
    past = replace(past, absent=np.array([1.0 - weight]), prior=np.array([[weight]]))
    state = posterior(belief(lives.STUD), past)
    clear = state.clear(np.array([[[[300.0]]]]))
    p, (low, high) = state.chance_of(clear)[0, 0], state.range_of(clear)[0]
    assert low <= p <= high * (1.0 + 1e-12)
    alone = posterior(belief(lives.STUD), survived(stretch((0, 150)), (150,), (150,)))
    given = alone.range_of(alone.clear(np.array([[[[300.0]]]])))[0]
    assert state.ranges_of(clear[:, :, None])[1][0, 0] == pytest.approx(given, rel=1e-9)
    assert high <= given[1] * (1 + 1e-9)
    if weight <= 0.04:
        assert (low, high) == (0.0, pytest.approx(p, rel=1e-9))
    share = share_belief(Figure(0.10, "1", "invented", 0.03, 0.25))
    at = np.array([weight])
    p, spread, _ = share.after_silence(np.ones(1), at, np.ones(1))
    assert spread[0, 0] <= p[0] <= spread[0, 1]
