"""Written for the tests alone: small random problems, every assignment tried, limits re-checked.

Nothing here uses the planner's own cost or limit code: both are spelled out again with plain loops
from the description in ``Problem``.
"""

from __future__ import annotations

import itertools
import math

import numpy as np

from riskcheck.actions.plan.problem import Pool, Problem

STEP = 0.5


def random_problem(seed: int, jobs: int, weeks: int) -> Problem:
    """A small problem with two people, two bays, shared openings, spares and latest dates."""
    dice = np.random.default_rng(seed)
    vehicles = max(1, jobs // 2)
    vehicle = dice.integers(0, vehicles, jobs)
    hours = np.round(dice.uniform(0.5, 4.0, jobs), 1)
    teardown = dice.integers(0, 2, jobs)
    group = np.full(jobs, -1)
    group_vehicle, group_job, group_hours = [], [], []
    for v in range(vehicles):
        for kind in range(2):
            members = np.flatnonzero((vehicle == v) & (teardown == kind))
            if len(members) > 1:
                group[members] = len(group_vehicle)
                group_vehicle.append(v)
                group_job.append(int(members[0]))
                group_hours.append(0.5)
    rate = np.round(dice.uniform(-20.0, 150.0, jobs))
    due = dice.integers(0, weeks + 3, jobs)
    at = np.append(np.arange(weeks), weeks + 3)
    loss = rate[:, None] * (at + 0.5) + 200.0 * np.maximum(at[None] - due[:, None], 0)
    loss[:, -1] += 60.0
    allowed = dice.random((jobs, weeks)) < 0.8
    capacity = hours.sum() / weeks * dice.uniform(0.4, 1.2)
    people = np.full((2, weeks), round(capacity / 2, 2))
    bay = np.full(weeks, round(capacity, 2))
    visit_job = np.zeros(vehicles, dtype=np.int64)
    for job in range(jobs):
        visit_job[vehicle[job]] = job
    return Problem(
        vehicle=vehicle,
        hours=hours,
        loss=loss,
        allowed=allowed,
        labour_class=dice.integers(0, 2, jobs),
        bay_class=np.zeros(jobs, dtype=np.int64),
        group=group,
        group_vehicle=np.array(group_vehicle, dtype=np.int64),
        group_job=np.array(group_job, dtype=np.int64),
        group_hours=np.array(group_hours, dtype=np.float64),
        visit_cost=np.round(dice.uniform(30.0, 300.0, (vehicles, 1))) * np.ones((1, weeks)),
        visit_hours=np.full(vehicles, 6.8),
        visit_job=visit_job,
        visit_overhead=0.25,
        spare_group=np.where(np.arange(vehicles) % 2 == 0, 0, -1),
        spare_visits=np.ones((1, weeks)),
        pools=(
            # Person 0 does everything, person 1 only class 0.
            Pool("labour", "both", frozenset({0, 1}), people.sum(axis=0), (0, 1)),
            Pool("labour", "first", frozenset({1}), people[0], (0,)),
            Pool("bay", "bays", frozenset({0}), bay),
        ),
        overtime=np.zeros((2, weeks)),
        labour_rate=150.0,
        overtime_rate=225.0,
    )


def faults(p: Problem, week: list[int], overtime: np.ndarray | None = None) -> list[str]:
    """Every limit that an assignment breaks, in words."""
    extra = np.zeros_like(p.overtime) if overtime is None else overtime
    found = []
    for job, at in enumerate(week):
        if at >= 0 and not p.allowed[job, at]:
            found.append(f"job {job} in forbidden week {at}")
    for at in range(p.allowed.shape[1]):
        here = [job for job, own in enumerate(week) if own == at]
        seen = sorted({int(p.vehicle[job]) for job in here})
        parts = [(job, float(p.hours[job])) for job in here]
        parts += [(int(p.visit_job[v]), p.visit_overhead) for v in seen]
        groups = sorted({int(p.group[job]) for job in here if p.group[job] >= 0})
        parts += [(int(p.group_job[g]), float(p.group_hours[g])) for g in groups]
        for pool in p.pools:
            classes = p.labour_class if pool.kind == "labour" else p.bay_class
            load = math.fsum(h for job, h in parts if int(classes[job]) in pool.classes)
            room = float(pool.hours[at]) + sum(float(extra[t, at]) for t in pool.technicians)
            if load > room + 1e-6:
                found.append(f"pool {pool.name} in week {at}: {load} of {room}")
        for v in seen:
            own = [job for job in here if p.vehicle[job] == v]
            total = math.fsum(float(p.hours[job]) for job in own)
            total += math.fsum(float(p.group_hours[g]) for g in groups if p.group_vehicle[g] == v)
            if total > p.visit_hours[v] + 1e-6:
                found.append(f"visit of {v} in week {at} takes {total} h")
        for spare in range(len(p.spare_visits)):
            out = sum(1 for v in seen if p.spare_group[v] == spare)
            if out > p.spare_visits[spare, at] + 1e-6:
                found.append(f"{out} vehicles of group {spare} out in week {at}")
    return found


def cost(p: Problem, week: list[int]) -> float:
    """Cost of an assignment without overtime, term by term."""
    last = p.allowed.shape[1]
    total = math.fsum(float(p.loss[job, at if at >= 0 else last]) for job, at in enumerate(week))
    visits = {(int(p.vehicle[job]), at) for job, at in enumerate(week) if at >= 0}
    total += math.fsum(float(p.visit_cost[v, at]) for v, at in visits)
    opened = {(int(p.group[j]), at) for j, at in enumerate(week) if at >= 0 and p.group[j] >= 0}
    return total + math.fsum(p.labour_rate * float(p.group_hours[g]) for g, _ in opened)


def best(p: Problem) -> float:
    """Least cost over every assignment that keeps the limits."""
    weeks = range(-1, p.allowed.shape[1])
    return min(
        cost(p, list(week))
        for week in itertools.product(weeks, repeat=len(p.vehicle))
        if not faults(p, list(week))
    )
