"""Measurements, fault codes, customers, contacts and appointments."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import pandas as pd

from riskcheck.fleet.columns import (
    Context,
    date_column,
    id_column,
    note_cells,
    number_column,
    references,
    text_column,
    yes_no,
)
from riskcheck.fleet.distinct import combinations, distinct
from riskcheck.fleet.fault_codes import split_codes
from riskcheck.fleet.notebook import Place
from riskcheck.fleet.phones import clean_phones
from riskcheck.fleet.resolve import Directory
from riskcheck.fleet.tables import Table

Check = tuple[pd.Series, str | pd.Series]  # rows that fail, and why
_EMAIL = re.compile(r"^[^@\s]+@[^@\s]+\.[^@\s]+$")


def with_source(frame: pd.DataFrame, table: Table, field: str) -> pd.DataFrame:
    column = table.find(field)
    place = column.index if column else 0
    cells = [table.grid.address(int(row), place) for row in frame.index]
    return frame.assign(file=table.grid.file, sheet=table.grid.sheet, cell=cells)


def keep(
    context: Context, table: Table, frame: pd.DataFrame, checks: Sequence[Check]
) -> pd.DataFrame:
    """Set aside the rows a check finds, mark the others as used, return those."""
    for bad, why in checks:
        rows = frame.index[bad.to_numpy(dtype=bool)]
        told = why if isinstance(why, str) else why.loc[rows].tolist()
        context.notebook.set_aside(Place(table.grid), rows.to_numpy(dtype=np.int64), told)
    kept = np.setdiff1d(table.rows, context.notebook.set_aside_rows(table.grid))
    context.notebook.use(table.grid, kept)
    return frame.loc[kept]


def _tied(context: Context, table: Table, directory: Directory) -> pd.DataFrame:
    """vehicle_id, why and date of every row."""
    read = date_column(context, table, "date")
    date = pd.Series(pd.NaT, index=table.rows) if read is None else read.hi
    found = directory.resolve(references(context, table), date).astype(object)
    return pd.DataFrame({"vehicle_id": found["vehicle_id"], "why": found["reason"], "date": date})


def _late(context: Context, frame: pd.DataFrame) -> list[Check]:
    too_late = f"dated after the as-of date {context.as_of}"
    return [
        (frame["vehicle_id"] == "", frame["why"]),
        (frame["date"].isna(), "no readable date: when was this read?"),
        (
            frame["date"] > pd.Timestamp(context.as_of),
            too_late,
        ),
    ]


def read_measurements(context: Context, table: Table, directory: Directory) -> pd.DataFrame:
    """One row a measured value; ``quantity`` as written, settled later against the known ones."""
    frame = _tied(context, table, directory)
    frame["quantity"] = text_column(table, "quantity")
    frame["value"] = number_column(context, table, "value")
    frame["unit"] = text_column(table, "measure_unit")
    frame["words"] = frame["quantity"] + " " + text_column(table, "value") + " " + frame["unit"]
    frame["words"] = frame["words"].str.strip()
    frame["quote"] = text_column(table, "value")
    checks: list[Check] = [
        *_late(context, frame),
        (frame["quantity"] == "", "does not say what was measured"),
        (frame["value"].isna(), "no readable value"),
    ]
    kept = keep(context, table, frame, checks)
    return with_source(kept, table, "value")


def read_codes(context: Context, table: Table, directory: Directory) -> pd.DataFrame:
    """One row a fault code; a cell may hold several."""
    frame = _tied(context, table, directory)
    written = text_column(table, "code")
    if table.find("spn"):
        pair = "SPN " + text_column(table, "spn") + " FMI " + text_column(table, "fmi")
        written = written.where(written != "", pair)
    frame["words"] = text_column(table, "code" if table.find("code") else "spn")
    frame["code"] = written.map(split_codes)
    checks: list[Check] = [
        *_late(context, frame),
        (frame["code"].map(len) == 0, "no code of a known form (P0540 or SPN 729 FMI 5)"),
    ]
    kept = keep(context, table, frame, checks)
    kept = with_source(kept, table, "code" if table.find("code") else "spn")
    return kept.explode("code")


def read_customers(context: Context, table: Table) -> pd.DataFrame:
    """One row a customer; a second row of the same customer is set aside."""
    frame = _customer_cells(context, table)
    again = frame["customer_id"].duplicated() & (frame["customer_id"] != "")
    checks: list[Check] = [
        (frame["customer_id"] == "", "names no customer"),
        (again, "this customer stands on an earlier row too: the first row was followed"),
    ]
    return keep(context, table, frame, checks)


_OWNER_FIELDS = ("customer_id", "name", "phone", "phone_2", "email", "opt_out")
_BESIDE = ["customer_id", "name", "phone", "email", "opt_out"]


def owners_on(context: Context, table: Table) -> pd.DataFrame:
    """Customers named beside vehicles or visits: first contact given, any opt-out honoured."""
    fields = [field for field in _OWNER_FIELDS if table.find(field)]
    if not {"customer_id", "name"} & set(fields):
        return pd.DataFrame(columns=_BESIDE, dtype=object)
    columns = [distinct(table.raw(field))[0] for field in fields]  # type: ignore[arg-type]
    _, first = combinations(columns)
    frame = _customer_cells(context, replace(table, rows=table.rows[np.sort(first)]))
    frame = frame.loc[frame["customer_id"] != "", _BESIDE]
    owners = frame.drop_duplicates("customer_id").reset_index(drop=True)
    for field in _BESIDE[1:]:
        said = frame[frame[field] != ""]
        if field == "opt_out":
            said = said[said[field] != "no"]
        said = said.drop_duplicates("customer_id")
        known = dict(zip(said["customer_id"], said[field], strict=True))
        owners[field] = [known.get(customer, "") for customer in owners["customer_id"]]
    return owners


def _customer_cells(context: Context, table: Table) -> pd.DataFrame:
    """The customer columns of every row of a table, cleaned."""
    frame = pd.DataFrame(index=table.rows)
    frame["name"] = text_column(table, "name")
    frame["customer_id"] = id_column(context, table, "customer_id")
    frame["customer_id"] = frame["customer_id"].where(frame["customer_id"] != "", frame["name"])
    # As identifiers first: the ".0" of a number cell would become another telephone number.
    first, second = (id_column(context, table, field) for field in ("phone", "phone_2"))
    frame["phone"], reason = clean_phones(first.where(first != "", second))
    note_cells(context, table, "phone", reason)
    email = text_column(table, "email").str.replace(r"^mailto:", "", regex=True)
    odd = (email != "") & ~email.str.match(_EMAIL)
    note_cells(context, table, "email", odd.map({True: "not an e-mail address", False: ""}))
    frame["email"] = email.where(~odd, "")
    frame["address"] = _address(context, table)
    frame["kind"] = _kinds(text_column(table, "kind"))
    frame["fleet"] = text_column(table, "fleet")
    for field in ("consent_call", "consent_text", "consent_email", "opt_out"):
        frame[field] = yes_no(text_column(table, field))
    frame["notes"] = text_column(table, "notes")
    return frame


def _address(context: Context, table: Table) -> pd.Series:
    parts = [text_column(table, field) for field in ("address", "city", "region")]
    parts.append(id_column(context, table, "postcode"))
    joined = parts[0]
    for part in parts[1:]:
        both = (joined != "") & (part != "")
        joined = joined.where(~both, joined + ", " + part).where(joined != "", part)
    return joined


def _kinds(words: pd.Series) -> pd.Series:
    lowered = words.str.casefold()
    fleet = lowered.str.contains("fleet|commercial|business|contract|municipal", regex=True)
    kind = words.mask(fleet, "fleet")
    return kind.mask(
        lowered.isin(["retail", "private", "individual", "person", "walk-in"]), "retail"
    )


def read_contacts(context: Context, table: Table, directory: Directory) -> pd.DataFrame:
    """One row a contact that took place or was tried."""
    frame = _tied(context, table, directory)
    frame["customer_id"] = id_column(context, table, "customer_id")
    frame["customer_id"] = frame["customer_id"].where(
        frame["customer_id"] != "", text_column(table, "name")
    )
    for field in ("channel", "topic", "result", "note"):
        frame[field] = text_column(table, field)
    checks: list[Check] = [
        (
            (frame["vehicle_id"] == "") & (frame["customer_id"] == ""),
            "names neither a customer nor a known vehicle",
        ),
        *_late(context, frame)[1:],
    ]
    return keep(context, table, frame, checks)


def read_appointments(context: Context, table: Table, directory: Directory) -> pd.DataFrame:
    """One row a booked visit."""
    found = directory.resolve(references(context, table)).astype(object)
    read = date_column(context, table, "appointment")
    date = pd.Series(pd.NaT, index=table.rows) if read is None else read.lo
    frame = pd.DataFrame({"vehicle_id": found["vehicle_id"], "date": date})
    frame["note"] = text_column(table, "note")
    checks: list[Check] = [
        (frame["vehicle_id"] == "", found["reason"]),
        (frame["date"].isna(), "no readable date"),
    ]
    return keep(context, table, frame, checks)
