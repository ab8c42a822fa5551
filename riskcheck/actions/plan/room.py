"""What is still free: the same limits as the integer program, one job at a time."""

from __future__ import annotations

import numpy as np

from riskcheck.actions.plan.problem import (
    UNPLACED,
    Floats,
    Ints,
    Problem,
    opened,
    pool_load,
)

EPSILON = 1e-6


class Room:
    """An assignment under way and what it leaves free; jobs are put in and taken out."""

    def __init__(
        self, problem: Problem, week: Ints | None = None, overtime: Floats | None = None
    ) -> None:
        self.problem = problem
        self.week = np.full(problem.jobs, UNPLACED, np.int64) if week is None else week.copy()
        made = opened(problem, self.week)
        extra = np.zeros_like(problem.overtime) if overtime is None else overtime
        self._load = pool_load(problem, self.week, made)
        self._most = np.array(
            [pool.hours + extra[list(pool.technicians)].sum(axis=0) for pool in problem.pools]
        ).reshape(len(problem.pools), problem.weeks)
        self._groups = np.zeros(made.groups.shape, dtype=np.int64)
        self._visits = np.zeros(made.visits.shape, dtype=np.int64)
        self._visit_hours = np.zeros((len(problem.visit_hours), problem.weeks))
        for job in np.flatnonzero(self.week >= 0):
            self._count(int(job), int(self.week[job]), 1)
        draws = [
            np.isin(problem.classes_of(pool.kind), list(pool.classes)) for pool in problem.pools
        ]
        self._draws = np.array(draws, dtype=bool).reshape(len(problem.pools), problem.jobs)

    def _count(self, job: int, week: int, sign: int) -> None:
        p = self.problem
        vehicle, group = p.vehicle[job], p.group[job]
        self._visits[vehicle, week] += sign
        self._visit_hours[vehicle, week] += sign * p.hours[job]
        if group >= 0:
            before = self._groups[group, week]
            self._groups[group, week] += sign
            if before == 0 or self._groups[group, week] == 0:
                self._visit_hours[vehicle, week] += sign * p.group_hours[group]

    def draw(self, job: int, week: int) -> Floats:
        """Hours that the job would add to each pool in that week (pools,)."""
        p = self.problem
        hours = self._draws[:, job] * p.hours[job]
        group = p.group[job]
        if group >= 0 and self._groups[group, week] == 0:
            hours = hours + self._draws[:, p.group_job[group]] * p.group_hours[group]
        vehicle = p.vehicle[job]
        if self._visits[vehicle, week] == 0:
            hours = hours + self._draws[:, p.visit_job[vehicle]] * p.visit_overhead
        return np.asarray(hours, dtype=np.float64)

    def refusal(self, job: int, week: int) -> tuple[str, int]:
        """Why the job does not fit into that week: (limit, place); ("", -1) if it does.

        The limit is not_allowed, visit_hours, spares or a pool's kind, the first in that order;
        the place is that of the spare group or the pool, else -1.
        """
        p = self.problem
        vehicle, group = p.vehicle[job], p.group[job]
        if not p.allowed[job, week]:
            return "not_allowed", -1
        hours = p.hours[job]
        if group >= 0 and self._groups[group, week] == 0:
            hours = hours + p.group_hours[group]
        if self._visit_hours[vehicle, week] + hours > p.visit_hours[vehicle] + EPSILON:
            return "visit_hours", -1
        spare = p.spare_group[vehicle]
        if spare >= 0 and self._visits[vehicle, week] == 0:
            out = int((self._visits[p.spare_group == spare, week] > 0).sum())
            if out + 1 > p.spare_visits[spare, week] + EPSILON:
                return "spares", int(spare)
        drawn = self.draw(job, week)
        over = (self._load[:, week] + drawn > self._most[:, week] + EPSILON) & (drawn > 0.0)
        if over.any():
            first = int(np.argmax(over))
            return p.pools[first].kind, first
        return "", -1

    def put(self, job: int, week: int) -> None:
        """Place the job; the caller has asked ``refusal``."""
        self._load[:, week] += self.draw(job, week)
        self.week[job] = week
        self._count(job, week, 1)

    def take(self, job: int) -> int:
        """Take the job out and return the week it had."""
        week = int(self.week[job])
        self._count(job, week, -1)
        self.week[job] = UNPLACED
        self._load[:, week] -= self.draw(job, week)
        return week

    def load_and_most(self) -> tuple[Floats, Floats]:
        """Hours drawn from each pool and hours it has, overtime included (pools, w) each."""
        return self._load, self._most

    def visits_out(self) -> Ints:
        """Visits of each spare group by week (s, w)."""
        p = self.problem
        there = self._visits > 0
        groups = range(len(p.spare_visits))
        counts = [there[p.spare_group == group].sum(axis=0) for group in groups]
        return np.array(counts, dtype=np.int64).reshape(len(p.spare_visits), p.weeks)

    def added_cost(self, job: int, week: int) -> float:
        """What placing the job there adds to the objective, openings and visit included (USD)."""
        p = self.problem
        vehicle, group = p.vehicle[job], p.group[job]
        cost = float(p.loss[job, week])
        if self._visits[vehicle, week] == 0:
            cost += float(p.visit_cost[vehicle, week])
        if group >= 0 and self._groups[group, week] == 0:
            cost += p.labour_rate * float(p.group_hours[group])
        return cost
