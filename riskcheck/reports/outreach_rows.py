"""The call list as one flat table: one row per exposure behind a contact, in calling order."""

from __future__ import annotations

import math
from collections.abc import Hashable, Mapping
from typing import Any

import pandas as pd

from riskcheck.actions.row_keys import row_key
from riskcheck.reports import outreach_words, owner, words
from riskcheck.reports.run import Run

COLUMNS = [
    "call", "reason_group", "customer_id", "customer", "channel", "phone", "email", "vehicle_id",
    "vehicle", "hazard_id", "evidence", "why", "ask", "say", "offer", "hours", "price",
    "cost_if_it_fails", "no_later_than", "how_soon", "need", "hazard", "offered", "offer_kind",
    "parts", "because", "changed", "declined", "look_cost", "free", "vehicle_short", "contact",
    "row_key",
]  # fmt: skip
VEHICLES_IN_A_LINE = 8
FEW_VEHICLES = 2
ALSO_NAMED = 4


def call_frame(run: Run) -> pd.DataFrame:
    """One row per exposure behind a contact, in calling order (``COLUMNS``), for outreach.csv."""
    calls = {contact["call"]: contact for contact in run.outreach.calls.to_dict("records")}
    names, known_as = vehicle_names(run.fleet.vehicles), names_for_owners(run.fleet.vehicles)
    records = [
        _record(run, row, calls[row["call"]], names)
        | {"vehicle_short": known_as[row["vehicle_id"]]}
        for row in run.outreach.rows.to_dict("records")
    ]
    return pd.DataFrame(records, columns=COLUMNS)


def _record(
    run: Run, row: Mapping[Hashable, Any], contact: Mapping[Hashable, Any], names: Mapping[str, str]
) -> dict[str, Any]:
    hazard = run.rulebook.hazards[row["hazard_id"]]
    prevent, fail = owner.prices(row)
    return {
        "call": row["call"],
        "reason_group": words.TIER_WORDS[int(row["tier"])],
        "customer_id": row["customer_id"] or "",
        "customer": contact["name"] or contact["contact"],
        "channel": contact["channel"],
        "phone": contact["phone"],
        "email": contact["email"],
        "vehicle_id": row["vehicle_id"],
        "vehicle": names[row["vehicle_id"]],
        "hazard_id": row["hazard_id"],
        "evidence": row["evidence"],
        "why": owner.why(row, hazard, run.horizon_months),
        "ask": hazard.words.ask,
        "say": owner.sentence(row, hazard, run.horizon_months),
        "offer": owner.offer(row, hazard, free=is_free(row)),
        "hours": row["offer_hours"],
        "price": prevent,
        "cost_if_it_fails": fail,
        "no_later_than": owner.no_later_than(row, run.as_of),
        "how_soon": owner.urgency(row, hazard),
        "need": row["need"],
        "hazard": hazard.title,
        "offered": bool(row["offered"]),
        "offer_kind": row["offer"],
        "parts": owner.parts(hazard, row["parts_days"]) if row["offer"] == "fix" else "",
        "because": tier_reason(str(row["x_tier_reason"])),
        "changed": str(row.get("x_change") or ""),
        "declined": owner.refusal(row, outreach_words.SEASONS),
        "look_cost": float(row.get("x_look_cost", math.nan)),
        "free": is_free(row),
        "contact": row["contact"],
        "row_key": row_key(row["contact"], row["vehicle_id"], row["hazard_id"], "vehicle"),
    }


def is_free(row: Mapping[Hashable, Any]) -> bool:
    """Whether a look is a re-check of our own work: our job opened it, or never proved itself."""
    return row.get("need") == "ours" or (row["status"] == "unproven" and row["evidence"] == "none")


def names_for_owners(vehicles: pd.DataFrame) -> dict[str, str]:
    """Every vehicle as its owner knows it, by vehicle id: year, make, model and plate.

    The shop's own number stands only where nothing else is on file.
    """
    names = {}
    shown = vehicles.reindex(columns=["vehicle_id", "model_year", "make", "model", "plate"])
    for row in shown.astype(object).where(shown.notna(), "").to_dict("records"):
        year = f"{int(row['model_year'])}" if row["model_year"] != "" else ""
        known = " ".join(str(part) for part in (year, row["make"], row["model"]) if part)
        plate = f"plate {row['plate']}" if row["plate"] else ""
        said = ", ".join(part for part in (known, plate) if part)
        names[str(row["vehicle_id"])] = said or f"vehicle {row['vehicle_id']}"
    return names


def tier_reason(code: str) -> str:
    """Why a row has its tier, in words; a date tier is told by what its date is for."""
    return words.TIER_REASONS.get(code) or words.ACT_BY_REASONS.get(code, code)


def vehicle_names(vehicles: pd.DataFrame) -> dict[str, str]:
    """Every vehicle as people name it: unit, year, make and model, by vehicle id."""
    names = {}
    for row in vehicles[["vehicle_id", "unit", "model_year", "make", "model"]].to_dict("records"):
        own, unit = str(row["vehicle_id"]), str(row["unit"] or "")
        year = "" if pd.isna(row["model_year"]) else f"{int(row['model_year'])}"
        name = f"{own} (unit {unit})" if unit and unit != own else own
        parts = (name, year, row["make"], row["model"])
        names[own] = " ".join(str(part) for part in parts if part)
    return names


def grouped_reasons(own: pd.DataFrame) -> list[str]:
    """The reasons of one contact (its rows of ``call_frame``), first one first.

    The first reason is told with its chance; the others by name only, so that one message keeps
    to one denominator.  One or two vehicles have a line each; more share a line by hazard.
    """
    if own["vehicle_id"].nunique() <= FEW_VEHICLES:
        return _by_vehicle(own)
    lines: list[str] = []
    for _, alike in own.groupby(["hazard_id", "evidence"], sort=False):
        told = alike["why"].iloc[0] if not lines else f"{alike['hazard'].iloc[0]}."
        line = f"{alike['vehicle'].iloc[0]}: {told}"
        others = alike["vehicle_id"].tolist()[1:]
        if others:
            shown = ", ".join(others[:VEHICLES_IN_A_LINE])
            more = "" if len(others) <= VEHICLES_IN_A_LINE else " and more"
            line += f" The same on {words.plural(len(others), 'other')}: {shown}{more}."
        lines.append(line)
    return lines


def _by_vehicle(own: pd.DataFrame) -> list[str]:
    lines: list[str] = []
    for _, rows in own.groupby("vehicle_id", sort=False):
        titles = [_small(title) for title in rows["hazard"]]
        if not lines:
            lines.append(f"{rows['vehicle'].iloc[0]}: {rows['why'].iloc[0]}")
            titles = titles[1:]
            start = "Also"
        else:
            start = str(rows["vehicle"].iloc[0])
        if titles:
            rest = len(titles) - ALSO_NAMED
            more = f"; and {rest} more" if rest > 0 else ""
            lines.append(f"{start}: {'; '.join(titles[:ALSO_NAMED])}{more}.")
    return lines


def _small(title: str) -> str:
    """A title inside a sentence: a capital that begins an ordinary word is made small."""
    return title[:1].lower() + title[1:] if title[1:2].islower() else title
