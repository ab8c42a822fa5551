"""The integer program against every assignment there is, on problems small enough to try all."""

from __future__ import annotations

import dataclasses
import sys
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

sys.path.insert(0, str(Path(__file__).parent))

import brute

from riskcheck.actions.plan.improve import improve
from riskcheck.actions.plan.problem import Pool, costs, opened, pool_load
from riskcheck.actions.plan.room import Room
from riskcheck.actions.plan.simple import earliest_fit
from riskcheck.actions.plan.solve import Effort, solve

EXACT = Effort(gap=0.0)


@settings(max_examples=40, deadline=None, derandomize=True)
@given(seed=st.integers(0, 10**6), jobs=st.integers(1, 5), weeks=st.integers(1, 3))
def test_least_cost_is_that_of_exhaustive_search(seed: int, jobs: int, weeks: int) -> None:
    problem = brute.random_problem(seed, jobs, weeks)
    found = solve(problem, EXACT)
    assert found is not None
    assert brute.faults(problem, found.week.tolist()) == []
    assert found.value == pytest.approx(brute.cost(problem, found.week.tolist()), abs=1e-6)
    assert found.value == pytest.approx(brute.best(problem), abs=1e-4)
    assert found.stopped == "gap"


@settings(max_examples=15, deadline=None, derandomize=True)
@given(seed=st.integers(0, 10**6), jobs=st.integers(6, 24), weeks=st.integers(2, 5))
def test_every_answer_keeps_the_limits(seed: int, jobs: int, weeks: int) -> None:
    problem = brute.random_problem(seed, jobs, weeks)
    found = solve(problem, Effort(gap=0.05, nodes=20))
    assert found is not None
    assert brute.faults(problem, found.week.tolist()) == []
    assert found.bound <= found.value + 1e-6
    room = Room(problem, found.week)
    improve(room)
    better = room.week.tolist()
    assert brute.faults(problem, better) == []
    assert brute.cost(problem, better) <= brute.cost(problem, found.week.tolist()) + 1e-6
    for order in (np.arange(jobs), np.arange(jobs)[::-1]):
        simple = earliest_fit(problem, order).tolist()
        assert brute.faults(problem, simple) == []
        assert brute.cost(problem, simple) >= found.bound - 1e-6


@settings(max_examples=30, deadline=None, derandomize=True)
@given(seed=st.integers(0, 10**6))
def test_room_counts_as_the_verifier_does(seed: int) -> None:
    """A job that Room lets in breaks nothing; one that it refuses breaks something."""
    problem = brute.random_problem(seed, 12, 3)
    room = Room(problem)
    dice = np.random.default_rng(seed)
    for _ in range(40):
        job, week = int(dice.integers(0, 12)), int(dice.integers(0, 3))
        if room.week[job] >= 0:
            room.take(job)
            continue
        trial = room.week.copy()
        trial[job] = week
        assert bool(room.refusal(job, week)[0]) == bool(brute.faults(problem, trial.tolist()))
        if not room.refusal(job, week)[0]:
            before = costs(problem, room.week).total - problem.loss[job, -1]
            assert before + room.added_cost(job, week) == pytest.approx(
                brute.cost(problem, trial.tolist())
            )
            room.put(job, week)
    assert costs(problem, room.week).total == pytest.approx(brute.cost(problem, room.week.tolist()))
    again = Room(problem, room.week)
    for job, week in enumerate(room.week):
        if week >= 0:
            again.take(job)
    assert pool_load(problem, again.week) == pytest.approx(np.zeros((3, 3)))
    assert not opened(problem, again.week).visits.any()


def test_overtime_is_bought_only_where_it_pays() -> None:
    """One job of 3 h, 2 h of paid time: 1.25 h over costs $337.50 in half hours of $112.50.

    The visit takes a quarter hour beside the job.  By hand: worth it against a loss of $1,000,
    not against one of $300.
    """
    base = brute.random_problem(1, 1, 1)
    for undone, weeks, overtime in ((1000.0, [0], 1.5), (300.0, [-1], 0.0)):
        problem = dataclasses.replace(
            base,
            hours=np.array([3.0]),
            loss=np.array([[0.0, undone]]),
            allowed=np.array([[True]]),
            labour_class=np.array([0]),
            visit_cost=np.array([[0.0]]),
            pools=(Pool("labour", "one", frozenset({0}), np.array([2.0]), (0,)),),
            overtime=np.full((2, 1), 2.0),
        )
        found = solve(problem, EXACT)
        assert found is not None
        assert found.week.tolist() == weeks
        assert found.overtime.sum() == pytest.approx(overtime)


def test_nothing_to_plan_is_a_plan() -> None:
    problem = brute.random_problem(1, 1, 2)
    empty = dataclasses.replace(
        problem,
        vehicle=np.zeros(0, dtype=np.int64),
        hours=np.zeros(0),
        loss=np.zeros((0, 3)),
        allowed=np.zeros((0, 2), dtype=bool),
    )
    found = solve(empty)
    assert found is not None
    assert found.week.tolist() == []


def test_no_plan_in_time_is_none_and_the_net_is_named() -> None:
    problem = brute.random_problem(3, 60, 8)
    found = solve(problem, Effort(gap=0.0, seconds=0.0))
    assert found is None or found.stopped == "time"
