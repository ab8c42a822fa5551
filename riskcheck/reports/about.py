"""The "About this list" sheet: what was read, by which rules, with which figures, what to mind."""

from __future__ import annotations

from riskcheck.figures import Figure
from riskcheck.reports import words
from riskcheck.reports.run import Run
from riskcheck.sheets import Column, Sheet

POLICY_WORDS = {
    "labour_rate": "Labour rate",
    "bay_hours_per_week": "Bay hours a week",
    "floor_per_bay_hour": "Least worth of a bay hour before we call",
    "tolerance_p_harm": "Chance of harm a year above which people come first",
    "deferral_rate": "Yearly rate at which putting off a cost is worth something",
    "calls_per_day": "Calls a day",
    "tow_cost": "A tow",
}


def facts(run: Run) -> list[tuple[str, str]]:
    """(what, value) rows about the run: input, counts, digests, policy figures, cautions."""
    exposures = run.exposures
    statuses = exposures["status"].value_counts()
    counted = ", ".join(
        f"{words.STATUS_WORDS[status]} {statuses[status]:,}"
        for status in words.STATUS_WORDS
        if status in statuses
    )
    actions = run.fleet.problems["action"].value_counts()
    rows = [
        ("Fleet file", run.path.name),
        ("As of", run.as_of.isoformat()),
        ("Looking ahead", words.plural(run.horizon_months, "month")),
        ("Vehicles", f"{len(run.fleet.vehicles):,}"),
        ("Service lines", f"{len(run.fleet.service):,}"),
        ("Customers", f"{len(run.fleet.customers):,}"),
        ("Cells repaired", f"{int(actions.get('repaired', 0)):,}"),
        ("Rows set aside", f"{int(actions.get('set_aside', 0)):,}"),
        ("Hazards", f"{len(run.rulebook.hazards):,}"),
        ("Vehicle-hazard pairs", f"{len(exposures):,}: {counted}"),
        ("Digest of the fleet file (SHA-256)", run.digests["fleet"]),
        ("Digest of the rules (SHA-256)", run.digests["rules"]),
    ]
    rows += [(f"Policy: {label}", figure.words()) for label, figure in _policy(run)]
    rows += [("Caution", caution) for caution in words.CAUTIONS]
    rows.append(
        (
            "Risk levels",
            "Severity and likelihood codes are adapted from MIL-STD-882E (likelihood per vehicle "
            "and 12 months); they are a display code, not compliance with that standard.",
        )
    )
    return rows


def sheet(run: Run) -> Sheet:
    """The sheet for the workbook."""
    return Sheet(
        "About this list",
        [Column("What", 34, wrap=True), Column("Value", 110, wrap=True)],
        [list(row) for row in facts(run)],
        title=("About this list",),
        filters=False,
    )


def _policy(run: Run) -> list[tuple[str, Figure]]:
    policy = run.rulebook.policy
    return [(label, getattr(policy, name)) for name, label in POLICY_WORDS.items()]
