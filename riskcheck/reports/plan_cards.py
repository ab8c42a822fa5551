"""Job cards for the bay, and the parts to order."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from typing import Any

import pandas as pd

from riskcheck.actions.plan import Plan
from riskcheck.reports import plan_words, words
from riskcheck.rulebook.model import Hazard
from riskcheck.sheets import Column, Sheet

DAY = "ddd yyyy-mm-dd"


def cards(plan: Plan, names: Mapping[str, str]) -> Sheet:
    """One row a placed job, in the order of the bays' days."""
    columns = [
        Column("Day", 17, DAY, align="left"),
        Column("Bay", 8),
        Column("Vehicle", 22, wrap=True),
        Column("Work", 34, wrap=True),
        Column("Hours", 7, "0.0"),
        Column("Skill, and who has it", 22, wrap=True),
        Column("Parts", 26, wrap=True),
        Column("Proof to take", 40, wrap=True),
        Column("Cautions", 52, wrap=True),
        Column("Opens", 26, wrap=True),
        Column("Found / not found", 12),
        Column("Hours taken", 9, "0.0"),
    ]  # fmt: skip
    placed = plan.jobs[plan.jobs["date"].notna()]
    placed = placed.sort_values(["date", "bay", "vehicle_id", "rank"], kind="stable")
    rows = [_card(job, plan, names) for job in placed.to_dict("records")]
    title = (
        "Job cards",
        words.CAUTIONS[1],
        "The last two columns are for a pen. What was found counts once it is recorded: "
        "riskcheck record VEHICLE HAZARD=found|not_found|other|failed --hours H. "
        "The plan compares the first few of a kind with what was expected.",
    )
    return Sheet("Job cards", columns, rows, title, freeze_columns=3)


def _card(job: Mapping[Any, Any], plan: Plan, names: Mapping[str, str]) -> list[object]:
    hazards = [plan.asked.book.hazards[name] for name in job["hazard_ids"]]
    who = words.listing(
        plan.shop.technicians[place].name for place in sorted(plan.shop.who(job["skill"]))
    )
    proofs = [_proof(hazard, str(job["kind"])) for hazard in hazards]
    cautions = list(dict.fromkeys(text for hazard in hazards for text in hazard.words.cautions))
    known = plan.asked.book.hazards
    opened = dict.fromkeys(name for hazard in hazards for name in _opens(hazard, job))
    opens = [known[name].title if name in known else name for name in opened]
    return [
        pd.Timestamp(job["date"]).date(),
        job["bay"],
        names[job["vehicle_id"]],
        plan_words.job_words(job, plan.asked.book),
        float(job["hours"]),
        f"{job['skill']}: {who}",
        _parts(job),
        "\n".join(dict.fromkeys(proof for proof in proofs if proof)),
        "\n".join(cautions),
        "; ".join(opens),
        "",
        None,
    ]


def _proof(hazard: Hazard, kind: str) -> str:
    """A look is proven by its reading; a job by its leading remedy's proof."""
    if kind == "look" and hazard.look is not None:
        return f"{hazard.look.title}: write down what was seen or measured"
    return hazard.remedies[0].proof


def _opens(hazard: Hazard, job: Mapping[Any, Any]) -> list[str]:
    return [] if job["kind"] == "look" else hazard.remedies[0].opens


def _parts(job: Mapping[Any, Any]) -> str:
    if not job["part"]:
        return ""
    if job["lead_days"] == 0.0:
        return f"{job['part']}: on hand"
    known = "" if job["lead_known"] else ", lead time assumed"
    return f"{job['part']}: order, {job['lead_days']:.0f} days{known}"


def parts(plan: Plan) -> Sheet:
    """What to order by when, with a tenth over and one spare."""
    columns = [
        Column("Part", 44, wrap=True),
        Column("Needed", 9, "0"),
        Column("Over, with one spare", 12, "0"),
        Column("On hand", 9, "0"),
        Column("To order", 9, "0"),
        Column("Lead days", 9, "0"),
        Column("Lead time", 14),
        Column("First used", 17, DAY, align="left"),
        Column("Order by", 17, DAY, align="left"),
        Column("Mind", 36, wrap=True),
        Column("About each", 11, "$#,##0"),
        Column("Ordered", 12),
    ]
    ordered = plan.orders.sort_values(["order_by", "part"], kind="stable")
    today = plan.asked.as_of
    rows = [
        [
            row["part"], row["needed"], row["spare"], row["on_hand"], row["order"],
            row["lead_days"], "from the parts sheet" if row["lead_known"] else "assumed",
            _day(row["first_use"]), *_order_by(row, today),
            row["unit_cost"], None,
        ]
        for row in ordered.to_dict("records")
    ]  # fmt: skip
    title = (
        "Parts to order",
        "A tenth over and one spare: one wrong or broken part must not stop a batch.",
    )
    return Sheet("Parts", columns, rows, title, freeze_columns=1)


def _order_by(row: Mapping[Any, Any], today: dt.date) -> list[object]:
    """The day to order, never one that is past, and what to mind."""
    by = _day(row["order_by"])
    if row["order"] and by is not None and by < today:
        said = f"order today: it should have been ordered by {by}"
        return [today, said + (", expect the first job to move" if row["late"] else "")]
    return [by if row["order"] else None, ""]


def _day(value: object) -> dt.date | None:
    stamp = pd.Timestamp(value)  # type: ignore[arg-type]
    return None if pd.isna(stamp) else stamp.date()
