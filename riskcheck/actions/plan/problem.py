"""The planning problem as plain arrays, and what an answer to it costs.

Sizes: j jobs, w weeks, v vehicles, g shared openings, t technicians.  Hours in h, money
in USD.  A week of ``UNPLACED`` means that the job is left undone in these weeks.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]

UNPLACED = -1
NONE = -1


@dataclass(frozen=True, eq=False)
class Pool:
    """Hours a week (w,) that only jobs of these classes draw on.

    A pool of people (``kind`` labour) grows by the overtime of its ``technicians``; a pool of
    bays does not.  One pool for each connected union of qualified people makes the set of pools
    exactly as strict as handing out every hour by name (Hall 1935, for divisible hours).
    """

    kind: str
    name: str
    classes: frozenset[int]
    hours: Floats
    technicians: tuple[int, ...] = ()


@dataclass(frozen=True, eq=False)
class Problem:
    """One planning problem.

    vehicle, labour_class, bay_class (j,); group (j,): shared opening or NONE.
    hours (j,): without a shared opening; loss (j, w + 1): until done in that week, last column
    where it is left undone; allowed (j, w).  group_vehicle, group_job (g,): job whose people open
    up; group_hours (g,).  visit_cost (v, w); visit_hours (v,): most hours of one visit's jobs.
    Beside its jobs each visit takes ``visit_overhead`` hours (in, out, paper) of those who do
    ``visit_job`` (v,).
    spare_group (v,) or NONE; spare_visits (s, w): most visits a week of such vehicles.
    overtime (t, w): most hours; rates in USD/h.
    """

    vehicle: Ints
    hours: Floats
    loss: Floats
    allowed: Bools
    labour_class: Ints
    bay_class: Ints
    group: Ints
    group_vehicle: Ints
    group_job: Ints
    group_hours: Floats
    visit_cost: Floats
    visit_hours: Floats
    visit_job: Ints
    visit_overhead: float
    spare_group: Ints
    spare_visits: Floats
    pools: tuple[Pool, ...]
    overtime: Floats
    labour_rate: float
    overtime_rate: float

    @property
    def jobs(self) -> int:
        """Number of jobs."""
        return len(self.vehicle)

    @property
    def weeks(self) -> int:
        """Number of weeks."""
        return int(self.allowed.shape[1])

    def classes_of(self, kind: str) -> Ints:
        """Class of every job for pools of that kind (j,)."""
        return self.labour_class if kind == "labour" else self.bay_class


@dataclass(frozen=True)
class Costs:
    """What an assignment costs, in USD, part by part."""

    waiting: float
    undone: float
    visits: float
    opening: float
    overtime: float

    @property
    def total(self) -> float:
        """The objective."""
        return self.waiting + self.undone + self.visits + self.opening + self.overtime


@dataclass(frozen=True, eq=False)
class Opened:
    """What an assignment opens: shared openings (g, w) and vehicles' visits (v, w)."""

    groups: Bools
    visits: Bools


def opened(problem: Problem, week: Ints) -> Opened:
    """Which shared openings and visits an assignment ``week`` (j,) makes."""
    placed = week >= 0
    groups = np.zeros((len(problem.group_hours), problem.weeks), dtype=bool)
    visits = np.zeros((len(problem.visit_hours), problem.weeks), dtype=bool)
    visits[problem.vehicle[placed], week[placed]] = True
    shared = placed & (problem.group >= 0)
    groups[problem.group[shared], week[shared]] = True
    return Opened(groups, visits)


def pool_load(problem: Problem, week: Ints, made: Opened | None = None) -> Floats:
    """Hours that an assignment draws from each pool in each week (pools, w)."""
    made = made or opened(problem, week)
    placed = np.flatnonzero(week >= 0)
    load = np.zeros((len(problem.pools), problem.weeks))
    for place, pool in enumerate(problem.pools):
        member = np.isin(problem.classes_of(pool.kind), list(pool.classes))
        own = placed[member[placed]]
        np.add.at(load[place], week[own], problem.hours[own])
        load[place] += problem.visit_overhead * member[problem.visit_job] @ made.visits
        load[place] += (problem.group_hours * member[problem.group_job]) @ made.groups
    return load


def costs(problem: Problem, week: Ints, overtime_hours: float = 0.0) -> Costs:
    """What the assignment ``week`` (j,) costs with so much overtime."""
    made = opened(problem, week)
    placed = week >= 0
    rows = np.arange(problem.jobs)
    return Costs(
        waiting=float(problem.loss[rows[placed], week[placed]].sum()),
        undone=float(problem.loss[~placed, -1].sum()),
        visits=float(problem.visit_cost[made.visits].sum()),
        opening=float(problem.labour_rate * (problem.group_hours @ made.groups).sum()),
        overtime=float(problem.overtime_rate * overtime_hours),
    )
