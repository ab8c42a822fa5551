"""Runs: what each concluded, which rows it sent out, whom it held out."""

from __future__ import annotations

import datetime as dt
import json
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

import pandas as pd
from sqlalchemy import Connection, Select, delete, func, insert, select

from riskcheck.ledger import tables
from riskcheck.ledger.frames import frame_of, records_for

# A result that means somebody heard what we had to say.
HEARD = frozenset(
    {"booked", "call_back", "declined", "declined_signed", "done_elsewhere", "found", "not_found",
     "other", "failed"}
)  # fmt: skip


@dataclass(frozen=True)
class Run:
    """One run as it is remembered; ``run_id``: 12 hex digits that the same input gives again."""

    run_id: str
    at: dt.datetime
    as_of: dt.date
    horizon_months: int
    fleet_path: str
    fleet_digest: str
    rules_digest: str
    hazard_digests: Mapping[str, str] = field(default_factory=dict)
    exposures_digest: str = ""


def record(connection: Connection, run: Run, snapshot: pd.DataFrame) -> None:
    """See ``Ledger.record_run``."""
    _drop_run(connection, run.run_id)
    last = connection.execute(select(func.max(tables.runs.c.number))).scalar()
    connection.execute(
        insert(tables.runs).values(
            run_id=run.run_id,
            number=(last or 0) + 1,
            at=run.at.isoformat(timespec="seconds"),
            as_of=run.as_of.isoformat(),
            horizon_months=run.horizon_months,
            fleet_path=run.fleet_path,
            fleet_digest=run.fleet_digest,
            rules_digest=run.rules_digest,
            hazard_digests=json.dumps(dict(run.hazard_digests), sort_keys=True),
            exposures_digest=run.exposures_digest,
        )
    )
    rows = records_for(tables.snapshots, snapshot.assign(run_id=run.run_id))
    if rows:
        connection.execute(insert(tables.snapshots), rows)


def _drop_run(connection: Connection, run_id: str) -> None:
    for table in (tables.snapshots, tables.holdouts, tables.runs):
        connection.execute(delete(table).where(table.c.run_id == run_id))


def record_issue(connection: Connection, run_id: str, rows: pd.DataFrame) -> None:
    """See ``Ledger.record_issue``."""
    query = select(tables.issued.c.row_key).where(tables.issued.c.run_id == run_id)
    known = set(connection.execute(query).scalars())
    fresh = rows[~rows["row_key"].isin(known)].drop_duplicates("row_key")
    records = records_for(tables.issued, fresh.assign(run_id=run_id))
    if records:
        connection.execute(insert(tables.issued), records)


def record_holdout(connection: Connection, run_id: str, pairs: pd.DataFrame) -> None:
    """See ``Ledger.record_holdout``."""
    connection.execute(delete(tables.holdouts).where(tables.holdouts.c.run_id == run_id))
    records = records_for(tables.holdouts, pairs.assign(run_id=run_id))
    if records:
        connection.execute(insert(tables.holdouts), records)


def runs(connection: Connection) -> pd.DataFrame:
    """See ``Ledger.runs``."""
    found = frame_of(connection, select(tables.runs).order_by(tables.runs.c.number))
    return _with_days(found, ["as_of"])


def snapshot(connection: Connection, run_id: str) -> pd.DataFrame:
    """See ``Ledger.snapshot``."""
    query = select(tables.snapshots).where(tables.snapshots.c.run_id == run_id)
    table = tables.snapshots.c
    found = frame_of(connection, query.order_by(table.vehicle_id, table.hazard_id))
    found = found.drop(columns="run_id").astype({"listed": bool})
    told = _told(connection, run_id)
    pairs = zip(found["vehicle_id"], found["hazard_id"], strict=True)
    return _with_days(found.assign(told=[pair in told for pair in pairs]), ["act_by_date"])


def _told(connection: Connection, run_id: str) -> set[tuple[str, str]]:
    """Vehicle-hazard pairs of a run about which somebody has been reached."""
    typed, issued, recordings = tables.typed, tables.issued, tables.recordings
    heard = (
        select(typed.c.row_key)
        .join(recordings, recordings.c.recording_id == typed.c.recording_id)
        .where(typed.c.run_id == run_id, typed.c.heading == "Result")
        .where(typed.c.meaning.in_(sorted(HEARD)), recordings.c.undone_at.is_(None))
    )
    keys = set(connection.execute(heard).scalars())
    if not keys:
        return set()
    rows = frame_of(connection, select(issued).where(issued.c.run_id == run_id))
    reached = rows[rows["row_key"].isin(keys)]
    whole = set(reached.loc[reached["vehicle_id"] == "", "contact"])
    single = reached["vehicle_id"] != ""
    pairs = rows[rows["contact"].isin(whole) & (rows["kind"] == "vehicle")]
    both = pd.concat([pairs, reached[single]])
    return set(zip(both["vehicle_id"], both["hazard_id"], strict=True))


def issued(connection: Connection, run_id: str | None) -> pd.DataFrame:
    """See ``Ledger.issued``."""
    query: Select[Any] = select(tables.issued)
    if run_id is not None:
        query = query.where(tables.issued.c.run_id == run_id)
    return frame_of(connection, query.order_by(tables.issued.c.run_id, tables.issued.c.row_key))


def holdout(connection: Connection) -> pd.DataFrame:
    """See ``Ledger.holdout``."""
    held, run = tables.holdouts, tables.runs
    query = (
        select(held.c.run_id, run.c.as_of, held.c.vehicle_id, held.c.hazard_id)
        .join(run, run.c.run_id == held.c.run_id)
        .order_by(run.c.number, held.c.vehicle_id, held.c.hazard_id)
    )
    return _with_days(frame_of(connection, query), ["as_of"])


def _with_days(frame: pd.DataFrame, names: list[str]) -> pd.DataFrame:
    days = {name: pd.to_datetime(frame[name].replace("", None)) for name in names}
    return frame.assign(**{name: day.astype("datetime64[s]") for name, day in days.items()})
