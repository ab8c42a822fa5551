"""The whole ledger at once: digest, portable backup, restore, the copy before a migration."""

from __future__ import annotations

import contextlib
import gzip
import hashlib
import json
import os
import tempfile
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, Engine, Table, func, insert, select, text

from riskcheck.errors import InputError
from riskcheck.ledger import tables
from riskcheck.ledger.opening import OWNER_ONLY
from riskcheck.ledger.versions import version_of

FORMAT = "riskcheck ledger"
# That newer lines contradict a correction follows from the record; nobody said it.
_NOT_SAID = ("ended_at", "ended_by")
_TOLD_BY_PEOPLE = ("recordings", "typed", "loose_rows", "corrections", "outcomes", "consents")


def needs_step(connection: Connection) -> bool:
    """Whether the schema is missing or older than this riskcheck."""
    return version_of(connection) != tables.SCHEMA_VERSION


def keep_before_step(engine: Engine, path: Path) -> Path | None:
    """Copy a file's state before a migration beside it; None where there was no schema yet."""
    with engine.connect() as connection:
        version = version_of(connection)
    if version in (0, tables.SCHEMA_VERSION) or version > tables.SCHEMA_VERSION:
        return None
    target = path.with_name(f"{path.name}.version-{version}")
    if not target.exists():
        os.close(os.open(target, os.O_CREAT | os.O_WRONLY, OWNER_ONLY))
        with engine.execution_options(isolation_level="AUTOCOMMIT").connect() as connection:
            connection.execute(text("VACUUM INTO :target"), {"target": str(target)})
    return target


def digest(connection: Connection) -> str:
    """SHA-256 over every row that people recorded, in a fixed order."""
    total = hashlib.sha256()
    for name in _TOLD_BY_PEOPLE:
        for row in _rows(connection, tables.metadata.tables[name]):
            said = {key: value for key, value in row.items() if key not in _NOT_SAID}
            total.update(_line({"table": name, **said}))
    return total.hexdigest()


def backup(connection: Connection, target: Path) -> dict[str, int]:
    """See ``Ledger.backup``: gzipped JSON lines, a head first, a digest last."""
    counts: dict[str, int] = {}
    total = hashlib.sha256()
    handle, name = _owner_only_part(target)
    try:
        with os.fdopen(handle, "wb") as file:
            with gzip.GzipFile(filename="", fileobj=file, mode="wb", mtime=0) as packed:
                for line in _lines(connection, counts):
                    total.update(line)
                    packed.write(line)
                packed.write(_line({"digest": total.hexdigest()}))
            file.flush()
            os.fsync(file.fileno())
        os.replace(name, target)
    except BaseException:
        with contextlib.suppress(FileNotFoundError):
            os.unlink(name)
        raise
    return counts


def _owner_only_part(target: Path) -> tuple[int, str]:
    try:
        target.parent.mkdir(parents=True, exist_ok=True)
        return tempfile.mkstemp(dir=target.parent, prefix=f".{target.name}.", suffix=".part")
    except OSError as error:
        raise InputError(f"Cannot write {target}: {error.strerror}.") from error


def _lines(connection: Connection, counts: dict[str, int]) -> Iterator[bytes]:
    yield _line({"format": FORMAT, "version": tables.SCHEMA_VERSION})
    for table in tables.metadata.sorted_tables:
        if table is not tables.about:
            counts[table.name] = 0
            for row in _rows(connection, table):
                counts[table.name] += 1
                yield _line({"table": table.name, "row": row})


def _rows(connection: Connection, table: Table) -> Iterator[dict[str, Any]]:
    for row in connection.execute(select(table).order_by(*table.primary_key.columns)).mappings():
        yield dict(row)


def _line(content: dict[str, Any]) -> bytes:
    return (json.dumps(content, ensure_ascii=False, sort_keys=True) + "\n").encode()


def restore(connection: Connection, source: Path) -> dict[str, int]:
    """See ``Ledger.restore``.

    Raises InputError for a ledger that is not empty, a file that is no backup or damaged.
    """
    if any(
        connection.execute(select(func.count()).select_from(table)).scalar()
        for table in tables.metadata.sorted_tables
        if table is not tables.about
    ):
        raise InputError(
            "This ledger already remembers things; a backup is put back into an empty one only. "
            "Move the ledger file away or name another with --ledger."
        )
    rows = _checked_rows(source)
    counts: dict[str, int] = {}
    for table in tables.metadata.sorted_tables:
        counts[table.name] = len(own := rows.get(table.name, []))
        if own:
            connection.execute(insert(table), own)
            _go_on_counting(connection, table)
    del counts[tables.about.name]
    return counts


def _checked_rows(source: Path) -> dict[str, list[dict[str, Any]]]:
    total, rows = hashlib.sha256(), dict[str, list[dict[str, Any]]]()
    damaged = InputError(f"{source} is damaged or cut short; nothing was restored.")
    try:
        with gzip.open(source, "rb") as file:
            lines = file.read().splitlines(keepends=True)
        head, last = json.loads(lines[0]), json.loads(lines[-1])
    except FileNotFoundError:
        raise InputError(f"There is no backup at {source}.") from None
    except (OSError, EOFError, ValueError, IndexError) as error:
        raise damaged from error
    if head.get("format") != FORMAT:
        raise InputError(f"{source} is not a backup of a riskcheck ledger.")
    if head["version"] > tables.SCHEMA_VERSION:
        raise InputError(f"{source} was made by a newer riskcheck; update riskcheck first.")
    for line in lines[:-1]:
        total.update(line)
    if last.get("digest") != total.hexdigest():
        raise damaged
    for line in lines[1:-1]:
        content = json.loads(line)
        rows.setdefault(content["table"], []).append(content["row"])
    return rows


def _go_on_counting(connection: Connection, table: Table) -> None:
    """Let PostgreSQL's own counter of a numbered table go on behind the restored rows."""
    key = table.autoincrement_column
    if connection.dialect.name != "postgresql" or key is None:
        return
    highest = connection.execute(select(func.max(key))).scalar()
    connection.execute(
        text("SELECT setval(pg_get_serial_sequence(:table, :column), :highest)"),
        {"table": table.name, "column": key.name, "highest": highest},
    )
