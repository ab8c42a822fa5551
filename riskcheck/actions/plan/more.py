"""What one more bay-day, technician-day or spare would be worth: by solving again."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from riskcheck.actions.plan.problem import Pool, Problem
from riskcheck.actions.plan.room import Room
from riskcheck.actions.plan.solve import Effort, Solution, solve

MOST_SOLVES = 8
NEARLY_FULL = 0.97


@dataclass(frozen=True)
class Worth:
    """What one more of something would save over the plan (USD).

    kind: labour, bay or spare; name: whose; week: in which, -1 in every week; ``saves``: fall of
    the cost; ``sure``: it exceeds what both solves may be off by.
    """

    kind: str
    name: str
    week: int
    saves: float
    sure: bool


@dataclass(frozen=True)
class Extra:
    """One more of something: which limit, in which week, and the problem with it."""

    kind: str
    name: str
    week: int
    problem: Problem


def worth_of_more(
    room: Room,
    before: Solution,
    names: tuple[tuple[str, str, int], ...],
    day_hours: tuple[float, float],
    effort: Effort,
) -> list[Worth]:
    """Solve again with one more of each limit that binds, at most eight times, the fullest first.

    ``names`` (s,): customer, type and spares of each group; ``day_hours``: hours that a
    technician-day and a bay-day add.  Both solves start afresh, so both gaps count.
    """
    found = []
    for extra in _binding(room, names, day_hours)[:MOST_SOLVES]:
        after = solve(extra.problem, effort)
        if after is None:
            continue
        saves = before.value - after.value
        off = (before.value - before.bound) + (after.value - after.bound)
        found.append(Worth(extra.kind, extra.name, extra.week, saves, saves > off))
    return sorted(found, key=lambda one: (-one.saves, one.kind, one.name, one.week))


def _binding(
    room: Room, names: tuple[tuple[str, str, int], ...], day_hours: tuple[float, float]
) -> list[Extra]:
    """Limits that are full, longest full first: pools of people and bays, then spares."""
    p = room.problem
    load, most = room.load_and_most()
    extras: list[tuple[float, Extra]] = []
    seen: set[tuple[str, frozenset[int]]] = set()
    for place, pool in enumerate(p.pools):
        if (pool.kind, pool.classes) in seen:
            continue
        seen.add((pool.kind, pool.classes))
        full = np.flatnonzero(load[place] >= NEARLY_FULL * np.maximum(most[place], 1e-9))
        full = full[np.isfinite(most[place][full]) & (load[place][full] > 0.0)]
        if len(full):
            hours = day_hours[0] if pool.kind == "labour" else day_hours[1]
            week = int(full[0])
            grown = _with_hours(p, place, week, hours)
            extras.append((float(len(full)), Extra(pool.kind, pool.name, week, grown)))
    out = room.visits_out()
    for group, (customer, kind, spares) in enumerate(names):
        full = np.flatnonzero((out[group] >= p.spare_visits[group]) & (out[group] > 0))
        if len(full):
            grown_visits = p.spare_visits.copy()
            grown_visits[group] *= (spares + 1) / spares
            grown = replace(p, spare_visits=grown_visits)
            extras.append((float(len(full)), Extra("spare", f"{kind}|{customer}", -1, grown)))
    extras.sort(key=lambda one: (-one[0], one[1].kind, one[1].name))
    return [extra for _, extra in extras]


def _with_hours(p: Problem, place: int, week: int, hours: float) -> Problem:
    """One more day of a pool in one week, and of every pool that contains its classes."""
    own = p.pools[place]
    pools: list[Pool] = []
    for pool in p.pools:
        grows = pool.kind == own.kind and pool.classes >= own.classes
        more = pool.hours.copy()
        if grows:
            more[week] += hours
        pools.append(replace(pool, hours=more))
    return replace(p, pools=tuple(pools))
