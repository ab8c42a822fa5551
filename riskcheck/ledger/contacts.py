"""What people typed into call sheets: taken in cell by cell, read out as contacts."""

from __future__ import annotations

import datetime as dt
import json
import math
from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, NamedTuple

import pandas as pd
from sqlalchemy import Connection, insert, select

from riskcheck.ledger import merging, tables
from riskcheck.ledger.frames import frame_of
from riskcheck.ledger.merging import Entry
from riskcheck.ledger.recording import WORKBOOK, stands, start

DATE, RESULT, NOTE, NEXT_STEP = "Date", "Result", "Note", "Next step"
HOURS = "Hours"  # printed as the estimate; written over, it is what the job took
INPUTS = {RESULT: "result", DATE: "date", NOTE: "note", NEXT_STEP: "next_step"}
CONTACT_COLUMNS = [
    "row_key", "run_id", "contact", "customer_id", "vehicle_id", "hazard_id", "kind", "channel",
    "date", "result", "note", "next_step", "by", "at", "conflict", "words", "hours",
]  # fmt: skip
BETWEEN = " | "
Place = tuple[str, str, str]  # run_id, row_key, heading


@dataclass(frozen=True)
class TypedCell:
    """One cell that somebody wrote into: ``meaning`` is the code or ISO day, "" if not clear."""

    run_id: str
    row_key: str
    heading: str
    copy_id: str
    value: str
    meaning: str = ""

    @property
    def place(self) -> Place:
        return self.run_id, self.row_key, self.heading


@dataclass(frozen=True)
class LooseRow:
    """A row of a returned sheet that is none of ours: ``cells`` maps heading to text.

    ``why``: added | unknown_key | mixed_up | other_sheet.  ``customer_id`` and ``vehicle_id``
    where the row names one that we know; ``meanings``: heading -> code or ISO day.
    """

    run_id: str
    sheet: str
    why: str
    cells: Mapping[str, str]
    customer_id: str = ""
    vehicle_id: str = ""
    meanings: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True)
class Merge:
    """What a recording did: for each (run_id, row_key, heading, copy_id) its kind, and counts."""

    kinds: Mapping[tuple[str, str, str, str], str]
    loose_added: int

    def count(self, kind: str) -> int:
        """How many cells were new, same, revised or in conflict."""
        return sum(one == kind for one in self.kinds.values())


def record(
    connection: Connection,
    cells: Sequence[TypedCell],
    loose_rows: Sequence[LooseRow],
    *,
    source: str,
    at: dt.datetime,
    by: str,
) -> Merge:
    """See ``Ledger.record_typed``."""
    plan = _planned(connection, cells)
    fresh = _fresh_loose(connection, loose_rows)
    if any(step.add for step in plan.values()) or fresh:
        number = start(connection, WORKBOOK, source=source, at=at, by=by)
        rows = [
            {**_place(cell), "recording_id": number, "value": cell.value, "meaning": cell.meaning}
            for cell in dict.fromkeys(cells)
            if cell.value in plan[(*cell.place, cell.copy_id)].add
        ]
        if rows:
            connection.execute(insert(tables.typed), rows)
        if fresh:
            connection.execute(
                insert(tables.loose_rows), [_loose_record(row, number) for row in fresh]
            )
    return Merge({key: step.kind for key, step in plan.items()}, len(fresh))


def unrecorded(
    connection: Connection, cells: Sequence[TypedCell], loose_rows: Sequence[LooseRow]
) -> bool:
    """See ``Ledger.unrecorded``."""
    plan = _planned(connection, cells)
    return any(step.add for step in plan.values()) or bool(_fresh_loose(connection, loose_rows))


def _place(cell: TypedCell) -> dict[str, str]:
    return {
        "run_id": cell.run_id,
        "row_key": cell.row_key,
        "heading": cell.heading,
        "copy_id": cell.copy_id,
    }


def _planned(
    connection: Connection, cells: Sequence[TypedCell]
) -> dict[tuple[str, str, str, str], merging.Incoming]:
    """What each copy adds to each cell, copies in turn: the second sees what the first said."""
    history = _history(connection, {cell.run_id for cell in cells})
    said: dict[tuple[str, str, str, str], list[str]] = defaultdict(list)
    for cell in cells:
        said[(*cell.place, cell.copy_id)].append(cell.value)
    plan = {}
    for (run_id, row_key, heading, copy_id), values in said.items():
        entries = history[(run_id, row_key, heading)]
        step = merging.incoming(entries, copy_id, values)
        # All copies of one call are of one recording, later than everything known.
        entries += [Entry(merging.NEXT, copy_id, value) for value in step.add]
        plan[(run_id, row_key, heading, copy_id)] = step
    return plan


def _history(connection: Connection, run_ids: set[str]) -> defaultdict[Place, list[Entry]]:
    history: defaultdict[Place, list[Entry]] = defaultdict(list)
    table = tables.typed
    query = (
        select(table)
        .join(tables.recordings, tables.recordings.c.recording_id == table.c.recording_id)
        .where(table.c.run_id.in_(sorted(run_ids)), stands())
        .order_by(table.c.typed_id)
    )
    for row in connection.execute(query):
        entry = Entry(row.recording_id, row.copy_id, row.value)
        history[(row.run_id, row.row_key, row.heading)].append(entry)
    return history


def _loose_record(row: LooseRow, number: int) -> dict[str, object]:
    return {
        "recording_id": number,
        "run_id": row.run_id,
        "sheet": row.sheet,
        "why": row.why,
        "customer_id": row.customer_id,
        "vehicle_id": row.vehicle_id,
        "cells": _as_json(row.cells),
        "meanings": _as_json(row.meanings),
    }


def _as_json(cells: Mapping[str, str]) -> str:
    return json.dumps(dict(cells), ensure_ascii=False, sort_keys=True)


def _fresh_loose(connection: Connection, rows: Sequence[LooseRow]) -> list[LooseRow]:
    """Rows of which some cell is not in the ledger already."""
    known = [set(json.loads(text).items()) for text in loose(connection)["cells"]]
    fresh: list[LooseRow] = []
    for row in rows:
        items = set(row.cells.items())
        if not any(items <= old for old in known):
            fresh.append(row)
            known.append(items)
    return fresh


def loose(connection: Connection) -> pd.DataFrame:
    """See ``Ledger.loose_rows``; a row that was filled in further shows in its last state."""
    table = tables.loose_rows
    query = (
        select(table, tables.recordings.c.at, tables.recordings.c.by)
        .join(tables.recordings, tables.recordings.c.recording_id == table.c.recording_id)
        .where(stands())
        .order_by(table.c.loose_id)
    )
    found = frame_of(connection, query)
    items = [set(json.loads(text).items()) for text in found["cells"]]
    last = [not any(own < later for later in items[place + 1 :]) for place, own in enumerate(items)]
    return found[pd.Series(last, index=found.index, dtype=bool)].reset_index(drop=True)


def typed(connection: Connection) -> pd.DataFrame:
    """See ``Ledger.typed``."""
    table, recordings = tables.typed, tables.recordings
    query = (
        select(table, recordings.c.at, recordings.c.by, recordings.c.source)
        .join(recordings, recordings.c.recording_id == table.c.recording_id)
        .where(stands())
        .order_by(table.c.typed_id)
    )
    return frame_of(connection, query)


class Said(NamedTuple):
    """A value that stands in a cell; ``of``: how many stand there."""

    value: str
    meaning: str
    recording: int
    by: str
    at: str
    of: int


def _standing(connection: Connection) -> dict[tuple[str, str], dict[str, list[Said]]]:
    """Per row (run_id, row_key) and heading the values that stand, latest recorded last."""
    history: dict[Place, list[Any]] = defaultdict(list)
    row: Any
    for row in typed(connection).itertuples(index=False):
        history[(row.run_id, row.row_key, row.heading)].append(row)
    rows: dict[tuple[str, str], dict[str, list[Said]]] = defaultdict(dict)
    for (run_id, row_key, heading), entries in sorted(history.items(), key=lambda item: item[0]):
        values = merging.standing([Entry(e.recording_id, e.copy_id, e.value) for e in entries])
        last = {entry.value: entry for entry in entries}
        rows[(run_id, row_key)][heading] = [
            Said(v, e.meaning, e.recording_id, e.by, e.at, len(values))
            for v in values
            for e in (last[v],)
        ]
    return rows


def conflicts(connection: Connection) -> pd.DataFrame:
    """See ``Ledger.conflicts``."""
    rows = [
        (run_id, row_key, heading, BETWEEN.join(one.value for one in said))
        for (run_id, row_key), row in _standing(connection).items()
        for heading, said in row.items()
        if len(said) > 1
    ]
    return pd.DataFrame(rows, columns=["run_id", "row_key", "heading", "values"])


def contacts(connection: Connection) -> pd.DataFrame:
    """See ``Ledger.contacts``."""
    issued = frame_of(connection, select(tables.issued)).drop(columns="printed")
    records = [
        {"run_id": run_id, "row_key": row_key, **_contact(row)}
        for (run_id, row_key), row in _standing(connection).items()
    ]
    told = ["run_id", "row_key", *INPUTS.values(), "by", "at", "conflict", "words", "hours"]
    found = pd.DataFrame(records, columns=told)
    whole = pd.concat(
        [found.merge(issued, on=["run_id", "row_key"], how="left"), _added(connection)],
        ignore_index=True,
    )
    whole[list(issued.columns)] = whole[list(issued.columns)].fillna("").astype(object)
    whole = whole.astype({"conflict": bool, "hours": float})
    whole["date"] = pd.to_datetime(whole["date"], errors="coerce").astype("datetime64[s]")
    return whole[CONTACT_COLUMNS].sort_values(["at", "run_id", "row_key"], ignore_index=True)


def _added(connection: Connection) -> pd.DataFrame:
    """Rows that a person added and that name a customer or vehicle we know, as contacts."""
    records = []
    row: Any
    for row in loose(connection).itertuples(index=False):
        cells, meanings = json.loads(row.cells), json.loads(row.meanings)
        if not (row.customer_id or row.vehicle_id) or not INPUTS.keys() & cells.keys():
            continue
        told = {
            name: meanings.get(heading) or ("" if heading == DATE else cells.get(heading, ""))
            for heading, name in INPUTS.items()
        }
        rest = "; ".join(f"{h}: {value}" for h, value in cells.items() if h not in INPUTS)
        own = {"contact": row.customer_id or row.vehicle_id, "kind": "added", "words": rest}
        same = {name: getattr(row, name) for name in ("run_id", "customer_id", "vehicle_id")}
        records.append({**told, **own, **same, "by": row.by, "at": row.at, "conflict": False})
    return pd.DataFrame(records, columns=CONTACT_COLUMNS)


def _contact(row: Mapping[str, list[Said]]) -> dict[str, object]:
    """One written-in row: what stands under each heading."""
    everything = [one for said in row.values() for one in said]
    last = max(everything, key=lambda one: one.recording)
    others = [f"{h}: {one.value}" for h, said in row.items() if h not in INPUTS for one in said]
    return {
        **{name: _told(row.get(heading, []), heading) for heading, name in INPUTS.items()},
        "by": last.by,
        "at": last.at,
        "conflict": any(one.of > 1 for one in everything),
        "words": "; ".join(others),
        "hours": _number(row.get(HOURS, [])),
    }


def _number(said: Sequence[Said]) -> float:
    """The last value as a number; NaN where nothing is said or it is none."""
    try:
        return float(said[-1].value.removesuffix("h").replace(",", ".")) if said else math.nan
    except ValueError:
        return math.nan


def _told(said: Sequence[Said], heading: str) -> str:
    """What a cell says: every note; of the rest the value that was recorded last."""
    if heading == NOTE or not said:
        return BETWEEN.join(one.value for one in said)
    last = said[-1]
    return last.meaning or ("" if heading == DATE else last.value)


def promises(connection: Connection) -> pd.DataFrame:
    """See ``Ledger.promises``."""
    said = contacts(connection)
    said = said.assign(due=said["date"])
    last = said.drop_duplicates(["contact", "vehicle_id", "hazard_id"], keep="last")
    open_ones = last["next_step"].ne("") & last["next_step"].ne("nothing")
    return last[open_ones].reset_index(drop=True)
