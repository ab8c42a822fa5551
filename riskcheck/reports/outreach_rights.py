"""What an owner would lose or owe by waiting: rights that end soon, and notices that are open."""

from __future__ import annotations

import datetime as dt

import pandas as pd

from riskcheck.reports.run import Run

ENDING = {
    "warranty_end": "Warranty ends {day}: ask the dealer first.",
    "goodwill_end": "Goodwill ends {day}: ask the maker first.",
    "inspection_due": "Inspection due {day}.",
}
NOTICE = "Official notice open: a franchised dealer does that work free. Do not sell it."


def rights(run: Run) -> dict[str, list[str]]:
    """Lines by vehicle id: warranty, goodwill or inspection within the policy's days, a notice."""
    days = run.rulebook.policy.etiquette.right_ends_within.value
    last = pd.Timestamp(run.as_of + dt.timedelta(days=days))
    found: dict[str, list[str]] = {}
    for row in run.fleet.vehicles.to_dict("records"):
        told = [
            text.format(day=str(row[name])[:10])
            for name, text in ENDING.items()
            if pd.notna(row[name]) and pd.Timestamp(run.as_of) <= pd.Timestamp(row[name]) <= last
        ]
        if str(row["open_recall"] or "").strip().casefold() not in ("", "no", "n", "none", "0"):
            told.append(NOTICE)
        if told:
            found[str(row["vehicle_id"])] = [f"{row['vehicle_id']}: {line}" for line in told]
    return found
