"""Planning 500 jobs over 13 weeks with 4 bays, beside the two policies a shop follows without it.

    python tests/bench/plan_speed.py [JOBS] [SEEDS]

Prints seconds, proven gap, cost and jobs left undone for the plan, for first come, first served
and for highest risk first, on the same random instances: about 220 vehicles with openings shared
by their jobs, three skills one above the other, three kinds of bay, waiting for parts, latest
dates, vehicles away 15 % of the weeks and at most 2 of a fleet's 12 out.  Enough hours, and 0.6 of
them.  Done when every gap is below 1 % within 60 s.
"""

from __future__ import annotations

import sys
import time

import numpy as np

from riskcheck.actions.plan.improve import improve
from riskcheck.actions.plan.problem import NONE, Pool, Problem, costs
from riskcheck.actions.plan.room import Room
from riskcheck.actions.plan.simple import earliest_fit
from riskcheck.actions.plan.solve import Effort, solve

WEEKS, BAYS = 13, 4
GAP, SECONDS = 0.01, 60.0


def instance(seed: int, jobs: int, plenty: float) -> Problem:
    """A random problem; ``plenty`` scales the hours that there are."""
    dice = np.random.default_rng(seed)
    vehicles = max(1, round(jobs * 0.44))
    vehicle = np.sort(dice.integers(0, vehicles, jobs))
    skill = dice.choice(3, jobs, p=[0.5, 0.3, 0.2])
    hours = np.round(dice.lognormal(0.5, 0.5, jobs), 2)
    group, openings, hours = _openings(vehicle, dice.integers(0, 6, jobs), skill, hours)
    at = np.append(np.arange(WEEKS), WEEKS + 3)
    loss = dice.lognormal(2.5, 1.0, jobs)[:, None] * (at + 0.5) ** dice.uniform(0.8, 1.3, (jobs, 1))
    early = dice.random(jobs) < 0.25
    loss[early] = -2.0 * (at + 0.5) + 0.2 * (at + 0.5) ** 2
    due = np.where(dice.random(jobs) < 0.3, dice.integers(0, WEEKS, jobs), 10_000)
    rate = np.where(dice.random(jobs) < 0.5, 1000.0, 150.0)
    loss += np.maximum(at[None] - due[:, None], 0) * rate[:, None]
    loss[:, -1] += np.where(due < 10_000, 3000.0, 60.0)
    parts = np.where(dice.random(jobs) < 0.3, dice.integers(1, 4, jobs), 0)
    away = dice.random((vehicles, WEEKS)) < 0.15
    overhead = 0.25
    total = hours.sum() + openings[2].sum() + overhead * vehicles
    week = np.full(WEEKS, plenty * 1.417 * total / WEEKS)
    people = np.tile(week / 3.0, (3, 1))
    first_job = np.zeros(vehicles, dtype=np.int64)
    first_job[vehicle[::-1]] = np.arange(jobs)[::-1]
    fleet = np.where(np.arange(vehicles) < 0.55 * vehicles, np.arange(vehicles) // 12, NONE)
    return Problem(
        vehicle=vehicle,
        hours=hours,
        loss=loss,
        allowed=(np.arange(WEEKS)[None] >= parts[:, None]) & ~away[vehicle],
        labour_class=skill,
        bay_class=dice.choice(3, jobs, p=[0.8, 0.13, 0.07]),
        group=group,
        group_vehicle=openings[0],
        group_job=openings[1],
        group_hours=openings[2],
        visit_cost=np.full((vehicles, WEEKS), 90.0),
        visit_hours=np.full(vehicles, 6.8),
        visit_job=first_job,
        visit_overhead=overhead,
        spare_group=fleet,
        spare_visits=np.full((int(fleet.max()) + 1, WEEKS), 2.0),
        pools=(
            Pool("labour", "all", frozenset({0, 1, 2}), people.sum(axis=0), (0, 1, 2)),
            Pool("labour", "B and A", frozenset({1, 2}), people[1:].sum(axis=0), (1, 2)),
            Pool("labour", "A", frozenset({2}), people[2], (2,)),
            Pool("bay", "all", frozenset({0, 1, 2}), week),
            Pool("bay", "two of four", frozenset({1, 2}), week * 2 / BAYS),
            Pool("bay", "one", frozenset({1}), week / BAYS),
            Pool("bay", "another", frozenset({2}), week / BAYS),
        ),
        overtime=np.full((3, WEEKS), 2.0),
        labour_rate=150.0,
        overtime_rate=225.0,
    )


def _openings(
    vehicle: np.ndarray, teardown: np.ndarray, skill: np.ndarray, hours: np.ndarray
) -> tuple[np.ndarray, tuple[np.ndarray, np.ndarray, np.ndarray], np.ndarray]:
    group = np.full(len(vehicle), NONE)
    owner, lead, once = [], [], []
    for key in sorted(set(zip(vehicle.tolist(), teardown.tolist(), strict=True))):
        members = np.flatnonzero((vehicle == key[0]) & (teardown == key[1]))
        if len(members) > 1:
            shared = 0.45 * hours[members].min()
            group[members] = len(owner)
            hours[members] -= shared
            owner.append(key[0])
            lead.append(int(members[np.argmax(skill[members])]))
            once.append(shared)
    return group, (np.array(owner, int), np.array(lead, int), np.array(once, float)), hours


def main(jobs: int, seeds: int) -> None:
    """Measure and print."""
    print(f"{jobs} jobs, {WEEKS} weeks, {BAYS} bays; gap asked for {GAP:.0%}, net {SECONDS:.0f} s")
    print(
        f"{'seed':>4} {'hours':>6} {'seconds':>8} {'gap':>7} {'stopped':>8} {'plan':>10} "
        f"{'undone':>6} {'first come':>11} {'undone':>6} {'by risk':>10} {'undone':>6}"
    )
    worst_gap = worst_seconds = 0.0
    for seed in range(seeds):
        for plenty in (1.0, 0.6):
            problem = instance(seed, jobs, plenty)
            started = time.perf_counter()
            found = solve(problem, Effort(GAP * 0.9, 2_000, SECONDS * 0.9))
            assert found is not None, "no plan in time"
            room = Room(problem, found.week, found.overtime)
            improve(room)
            seconds = time.perf_counter() - started
            plan = costs(problem, room.week, float(found.overtime.sum())).total
            gap = (plan - found.bound) / plan
            first = earliest_fit(problem, np.random.default_rng(seed).permutation(jobs))
            risk = earliest_fit(problem, np.argsort(-problem.loss[:, -1], kind="stable"))
            worst_gap, worst_seconds = max(worst_gap, gap), max(worst_seconds, seconds)
            print(
                f"{seed:>4} {plenty:>6.1f} {seconds:>8.1f} {gap:>7.2%} {found.stopped:>8} "
                f"{plan:>10,.0f} {(room.week < 0).sum():>6} {costs(problem, first).total:>11,.0f} "
                f"{(first < 0).sum():>6} {costs(problem, risk).total:>10,.0f} "
                f"{(risk < 0).sum():>6}",
                flush=True,
            )
    print(f"worst gap {worst_gap:.2%}, longest {worst_seconds:.1f} s")


if __name__ == "__main__":
    given = [int(word) for word in sys.argv[1:]]
    main(*(given + [500, 3][len(given) :]))
