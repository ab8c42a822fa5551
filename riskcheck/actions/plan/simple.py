"""The two policies that a shop follows without a plan, under the same limits.

First come, first served: jobs in the order in which they stand on file, each into the first week
that holds it.  Highest risk first: the same in the order of the call list.
"""

from __future__ import annotations

import numpy as np

from riskcheck.actions.plan.problem import Ints, Problem
from riskcheck.actions.plan.room import Room


def earliest_fit(problem: Problem, order: Ints) -> Ints:
    """Put the jobs, in ``order`` (j,), into the first week that holds them; weeks (j,)."""
    room = Room(problem)
    for job in order:
        for week in np.flatnonzero(problem.allowed[job]):
            if not room.refusal(int(job), int(week))[0]:
                room.put(int(job), int(week))
                break
    return room.week
