"""The plan as a picture: hours by week against what there is, and every bay's days."""

from __future__ import annotations

import io
from typing import Any

import numpy as np
import pandas as pd

from riskcheck.actions.plan import Plan, hours_by_week

SHADES = {"late": "0.25", "latest": "0.6", "other": "0.85"}
HATCHES = {"late": "//", "latest": "", "other": ".."}
SAID = {
    "late": "after its latest date",
    "latest": "has a latest date, and keeps it",
    "other": "no latest date",
}


def draw(plan: Plan, kind: str = "svg") -> bytes:
    """The picture as SVG or PNG (``kind``); the same plan gives the same bytes.

    Grey and hatching tell the kinds apart, never colour alone.
    """
    import matplotlib as mpl
    from matplotlib.figure import Figure

    with mpl.rc_context({"svg.hashsalt": "riskcheck", "svg.fonttype": "path", "font.size": 8}):
        figure = Figure(figsize=(11.0, 2.6 + 0.55 * len(plan.shop.bays)), layout="constrained")
        top, bottom = figure.subplots(
            2, 1, height_ratios=(2.0, 0.55 * len(plan.shop.bays)), sharex=True
        )
        _weeks(top, plan)
        _bays(bottom, plan)
        figure.suptitle(
            f"Maintenance plan, as of {plan.asked.as_of}: hours by week, and every bay's days"
        )
        out = io.BytesIO()
        metadata = {"Date": None} if kind == "svg" else {"Software": None}
        figure.savefig(out, format=kind, metadata=metadata, dpi=150)
    return out.getvalue()


def classes(plan: Plan) -> pd.Series:
    """Kind of each job by job id: late, latest (has a latest date and keeps it), other."""
    jobs = plan.jobs
    found = np.where(jobs["late_days"] > 0, "late", "other")
    found = np.where((jobs["late_days"] == 0) & jobs["latest"].notna(), "latest", found)
    return pd.Series(found, index=jobs["job_id"])


def _weeks(axes: Any, plan: Plan) -> None:
    """Hours booked a week, stacked by what dates them, under the hours that there are."""
    weeks = plan.shop.weeks
    middle = np.arange(weeks.count) * 5 + 2.5
    placed = plan.jobs[plan.jobs["date"].notna()]
    at = np.array([weeks.week_of(day.date()) for day in placed["week_start"]], dtype=int)
    own = placed["job_id"].map(classes(plan)).to_numpy()
    floor = np.zeros(weeks.count)
    for name in ("late", "latest", "other"):
        hours = np.zeros(weeks.count)
        np.add.at(hours, at[own == name], placed["hours"].to_numpy(dtype=float)[own == name])
        axes.bar(middle, hours, 4.4, floor, color=SHADES[name], hatch=HATCHES[name],
                 edgecolor="black", linewidth=0.4, label=SAID[name])  # fmt: skip
        floor += hours
    rest = np.maximum(hours_by_week(plan) - floor, 0.0)
    axes.bar(middle, rest, 4.4, floor, color="white", edgecolor="black", linewidth=0.4,
             label="in, out and paper")  # fmt: skip
    edges = np.append(np.arange(weeks.count) * 5, weeks.count * 5)
    axes.stairs(plan.week_hours, edges, color="black", linewidth=1.4, label="hours there are")
    axes.set_ylabel("hours a week")
    axes.legend(frameon=False, ncols=5, loc="upper center", bbox_to_anchor=(0.5, 1.22))


def _bays(axes: Any, plan: Plan) -> None:
    """One row a bay, one column a day, filled as high as its hours."""
    weeks = plan.shop.weeks
    place = {day: number for number, day in enumerate(weeks.days)}
    names = [bay.name for bay in plan.shop.bays]
    kind_of = classes(plan)
    for row, bay in enumerate(plan.shop.bays):
        full = max(float(bay.hours.max()), 1e-9)
        for day, hours in enumerate(bay.hours):
            if hours <= 0.0:
                axes.bar(day + 0.5, 0.9, 1.0, row, color="0.95", linewidth=0)
        floor: dict[int, float] = {}
        for visit in plan.visits[plan.visits["bay"] == bay.name].to_dict("records"):
            kinds = {kind_of[job] for job in visit["jobs"].split("; ")}
            name = next(kind for kind in ("late", "latest", "other") if kind in kinds)
            left = float(visit["hours"])
            for day in range(place[visit["date"].date()], len(weeks.days)):
                part = min(left, full)
                start = floor.get(day, 0.0)
                axes.bar(day + 0.5, 0.9 * part / full, 0.9, row + 0.9 * start / full,
                         color=SHADES[name], hatch=HATCHES[name], edgecolor="black",
                         linewidth=0.3)  # fmt: skip
                floor[day] = start + part
                left -= part
                if left <= 1e-9:
                    break
    axes.set_yticks(np.arange(len(names)) + 0.45, names)
    axes.set_ylim(0, len(names))
    axes.set_xlim(0, len(weeks.days))
    ticks = np.arange(0, len(weeks.days), 5)
    axes.set_xticks(ticks, [f"{weeks.day(int(day)):%m-%d}" for day in ticks])
    axes.set_xlabel("week of; a bay's row is full where its day is")
    for line in ticks:
        axes.axvline(line, color="0.5", linewidth=0.5)
