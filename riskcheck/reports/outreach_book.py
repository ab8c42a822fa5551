"""The outreach workbook: a call list made to be worked in, and what stands behind it."""

from __future__ import annotations

from collections.abc import Hashable, Iterable, Mapping
from typing import Any

import pandas as pd

from riskcheck.reports import about, owner, words
from riskcheck.reports.layout import fitted
from riskcheck.reports.run import Run
from riskcheck.sheets import Column, Sheet, Style, Workbook

RESULTS = ("booked", "will call back", "left a message", "no answer", "declined", "wrong number",
           "vehicle sold", "already done elsewhere")  # fmt: skip
STYLES = {
    "stop": Style(fill="F3D9D2", border=True),
    "duty": Style(fill="E4E0EC", border=True),
    "plain": Style(border=True),
}
LINES_IN_A_CELL = 6
VEHICLES_IN_A_LINE = 8


def workbook(run: Run, flat: pd.DataFrame) -> Workbook:
    """The workbook of one run: calls, vehicle by vehicle, find out, not now, set aside, about.

    ``flat``: the run's ``call_frame``.
    """
    names = vehicle_names(run.fleet.vehicles)
    return Workbook(
        sheets=[
            _calls(run, flat),
            fitted(_vehicles(flat)),
            fitted(_find_out(run, names)),
            fitted(_not_called(run)),
            fitted(_not_now(run, names)),
            fitted(_set_aside(run)),
            fitted(about.sheet(run)),
        ],
        title=f"Preventive work to offer, as of {run.as_of.isoformat()}",
        styles=STYLES,
    )


def call_frame(run: Run) -> pd.DataFrame:
    """The call list as one flat table (one row per exposure, in calling order) for outreach.csv."""
    calls = {contact["call"]: contact for contact in run.outreach.calls.to_dict("records")}
    names = vehicle_names(run.fleet.vehicles)
    records = []
    for row in run.outreach.rows.to_dict("records"):
        contact = calls[row["call"]]
        hazard = run.rulebook.hazards[row["hazard_id"]]
        prevent, fail = owner.prices(row)
        records.append(
            {
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
                "offer": owner.offer(row, hazard),
                "hours": row["offer_hours"],
                "price": prevent,
                "cost_if_it_fails": fail,
                "no_later_than": owner.no_later_than(row),
                "how_soon": owner.urgency(row, hazard),
            }
        )
    return pd.DataFrame(records, columns=CALL_COLUMNS)


CALL_COLUMNS = [
    "call", "reason_group", "customer_id", "customer", "channel", "phone", "email", "vehicle_id",
    "vehicle", "hazard_id", "evidence", "why", "ask", "say", "offer", "hours", "price",
    "cost_if_it_fails", "no_later_than", "how_soon",
]  # fmt: skip


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


def _calls(run: Run, flat: pd.DataFrame) -> Sheet:
    rows: list[list[Any]] = []
    styles = {}
    by_call = dict(list(flat.groupby("call", sort=False)))
    for contact in run.outreach.calls.to_dict("records"):
        own = by_call[contact["call"]]
        styles[len(rows)] = {1: "stop", 2: "duty"}.get(contact["tier"], "plain")
        rows.append(_call(contact, own))
    return fitted(
        Sheet(
            "Call list",
            CALL_SHEET_COLUMNS,
            rows,
            title=(f"Customers to contact, as of {run.as_of.isoformat()}", words.CAUTIONS[0]),
            row_styles=styles,
            freeze_columns=3,
            tab_colour="3B4A54",
        )
    )


def _call(contact: Mapping[Hashable, Any], own: pd.DataFrame) -> list[Any]:
    first = own.iloc[0]
    latest = "\n".join(text for text in (first["how_soon"], first["no_later_than"]) if text)
    return [
        contact["call"],
        words.TIER_WORDS[contact["tier"]],
        first["customer"],
        contact["phone"] if contact["channel"] == "call" else CHANNEL_WORDS[contact["channel"]],
        _several(grouped_reasons(own)),
        first["ask"],
        _several((own["offer"] + ": " + own["price"]).drop_duplicates()),
        contact["hours"],
        latest,
        None,
        None,
        None,
        contact["contact"],
    ]


CHANNEL_WORDS = {"letter": "letter (asked for no calls)", "none": "nothing on file"}
CALL_SHEET_COLUMNS = [
    Column("Call", 5, "0", align="center"),
    Column("Why now", 13, wrap=True),
    Column("Customer", 18, wrap=True),
    Column("Phone", 14, wrap=True),
    Column("Vehicles and reasons, first one first", 62, wrap=True),
    Column("Open with this question", 28, wrap=True),
    Column("Offer, with price of the job (range)", 50, wrap=True),
    Column("Hours", 7, "0.0"),
    Column("How soon, no later than", 17, wrap=True),
    Column("Result", 14, choices=RESULTS, input_cell=True),
    Column("Date", 11, "yyyy-mm-dd", input_cell=True),
    Column("Note", 26, wrap=True, input_cell=True),
    Column("row key", 10, hidden=True),
]


def grouped_reasons(own: pd.DataFrame) -> list[str]:
    """The reasons of one call (its rows of ``call_frame``), first one first.

    Vehicles that share a reason share a line.
    """
    lines = []
    for _, alike in own.groupby(["reason_group", "hazard_id", "evidence"], sort=False):
        line = f"{alike['vehicle'].iloc[0]}: {alike['why'].iloc[0]}"
        others = alike["vehicle_id"].tolist()[1:]
        if others:
            shown = ", ".join(others[:VEHICLES_IN_A_LINE])
            more = "" if len(others) <= VEHICLES_IN_A_LINE else " and more"
            line += f" The same on {words.plural(len(others), 'other')}: {shown}{more}."
        lines.append(line)
    return lines


def _several(lines: Iterable[str]) -> str:
    """Several lines in one cell, cut with a count rather than silently."""
    shown = [line for line in lines if line]
    rest = len(shown) - LINES_IN_A_CELL
    more = [f"and {rest} more: see 'Vehicle by vehicle'"] if rest > 0 else []
    return "\n".join(shown[:LINES_IN_A_CELL] + more)


def _vehicles(flat: pd.DataFrame) -> Sheet:
    columns = [
        Column("Call", 6, "0", align="center"),
        Column("Why now", 16, wrap=True),
        Column("Customer", 22, wrap=True),
        Column("Vehicle", 26, wrap=True),
        Column("Reason", 56, wrap=True),
        Column("What to say", 56, wrap=True),
        Column("Offer", 34, wrap=True),
        Column("Hours", 7, "0.0"),
        Column("Price (range)", 22),
        Column("If it fails (range)", 24),
        Column("No later than", 22, wrap=True),
        Column("Vehicle id", 14),
        Column("Hazard", 28),
    ]
    names = ["call", "reason_group", "customer", "vehicle", "why", "say", "offer", "hours", "price",
             "cost_if_it_fails", "no_later_than", "vehicle_id", "hazard_id"]  # fmt: skip
    return Sheet("Vehicle by vehicle", columns, flat[names].values.tolist(),
                 freeze_columns=4)  # fmt: skip


def _find_out(run: Run, names: Mapping[str, str]) -> Sheet:
    rows = []
    for row in run.outreach.find_out.to_dict("records"):
        hazard = run.rulebook.hazards[row["hazard_id"]]
        rows.append([names[row["vehicle_id"]], hazard.title, *_questions(run, row),
                     row["vehicle_id"], row["hazard_id"]])  # fmt: skip
    columns = [
        Column("Vehicle", 28, wrap=True),
        Column("What could be wrong", 40, wrap=True),
        Column("Question that settles it", 52, wrap=True),
        Column("How to tell in two minutes", 52, wrap=True),
        Column("Vehicle id", 14),
        Column("Hazard", 28),
    ]
    return Sheet("Find out", columns, rows, title=(
        "Not known on file. Most worth asking first. Nothing here is cleared, nothing is claimed.",
    ), freeze_columns=1)  # fmt: skip


def _questions(run: Run, row: dict[Hashable, Any]) -> tuple[str, str]:
    facts = [run.rulebook.vocabulary[name] for name in str(row["questions"]).split("; ") if name]
    ask = "\n".join(fact.ask or fact.meaning for fact in facts[:3])
    return ask, "\n".join(fact.how_to_tell for fact in facts[:3] if fact.how_to_tell)


def _not_called(run: Run) -> Sheet:
    said = {
        "opted_out": "asked not to be called",
        "no_consent": "no consent to calls on file",
        "no_room": "more than can be booked in the coming two weeks: next in line",
    }
    rows = [
        [row["name"] or row["contact"], words.TIER_WORDS[row["tier"]], row["vehicles"],
         row["exposures"], said[row["reason"]]]
        for row in run.outreach.not_called.to_dict("records")
    ]  # fmt: skip
    columns = [
        Column("Customer", 26, wrap=True),
        Column("Why it would be a call", 26),
        Column("Vehicles", 10, "0"),
        Column("Reasons", 10, "0"),
        Column("Why no call is made", 36, wrap=True),
    ]
    return Sheet("Not contacted", columns, rows)


def _not_now(run: Run, names: Mapping[str, str]) -> Sheet:
    rows = []
    for row in run.outreach.not_now.to_dict("records"):
        hazard = run.rulebook.hazards[row["hazard_id"]]
        rows.append(
            [names[row["vehicle_id"]], hazard.title,
             words.STATUS_WORDS[row["status"]], owner.chance(row, hazard, run.horizon_months),
             words.TIER_REASONS.get(row["x_tier_reason"], row["x_tier_reason"]),
             owner.no_later_than(row), row["vehicle_id"], row["hazard_id"]]
        )  # fmt: skip
    columns = [
        Column("Vehicle", 28, wrap=True),
        Column("Hazard", 40, wrap=True),
        Column("Status", 18),
        Column("Chance", 44, wrap=True),
        Column("Why not now", 40, wrap=True),
        Column("No later than", 22),
        Column("Vehicle id", 14),
        Column("Hazard id", 28),
    ]
    return Sheet("Not now", columns, rows, title=(
        "On the books but not worth a call today. Not cleared: the same look is due at each visit.",
    ), freeze_columns=1)  # fmt: skip


def _set_aside(run: Run) -> Sheet:
    problems = run.fleet.problems
    shown = problems[problems["action"] != "used"]
    columns = [
        Column("Sheet", 20),
        Column("Cell", 10),
        Column("What was done", 14),
        Column("It said", 32, wrap=True),
        Column("Read as", 32, wrap=True),
        Column("Why, and what to do", 60, wrap=True),
    ]
    rows = shown[["sheet", "cell", "action", "was", "now", "reason"]].values.tolist()
    return Sheet("Repaired or set aside", columns, rows)
