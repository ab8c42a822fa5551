"""A flat export: vehicle fields repeated on every visit, no vehicle sheet."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import pandas as pd

from riskcheck.fleet.columns import Context, coded_ids, date_column
from riskcheck.fleet.distinct import Codes, combinations, distinct
from riskcheck.fleet.fields import FLAT_VEHICLE_FIELDS
from riskcheck.fleet.identity import key, plain_text
from riskcheck.fleet.kinds import REFERENCES
from riskcheck.fleet.notebook import Unheard
from riskcheck.fleet.tables import Table
from riskcheck.fleet.vehicles import repaired_vins, vehicle_rows
from riskcheck.vocabulary import Vocabulary

_NAMES = tuple(field.name for field in REFERENCES)
_OWN_FIELDS = {field.name for field in (*REFERENCES, *FLAT_VEHICLE_FIELDS)}
_READ_AS = {"in_service": "in_service_lo", "gvwr": "gvwr_lb"}
_NO_DAY = pd.Timestamp("1900-01-01")
_OWNER = "customer_id"


@dataclass(frozen=True)
class _Told:
    """What a table tells of its vehicles: each combination of vehicle cells once.

    ``table`` has one row a combination (the newest that holds it), ``of_row`` the combination of
    every row of the whole table, ``since`` the first day of each.
    """

    table: Table
    of_row: Codes
    since: np.ndarray


def vehicles_of_flat(context: Context, table: Table, vocabulary: Vocabulary) -> pd.DataFrame:
    """One row a vehicle: per field the newest filled cell (by date, then by place in the file).

    The rows themselves are accounted for as service lines; vehicle cells that say otherwise than
    the newest are listed as repaired.
    """
    quiet = Context(Unheard(), context.as_of, context.orders)
    told = _told(quiet, table)
    if not len(told.table.rows):
        return vehicle_rows(quiet, told.table, vocabulary)
    frame = vehicle_rows(quiet, told.table, vocabulary)
    frame = _named(frame, told)
    frame = frame[frame["vehicle_id"] != ""]
    newest = frame.drop_duplicates("vehicle_id").reset_index(drop=True)
    for name in frame.columns.difference(["vehicle_id", "row"]):
        filled = frame[["vehicle_id", name]][frame[name].notna() & frame[name].ne("").fillna(False)]
        found = filled.drop_duplicates("vehicle_id", keep="last").set_index("vehicle_id")[name]
        if len(found):
            newest[name] = found.reindex(newest["vehicle_id"]).array
    _note_others(context, (table, told), frame, newest)
    if table.find("vin"):
        repaired_vins(context, table, coded_ids(quiet, table, "vin"))
    context.notebook.note_sheet(
        table.grid, "", f"no vehicle sheet: {len(newest)} vehicles taken from the service lines"
    )
    return newest


def _told(quiet: Context, table: Table) -> _Told:
    """The combinations of vehicle cells, oldest first."""
    own = tuple(
        column
        for column in table.columns
        if column.match.field in _OWN_FIELDS or column.match.field.startswith("fact:")
    )
    read = date_column(quiet, table, "date")
    dates = pd.Series(pd.NaT, index=table.index) if read is None else read.lo
    newest_first = np.lexsort((table.rows, dates.fillna(_NO_DAY).to_numpy()))[::-1]
    of_row, first = combinations(
        [distinct(table.cells(column.index))[0][newest_first] for column in own]
    )
    rows = table.rows[newest_first[first]]
    combination = np.empty_like(of_row)
    combination[newest_first] = len(rows) - 1 - of_row
    since = dates.groupby(combination).min()
    return _Told(replace(table, columns=own, rows=rows[::-1]), combination, since.to_numpy())


def _named(frame: pd.DataFrame, told: _Told) -> pd.DataFrame:
    """Rows with one vehicle_id a vehicle: one VIN is one vehicle, two VINs of a name are two.

    A row that only gives a name which two VINs share tells of neither.
    """
    name = frame["vehicle_id"]
    vin = frame["vin"].where(frame["vin"].str.len() == 17, "")
    own = pd.DataFrame({"name": name.where(name != vin, ""), "vin": vin, "since": told.since})
    known = own[(own["name"] != "") & (own["vin"] != "")].sort_values("since", kind="stable")
    by_vin: dict[str, str] = {}
    owners: dict[str, list[str]] = {}
    for label, number in zip(known["name"], known["vin"], strict=True):
        listed = owners.setdefault(key(label), [])
        if number not in listed and number not in by_vin:
            listed.append(number)
            by_vin[number] = label if len(listed) == 1 else f"{label}/{number[-6:]}"
    shared = {label for label, listed in owners.items() if len(listed) > 1}
    named = [
        by_vin.get(number, number) if number else "" if key(label) in shared else label
        for label, number in zip(name, vin, strict=True)
    ]
    return frame.assign(vehicle_id=named)


def _note_others(
    context: Context, tables: tuple[Table, _Told], frame: pd.DataFrame, newest: pd.DataFrame
) -> None:
    """List the cells that say otherwise than the newest filled one of their vehicle."""
    table, told = tables
    followed = newest.set_index("vehicle_id")
    for column in told.table.columns:
        field = column.match.field
        name = _READ_AS.get(field, field.removeprefix("fact:"))
        if field == "name" and table.find(_OWNER) is None:
            name = _OWNER
        if field in _NAMES or name not in frame.columns or name not in followed.columns:
            continue
        chosen = frame["vehicle_id"].map(followed[name])
        said = frame[name].notna() & frame[name].ne("").fillna(False)
        other = said & (frame[name].astype(object) != chosen.astype(object))
        if other.any():
            other[other] = _plain(frame.loc[other, name]) != _plain(chosen[other])
        if not other.any():
            continue
        now = pd.Series(_shown(chosen[other]), index=other.index[other])
        here = pd.Index(told.table.rows).isin(now.index)[told.of_row]
        rows, combination = table.rows[here], told.of_row[here]
        was = [plain_text(cell) for cell in table.grid.cells[column.index].iloc[rows]]
        after = now.loc[pd.Index(told.table.rows[combination])].tolist()
        context.notebook.repair(table.place(field), rows, (was, after), _reason(name))


def _shown(values: pd.Series) -> list[str]:
    if values.dtype.kind == "M":
        return [f"{day:%Y-%m-%d}" for day in values]
    return [str(value) for value in values]


def _plain(values: pd.Series) -> pd.Series:
    return values.astype(object).map(lambda value: str(value).casefold())


def _reason(name: str) -> str:
    if name == _OWNER:
        return (
            "another customer than on the newest line of this vehicle: the history stays with the "
            "vehicle, the former owner's consent does not"
        )
    return "other lines of this vehicle say otherwise: the newest filled cell was followed"
