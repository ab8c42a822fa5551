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


def last_standing(connection: Connection) -> Any:
    """The last recording that was not taken back; None if there is none."""
    table = tables.recordings
    query = select(table).where(stands()).order_by(table.c.recording_id.desc()).limit(1)
    return connection.execute(query).first()


def take_back(connection: Connection, number: int, at: dt.datetime) -> None:
    """Mark a recording as taken back."""
    table = tables.recordings
    connection.execute(
        update(table).where(table.c.recording_id == number).values(undone_at=moment(at))
    )
