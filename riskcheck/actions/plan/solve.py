"""Jobs to weeks by integer programming: HiGHS through scipy, all variables integer.

Strong links (job ≤ opening ≤ visit) instead of sums: the relaxation is then nearly whole, and
500 jobs over 13 weeks close to 1 % in seconds.  Stops by gap and node limit, so that the same
input gives the same plan; the clock is only a safety net, and striking it is said.
"""

from __future__ import annotations

import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import coo_array, csr_array

from riskcheck.actions.plan.problem import (
    UNPLACED,
    Bools,
    Floats,
    Ints,
    Problem,
    costs,
)

GAP = 0.005
NODES = 2_000
OVERTIME_STEP = 0.5  # h: overtime comes in half hours, so that every variable is whole
SAFETY_NET_S = 60.0
_TIME_LIMIT_STATUS = 1


@dataclass(frozen=True)
class Effort:
    """When to stop: relative gap, branch-and-bound nodes, and a safety net in seconds."""

    gap: float = GAP
    nodes: int = NODES
    seconds: float = SAFETY_NET_S


@dataclass(frozen=True, eq=False)
class Solution:
    """Weeks (j,) and what is proven of them.

    ``value``: the objective, in USD; ``bound``: no plan can cost less; ``gap``: (value - bound)
    relative to value; ``stopped``: gap, nodes, time (the safety net struck) or fallback (no plan
    was found in time: the best simple policy stands in).  overtime (t, w) in h.
    """

    week: Ints
    overtime: Floats
    value: float
    bound: float
    gap: float
    stopped: str
    nodes: int


class _Columns:
    """Where each kind of variable stands in the vector."""

    def __init__(self, problem: Problem) -> None:
        jobs, weeks = np.nonzero(problem.allowed)
        self.job, self.week = jobs, weeks
        self.x = np.full(problem.allowed.shape, -1, dtype=np.int64)
        self.x[jobs, weeks] = np.arange(len(jobs))
        start = len(jobs)
        self.u = start + np.arange(problem.jobs)
        start += problem.jobs
        self.y, start = _grid(_reach(problem, problem.group, len(problem.group_hours)), start)
        self.z, start = _grid(_reach(problem, problem.vehicle, len(problem.visit_hours)), start)
        self.o, start = _grid(problem.overtime > 0.0, start)
        self.size = start


def _reach(problem: Problem, of: Ints, count: int) -> Bools:
    """Weeks in which some member of each group may be done (count, w)."""
    reach = np.zeros((count, problem.weeks), dtype=bool)
    inside = of >= 0
    np.logical_or.at(reach, of[inside], problem.allowed[inside])
    return reach


def _grid(there: Bools, start: int) -> tuple[Ints, int]:
    places = np.full(there.shape, -1, dtype=np.int64)
    places[there] = start + np.arange(int(there.sum()))
    return places, start + int(there.sum())


class _Rows:
    """Linear rows gathered as triplets."""

    def __init__(self) -> None:
        self.row: list[Ints] = []
        self.column: list[Ints] = []
        self.value: list[Floats] = []
        self.low: list[Floats] = []
        self.high: list[Floats] = []
        self.count = 0

    def add(self, row: Ints, column: Ints, value: Floats, low: Floats, high: Floats) -> None:
        """Rows numbered from 0 within this block; ``low`` and ``high`` (rows,)."""
        self.row.append(row + self.count)
        self.column.append(column)
        self.value.append(value)
        self.low.append(low)
        self.high.append(high)
        self.count += len(low)

    def below(self, small: Ints, large: Ints) -> None:
        """small ≤ large, variable by variable."""
        n = len(small)
        row = np.arange(n)
        self.add(
            np.concatenate((row, row)),
            np.concatenate((small, large)),
            np.concatenate((np.ones(n), -np.ones(n))),
            np.full(n, -np.inf),
            np.zeros(n),
        )

    def at_most(self, columns: Ints, values: Floats, high: float) -> None:
        """Σ values·columns ≤ high."""
        zero = np.zeros(len(columns), dtype=np.int64)
        self.add(zero, columns, values, np.array([-np.inf]), np.array([high]))

    def constraint(self, size: int) -> LinearConstraint:
        matrix = csr_array(
            coo_array(
                (
                    np.concatenate(self.value),
                    (np.concatenate(self.row), np.concatenate(self.column)),
                ),
                shape=(self.count, size),
            )
        )
        # HiGHS takes 32-bit indices only.
        matrix.indices = matrix.indices.astype(np.int32)
        matrix.indptr = matrix.indptr.astype(np.int32)
        return LinearConstraint(matrix, np.concatenate(self.low), np.concatenate(self.high))


def solve(problem: Problem, effort: Effort | None = None) -> Solution | None:
    """Assign jobs to weeks at least cost; None if no plan was found before the effort ran out.

    Every problem has an answer (a job may be left undone), so None never means infeasible.
    """
    effort = effort or Effort()
    if problem.jobs == 0:
        none = np.zeros(0, dtype=np.int64)
        return Solution(none, np.zeros_like(problem.overtime), 0.0, 0.0, 0.0, "gap", 0)
    at = _Columns(problem)
    with _solver_quiet():
        found = milp(
            _objective(problem, at),
            integrality=np.ones(at.size, dtype=np.int64),
            bounds=_bounds(problem, at),
            constraints=_rows(problem, at).constraint(at.size),
            options={
                "mip_rel_gap": effort.gap,
                "node_limit": effort.nodes,
                "time_limit": effort.seconds,
            },
        )
    if found.x is None:
        return None
    week = np.full(problem.jobs, UNPLACED, dtype=np.int64)
    chosen = found.x[: len(at.job)] > 0.5
    week[at.job[chosen]] = at.week[chosen]
    overtime = np.zeros_like(problem.overtime)
    overtime[at.o >= 0] = np.maximum(np.round(found.x[at.o[at.o >= 0]]), 0.0) * OVERTIME_STEP
    value = costs(problem, week, float(overtime.sum())).total
    bound = min(float(found.mip_dual_bound), value)
    return Solution(
        week=week,
        overtime=overtime,
        value=value,
        bound=bound,
        gap=(value - bound) / max(abs(value), 1.0),
        stopped=_stopped(found.status, str(found.message)),
        nodes=int(found.mip_node_count or 0),
    )


@contextmanager
def _solver_quiet() -> Iterator[None]:
    """Keep the solver's own notes off standard output, which belongs to results.

    HiGHS (scipy 1.17) prints a line past Python's own output wherever it repairs a solution.
    """
    sys.stdout.flush()
    try:
        kept = os.dup(1)
    except OSError:  # no standard output at all
        yield
        return
    nowhere = os.open(os.devnull, os.O_WRONLY)
    try:
        os.dup2(nowhere, 1)
        yield
    finally:
        os.dup2(kept, 1)
        os.close(kept)
        os.close(nowhere)


def _stopped(status: int, message: str) -> str:
    if status != _TIME_LIMIT_STATUS:
        return "gap"
    return "time" if "time" in message.lower() else "nodes"


def _objective(problem: Problem, at: _Columns) -> Floats:
    cost = np.zeros(at.size)
    cost[: len(at.job)] = problem.loss[at.job, at.week]
    cost[at.u] = problem.loss[:, -1]
    for places, each in (
        (at.y, problem.labour_rate * problem.group_hours[:, None]),
        (at.z, problem.visit_cost),
    ):
        there = places >= 0
        cost[places[there]] = np.broadcast_to(each, places.shape)[there]
    cost[at.o[at.o >= 0]] = problem.overtime_rate * OVERTIME_STEP
    return cost


def _bounds(problem: Problem, at: _Columns) -> Bounds:
    high = np.ones(at.size)
    high[at.o[at.o >= 0]] = np.floor(problem.overtime[at.o >= 0] / OVERTIME_STEP)
    return Bounds(np.zeros(at.size), high)


def _rows(problem: Problem, at: _Columns) -> _Rows:
    rows = _Rows()
    one = np.ones(problem.jobs)
    every = np.arange(len(at.job))
    rows.add(
        np.concatenate((at.job, np.arange(problem.jobs))),
        np.concatenate((every, at.u)),
        np.ones(len(at.job) + problem.jobs),
        one,
        one,
    )
    _links(problem, at, rows)
    _pools(problem, at, rows)
    _visits(problem, at, rows)
    return rows


def _links(problem: Problem, at: _Columns, rows: _Rows) -> None:
    every = np.arange(len(at.job))
    group = problem.group[at.job]
    shared = group >= 0
    rows.below(every[shared], at.y[group[shared], at.week[shared]])
    alone = ~shared
    rows.below(every[alone], at.z[problem.vehicle[at.job[alone]], at.week[alone]])
    groups, weeks = np.nonzero(at.y >= 0)
    rows.below(at.y[groups, weeks], at.z[problem.group_vehicle[groups], weeks])


def _pools(problem: Problem, at: _Columns, rows: _Rows) -> None:
    for pool in problem.pools:
        member = np.isin(problem.classes_of(pool.kind), list(pool.classes))
        own_groups = member[problem.group_job]
        own_visits = member[problem.visit_job]
        overhead = np.full(len(problem.visit_job), problem.visit_overhead)
        for week in range(problem.weeks):
            parts = [
                _weighted(at.x[:, week], problem.hours, member),
                _weighted(at.y[:, week], problem.group_hours, own_groups),
                _weighted(at.z[:, week], overhead, own_visits),
            ]
            if pool.technicians:
                people = at.o[list(pool.technicians), week]
                parts.append(
                    (people[people >= 0], np.full(int((people >= 0).sum()), -OVERTIME_STEP))
                )
            columns = np.concatenate([part[0] for part in parts])
            if len(columns):
                values = np.concatenate([part[1] for part in parts])
                rows.at_most(columns, values, float(pool.hours[week]))


def _weighted(places: Ints, hours: Floats, member: Bools) -> tuple[Ints, Floats]:
    chosen = (places >= 0) & member
    return places[chosen], hours[chosen]


def _visits(problem: Problem, at: _Columns, rows: _Rows) -> None:
    """Spares of each kind, and one bay-day a visit where a vehicle's jobs exceed one."""
    for number, most in enumerate(problem.spare_visits):
        own = problem.spare_group == number
        for week in range(problem.weeks):
            columns = at.z[own & (at.z[:, week] >= 0), week]
            if len(columns) > most[week]:
                rows.at_most(columns, np.ones(len(columns)), float(most[week]))
    for vehicle, most_hours in enumerate(problem.visit_hours):
        jobs = np.flatnonzero(problem.vehicle == vehicle)
        groups = np.flatnonzero(problem.group_vehicle == vehicle)
        total = problem.hours[jobs].sum() + problem.group_hours[groups].sum()
        if total <= most_hours + 1e-9:
            continue
        for week in range(problem.weeks):
            own, shared = at.x[jobs, week], at.y[groups, week]
            columns = np.concatenate((own[own >= 0], shared[shared >= 0]))
            values = np.concatenate(
                (problem.hours[jobs][own >= 0], problem.group_hours[groups][shared >= 0])
            )
            if len(columns):
                rows.at_most(columns, values, float(most_hours))
