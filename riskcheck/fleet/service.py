"""Service history: one row a source line, each tied to its vehicle and its day."""

from __future__ import annotations

import numpy as np
import pandas as pd

from riskcheck.fleet.columns import (
    Context,
    coded_column,
    coded_ids,
    date_column,
    joined_text,
    note_cells,
    number_column,
    odometer_column,
    references,
    text_column,
)
from riskcheck.fleet.distinct import coded, coded_from
from riskcheck.fleet.model import READING_COLUMNS
from riskcheck.fleet.notebook import Place
from riskcheck.fleet.patterns import import_days
from riskcheck.fleet.resolve import Directory
from riskcheck.fleet.tables import Table

_CLOSED = {"closed", "paid", "invoiced", "invoice", "complete", "completed", "done", "posted",
           "finished", "final", "finalized", "finalised", "close", "inv"}  # fmt: skip
_ESTIMATE = {"estimate", "quote", "quoted", "est", "declined", "recommended", "deferred",
             "proposal", "not authorized", "not authorised"}  # fmt: skip
_OPEN = {"open", "in progress", "wip", "pending", "scheduled", "waiting", "on hold", "started",
         "awaiting parts", "promised"}  # fmt: skip
_VOID = {"void", "voided", "cancelled", "canceled", "reversed", "deleted", "credit"}
_DATES = ("date", "date_posted", "date_opened", "date_promised")


def read_service(
    context: Context, table: Table, directory: Directory
) -> tuple[pd.DataFrame, pd.DataFrame]:
    """(service, readings) of one table; rows that cannot count are set aside, each with why.

    ``service`` also has ``reading_text``: the line as the lexicon should read it, with what other
    columns say about it (complaint, negative quantity, declined).  Text columns are categorical.
    """
    frame = _raw_lines(context, table)
    found = directory.resolve(references(context, table), frame["date_lo"])
    frame["vehicle_id"] = found["vehicle_id"]
    _set_aside(context, table, frame, found["reason"])
    loose = found["reason"][(found["reason"] != "") & (found["vehicle_id"] != "")].astype(object)
    rows = loose.index
    first = next(f for f in ("vin", "vehicle_id", "unit", "plate") if table.find(f))
    context.notebook.repair(
        table.place(first), rows.to_numpy(dtype=np.int64),
        (["" for _ in rows], found["vehicle_id"].loc[rows].tolist()), loose.tolist(),
    )  # fmt: skip
    gone = context.notebook.set_aside_rows(table.grid)
    kept = ~np.isin(table.rows, gone)
    context.notebook.use(table.grid, table.rows[kept])
    frame = frame if kept.all() else frame[kept]
    imported = _imported(context, table, frame)
    readings = _readings(table, frame[~imported] if imported.any() else frame)
    return _undated(context, table, frame, imported, directory), readings


def _imported(context: Context, table: Table, frame: pd.DataFrame) -> pd.Series:
    """Lines whose date is a day of import: see ``patterns.import_days``."""
    days = import_days(frame["date_hi"], frame["vehicle_id"])
    for day in days:
        here = frame["date_hi"] == day
        count, vehicles = int(here.sum()), frame.loc[here, "vehicle_id"].nunique()
        context.notebook.note_sheet(
            table.grid, f"{day:%Y-%m-%d}",
            f"{count:,} lines of {vehicles:,} vehicles stand on this one day: a day of import, it "
            "seems. They are kept, but read as done on that day or any day before it, and their "
            "odometers are left out",
        )  # fmt: skip
    return frame["date_hi"].isin(days)


def _undated(
    context: Context, table: Table, frame: pd.DataFrame, imported: pd.Series, directory: Directory
) -> pd.DataFrame:
    """Lines of an import day as done between the vehicle's first day and that day."""
    if not imported.any():
        return frame
    some = frame[imported]
    first = some["vehicle_id"].astype(object).map(directory.first_days)
    first = first.fillna(frame["date_lo"].min()).clip(upper=some["date_hi"])
    low = frame["date_lo"].copy()
    low[imported] = first.astype(low.dtype)
    field = next(field for field in _DATES if table.find(field))
    days = some["date_hi"].dt.strftime("%Y-%m-%d")
    now = first.dt.strftime("%Y-%m-%d") + " to " + days
    reason = pd.Series("a day of import, not of work", index=some.index)
    note_cells(context, table, field, reason, now)
    return frame.assign(date_lo=low)


def _raw_lines(context: Context, table: Table) -> pd.DataFrame:
    frame = pd.DataFrame(index=table.index)
    dates = [read for read in (date_column(context, table, f) for f in _DATES) if read]
    nowhere = pd.Series(np.datetime64("NaT", "s"), index=table.index)
    low, high = (dates[0].lo, dates[0].hi) if dates else (nowhere, nowhere)
    for read in dates[1:]:
        low, high = low.fillna(read.lo), high.fillna(read.hi)
    frame["date_lo"], frame["date_hi"] = low, high
    odometer = odometer_column(context, table)
    frame["odometer_mi"] = odometer["miles"]
    if table.find("odometer_out"):
        frame["odometer_mi"] = frame["odometer_mi"].fillna(
            odometer_column(context, table, "odometer_out")["miles"]
        )
    frame["engine_hours"] = odometer["hours"].fillna(number_column(context, table, "engine_hours"))
    frame["invoice"] = coded_ids(context, table, "invoice")
    frame["line_status"] = coded_column(table, "line_status", _status)
    frame["line"], frame["reading_text"] = _words(context, table, frame["line_status"])
    frame["file"] = coded_from(np.zeros(len(frame), dtype=np.int64), [table.grid.file])
    frame["sheet"] = coded_from(np.zeros(len(frame), dtype=np.int64), [table.grid.sheet])
    frame["row"] = table.rows + table.grid.first_row + 1
    return frame


def _words(context: Context, table: Table, status: pd.Series) -> tuple[pd.Series, pd.Series]:
    """(line as shown, line as read): complaint and refusal are put into the trade's words."""
    shown = coded_column(table, "line")
    for field in ("cause", "remarks"):
        if table.find(field):
            shown = joined_text(shown.astype(object), text_column(table, field))
    if table.find("complaint"):
        complaint = text_column(table, "complaint")
        said = ("C/S " + complaint).where(complaint != "", "")
        shown = joined_text(said, shown.astype(object))
    read = shown
    if table.find("part_quantity"):
        negative = number_column(context, table, "part_quantity") < 0
        if negative.any():
            read = read.astype(object).where(~negative, read.astype(object) + " qty -1")
    if table.find("approved"):
        refused = coded_column(table, "approved", str.casefold).isin(["no", "n", "declined"])
        if refused.any():
            read = read.astype(object).where(~refused, read.astype(object) + " - declined")
    void = status == "void"
    if void.any():
        read = read.astype(object).where(~void, "")
    return _as_codes(shown), _as_codes(read)


def _as_codes(values: pd.Series) -> pd.Series:
    return values if isinstance(values.dtype, pd.CategoricalDtype) else coded(values, str)


def _status(words: str) -> str:
    lowered = words.casefold().strip(" .")
    for name, members in (
        ("closed", _CLOSED), ("estimate", _ESTIMATE), ("open", _OPEN), ("void", _VOID)
    ):  # fmt: skip
        if lowered in members:
            return name
    return ""


def _set_aside(context: Context, table: Table, frame: pd.DataFrame, reason: pd.Series) -> None:
    place = Place(table.grid)
    as_of = pd.Timestamp(context.as_of)
    checks = (
        (frame["vehicle_id"] == "", reason),
        (frame["line"] == "", "no words on this line: nothing to read"),
        (frame["line_status"] == "void", "void or reversed: it does not count"),
        (frame["date_lo"].isna(), "no readable date: when was this done?"),
        (frame["date_lo"] > as_of, f"dated after the as-of date {context.as_of}"),
        (_repeated(frame), "the same line stands on an earlier row"),
        (
            _estimates_later_done(frame),
            "estimate of a line that was also invoiced: the invoice counts",
        ),
    )
    for bad, why in checks:
        rows = frame.index[bad.to_numpy(dtype=bool)]
        told = why if isinstance(why, str) else why.loc[rows].astype(object).tolist()
        words = [str(line)[:80] for line in frame["line"].loc[rows]]
        context.notebook.set_aside(place, rows.to_numpy(dtype=np.int64), told, words)


def _repeated(frame: pd.DataFrame) -> pd.Series:
    """Rows that say word for word, number for number, what an earlier row says."""
    worded = frame["line"] != ""
    mixed = np.zeros(len(frame), dtype=np.uint64)
    columns = [name for name in frame.columns if name not in ("row", "file", "sheet")]
    for name in columns:
        values = frame[name]
        if isinstance(values.dtype, pd.CategoricalDtype):
            numbers = values.cat.codes.to_numpy().astype(np.int64)
        elif values.dtype.kind == "M":
            numbers = values.to_numpy().view(np.int64)
        else:
            numbers = values.to_numpy(dtype=np.float64).view(np.int64)
        mixed = (mixed ^ numbers.view(np.uint64)) * np.uint64(0x9E3779B97F4A7C15)
        mixed ^= mixed >> np.uint64(29)
    alike = pd.Series(mixed, index=frame.index).duplicated(keep=False) & worded
    again = pd.Series(False, index=frame.index)
    if alike.any():
        again.loc[alike] = frame.loc[alike, columns].astype(object).duplicated()
    return again


def _estimates_later_done(frame: pd.DataFrame) -> pd.Series:
    """Estimates whose very words were closed on the same vehicle within 60 days."""
    estimate = frame["line_status"] == "estimate"
    if not estimate.any():
        return estimate
    needed = ["vehicle_id", "line", "date_lo"]
    closed = frame.loc[frame["line_status"] == "closed", needed].astype({"line": object})
    pairs = (
        frame.loc[estimate, needed]
        .astype({"line": object})
        .reset_index(names="_row")
        .merge(closed, on=["vehicle_id", "line"], suffixes=("", "_closed"))
    )
    days = (pairs["date_lo_closed"] - pairs["date_lo"]).dt.days
    rows = pairs["_row"][days.between(0, 60)].unique()
    return pd.Series(frame.index.isin(rows), index=frame.index)


def _readings(table: Table, frame: pd.DataFrame) -> pd.DataFrame:
    found = frame[frame["odometer_mi"].notna() | frame["engine_hours"].notna()]
    column = table.find("odometer") or table.find("odometer_out") or table.find("engine_hours")
    letters = table.grid.letters(column.index) if column else ""
    return pd.DataFrame(
        {
            "vehicle_id": found["vehicle_id"],
            "date": found["date_hi"],
            "odometer_mi": found["odometer_mi"],
            "engine_hours": found["engine_hours"],
            "file": found["file"],
            "sheet": found["sheet"],
            "cell": letters + found["row"].astype("str"),
        },
        columns=READING_COLUMNS,
    )
