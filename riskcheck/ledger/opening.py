"""Reaching the database: an SQLite file or a PostgreSQL server, with the care each needs."""

from __future__ import annotations

import contextlib
import os
import sqlite3
from pathlib import Path

from sqlalchemy import Connection, Engine, create_engine, event, make_url, text
from sqlalchemy.engine import URL
from sqlalchemy.exc import ArgumentError, DBAPIError, NoSuchModuleError
from sqlalchemy.pool import NullPool

from riskcheck.errors import InputError, UsageError

BUSY_MS = 30_000
OWNER_ONLY = 0o600
# "RCLG" as a number: marks the file as a ledger, so that another program's file is never altered.
APPLICATION_ID = 0x52434C47
_WRITES = "riskcheck_writes"
_LOCK_NUMBER = 0x52434C47  # one writer at a time on PostgreSQL too
NOT_OURS = "{} is not a riskcheck ledger; it was left alone."
_SQLITE_HEADER = b"SQLite format 3\x00"


def url_of(where: Path | str) -> URL:
    """The database URL of a path or URL; PostgreSQL always by psycopg."""
    if isinstance(where, Path) or "://" not in where:
        return URL.create("sqlite", database=str(Path(where).expanduser().resolve()))
    try:
        url = make_url(where)
    except ArgumentError as error:
        raise UsageError(
            "That is no ledger address. Name a file, or postgresql://user@host/database."
        ) from error
    if url.get_backend_name() == "postgresql":
        return url.set(drivername="postgresql+psycopg")
    if url.get_backend_name() == "sqlite" and url.database:
        return URL.create("sqlite", database=str(Path(url.database).resolve()))
    raise UsageError("A ledger is an SQLite file or a PostgreSQL database; name one of those.")


def engine_of(url: URL, *, create: bool) -> Engine:
    """An engine without pooled connections, so that nothing is held open or crosses a fork.

    Raises InputError where there is no such ledger, or the file is something else.
    """
    if url.get_backend_name() == "sqlite":
        _prepare_file(Path(str(url.database)), create=create)
    try:
        engine = create_engine(url, poolclass=NullPool)
    except (ImportError, NoSuchModuleError) as error:
        raise UsageError(
            "A ledger on PostgreSQL needs one more package: pip install 'riskcheck[postgresql]'"
        ) from error
    if url.get_backend_name() == "sqlite":
        event.listen(engine, "connect", _set_up_sqlite)
        event.listen(engine, "begin", _begin_sqlite)
    return engine


def writing(engine: Engine) -> Engine:
    """The same engine for a transaction that writes: it takes the one writer's place at once."""
    return engine.execution_options(**{_WRITES: True})


def take_turn(connection: Connection) -> None:
    """Wait for other writers on PostgreSQL (SQLite does so when the transaction begins)."""
    if connection.dialect.name == "postgresql":
        connection.execute(text("SELECT pg_advisory_xact_lock(:n)"), {"n": _LOCK_NUMBER})


def trouble(error: DBAPIError, url: URL) -> InputError:
    """The message for a database that does not answer, without password or data."""
    where = url.render_as_string(hide_password=True)
    said = str(error.orig).splitlines()[0] if error.orig else type(error).__name__
    if "locked" in said:
        return InputError(
            f"The ledger {where} has been busy for {BUSY_MS // 1000} s: another riskcheck is "
            "writing to it. Nothing was changed; run the command again."
        )
    if "readonly" in said or "read-only" in said:
        return InputError(f"The ledger {where} may not be written to by you. Nothing was changed.")
    if "malformed" in said or "not a database" in said:
        return InputError(
            f"The ledger {where} is damaged ({said}). Put back the last copy with "
            "'riskcheck ledger restore'."
        )
    return InputError(f"The ledger {where} does not answer: {said}")


def _prepare_file(path: Path, *, create: bool) -> None:
    """Make the file readable by its owner only, before anything is in it."""
    if path.is_dir():
        raise InputError(f"{path} is a folder; a ledger is a file.")
    if not path.exists():
        if not create:
            raise InputError(f"There is no ledger at {path}.")
        try:
            path.parent.mkdir(parents=True, exist_ok=True)
            os.close(os.open(path, os.O_CREAT | os.O_WRONLY, OWNER_ONLY))
        except OSError as error:
            raise InputError(
                f"Cannot make the ledger {path}: {error.strerror}. Choose another with --ledger."
            ) from error
        return
    try:
        with path.open("rb") as file:
            head = file.read(len(_SQLITE_HEADER))
    except OSError as error:
        raise InputError(f"Cannot read the ledger {path}: {error.strerror}.") from error
    if head and head != _SQLITE_HEADER:
        raise InputError(NOT_OURS.format(path))


def _set_up_sqlite(connection: sqlite3.Connection, _record: object) -> None:
    connection.isolation_level = None  # transactions begin where _begin_sqlite says, not earlier
    cursor = connection.cursor()
    cursor.execute(f"PRAGMA busy_timeout = {BUSY_MS}")
    # Write-ahead logging lets a reader look while another writes; on a network share SQLite
    # declines and keeps its rollback journal, which is right there.  A file that is not (yet)
    # marked as ours is not touched.
    ours = cursor.execute("PRAGMA application_id").fetchone()[0] == APPLICATION_ID
    if ours and cursor.execute("PRAGMA journal_mode").fetchone()[0] != "wal":
        with contextlib.suppress(sqlite3.OperationalError):  # busy: the next connection does it
            cursor.execute("PRAGMA journal_mode = WAL")
    cursor.execute("PRAGMA synchronous = FULL")
    cursor.execute("PRAGMA foreign_keys = ON")
    cursor.execute("PRAGMA secure_delete = ON")
    cursor.close()


def _begin_sqlite(connection: Connection) -> None:
    options = connection.get_execution_options()
    if options.get("isolation_level") == "AUTOCOMMIT":
        return
    writes = options.get(_WRITES, False)
    connection.exec_driver_sql("BEGIN IMMEDIATE" if writes else "BEGIN")
