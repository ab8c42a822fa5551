"""The shop's own sheets: parts, hours, bays, people, blocked days, fixed dates, pins, figures."""

from __future__ import annotations

from dataclasses import dataclass

import pandas as pd

from riskcheck.fleet import model
from riskcheck.fleet.columns import (
    Context,
    date_column,
    note_cells,
    number_column,
    odometer_column,
    references,
    text_column,
)
from riskcheck.fleet.records import Check, keep, with_source
from riskcheck.fleet.resolve import Directory
from riskcheck.fleet.tables import Table

_PINNED = {"pinned", "pin", "keep", "must", "yes", "fixed", "here", "keep here"}
_SILENT = ("", "n/a", "na", "none", "unknown", "-", "?", "nan")
_FORBIDDEN = {
    "forbidden",
    "forbid",
    "avoid",
    "must not",
    "no",
    "not",
    "never",
    "not here",
    "keep out",
}


@dataclass(frozen=True)
class ShopSheet:
    """One kind of sheet that is passed on row by row.

    ``fields`` takes columns of the frame to fields of the sheet where they differ; ``needs`` are
    groups of columns: a row without any column of a group is set aside.
    """

    kind: str
    frame: str
    columns: list[str]
    source: str
    needs: tuple[tuple[str, ...], ...]
    fields: tuple[tuple[str, str], ...] = ()


SHOP_SHEETS = (
    ShopSheet("parts", "parts", model.PART_COLUMNS, "part", (("part",),)),
    ShopSheet("hours", "hours", model.HOURS_COLUMNS, "date", (("date",),)),
    ShopSheet(
        "away", "availability", model.AVAILABILITY_COLUMNS, "from_date",
        (("vehicle_id", "bay", "technician"), ("from_date",)),
    ),
    ShopSheet(
        "bays", "bays", model.BAY_COLUMNS, "bay", (("bay",),), (("max_weight_lb", "max_weight"),)
    ),
    ShopSheet(
        "technicians", "technicians", model.TECHNICIAN_COLUMNS, "technician", (("name",),),
        (("name", "technician"),),
    ),
    ShopSheet(
        "fixed_dates", "fixed_dates", model.FIXED_DATE_COLUMNS, "fixed_date",
        (("vehicle_id",), ("date",)), (("date", "fixed_date"),),
    ),
    ShopSheet(
        "pins", "pins", model.PIN_COLUMNS, "pin", (("vehicle_id",), ("date",), ("pin",))
    ),
    ShopSheet(
        "services_due", "services_due", model.SERVICE_DUE_COLUMNS, "what",
        (("vehicle_id",), ("date", "odometer_mi")),
        (("date", "due_date"), ("odometer_mi", "due_odometer")),
    ),
    ShopSheet("spares", "spares", model.SPARE_COLUMNS, "spares", (("spares",),)),
    ShopSheet(
        "policy", "policy", model.POLICY_COLUMNS, "value", (("figure",), ("value",))
    ),
)  # fmt: skip


def read_shop(
    context: Context, table: Table, directory: Directory, sheet: ShopSheet
) -> pd.DataFrame:
    """The rows of one such table with the columns of its frame; incomplete rows set aside."""
    frame = pd.DataFrame(index=table.rows)
    why = pd.Series("", index=table.rows, dtype=object)
    fields = dict(sheet.fields)
    for column in sheet.columns:
        field = fields.get(column, column)
        if column == "vehicle_id":
            found = directory.resolve(references(context, table)).astype(object)
            frame[column], why = found["vehicle_id"], found["reason"]
        elif column in model.DATES:
            read = date_column(context, table, field)
            frame[column] = pd.NaT if read is None else read.lo
        elif column == "odometer_mi":
            frame[column] = odometer_column(context, table, field)["miles"]
        elif column in model.NUMBERS:
            frame[column] = number_column(context, table, field)
        else:
            frame[column] = text_column(table, field)
    if sheet.kind in ("bays", "technicians"):
        frame["hours_per_day"] = _hours_a_day(context, table, frame["hours_per_day"])
    if sheet.kind == "pins":
        frame["pin"] = _pins(context, table, frame["pin"])
    frame = with_source(frame, table, sheet.source)
    return keep(context, table, frame, _checks(sheet, frame, why))


def _checks(sheet: ShopSheet, frame: pd.DataFrame, why: pd.Series) -> list[Check]:
    checks: list[Check] = []
    if "vehicle_id" in sheet.columns:  # a row about a vehicle that nobody knows
        named = why.str.startswith(("no vehicle sheet", "more than one"))
        checks.append(((frame["vehicle_id"] == "") & named, why))
    for group in sheet.needs:
        lacking = pd.Series(True, index=frame.index)
        for column in group:
            lacking &= frame[column].isna() | frame[column].eq("")
        words = " or ".join(name.replace("_", " ") for name in group)
        checks.append((lacking, f"lacks a readable {words}"))
    return checks


def _hours_a_day(context: Context, table: Table, hours: pd.Series) -> pd.Series:
    """Hours a day as written; 0 where what is written is no number or no part of a day."""
    said = text_column(table, "hours_per_day")
    wordless = hours.isna() & ~said.str.casefold().isin(_SILENT)
    odd = wordless | (hours <= 0.0) | (hours > model.DAY_HOURS)
    note_cells(context, table, "hours_per_day", odd.map({True: model.NO_HOURS, False: ""}))
    return hours.mask(odd, 0.0)


def _pins(context: Context, table: Table, written: pd.Series) -> pd.Series:
    """ "pinned", "forbidden", or "" where the word says neither."""
    lowered = written.str.casefold().str.strip(" .!")
    pins = pd.Series("", index=written.index, dtype=object)
    pins[lowered.isin(_PINNED)] = "pinned"
    pins[lowered.isin(_FORBIDDEN)] = "forbidden"
    odd = (pins == "") & (written != "")
    note_cells(context, table, "pin", odd.map({True: "neither pinned nor forbidden", False: ""}))
    return pins


def inspections_due(vehicles: pd.DataFrame) -> pd.DataFrame:
    """Inspections due from the vehicle sheet as fixed dates (tolerance not known)."""
    due = vehicles[vehicles["inspection_due"].notna()]
    return pd.DataFrame(
        {
            "vehicle_id": due["vehicle_id"],
            "what": "inspection due",
            "date": due["inspection_due"],
            "sheet": due["sheet"],
            "cell": "row " + due["row"].astype(str),
        }
    )
