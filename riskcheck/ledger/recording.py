"""One act of recording: who, when, out of what; and taking it back."""

from __future__ import annotations

import datetime as dt
from typing import Any

from sqlalchemy import ColumnElement, Connection, insert, select, update

from riskcheck.ledger import tables

WORKBOOK, CORRECTION, OUTCOME, CONSENT = "workbook", "correction", "outcome", "consent"


def start(connection: Connection, kind: str, *, source: str, at: dt.datetime, by: str) -> int:
    """A new recording; returns its number."""
    values = {"kind": kind, "at": moment(at), "by": by, "source": source}
    key = connection.execute(insert(tables.recordings).values(values)).inserted_primary_key
    assert key is not None
    return int(key[0])


def moment(at: dt.datetime) -> str:
    """ISO text to the second."""
    return at.replace(tzinfo=None).isoformat(timespec="seconds")


def stands() -> ColumnElement[bool]:
    """Recordings that were not taken back."""
    return tables.recordings.c.undone_at.is_(None)


def take_back_last(connection: Connection, at: dt.datetime) -> Any:
    """Mark the last standing recording as taken back; returns its row or None."""
    table = tables.recordings
    last = connection.execute(
        select(table).where(stands()).order_by(table.c.recording_id.desc()).limit(1)
    ).first()
    if last is not None:
        connection.execute(
            update(table)
            .where(table.c.recording_id == last.recording_id)
            .values(undone_at=moment(at))
        )
    return last
