"""The second-best week of each job by moving that job alone, and what that would cost."""

from __future__ import annotations

import numpy as np

from riskcheck.actions.plan.problem import UNPLACED, Floats, Ints
from riskcheck.actions.plan.room import Room


def second_best(room: Room) -> tuple[Ints, Floats]:
    """Week (j,; UNPLACED where no other week holds the job) and extra cost (j,; NaN there) in USD.

    All other jobs stay where they are.  The room is left as it was found.
    """
    p = room.problem
    week = np.full(p.jobs, UNPLACED, dtype=np.int64)
    extra = np.full(p.jobs, np.nan)
    for job in range(p.jobs):
        own = int(room.week[job])
        if own < 0:
            continue
        room.take(job)
        here = room.added_cost(job, own)
        others = [
            (room.added_cost(job, int(other)), int(other))
            for other in np.flatnonzero(p.allowed[job])
            if other != own and not room.refusal(job, int(other))[0]
        ]
        room.put(job, own)
        if others:
            cost, best = min(others)
            week[job], extra[job] = best, cost - here
    return week, extra
