"""A look at a file before any library opens it: what it is, and whether it is safe to read."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum
from pathlib import Path

from riskcheck.errors import InputError


class Kind(Enum):
    """What a file is, by its first bytes."""

    XLSX = "xlsx"
    ODS = "ods"
    XLS = "xls"
    TEXT = "text"
    PARQUET = "parquet"


@dataclass(frozen=True)
class Limits:
    """How much a file may ask for; choices of this project, no source."""

    file_bytes: int = 300_000_000
    unpacked_bytes: int = 1_500_000_000
    ratio: int = 200
    zip_entries: int = 2_000
    cells: int = 50_000_000


@dataclass(frozen=True)
class Examined:
    """What pre-flight learnt of a file."""

    kind: Kind


def examine(path: Path, limits: Limits) -> Examined:
    """Settle what ``path`` is.  Raises InputError if it cannot be used."""
    try:
        with path.open("rb") as file:
            head = file.read(8)
    except OSError as error:
        raise InputError(f"Cannot open {path}: {error.strerror or error}.") from error
    if head[:4] == b"PAR1":
        return Examined(Kind.PARQUET)
    if head[:4] == b"PK\x03\x04":
        return Examined(Kind.XLSX)
    if head == b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1":
        return Examined(Kind.XLS)
    return Examined(Kind.TEXT)
