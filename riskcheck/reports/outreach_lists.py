"""The sheets beside the calls: find out, coming in, unproven, not contacted, not now, set aside."""

from __future__ import annotations

from collections.abc import Hashable, Mapping
from typing import Any

import pandas as pd

from riskcheck.actions.etiquette import RESULTS
from riskcheck.reports import chances, outreach_words, owner, words
from riskcheck.reports.outreach_rows import is_free, vehicle_names
from riskcheck.reports.outreach_sheets import typed_cells, typed_columns
from riskcheck.reports.run import Run
from riskcheck.risk import policy_sheet
from riskcheck.sheets import Column, Sheet

Row = Mapping[Hashable, Any]
QUESTIONS_IN_A_CELL = 3


def find_out(run: Run) -> Sheet:
    """Exposures that one question or look would settle, most worth asking first."""
    own = run.outreach.find_out
    names = vehicle_names(run.fleet.vehicles)
    rows = []
    for row in own.to_dict("records"):
        hazard = run.rulebook.hazards[row["hazard_id"]]
        rows.append([
            names[row["vehicle_id"]], hazard.title, *_questions(run, row), row["hazard_id"],
            *typed_cells(row["contact"], row["vehicle_id"], row["hazard_id"], "ask"),
        ])  # fmt: skip
    columns = [
        Column("Vehicle", 26, wrap=True),
        Column("What could be wrong", 34, wrap=True),
        Column("Question that settles it", 44, wrap=True),
        Column("How to tell in two minutes", 44, wrap=True),
        Column("Hazard", 22, wrap=True),
        *typed_columns(RESULTS),
    ]
    return Sheet("Find out", columns, rows, title=(
        "Find out",
        "Not known on file. Most worth asking first. Nothing here is cleared, nothing is claimed.",
    ), freeze_columns=1)  # fmt: skip


def _questions(run: Run, row: Row) -> tuple[str, str]:
    named = [name for name in str(row["questions"]).split("; ") if name in run.rulebook.vocabulary]
    facts = [run.rulebook.vocabulary[name] for name in named][:QUESTIONS_IN_A_CELL]
    ask = "\n".join(fact.ask or fact.meaning for fact in facts)
    return ask, "\n".join(fact.how_to_tell for fact in facts if fact.how_to_tell)


def coming_in(run: Run) -> Sheet:
    """Vehicles with an appointment in the coming days: put it on the ticket, do not call."""
    own = run.outreach.coming_in
    names = vehicle_names(run.fleet.vehicles)
    booked = run.fleet.appointments
    booked = booked[booked["date"] >= pd.Timestamp(run.as_of)]
    when = booked.sort_values("date").drop_duplicates("vehicle_id").set_index("vehicle_id")
    rows = []
    for row in own.to_dict("records"):
        hazard = run.rulebook.hazards[row["hazard_id"]]
        visit = when.loc[row["vehicle_id"]] if row["vehicle_id"] in when.index else None
        rows.append([
            "" if visit is None else str(visit["date"])[:10],
            names[row["vehicle_id"]],
            "" if visit is None else visit["note"],
            owner.why(row, hazard, run.horizon_months),
            owner.offer(row, hazard, free=is_free(row)),
            row["hazard_id"],
            *typed_cells(row["contact"], row["vehicle_id"], row["hazard_id"], "coming_in"),
        ])  # fmt: skip
    columns = [
        Column("Comes in", 11),
        Column("Vehicle", 24, wrap=True),
        Column("Booked for", 18, wrap=True),
        Column("Put on the ticket", 50, wrap=True),
        Column("Offer", 38, wrap=True),
        Column("Hazard", 20, wrap=True),
        *typed_columns(RESULTS),
    ]
    return Sheet("Already coming in", columns, rows, title=(
        "Already coming in", "No call: the cheapest contact there is. Put it on the ticket.",
    ), freeze_columns=2)  # fmt: skip


def next_visit(run: Run) -> Sheet:
    """One row a vehicle: what to look at or do when it is here anyway."""
    own = run.outreach.not_now
    names = vehicle_names(run.fleet.vehicles)
    rows = []
    waiting = own[own["why_later"] == "next_visit"]
    for vehicle_id, these in waiting.groupby("vehicle_id", sort=False):
        told = [
            owner.offer(row, run.rulebook.hazards[row["hazard_id"]], free=is_free(row))
            for row in these.to_dict("records")
        ]
        contact = str(these["contact"].iloc[0])
        rows.append([
            names[str(vehicle_id)], len(told), "\n".join(told),
            *typed_cells(contact, str(vehicle_id), "", "next_visit"),
        ])  # fmt: skip
    columns = [
        Column("Vehicle", 30, wrap=True),
        Column("Things", 8, "0", align="center"),
        Column("At the next visit", 90, wrap=True),
        *typed_columns(RESULTS),
    ]
    return Sheet("At the next visit", columns, rows, title=(
        "At the next visit", "No call for these. Look when the vehicle is here anyway.",
    ), freeze_columns=1)  # fmt: skip


def unproven(run: Run) -> Sheet:
    """Jobs on file without the measurement that would prove them."""
    own = run.outreach.unproven
    names = vehicle_names(run.fleet.vehicles)
    rows = []
    for row in own.to_dict("records"):
        hazard = run.rulebook.hazards[row["hazard_id"]]
        proofs = dict.fromkeys(
            r.proof for r in hazard.remedies if not r.proof.lower().startswith("none")
        )
        rows.append([
            names[row["vehicle_id"]], hazard.title, owner.capital(owner.finding(row, hazard)),
            "\n".join(owner.capital(proof) for proof in list(proofs)[:2]), row["hazard_id"],
            *typed_cells(row["contact"], row["vehicle_id"], row["hazard_id"], "unproven"),
        ])  # fmt: skip
    columns = [
        Column("Vehicle", 26, wrap=True),
        Column("Hazard the job was for", 36, wrap=True),
        Column("What the record says", 44, wrap=True),
        Column("What would prove it", 48, wrap=True),
        Column("Hazard", 22, wrap=True),
        *typed_columns(RESULTS),
    ]
    return Sheet("Paid but unproven", columns, rows, title=(
        "Paid but unproven",
        "The job is on file, its proof is not. Measure at the next visit, no charge to be made.",
    ), freeze_columns=1)  # fmt: skip


def not_contacted(run: Run) -> Sheet:
    """Contacts that are not made, each with its reason; those without room in one line."""
    own = run.outreach.not_called
    rows = [
        [row["name"] or row["contact"], words.TIER_WORDS[row["tier"]], row["vehicles"],
         row["exposures"], outreach_words.REASONS[row["reason"]],
         outreach_words.last_contact(row),
         *typed_cells(row["contact"], "", "", "quiet")]
        for row in own.to_dict("records")
    ]  # fmt: skip
    columns = [
        Column("Customer", 26, wrap=True),
        Column("Why it would be a contact", 22, wrap=True),
        Column("Vehicles", 9, "0", align="center"),
        Column("Reasons", 9, "0", align="center"),
        Column("Why none is made", 42, wrap=True),
        Column("Last contact", 34, wrap=True),
        *typed_columns(RESULTS),
    ]
    title = ("Not contacted", "Who is left alone, and why. Nobody is dropped silently.")
    return Sheet("Not contacted", columns, rows, title=title)


def silence(not_called: pd.DataFrame) -> str:
    """One line: how many contacts are not made, and for which reasons."""
    counts = not_called["reason"].value_counts()
    told = [f"{counts[code]} {text}" for code, text in outreach_words.REASONS.items()
            if code in counts]  # fmt: skip
    if not told:
        return ""
    return f"{words.plural(len(not_called), 'contact')} not made: {'; '.join(told)}."


def not_now(run: Run) -> Sheet:
    """Exposures left for later, with the reason."""
    names = vehicle_names(run.fleet.vehicles)
    rows = []
    for row in run.outreach.not_now.to_dict("records"):
        hazard = run.rulebook.hazards[row["hazard_id"]]
        why = outreach_words.LATER.get(row["why_later"], "") or words.TIER_REASONS.get(
            row["x_tier_reason"], row["x_tier_reason"]
        )
        rows.append(
            [names[row["vehicle_id"]], hazard.title,
             words.STATUS_WORDS[row["status"]], chances.chance(row, hazard, run.horizon_months),
             why, "" if row["why_later"] == "gone" else owner.when(row, run.as_of),
             row["hazard_id"]]
        )  # fmt: skip
    columns = [
        Column("Vehicle", 26, wrap=True),
        Column("What could be wrong", 36, wrap=True),
        Column("Status", 16, wrap=True),
        Column("Chance", 42, wrap=True),
        Column("Why not now", 38, wrap=True),
        Column("When", 20, wrap=True),
        Column("Hazard", 26),
    ]
    return Sheet("Not now", columns, rows, title=(
        "Not now",
        "On the books but not worth a call today. Not cleared: the same look is due at each visit.",
    ), freeze_columns=1)  # fmt: skip


def policy(run: Run) -> Sheet:
    """The six figures an owner sets, under the headings by which the reader knows them again."""
    figures = policy_sheet.six(run.rulebook.policy)
    columns = [Column(heading, 44 if at in (0, 3) else 14, wrap=at in (0, 3))
               for at, heading in enumerate(policy_sheet.HEADINGS)]  # fmt: skip
    rows = figures[["figure", "value", "unit", "where_from"]].values.tolist()
    return Sheet("Your figures", columns, rows, title=(
        "Your figures",
        "To set your own, copy this sheet into the fleet workbook and change the values there.",
    ), filters=False)  # fmt: skip


def set_aside(run: Run) -> Sheet:
    """Every cell and row of the fleet file that was not used as written."""
    problems = run.fleet.problems
    shown = problems[problems["action"] != "used"]
    columns = [
        Column("Sheet", 18),
        Column("Cell", 9),
        Column("What was done", 14),
        Column("It said", 30, wrap=True),
        Column("Read as", 30, wrap=True),
        Column("Why, and what to do", 58, wrap=True),
    ]
    rows = shown[["sheet", "cell", "action", "was", "now", "reason"]].values.tolist()
    return Sheet("Repaired or set aside", columns, rows, title=(
        "Repaired or set aside", "Cells and rows of the fleet file that were not used as written.",
    ))  # fmt: skip
