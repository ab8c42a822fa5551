"""A look at a file before any library opens it: what it is, and whether it is safe to read.

A legal workbook of a few kilobytes can ask a reader for hundreds of gigabytes and abort the
process, which nothing can catch; so every part is streamed and measured first.
"""

from __future__ import annotations

import zipfile
import zlib
from collections.abc import Iterator
from dataclasses import dataclass, field
from enum import Enum
from pathlib import Path

from riskcheck.errors import InputError
from riskcheck.sheets.ods_xml import ods_tables
from riskcheck.sheets.sheet_xml import SheetFacts, SheetScanner

_CHUNK = 1 << 20
_SAVE_AGAIN = "Open it in a spreadsheet program and save it again as .xlsx."


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
    """What pre-flight learnt: the kind, facts of each sheet part, and the date system."""

    kind: Kind
    sheets: dict[str, SheetFacts] = field(default_factory=dict)
    epoch_1904: bool = False
    workbook_xml: bytes = b""
    relations_xml: bytes = b""
    tables: dict[str, SheetFacts] = field(default_factory=dict)  # by name, OpenDocument only


def examine(path: Path, limits: Limits) -> Examined:
    """Settle what ``path`` is and measure it.  Raises InputError if it cannot be used."""
    try:
        size = path.stat().st_size
        with path.open("rb") as file:
            head = file.read(512)
    except OSError as error:
        raise InputError(
            f"Cannot open {path}: {error.strerror or error}. Check the name and the folder."
        ) from error
    if size == 0:
        raise InputError(f"{path.name} is empty (0 bytes). Export it again.")
    if size > limits.file_bytes:
        raise InputError(
            f"{path.name} has {size / 1e6:.0f} MB; riskcheck reads at most "
            f"{limits.file_bytes / 1e6:.0f} MB. Remove pictures or old years, or export .csv."
        )
    kind = _kind(path, head)
    return _examine_zip(path, limits) if kind is Kind.XLSX else Examined(kind)


def _kind(path: Path, head: bytes) -> Kind:
    if head[:4] == b"PAR1":
        return Kind.PARQUET
    if head[:4] == b"PK\x03\x04":
        return Kind.XLSX
    if head[:8] == b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1":
        return Kind.XLS
    for start, name in (
        (b"\x89PNG", "a picture"), (b"\xff\xd8\xff", "a picture"), (b"GIF8", "a picture"),
        (b"%PDF", "a PDF"), (b"PK\x05\x06", "an empty archive"), (b"\x1f\x8b", "an archive"),
        (b"7z\xbc\xaf", "an archive"), (b"Rar!", "an archive"), (b"\x7fELF", "a program"),
        (b"MZ", "a program"), (b"SQLite", "a database"), (b"{\\rtf", "a text document"),
    ):  # fmt: skip
        if head.startswith(start):
            raise InputError(
                f"{path.name} is {name}, not a table. Export the fleet list as .xlsx or .csv."
            )
    start_text = head.lstrip(b"\xef\xbb\xbf \t\r\n")[:200].lower()
    if start_text.startswith((b"<?xml", b"<html", b"<!doctype", b"<table", b"<workbook")):
        raise InputError(
            f"{path.name} is a web page or XML that only carries the name of a table. "
            + _SAVE_AGAIN
        )
    wide = head[:2] in (b"\xff\xfe", b"\xfe\xff") or head.count(0) > len(head) // 4
    strange = sum(byte < 9 or 13 < byte < 32 for byte in head)
    if not wide and strange > len(head) // 20:
        raise InputError(
            f"{path.name} is neither a spreadsheet nor text. "
            "Export the fleet list as .xlsx or .csv."
        )
    return Kind.TEXT


def _examine_zip(path: Path, limits: Limits) -> Examined:
    try:
        with zipfile.ZipFile(path) as archive:
            _check_entries(path, archive, limits)
            return _examine_parts(path, archive, limits)
    except (zipfile.BadZipFile, zlib.error, EOFError, ValueError, OSError, NotImplementedError,
            RuntimeError, KeyError) as error:  # fmt: skip
        raise InputError(
            f"{path.name} is cut short or damaged ({type(error).__name__}). "
            "Copy or download it again, or open it in a spreadsheet program and save it."
        ) from error


def _check_entries(path: Path, archive: zipfile.ZipFile, limits: Limits) -> None:
    entries = archive.infolist()
    names = [entry.filename for entry in entries]
    declared = sum(entry.file_size for entry in entries)
    if len(entries) > limits.zip_entries or len(set(names)) != len(names):
        raise InputError(f"{path.name} is not built like a spreadsheet. {_SAVE_AGAIN}")
    if any(entry.flag_bits & 1 for entry in entries):
        raise InputError(f"{path.name} has a password. Save a copy without it and use that.")
    if declared > limits.unpacked_bytes:
        raise _bomb(path)


def _examine_parts(path: Path, archive: zipfile.ZipFile, limits: Limits) -> Examined:
    names = archive.namelist()
    is_ods = "content.xml" in names and "xl/workbook.xml" not in names
    if not is_ods and not any(name in names for name in ("xl/workbook.xml", "xl/workbook.bin")):
        raise InputError(
            f"{path.name} is a zip archive or a text document, not a spreadsheet. "
            "Export the fleet list as .xlsx or .csv."
        )
    room = limits.unpacked_bytes
    sheets: dict[str, SheetFacts] = {}
    kept: dict[str, bytes] = {}
    for entry in archive.infolist():
        keep = entry.filename in ("xl/workbook.xml", "xl/_rels/workbook.xml.rels", "content.xml")
        scanner = SheetScanner() if _is_sheet(entry.filename) else None
        parts = []
        for chunk in _stream(path, archive, entry, limits, room):
            room -= len(chunk)
            if scanner:
                scanner.feed(chunk)
            if keep:
                parts.append(chunk)
        if scanner:
            sheets[entry.filename] = scanner.facts()
            _check_extent(path, entry.filename, sheets[entry.filename], limits)
        kept[entry.filename] = b"".join(parts)
    if is_ods:
        tables, epoch_1904 = ods_tables(kept["content.xml"])
        for name, facts in tables.items():
            _check_extent(path, name, facts, limits)
        return Examined(Kind.ODS, epoch_1904=epoch_1904, tables=tables)
    book = kept.get("xl/workbook.xml", b"")
    return Examined(
        Kind.XLSX,
        sheets,
        b'date1904="1"' in book or b'date1904="true"' in book,
        book,
        kept.get("xl/_rels/workbook.xml.rels", b""),
    )


def _is_sheet(name: str) -> bool:
    return name.startswith("xl/worksheets/") and name.endswith(".xml")


def _stream(
    path: Path, archive: zipfile.ZipFile, entry: zipfile.ZipInfo, limits: Limits, room: int
) -> Iterator[bytes]:
    """The part's bytes in chunks, stopped as soon as it proves to be a bomb or holds a DTD."""
    unpacked, is_xml = 0, entry.filename.endswith((".xml", ".rels"))
    tail = b""
    with archive.open(entry) as part:
        while chunk := part.read(_CHUNK):
            unpacked += len(chunk)
            if unpacked > room or unpacked > limits.ratio * max(entry.compress_size, 50_000):
                raise _bomb(path)
            if is_xml and unpacked == len(chunk) and chunk[:2] in (b"\xff\xfe", b"\xfe\xff"):
                raise InputError(f"{path.name} is not built like a spreadsheet. {_SAVE_AGAIN}")
            if is_xml and b"<!DOCTYPE" in (tail + chunk).upper():
                raise InputError(
                    f"{path.name} holds definitions (DOCTYPE) that no spreadsheet program writes "
                    f"and that can be harmful. {_SAVE_AGAIN}"
                )
            tail = chunk[-16:]
            yield chunk


def _check_extent(path: Path, part: str, facts: SheetFacts, limits: Limits) -> None:
    if facts.irregular:
        raise InputError(f"{path.name} is not built like a spreadsheet ({part}). {_SAVE_AGAIN}")
    if facts.rows * facts.columns > limits.cells:
        raise InputError(
            f"{path.name} has a filled cell far away from its table ({facts.farthest or part}), so "
            f"that reading it would take {facts.rows:,} rows by {facts.columns:,} columns. Press "
            "Ctrl+End in the spreadsheet program, delete the stray cells, and save."
        )


def _bomb(path: Path) -> InputError:
    return InputError(
        f"{path.name} unpacks to far more than a fleet list needs, as a harmful file would. "
        + _SAVE_AGAIN
    )
