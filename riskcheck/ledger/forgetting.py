"""Forgetting one customer: rows, snapshots, notes, and the traces they leave in the file."""

from __future__ import annotations

import json
import re
from collections.abc import Sequence
from dataclasses import dataclass

from sqlalchemy import ColumnElement, Connection, Engine, Table, and_, delete, or_, select, update
from sqlalchemy import false as nothing

from riskcheck.ledger import tables

FORGOTTEN = "(forgotten)"
SHORTEST_NAME = 5  # shorter ones stand inside too many other words
_NAME_AND_PHONE = re.compile(r"(\D*?)\s*(\+?\d[\d ()./-]{5,})?")


def forget(connection: Connection, customer_id: str, names: Sequence[str]) -> dict[str, int]:
    """See ``Ledger.forget``."""
    if not _is_known(connection, customer_id):
        return {}
    vehicles = _vehicles_of(connection, customer_id)
    said = {*names, *_printed_names(connection, customer_id)}
    words = _Words(
        anywhere=sorted(name for name in said if name.strip()),
        ids=sorted(id_ for id_ in {customer_id, *vehicles} if _is_telling(id_)),
    )
    issued, typed, loose = tables.issued, tables.typed, tables.loose_rows
    rows = connection.execute(
        select(issued.c.run_id, issued.c.row_key).where(
            or_(issued.c.customer_id == customer_id, issued.c.vehicle_id.in_(vehicles))
        )
    ).all()
    own_rows = or_(
        nothing(),
        *(and_(typed.c.run_id == row.run_id, typed.c.row_key == row.row_key) for row in rows),
    )
    removed = {
        "typed": _delete(connection, typed, or_(own_rows, words.said_in(typed.c.value))),
        "loose_rows": _delete(
            connection,
            loose,
            or_(
                loose.c.customer_id == customer_id,
                loose.c.vehicle_id.in_(vehicles),
                words.said_in(loose.c.cells),
            ),
        ),
        "issued": _delete(
            connection,
            issued,
            or_(
                issued.c.customer_id == customer_id,
                issued.c.vehicle_id.in_(vehicles),
                words.said_in(issued.c.printed),
            ),
        ),
    }
    for table in (tables.snapshots, tables.corrections, tables.holdouts):
        removed[table.name] = _delete(connection, table, table.c.vehicle_id.in_(vehicles))
    removed["snapshots"] += _delete(
        connection, tables.snapshots, tables.snapshots.c.customer_id == customer_id
    )
    removed["consents"] = _delete(
        connection, tables.consents, tables.consents.c.customer_id == customer_id
    )
    _unname(connection, vehicles, words)
    return {name: count for name, count in removed.items() if count}


def _is_known(connection: Connection, customer_id: str) -> bool:
    """Whether any row is of this customer; words that only look like the id do not count."""
    of_customers = (tables.issued, tables.snapshots, tables.loose_rows, tables.consents)
    return any(
        connection.execute(
            select(table.c.customer_id).where(table.c.customer_id == customer_id).limit(1)
        ).first()
        for table in of_customers
    )


def _vehicles_of(connection: Connection, customer_id: str) -> list[str]:
    found: set[str] = set()
    for table in (tables.snapshots, tables.issued):
        query = select(table.c.vehicle_id).where(table.c.customer_id == customer_id).distinct()
        found |= set(connection.execute(query).scalars())
    return sorted(found - {""})


def _printed_names(connection: Connection, customer_id: str) -> set[str]:
    """The customer's name and telephone as they were printed on call sheets."""
    query = select(tables.issued.c.printed).where(tables.issued.c.customer_id == customer_id)
    found: set[str] = set()
    for text in connection.execute(query).scalars():
        said = json.loads(text or "{}").get("Customer", "")
        match = _NAME_AND_PHONE.fullmatch(said)
        found |= {part.strip() for part in match.groups("")} if match else set()
    return {part for part in found if len(part) >= SHORTEST_NAME}


@dataclass(frozen=True)
class _Words:
    """What names one person: names and numbers wherever they stand, ids only as whole words.

    Else forgetting customer 1 would take every row of customer 10 with it.
    """

    anywhere: Sequence[str]
    ids: Sequence[str]

    def said_in(self, column: ColumnElement[str]) -> ColumnElement[bool]:
        """Text that holds one of them, whatever its case."""
        whole = (rf"(?i)(?<!\w){re.escape(id_)}(?!\w)" for id_ in self.ids)
        return or_(
            nothing(),
            *(column.icontains(word, autoescape=True) for word in self.anywhere),
            *(column.regexp_match(pattern) for pattern in whole),
        )


def _is_telling(id_: str) -> bool:
    """Whether an id in a note can mean its owner only; a short bare number is any number."""
    return len(id_) >= SHORTEST_NAME or any(sign.isalpha() for sign in id_)


def _delete(connection: Connection, table: Table, which: ColumnElement[bool]) -> int:
    return int(connection.execute(delete(table).where(which)).rowcount)


def _unname(connection: Connection, vehicles: Sequence[str], words: _Words) -> None:
    """Outcomes stay as counts without vehicle and words; recordings lose what names the person."""
    outcomes, recordings = tables.outcomes, tables.recordings
    connection.execute(
        update(outcomes)
        .where(outcomes.c.vehicle_id.in_(vehicles))
        .values(vehicle_id=FORGOTTEN, note="")
    )
    connection.execute(
        update(outcomes).where(words.said_in(outcomes.c.note)).values(note=FORGOTTEN)
    )
    connection.execute(
        update(recordings).where(words.said_in(recordings.c.source)).values(source=FORGOTTEN)
    )


def scrub(engine: Engine) -> None:
    """Rewrite the storage, so that removed rows are not left in free pages."""
    with engine.execution_options(isolation_level="AUTOCOMMIT").connect() as connection:
        if connection.dialect.name == "sqlite":
            connection.exec_driver_sql("VACUUM")
            connection.exec_driver_sql("PRAGMA wal_checkpoint(TRUNCATE)")
        else:
            for table in tables.metadata.sorted_tables:
                connection.exec_driver_sql(f"VACUUM FULL {table.name}")
