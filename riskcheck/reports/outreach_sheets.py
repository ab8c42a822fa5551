"""The sheets that are worked in: one contact a row, by need, and every vehicle behind them."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import pandas as pd

from riskcheck.actions.etiquette import CONTACT_RESULTS, NEXT_STEPS, RESULTS
from riskcheck.actions.row_keys import HEADING, row_key
from riskcheck.reports import outreach_cells as cells
from riskcheck.reports import outreach_words, owner
from riskcheck.reports.layout import fitted
from riskcheck.reports.outreach_rights import rights
from riskcheck.reports.run import Run
from riskcheck.sheets import Column, Sheet

COLOURED_COLUMNS = 3
STYLE_OF = {"safety": "stop", "ours": "duty"}
CONTACT_COLUMNS = (
    Column("Call", 5, "0", align="center"),
    Column("Customer", 22, wrap=True),
    Column("Why here", 15, wrap=True),
    Column("Vehicles and reasons", 36, wrap=True),
    Column("What to say", 36, wrap=True),
    Column("What to offer", 32, wrap=True),
    Column("Hours", 6, "0.0", align="center"),
    Column("No later than", 15, wrap=True),
)
VEHICLE_COLUMNS = (
    Column("Call", 5, "0", align="center"),
    Column("Customer", 18, wrap=True),
    Column("Vehicle", 22, wrap=True),
    Column("Reason", 44, wrap=True),
    Column("Offer", 34, wrap=True),
    Column("Hours", 6, "0.0", align="center"),
    Column("Price (range)", 20, wrap=True),
    Column("If it fails (range)", 20, wrap=True),
    Column("No later than", 13, wrap=True),
    Column("Hazard", 20, wrap=True),
)


def typed_columns(results: Mapping[str, str]) -> tuple[Column, ...]:
    """The columns a person fills in, and the hidden key by which the row is found again."""
    return (
        Column(
            "Result",
            14,
            wrap=True,
            choices=tuple(results.values()),
            input_cell=True,
            hint="What came of it. Pick from the list, or write your own words.",
        ),
        Column("Date", 10, "yyyy-mm-dd", input_cell=True, hint="Day of the contact: 2026-10-01"),
        Column("Note", 20, wrap=True, input_cell=True),
        Column("Next step", 12, wrap=True, choices=tuple(NEXT_STEPS.values()), input_cell=True),
        Column(HEADING, 14, hidden=True),
    )


def typed_cells(contact: str, vehicle_id: str, hazard_id: str, kind: str) -> list[Any]:
    """Empty cells to fill in, and the row's key."""
    return [None, None, None, None, row_key(contact, vehicle_id, hazard_id, kind)]


def contact_sheets(run: Run, flat: pd.DataFrame) -> list[Sheet]:
    """One sheet per need that has contacts, in the order in which they are worked through."""
    calls = run.outreach.calls
    by_call = dict(list(flat.groupby("call", sort=False)))
    rows = dict(list(run.outreach.rows.groupby("call", sort=False)))
    ending = rights(run)
    sheets = []
    for need, named in outreach_words.NEEDS.items():
        own = calls[calls["need"] == need]
        if own.empty:
            continue
        made = [
            _contact(run, contact, by_call[contact["call"]], rows[contact["call"]], ending)
            for contact in own.to_dict("records")
        ]
        sheets.append(
            fitted(
                Sheet(
                    named.sheet,
                    (*CONTACT_COLUMNS, *typed_columns(CONTACT_RESULTS)),
                    made,
                    title=(f"{named.sheet}, as of {run.as_of.isoformat()}", named.purpose),
                    cell_styles=_styles(len(made), STYLE_OF.get(need, "plain")),
                    freeze_columns=2,
                    tab_colour=named.colour,
                )
            )
        )
    return sheets


def _contact(
    run: Run,
    contact: cells.Contact,
    flat: pd.DataFrame,
    rows: pd.DataFrame,
    ending: Mapping[str, list[str]],
) -> list[Any]:
    flat = lead_first(flat, str(contact["need"]))
    own = rows[rows["need"] == contact["need"]]
    # What only comes along has no last day of its own.
    own = own.assign(along=own["tier"].eq(owner.NOT_NOW_TIER))
    own = own.sort_values(["along", "act_by_date"], kind="stable")
    ends = [line for vehicle in flat["vehicle_id"].unique() for line in ending.get(vehicle, [])]
    return [
        contact["call"],
        cells.who(contact),
        cells.why_here(flat),
        cells.reasons(flat),
        cells.say(contact, flat),
        cells.offers(flat, run.rulebook.hazards),
        contact["hours"],
        cells.by_when(flat, own.iloc[0], run.as_of, ends),
        *typed_cells(str(contact["contact"]), "", "", str(contact["need"])),
    ]


def lead_first(flat: pd.DataFrame, need: str) -> pd.DataFrame:
    """The rows of one contact with those first that put it on the sheet it stands on."""
    lead = flat["need"].eq(need)
    return pd.concat([flat[lead], flat[~lead]])


def _styles(rows: int, name: str) -> dict[tuple[int, int], str]:
    """The first columns in the colour of the need, the others plain; typed cells keep theirs."""
    return {
        (row, at): name if at < COLOURED_COLUMNS else "plain"
        for row in range(rows)
        for at in range(len(CONTACT_COLUMNS))
    }


def vehicle_sheet(flat: pd.DataFrame) -> Sheet:
    """Every vehicle and hazard behind the contacts: for the service desk and the bay."""
    rows = [
        [
            row["call"],
            row["customer"],
            row["vehicle"],
            row["why"],
            row["offer"],
            row["hours"],
            row["price"],
            row["cost_if_it_fails"],
            row["no_later_than"],
            row["hazard_id"],
            *typed_cells(row["contact"], row["vehicle_id"], row["hazard_id"], "vehicle"),
        ]
        for row in flat[flat["offered"]].to_dict("records")
    ]
    return fitted(
        Sheet(
            "Vehicle by vehicle",
            (*VEHICLE_COLUMNS, *typed_columns(RESULTS)),
            rows,
            title=(
                "Vehicle by vehicle: what is offered at this visit",
                "After the visit write here what the bay saw: found, not found, something else.",
            ),
            freeze_columns=3,
            tab_colour="3B4A54",
        )
    )
