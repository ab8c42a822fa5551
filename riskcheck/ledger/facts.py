"""What people say outright: corrections, outcomes at the bay, consents; and taking them back."""

from __future__ import annotations

import datetime as dt
import json
from dataclasses import dataclass
from typing import Any

import pandas as pd
from sqlalchemy import Connection, Select, Table, insert, select, update

from riskcheck.errors import UsageError
from riskcheck.ledger import contacts, recording, tables
from riskcheck.ledger.frames import frame_of

OUTCOMES = ("found", "not_found", "other", "failed")
Value = bool | str | float


@dataclass(frozen=True)
class Correction:
    """A person says that a fact of a vehicle is so, and why he knows."""

    vehicle_id: str
    fact: str
    value: Value
    because: str


@dataclass(frozen=True)
class Outcome:
    """What the bay found: found | not_found | other | failed, and the hours it took."""

    vehicle_id: str
    hazard_id: str
    date: dt.date
    outcome: str
    hours: float | None = None
    note: str = ""


@dataclass(frozen=True)
class Consent:
    """A customer allows or refuses a channel ("call", "text", ...; topic "" for all)."""

    customer_id: str
    channel: str
    given: bool
    date: dt.date
    source: str
    topic: str = ""


def add_correction(
    connection: Connection, correction: Correction, *, at: dt.datetime, by: str
) -> int:
    """See ``Ledger.add_correction``."""
    source = f"{correction.vehicle_id} {correction.fact}={words_of(correction.value)}"
    number = recording.start(connection, recording.CORRECTION, source=source, at=at, by=by)
    return _inserted(
        connection,
        tables.corrections,
        recording_id=number,
        vehicle_id=correction.vehicle_id,
        fact=correction.fact,
        value=json.dumps(correction.value, ensure_ascii=False),
        because=correction.because,
    )


def words_of(value: Value) -> str:
    """A value as a person would type it."""
    if isinstance(value, bool):
        return "yes" if value else "no"
    return f"{value:g}" if isinstance(value, float) else str(value)


def corrections(connection: Connection, as_of: dt.date | None) -> pd.DataFrame:
    """See ``Ledger.corrections``."""
    table, recordings = tables.corrections, tables.recordings
    query = (
        select(table, recordings.c.at, recordings.c.by)
        .join(recordings, recordings.c.recording_id == table.c.recording_id)
        .where(recording.stands())
        .order_by(table.c.correction_id)
    )
    if as_of is not None:
        query = query.where(recordings.c.at < (as_of + dt.timedelta(days=1)).isoformat())
    found = frame_of(connection, query)
    # The last word on a fact counts, and only while it has not been contradicted.
    found = found.drop_duplicates(["vehicle_id", "fact"], keep="last")
    found = found[found["ended_at"].eq("")].reset_index(drop=True)
    values = [words_of(json.loads(text)) for text in found["value"]]
    told = zip(found["by"], found["at"].str[:10], found["because"], strict=True)
    words = [f"{because} ({by}, {at})" for by, at, because in told]
    names = ["correction_id", "vehicle_id", "fact", "value", "because", "by", "at", "words"]
    return found.assign(value=values, words=words)[names]


def end_corrections(connection: Connection, ended: pd.DataFrame, *, at: dt.datetime) -> None:
    """See ``Ledger.end_corrections``."""
    table = tables.corrections
    for number, words in zip(ended["correction_id"], ended["ended_by"], strict=True):
        connection.execute(
            update(table)
            .where(table.c.correction_id == int(number))
            .where(table.c.ended_at.is_(None))
            .values(ended_at=recording.moment(at), ended_by=str(words))
        )


def add_outcome(connection: Connection, outcome: Outcome, *, at: dt.datetime, by: str) -> int:
    """See ``Ledger.add_outcome``."""
    source = f"{outcome.vehicle_id} {outcome.hazard_id}={outcome.outcome}"
    number = recording.start(connection, recording.OUTCOME, source=source, at=at, by=by)
    return _inserted(
        connection,
        tables.outcomes,
        recording_id=number,
        vehicle_id=outcome.vehicle_id,
        hazard_id=outcome.hazard_id,
        date=outcome.date.isoformat(),
        outcome=outcome.outcome,
        hours=outcome.hours,
        note=outcome.note,
    )


def outcomes(connection: Connection) -> pd.DataFrame:
    """See ``Ledger.outcomes``."""
    table = tables.outcomes
    query: Select[Any] = select(table, tables.recordings.c.by).join(
        tables.recordings, tables.recordings.c.recording_id == table.c.recording_id
    )
    own = frame_of(connection, query.where(recording.stands()).order_by(table.c.outcome_id))
    said = contacts.contacts(connection)
    ticked = said[said["result"].isin(OUTCOMES) & said["hazard_id"].ne("")]
    ticked = ticked.assign(outcome=ticked["result"])
    ticked["date"] = ticked["date"].fillna(pd.to_datetime(ticked["at"].str[:10]))
    names = ["vehicle_id", "hazard_id", "date", "outcome", "hours", "note", "by"]
    own["date"] = pd.to_datetime(own["date"]).astype("datetime64[s]")
    parts = [part[names] for part in (own, ticked) if len(part)] or [own[names]]
    return pd.concat(parts, ignore_index=True).sort_values(
        ["date", "vehicle_id", "hazard_id"], kind="stable", ignore_index=True
    )


def add_consent(connection: Connection, consent: Consent, *, at: dt.datetime, by: str) -> int:
    """See ``Ledger.add_consent``."""
    source = f"{consent.customer_id} {consent.channel}"
    number = recording.start(connection, recording.CONSENT, source=source, at=at, by=by)
    return _inserted(
        connection,
        tables.consents,
        recording_id=number,
        customer_id=consent.customer_id,
        channel=consent.channel,
        topic=consent.topic,
        given=int(consent.given),
        date=consent.date.isoformat(),
        source=consent.source,
    )


def consents(connection: Connection) -> pd.DataFrame:
    """See ``Ledger.consents``."""
    table = tables.consents
    query = (
        select(table)
        .join(tables.recordings, tables.recordings.c.recording_id == table.c.recording_id)
        .where(recording.stands())
        .order_by(table.c.date, table.c.consent_id)
    )
    found = frame_of(connection, query)
    found["state"] = found["given"].map({1: "yes", 0: "no"}).astype(object)
    found["date"] = pd.to_datetime(found["date"]).astype("datetime64[s]")
    return found[["customer_id", "channel", "topic", "state", "date", "source"]]


def undo(connection: Connection, *, at: dt.datetime, workbooks: bool) -> str | None:
    """See ``Ledger.undo``."""
    last = recording.last_standing(connection)
    if last is None:
        return None
    said = f"{last.kind} of {last.at.replace('T', ' ')}: {last.source}"
    if last.kind == recording.WORKBOOK and not workbooks:
        raise UsageError(
            f"The last thing recorded is a whole {said}. Nothing was taken back; to take back all "
            "that was typed into it: riskcheck record --undo --workbook"
        )
    recording.take_back(connection, last.recording_id, at)
    return said


def _inserted(connection: Connection, table: Table, **values: Any) -> int:
    key = connection.execute(insert(table).values(values)).inserted_primary_key
    assert key is not None
    return int(key[0])
