"""Service history: one row a source line, each tied to its vehicle and its day."""

from __future__ import annotations

import numpy as np
import pandas as pd

from riskcheck.fleet.columns import (
    Context,
    date_column,
    id_column,
    number_column,
    odometer_column,
    references,
    text_column,
)
from riskcheck.fleet.model import READING_COLUMNS
from riskcheck.fleet.notebook import Place
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
    columns say about it (complaint, negative quantity, declined).
    """
    frame = _raw_lines(context, table)
    found = directory.resolve(references(context, table))
    frame["vehicle_id"] = found["vehicle_id"]
    _set_aside(context, table, frame, found["reason"])
    loose = found["reason"].where(found["vehicle_id"] != "", "")
    rows = loose.index[loose != ""]
    first = next(f for f in ("vin", "vehicle_id", "unit", "plate") if table.find(f))
    context.notebook.repair(
        table.place(first), rows.to_numpy(dtype=np.int64),
        (["" for _ in rows], found["vehicle_id"].loc[rows].tolist()), loose.loc[rows].tolist(),
    )  # fmt: skip
    pending = context.notebook.pending(table.grid)
    done = np.setdiff1d(table.rows, _gone(context, table))
    frame = frame.loc[done]
    context.notebook.use(table.grid, np.intersect1d(pending, done))
    return frame, _readings(table, frame)


def _raw_lines(context: Context, table: Table) -> pd.DataFrame:
    frame = pd.DataFrame(index=table.rows)
    dates = [read for read in (date_column(context, table, f) for f in _DATES) if read]
    frame["date_lo"], frame["date_hi"] = pd.NaT, pd.NaT
    for read in dates:
        frame["date_lo"] = frame["date_lo"].fillna(read.lo)
        frame["date_hi"] = frame["date_hi"].fillna(read.hi)
    odometer = odometer_column(context, table)
    frame["odometer_mi"] = odometer["miles"]
    if table.find("odometer_out"):
        frame["odometer_mi"] = frame["odometer_mi"].fillna(
            odometer_column(context, table, "odometer_out")["miles"]
        )
    frame["engine_hours"] = odometer["hours"].fillna(number_column(context, table, "engine_hours"))
    frame["invoice"] = id_column(context, table, "invoice")
    frame["line_status"] = _statuses(text_column(table, "line_status"))
    frame["line"], frame["reading_text"] = _words(context, table, frame["line_status"])
    frame["file"], frame["sheet"] = table.grid.file, table.grid.sheet
    frame["row"] = table.rows + table.grid.first_row + 1
    return frame


def _words(context: Context, table: Table, status: pd.Series) -> tuple[pd.Series, pd.Series]:
    """(line as shown, line as read): complaint and refusal are put into the trade's words."""
    line = text_column(table, "line")
    for field in ("cause", "remarks"):
        more = text_column(table, field)
        line = line.where(more == "", (line + "; " + more).str.removeprefix("; "))
    complaint = text_column(table, "complaint")
    shown = line.where(complaint == "", ("C/S " + complaint + "; " + line).str.removesuffix("; "))
    read = shown
    if table.find("part_quantity"):
        negative = number_column(context, table, "part_quantity") < 0
        read = read.where(~negative, read + " qty -1")
    if table.find("approved"):
        refused = text_column(table, "approved").str.casefold().isin(["no", "n", "declined"])
        read = read.where(~refused, read + " - declined")
    return shown, read.where(status != "void", "")


def _statuses(words: pd.Series) -> pd.Series:
    lowered = words.str.casefold().str.strip(" .")
    status = pd.Series("", index=words.index, dtype=object)
    for name, members in (
        ("closed", _CLOSED), ("estimate", _ESTIMATE), ("open", _OPEN), ("void", _VOID)
    ):  # fmt: skip
        status[lowered.isin(members)] = name
    return status


def _set_aside(context: Context, table: Table, frame: pd.DataFrame, reason: pd.Series) -> None:
    place = Place(table.grid)
    words = frame["line"].str.slice(0, 80)
    as_of = pd.Timestamp(context.as_of)
    duplicate = frame.drop(columns=["row"]).duplicated() & (frame["line"] != "")
    estimate = _estimates_later_done(frame)
    checks = (
        (frame["vehicle_id"] == "", reason),
        (frame["line"] == "", "no words on this line: nothing to read"),
        (frame["line_status"] == "void", "void or reversed: it does not count"),
        (frame["date_lo"].isna(), "no readable date: when was this done?"),
        (frame["date_lo"] > as_of, f"dated after the as-of date {context.as_of}"),
        (duplicate, "the same line stands on an earlier row"),
        (estimate, "estimate of a line that was also invoiced: the invoice counts"),
    )
    for bad, why in checks:
        rows = frame.index[bad.to_numpy(dtype=bool)]
        told = why if isinstance(why, str) else why.loc[rows].tolist()
        context.notebook.set_aside(
            place, rows.to_numpy(dtype=np.int64), told, words.loc[rows].tolist()
        )


def _estimates_later_done(frame: pd.DataFrame) -> pd.Series:
    """Estimates whose very words were closed on the same vehicle within 60 days."""
    estimate = frame["line_status"] == "estimate"
    if not estimate.any():
        return estimate
    closed = frame[frame["line_status"] == "closed"][["vehicle_id", "line", "date_lo"]]
    pairs = (
        frame[estimate][["vehicle_id", "line", "date_lo"]]
        .reset_index(names="_row")
        .merge(closed, on=["vehicle_id", "line"], suffixes=("", "_closed"))
    )
    days = (pairs["date_lo_closed"] - pairs["date_lo"]).dt.days
    rows = pairs["_row"][days.between(0, 60)].unique()
    return pd.Series(frame.index.isin(rows), index=frame.index)


def _gone(context: Context, table: Table) -> np.ndarray:
    return context.notebook.set_aside_rows(table.grid)


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
            "file": table.grid.file,
            "sheet": table.grid.sheet,
            "cell": [f"{letters}{row}" for row in found["row"]],
        },
        columns=READING_COLUMNS,
    )
