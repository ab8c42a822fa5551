"""Small moves that better a plan: one job, or one whole visit, to another week."""

from __future__ import annotations

import numpy as np

from riskcheck.actions.plan.problem import UNPLACED, Ints
from riskcheck.actions.plan.room import Room

LEAST_GAIN = 0.01  # USD
ROUNDS = 6


def improve(room: Room) -> None:
    """Move jobs and visits while each move saves money; the order is fixed, so is the result."""
    for _ in range(ROUNDS):
        moved = sum(_better_week(room, np.array([job])) for job in range(room.problem.jobs))
        moved += sum(_better_week(room, members) for members in _visits(room))
        if not moved:
            return


def _visits(room: Room) -> list[Ints]:
    """Jobs of each visit with two or more of them."""
    placed = np.flatnonzero(room.week >= 0)
    key = room.problem.vehicle[placed] * room.problem.weeks + room.week[placed]
    order = np.argsort(key, kind="stable")
    parts = np.split(placed[order], np.flatnonzero(np.diff(key[order])) + 1)
    return [part for part in parts if len(part) > 1]


def _better_week(room: Room, members: Ints) -> bool:
    """Move these jobs of one vehicle, all of one week, to where they cost least."""
    before = int(room.week[members[0]])
    if before >= 0:
        for job in members:
            room.take(int(job))
    best, least = before, stay_cost(room, members, before)
    for week in (UNPLACED, *np.flatnonzero(room.problem.allowed[members].all(axis=0))):
        cost = stay_cost(room, members, int(week))
        if cost < least - LEAST_GAIN:
            best, least = int(week), cost
    if best >= 0:
        for job in members:
            room.put(int(job), best)
    return best != before


def stay_cost(room: Room, members: Ints, week: int) -> float:
    """What these unplaced jobs would cost in that week, or undone; inf if they do not fit (USD)."""
    if week < 0:
        return float(room.problem.loss[members, -1].sum())
    cost, put = 0.0, []
    for job in members:
        if room.refusal(int(job), week)[0]:
            cost = np.inf
            break
        cost += room.added_cost(int(job), week)
        room.put(int(job), week)
        put.append(int(job))
    for job in reversed(put):
        room.take(job)
    return float(cost)
