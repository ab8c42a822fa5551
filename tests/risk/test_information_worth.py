"""Worth of an answer against published decision problems (from memory, reproduced by their sums).

Raiffa, Decision Analysis, 1968: the oil wildcatter.  Howard's party with its clairvoyant (as told
in decision-analysis courses).  Both have three or fewer actions, so ``worth`` must price the answer
as the books do; what riskcheck's own three actions are worth is held in test_money_and_asking.
"""

from __future__ import annotations

import itertools

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from riskcheck.reasoning.reasoned import VehicleWorlds
from riskcheck.risk.asking import best_questions, values, worth

# Dry, wet, soaking: chance and what drilling pays, in thousands.
WELL = np.array([0.5, 0.3, 0.2]), np.array([-70.0, 50.0, 200.0])
# Chance of each seismic finding (none, open, closed structure) for a dry, wet, soaking hole.
SEISMIC = np.array([[0.6, 0.3, 0.1], [0.3, 0.4, 0.3], [0.1, 0.4, 0.5]])


def asked(weight, value, answer):
    """Worth for one vehicle whose worlds have these weights (w,), values (3, w), answers (w,)."""
    return float(worth(np.zeros(len(weight), dtype=np.int64), weight, value, answer)[0])


def wildcatter():
    """Nine worlds, hole by finding; the third action is as bad as can be."""
    chance, pays = WELL
    weight = (chance[:, None] * SEISMIC).ravel()
    drill = np.repeat(pays, 3)
    return weight, np.stack([np.zeros(9), np.full(9, -1e6), drill])


def test_the_wildcatters_clairvoyant():
    """Drilling is worth 20, a hole known beforehand 0.3·50 + 0.2·200 = 55: knowing is worth 35."""
    weight, value = wildcatter()
    assert asked(weight, value, np.repeat([0, 1, 2], 3)) == pytest.approx(35.0)


def test_the_wildcatters_soundings():
    """Worth 12.5: 21 on a closed structure, 11.5 on an open one, nothing on none, less 20.

    At 10 the test is bought and leaves 22.5, as in the book.
    """
    weight, value = wildcatter()
    soundings = asked(weight, value, np.tile([0, 1, 2], 3))
    assert soundings == pytest.approx(12.5)
    assert 20.0 + soundings - 10.0 == pytest.approx(22.5)


def test_the_partys_clairvoyant():
    """Sun 0.4: outdoors 100 or 0, porch 90 or 20, indoors 40 or 50.

    Porch is best unasked (48); who knows goes outdoors or in: 0.4·100 + 0.6·50 = 70, so 22.
    """
    value = np.array([[100.0, 0.0], [90.0, 20.0], [40.0, 50.0]])
    assert asked(np.array([0.4, 0.6]), value, np.array([0, 1])) == pytest.approx(22.0)


def test_an_answer_that_is_the_same_in_every_world_is_worth_nothing():
    weight, value = wildcatter()
    assert asked(weight, value, np.zeros(9, dtype=np.int64)) == pytest.approx(0.0, abs=1e-12)


@settings(max_examples=60, deadline=None)
@given(st.integers(0, 10_000), st.integers(2, 5))
def test_worth_is_that_of_a_tree_searched_by_hand(seed, answers):
    """Every plan "on this answer do that" tried out: the best of them less the best single act."""
    rng = np.random.default_rng(seed)
    n = 6
    weight = rng.dirichlet(np.ones(n))
    value = values(rng.normal(300, 500, n), rng.random(n) < 0.5, np.full(n, 60.0),
                   np.full(n, 210.0))  # fmt: skip
    said = rng.integers(0, answers, n)
    plans = itertools.product(range(3), repeat=answers)
    best = max(sum(weight[w] * value[plan[said[w]], w] for w in range(n)) for plan in plans)
    alone = max(float(weight @ row) for row in value)
    assert asked(weight, value, said) == pytest.approx(max(best - alone, 0.0), abs=1e-9)


@pytest.mark.parametrize(("tilt", "facts", "least"), [(0.005, "a", 0.30), (1e-5, "a; b", 60.0)])
def test_a_pair_is_named_only_where_no_single_answer_is_worth_half_a_cent(tilt, facts, least):
    """Exposed where two answers differ; the first tilts the odds to 0.5 + d or 0.5 - d.

    W 1,000, look 60, bench 120: looking and fixing are worth 440 alike unasked, and 120·d apart on
    either answer, so the first answer is worth 60·d; both tell all: 0.5·1,000 - 440 = 60.
    """
    weight = np.array([0.25 - tilt / 2, 0.25 + tilt / 2, 0.25 - tilt / 2, 0.25 + tilt / 2])
    worlds = VehicleWorlds(
        vehicle=np.zeros(4, dtype=np.int64), exposed=np.array([False, True, True, False]),
        weight=weight, answers={"a": np.array([0, 0, 1, 1]), "b": np.array([0, 1, 0, 1])},
    )  # fmt: skip
    asked_ = best_questions(worlds, np.array([1000.0]), 60.0, 120.0)
    assert asked_.facts == [facts]
    assert asked_.worth[0] == pytest.approx(least, rel=1e-4)
