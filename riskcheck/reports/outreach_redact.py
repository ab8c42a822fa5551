"""The call list without people: fit to show to a partner, a class or a newspaper."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import pandas as pd

from riskcheck.reports import outreach_rows
from riskcheck.reports.layout import fitted
from riskcheck.reports.run import Run
from riskcheck.sheets import Column, Sheet, Workbook, write_csv, write_workbook

WORKBOOK, TABLE = "outreach-redacted.xlsx", "outreach-redacted.csv"
SHOWN = [
    "call", "reason_group", "customer", "channel", "vehicle", "evidence", "why", "ask", "say",
    "offer", "hours", "price", "cost_if_it_fails", "no_later_than", "how_soon",
]  # fmt: skip


@dataclass(frozen=True)
class Masks:
    """Stand-ins: "Customer 7" by contact and "Vehicle 12, 2014 Shuttle class" by vehicle id."""

    customers: dict[str, str]
    vehicles: dict[str, str]


def write_redacted(run: Run, out: Path) -> dict[str, Path]:
    """Write the list without names, addresses, units, plates, notes or quoted lines."""
    frame = redacted(run)
    columns = [
        Column(name.replace("_", " ").capitalize(), 40 if name in ("why", "say", "ask", "offer")
               else 14, wrap=True)
        for name in SHOWN
    ]  # fmt: skip
    sheet = Sheet(
        "Call list",
        columns,
        frame.values.tolist(),
        title=(f"Vehicles to look at, as of {run.as_of.isoformat()}", "Without people."),
        freeze_columns=3,
    )
    book = Workbook(sheets=[fitted(sheet)], title="Call list without people")
    return {
        WORKBOOK: write_workbook(out / WORKBOOK, book),
        TABLE: write_csv(out / TABLE, frame, decimals={"hours": 2}),
    }


def redacted(run: Run) -> pd.DataFrame:
    """The call list (``SHOWN``) with stand-ins for customers and vehicles, in calling order."""
    masks = masks_of(run)
    frame = outreach_rows.call_frame(run)
    who = frame["contact"].map(masks.customers)
    which = frame["vehicle_id"].map(masks.vehicles)
    return frame.assign(customer=who, vehicle=which)[SHOWN]


def masks_of(run: Run) -> Masks:
    """Numbered stand-ins in calling order; a vehicle keeps its year, make and model."""
    rows = run.outreach.rows
    customers = {
        contact: f"Customer {number}"
        for number, contact in enumerate(rows["contact"].drop_duplicates(), start=1)
    }
    kinds = run.fleet.vehicles.set_index("vehicle_id")
    vehicles = {}
    for number, vehicle_id in enumerate(rows["vehicle_id"].drop_duplicates(), start=1):
        kind = kinds.loc[vehicle_id]
        year = "" if pd.isna(kind["model_year"]) else f"{int(kind['model_year'])}"
        parts = (f"Vehicle {number}", year, kind["make"], kind["model"])
        vehicles[str(vehicle_id)] = " ".join(str(part) for part in parts if part)
    return Masks(customers, vehicles)
