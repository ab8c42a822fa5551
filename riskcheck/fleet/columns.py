"""Typed columns out of a table, with every repair and every unread cell noted."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass

import numpy as np
import pandas as pd

from riskcheck.fleet.dates import DatesRead, Order, read_dates
from riskcheck.fleet.distances import read_distances, read_number
from riskcheck.fleet.distinct import coded, coded_from, distinct, mapped, marked, spread
from riskcheck.fleet.identity import clean_ids, plain_text, plain_texts, texts
from riskcheck.fleet.notebook import Notebook
from riskcheck.fleet.tables import Table

_REFERENCES = ("vin", "vehicle_id", "unit", "plate")
_VIN_SIGNS = re.compile(r"[\s\-]+")
_FACTORS = {"kg": ("lb", 1 / 0.45359237), "lb": ("lb", 1.0)}  # international pound, NIST SP 811


@dataclass(frozen=True)
class Context:
    """What every reader of columns needs besides its table."""

    notebook: Notebook
    as_of: dt.date
    orders: Mapping[str, Order]  # day/month order that a file's columns show, by file


def note_cells(
    context: Context, table: Table, field: str, reason: pd.Series, now: pd.Series | None = None
) -> None:
    """Write down cells with a reason: as repaired where ``now`` is given, else as noted."""
    reason = reason[reason != ""]
    raw = table.raw(field)
    if raw is None or reason.empty:
        return
    rows = reason.index.to_numpy(dtype=np.int64)
    was = [plain_text(value) for value in raw.loc[reason.index]]
    if now is None:
        context.notebook.note(table.place(field), rows, was, reason.tolist())
    else:
        after = now.loc[reason.index].astype(object).tolist()
        context.notebook.repair(table.place(field), rows, (was, after), reason.tolist())


def text_column(table: Table, field: str) -> pd.Series:
    """A field as clean one-line text, "" where missing; several columns are joined with "; "."""
    columns = table.all(field)
    if not columns:
        return pd.Series("", index=table.rows, dtype=object)
    joined = texts(table.cells(columns[0].index))
    for column in columns[1:]:
        joined = joined_text(joined, texts(table.cells(column.index)))
    return joined


def joined_text(first: pd.Series, second: pd.Series, sign: str = "; ") -> pd.Series:
    """Two text columns as one, with ``sign`` between them where both say something."""
    both = (first != "") & (second != "")
    return first.where(~both, first + sign + second).where(first != "", second)


def coded_column(
    table: Table, field: str, meaning: Callable[[str], str] = lambda text: text
) -> pd.Series:
    """As ``text_column``, passed through ``meaning``, as a categorical column."""
    columns = table.all(field)
    if len(columns) != 1:
        return coded(text_column(table, field), meaning)
    codes, found = distinct(table.cells(columns[0].index))
    meant = [*map(meaning, plain_texts(found)), ""]
    return pd.Series(coded_from(codes, meant), index=table.index)


def id_column(context: Context, table: Table, field: str) -> pd.Series:
    """An identifier column as text, "" where missing or damaged."""
    return coded_ids(context, table, field).astype(object)


def coded_ids(context: Context, table: Table, field: str) -> pd.Series:
    """As ``id_column``, as a categorical column."""
    raw = table.raw(field)
    if raw is None:
        return coded(pd.Series("", index=table.rows, dtype=object), str)
    ids, reason = clean_ids(raw)
    if field == "vin":
        ids = coded(ids, lambda vin: _VIN_SIGNS.sub("", vin.upper()))
    lost = (ids.loc[reason.index] == "").to_numpy(dtype=bool)
    note_cells(context, table, field, reason[lost])
    note_cells(context, table, field, reason[~lost], ids)
    return ids


def references(context: Context, table: Table) -> pd.DataFrame:
    """The vehicle references that the table has, as clean categorical text."""
    present = [field for field in _REFERENCES if table.find(field)]
    frame = pd.DataFrame(index=table.rows)
    for field in present:
        frame[field] = coded_ids(context, table, field)
    return frame


def date_column(context: Context, table: Table, field: str) -> DatesRead | None:
    """A date column, or None where the table has none."""
    raw = table.raw(field)
    if raw is None:
        return None
    grid = table.grid
    read = read_dates(
        raw,
        context.as_of,
        epoch_1904=grid.epoch_1904,
        fallback=context.orders.get(grid.file, ""),
    )
    note_cells(context, table, field, read.reason[~read.repaired])
    changed = read.reason[read.repaired]
    shown = read.lo.loc[changed.index].dt.strftime("%Y-%m-%d").astype(object)
    note_cells(context, table, field, changed, shown)
    if read.order in ("dmy", "mdy"):
        heading = table.find(field)
        words = "day before month" if read.order == "dmy" else "month before day"
        name = heading.heading if heading else field
        context.notebook.note_sheet(grid, name, f"dates read {words}: {read.evidence}")
    return read


def odometer_column(context: Context, table: Table, field: str = "odometer") -> pd.DataFrame:
    """Columns miles and hours (float) of an odometer field; repairs and oddities noted."""
    column = table.find(field)
    if column is None:
        nothing = pd.Series(np.nan, index=table.rows)
        return pd.DataFrame({"miles": nothing, "hours": nothing})
    units = table.raw("odometer_unit")
    read = read_distances(
        table.cells(column.index),
        column.unit,
        None if units is None else texts(units),
    )
    note_cells(context, table, field, read.reason[~read.repaired])
    changed = read.reason[read.repaired]
    miles, hours = read.miles.loc[changed.index], read.hours.loc[changed.index]
    now = [
        f"{mi:.10g} mi" if h != h else f"{h:g} engine hours"
        for mi, h in zip(miles, hours, strict=True)
    ]
    note_cells(context, table, field, changed, pd.Series(now, changed.index, dtype=object))
    return pd.DataFrame({"miles": read.miles, "hours": read.hours})


def number_column(context: Context, table: Table, field: str) -> pd.Series:
    """A plain number (money signs, thousands signs and weight units allowed), NaN where none."""
    column = table.find(field)
    if column is None:
        return pd.Series(np.nan, index=table.rows)
    codes, found = distinct(table.cells(column.index))
    done = [plain_number(value, column.unit) for value in found]
    values = spread(codes, [number for number, _ in done], np.nan, "float64")
    note_cells(context, table, field, marked(codes, [why for _, why in done], table.index))
    return pd.Series(values, index=table.index)


def plain_number(value: object, unit: str = "") -> tuple[float, str]:
    """One number and why it is missing; "kg" (cell or heading) is turned into pounds."""
    if isinstance(value, bool):
        return np.nan, "yes or no where a number is due"
    if isinstance(value, int | float | np.number):
        return float(value) * _FACTORS.get(unit, ("", 1.0))[1], ""
    text = str(value).strip().lower().replace("\u00a0", " ").lstrip("~$€£' ")
    if text in ("", "n/a", "na", "none", "unknown", "-", "?", "nan"):
        return np.nan, ""
    factor = 1.0
    for word in ("kgs", "kg", "lbs.", "lbs", "lb.", "lb", "usd", "hrs", "hr", "h", "mi", "%"):
        if text.endswith(word):
            text = text.removesuffix(word).strip()
            unit = "kg" if word.startswith("kg") else "lb" if word.startswith("lb") else unit
            break
    if text.endswith("k"):
        text, factor = text.removesuffix("k").strip(), 1000.0
    negative = text.startswith("-")
    number = read_number(text.lstrip("+-"))
    if number is None:
        return np.nan, "not a number, read as missing"
    number *= factor * _FACTORS.get(unit, ("", 1.0))[1]
    return (-number if negative else number), ""


_YES = {"yes", "y", "true", "1", "x", "ok", "t", "✓", "✔", "si", "ja", "oui"}
_NO = {"no", "n", "false", "0", "none", "f", "✗", "nein", "non", "never"}


def yes_no(values: pd.Series) -> pd.Series:
    """ "yes", "no" or "" for a column of clean text; anything else stays as written."""
    return mapped(values, _yes_or_no)


def _yes_or_no(text: str) -> str:
    lowered = text.casefold().strip(" .!")
    return "yes" if lowered in _YES else "no" if lowered in _NO else text
