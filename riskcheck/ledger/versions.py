"""Schema versions from 1 on, each reached from the one before by one tested step."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from sqlalchemy import Connection, insert, inspect, select, text, update

from riskcheck.errors import InputError
from riskcheck.ledger import tables
from riskcheck.ledger.opening import APPLICATION_ID, NOT_OURS

VERSION_NAME = "schema_version"


def version_of(connection: Connection) -> int:
    """The schema version of a ledger, 0 where there is none yet."""
    if not inspect(connection).has_table(tables.about.name):
        return 0
    query = select(tables.about.c.value).where(tables.about.c.name == VERSION_NAME)
    found = connection.execute(query).scalar()
    return 0 if found is None else int(found)


def bring_up(connection: Connection) -> tuple[int, int]:
    """Create or migrate the schema inside the caller's transaction; returns (was, now).

    Raises InputError for a ledger that a newer riskcheck has written.
    """
    was = version_of(connection)
    if was > tables.SCHEMA_VERSION:
        raise InputError(
            f"This ledger has version {was}, made by a newer riskcheck; this one knows up to "
            f"{tables.SCHEMA_VERSION}. Update riskcheck; nothing was changed."
        )
    if was == 0:
        _mark_as_ours(connection)
        tables.metadata.create_all(connection)
        connection.execute(
            insert(tables.about).values(name=VERSION_NAME, value=str(tables.SCHEMA_VERSION))
        )
        return was, tables.SCHEMA_VERSION
    for step in range(was, tables.SCHEMA_VERSION):
        STEPS[step](connection)
        connection.execute(
            update(tables.about)
            .where(tables.about.c.name == VERSION_NAME)
            .values(value=str(step + 1))
        )
    return was, tables.SCHEMA_VERSION


def _mark_as_ours(connection: Connection) -> None:
    if connection.dialect.name == "sqlite":
        if inspect(connection).get_table_names():
            raise InputError(NOT_OURS.format(connection.engine.url.database))
        connection.exec_driver_sql(f"PRAGMA application_id = {APPLICATION_ID}")


def _from_1_to_2(connection: Connection) -> None:
    """Hours at the bay beside each outcome; consents and holdouts of their own."""
    connection.execute(text("ALTER TABLE outcomes ADD COLUMN hours FLOAT"))
    for table in (tables.consents, tables.holdouts):
        table.create(connection)


STEPS: Mapping[int, Callable[[Connection], None]] = {1: _from_1_to_2}
