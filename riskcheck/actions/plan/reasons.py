"""Why a job is not in the plan: the limit that binds, week by week."""

from __future__ import annotations

from collections import Counter

import numpy as np
import pandas as pd

from riskcheck.actions.plan.build import Setup
from riskcheck.actions.plan.room import Room

COLUMNS = ("job_id", "vehicle_id", "reason_code", "detail", "weeks", "figures")
# Where two reasons hold in as many weeks, the one that a person can act on first.
ORDER = (
    "no_one_qualified", "no_bay", "forbidden", "pinned_elsewhere", "parts", "notice", "too_early",
    "vehicle_away", "labour", "bay", "spares", "visit_hours", "no_bay_day", "not_worth", "rides",
)  # fmt: skip


def reasons(
    frame: pd.DataFrame, setup: Setup, room: Room, squeezed_out: frozenset[int]
) -> pd.DataFrame:
    """One row for each job left undone (``COLUMNS``).

    ``detail`` names the limit (people, bays, kind of vehicle); ``weeks``: in how many weeks it
    binds; ``figures``: every reason with its weeks.  ``not_worth``: it would fit, but costs more
    there than waiting for the next plan.  ``squeezed_out``: no bay-day was left.
    """
    rows = []
    for job in np.flatnonzero(room.week < 0):
        found: Counter[tuple[str, str]] = Counter()
        for week in _weeks_that_count(setup, int(job)):
            fits = "no_bay_day" if int(job) in squeezed_out else "not_worth"
            fits = "rides" if frame.at[job, "rides"] else fits
            found[limit_of(setup, room, int(job), week, fits)] += 1
        (code, detail), weeks = min(
            found.items(), key=lambda item: (-item[1], ORDER.index(item[0][0]), item[0][1])
        )
        rows.append(
            {
                "job_id": frame.at[job, "job_id"],
                "vehicle_id": frame.at[job, "vehicle_id"],
                "reason_code": code,
                "detail": detail,
                "weeks": weeks,
                "figures": "; ".join(
                    f"{name}{' ' + who if who else ''} {count}"
                    for (name, who), count in sorted(found.items(), key=lambda i: (-i[1], i[0]))
                ),
            }
        )
    return pd.DataFrame(rows, columns=list(COLUMNS))


def _weeks_that_count(setup: Setup, job: int) -> list[int]:
    """All weeks; for a job pinned to a week that is open, that week alone explains it."""
    blocked = setup.blocked[job]
    pinned = (blocked == "pinned_elsewhere").any() and (blocked == "").any()
    weeks = np.flatnonzero(blocked == "") if pinned else np.arange(len(blocked))
    return [int(week) for week in weeks]


def limit_of(setup: Setup, room: Room, job: int, week: int, fits: str) -> tuple[str, str]:
    """What keeps a job that is not placed out of a week, as (code, of what); ``fits``: nothing."""
    blocked = str(setup.blocked[job, week])
    if blocked:
        return blocked, ""
    limit, place = room.refusal(job, week)
    if limit in ("labour", "bay"):
        return limit, setup.problem.pools[place].name
    if limit == "spares":
        customer, kind, _ = setup.spare_names[place]
        return limit, f"{kind} of {customer}"
    if limit:
        return limit, ""
    return fits, ""
