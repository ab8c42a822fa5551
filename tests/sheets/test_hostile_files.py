"""Files that would crash, hang or mislead a reader: one paragraph for a person, never an abort.

Sources: the far-cell abort is python-calamine issue 693; entity expansion is OWASP "XML External
Entity Prevention"; zip bombs are CWE-409.  The caps are choices of this project, no source.
"""

import contextlib
import io
import os
import random
import struct
import subprocess
import sys
import time
import zipfile
from pathlib import Path

import openpyxl
import pytest

from riskcheck.errors import InputError
from riskcheck.sheets import Column, Limits, Sheet, Workbook, read_grids, workbook_bytes

SHEET = "xl/worksheets/sheet1.xml"
BOOKS = Path(__file__).parents[1] / "fleet" / "data"


def plain_book() -> bytes:
    rows = [["V1", 120000], ["V2", 85000]]
    columns = [Column("Vehicle"), Column("Odometer")]
    return workbook_bytes(Workbook([Sheet("Vehicles", columns, rows)]))


def rewrite(data: bytes, changes: dict[str, bytes], added: dict[str, bytes] | None = None) -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(data)) as old, zipfile.ZipFile(out, "w", 8) as new:
        for name in old.namelist():
            new.writestr(name, changes.get(name, old.read(name)))
        for name, part in (added or {}).items():
            new.writestr(name, part)
    return out.getvalue()


def sheet_with(data: bytes, cell: bytes) -> bytes:
    with zipfile.ZipFile(io.BytesIO(data)) as book:
        xml = book.read(SHEET)
    return rewrite(data, {SHEET: xml.replace(b"</sheetData>", cell + b"</sheetData>")})


def bomb() -> bytes:
    return rewrite(plain_book(), {}, {"xl/media/image1.png": b"\0" * 60_000_000})


FAR = b'<row r="1048576"><c r="XFD1048576"><v>1</v></c></row>'
DOCTYPE = b'<?xml version="1.0"?><!DOCTYPE a [<!ENTITY b "c">]><worksheet/>'
HOSTILE = {
    "far cell": (lambda: sheet_with(plain_book(), FAR), "stray cells"),
    "zip bomb": (bomb, "unpacks to far more"),
    "entities": (lambda: rewrite(plain_book(), {SHEET: DOCTYPE}), "DOCTYPE"),
    "address in entities": (
        lambda: sheet_with(plain_book(), FAR.replace(b"XFD1", b"XFD&#49;")),
        "not built like",
    ),
    "address in a comment": (
        lambda: sheet_with(plain_book(), b"<!-- --><row><c\nr='XFD1'><v>1</v></c></row>"),
        "not built like",
    ),
    "truncated": (lambda: plain_book()[:-200], "cut short"),
    "no sheets": (lambda: rewrite(b"PK\x05\x06" + b"\0" * 18, {}, {"a.txt": b"x"}), "not a spread"),
    "empty": (lambda: b"", "is empty"),
    "picture": (lambda: b"\x89PNG\r\n\x1a\n" + b"\0" * 50, "a picture"),
    "web page": (lambda: b"<html><table><tr><td>Vehicle</td></tr></table></html>", "web page"),
    "pdf": (lambda: b"%PDF-1.7\n", "a PDF"),
    "noise": (lambda: random.Random(1).randbytes(4000), "neither a spreadsheet nor text"),
    "password": (lambda: (Path(__file__).parent / "locked.xlsx").read_bytes(), "has a password"),
    "cut compound file": (
        lambda: b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + b"\0" * 600,
        "cannot be read",
    ),
}


@pytest.mark.parametrize("name", HOSTILE)
def test_hostile_file_gets_one_paragraph(name, tmp_path):
    make, words = HOSTILE[name]
    path = tmp_path / "fleet.xlsx"
    path.write_bytes(make())
    started = time.monotonic()
    with pytest.raises(InputError, match=words) as caught:
        read_grids(path)
    assert time.monotonic() - started < 20
    message = str(caught.value)
    assert "fleet.xlsx" in message
    assert "\n" not in message


def test_missing_file_and_empty_folder(tmp_path):
    with pytest.raises(InputError, match="Cannot open"):
        read_grids(tmp_path / "none.xlsx")
    with pytest.raises(InputError, match="holds no table files"):
        read_grids(tmp_path)


def test_too_large_a_file_is_named(tmp_path):
    path = tmp_path / "fleet.csv"
    path.write_text("Vehicle,Odometer\n" * 10)
    with pytest.raises(InputError, match="reads at most"):
        read_grids(path, limits=Limits(file_bytes=100))


PEAK_MB = """
import resource, sys
from riskcheck.sheets import read_grids
(grid,) = read_grids(sys.argv[1])
print(grid.cells.shape[0], resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024)
"""


def rows_and_peak_mb(path: Path) -> tuple[int, int]:
    """Rows read and peak memory of a process that only reads this file."""
    done = subprocess.run(
        [sys.executable, "-c", PEAK_MB, str(path)], capture_output=True, text=True, check=True
    )
    rows, peak = done.stdout.split()
    return int(rows), int(peak)


def test_declared_million_rows_cost_nothing(tmp_path):
    """A dimension tag and a formatted blank tail that claim 1,048,576 rows; thirty are real."""
    path, plain = million_rows(tmp_path), tmp_path / "plain.xlsx"
    plain.write_bytes(plain_book())
    started = time.monotonic()
    (grid,) = read_grids(path)
    assert grid.cells.shape == (30, 2)
    assert time.monotonic() - started < 10
    rows, peak = rows_and_peak_mb(path)
    assert rows == 30
    assert peak < rows_and_peak_mb(plain)[1] + 60


def million_rows(folder: Path) -> Path:
    book = openpyxl.Workbook()
    sheet = book.active
    for row in range(30):
        sheet.append([f"V{row}", row])
    raw = io.BytesIO()
    book.save(raw)
    with zipfile.ZipFile(io.BytesIO(raw.getvalue())) as old:
        xml = old.read(SHEET)
    tail = b"".join(b'<row r="%d"><c r="A%d" s="0"/></row>' % (n, n) for n in range(40, 200_000))
    xml = xml.replace(b'ref="A1:B30"', b'ref="A1:XFD1048576"')
    xml = xml.replace(
        b"</sheetData>", tail + b'<row r="1048576"><c r="B1048576"/></row></sheetData>'
    )
    path = folder / "fleet.xlsx"
    path.write_bytes(rewrite(raw.getvalue(), {SHEET: xml}))
    return path


def test_error_cells_and_uncalculated_formulas_keep_their_place(tmp_path):
    """The fast reader blanks both; a technician must be told which cells they are."""
    book = openpyxl.Workbook()
    sheet = book.active
    sheet["A1"], sheet["B1"] = "Vehicle", "Odometer"
    sheet["A2"], sheet["B2"] = "V1", "=1+1"
    sheet["A3"], sheet["B3"] = "V2", "#N/A"
    sheet["B3"].data_type = "e"
    path = tmp_path / "fleet.xlsx"
    book.save(path)
    (grid,) = read_grids(path)
    assert {grid.address(*cell): text for cell, text in grid.errors.items()} == {"B3": "#N/A"}
    assert {grid.address(*cell) for cell in grid.uncomputed} == {"B2"}


def mutate(data: bytes, seed: int) -> bytes:
    """A few random cuts, copies and flips of the bytes."""
    chance = random.Random(seed)
    changed = bytearray(data)
    for _ in range(chance.randint(1, 6)):
        place = chance.randrange(max(1, len(changed)))
        kind = chance.randrange(4)
        if kind == 0:
            changed[place : place + 1] = bytes([chance.randrange(256)])
        elif kind == 1:
            del changed[place : place + chance.randrange(64)]
        elif kind == 2:
            changed[place:place] = changed[: chance.randrange(64)]
        else:
            changed[place : place + 4] = struct.pack("<I", chance.choice([0, 2**31, 2**32 - 1]))
    return bytes(changed)


def mutated_inside(data: bytes, seed: int) -> bytes:
    """The XML of the sheet mutated, the zip around it sound, so that the reader gets to see it."""
    with zipfile.ZipFile(io.BytesIO(data)) as book:
        return rewrite(data, {SHEET: mutate(book.read(SHEET), seed)})


def ods_inside(data: bytes, seed: int) -> bytes:
    """The content.xml of an OpenDocument sheet mutated, the zip around it sound."""
    with zipfile.ZipFile(io.BytesIO(data)) as book:
        return rewrite(data, {"content.xml": mutate(book.read("content.xml"), seed)})


@pytest.mark.parametrize("kind", ["xls", "ods", "ods inside"])
def test_mutated_old_and_open_formats_never_raise_anything_but_an_input_error(kind, tmp_path):
    """A bounded fuzz over files that LibreOffice wrote; each is read in a process of its own.

    RISKCHECK_FUZZ_ROUNDS=20000 runs the long one.
    """
    rounds = int(os.environ.get("RISKCHECK_FUZZ_ROUNDS", "12"))
    suffix = kind[:3]
    good = (BOOKS / f"cells.{suffix}").read_bytes()
    change = ods_inside if kind == "ods inside" else mutate
    path = tmp_path / f"fleet.{suffix}"
    path.write_bytes(good)
    assert len(read_grids(path)) == 2
    for seed in range(rounds):
        path.write_bytes(change(good, seed))
        with contextlib.suppress(InputError):
            read_grids(path)


@pytest.mark.parametrize("kind", ["bytes", "inside", "csv"])
def test_mutated_files_never_raise_anything_but_an_input_error(kind, tmp_path):
    """A bounded fuzz; RISKCHECK_FUZZ_ROUNDS=20000 runs the long one."""
    rounds = int(os.environ.get("RISKCHECK_FUZZ_ROUNDS", "150"))
    book = plain_book()
    text = b'Vehicle,Odometer,Work\nV1,120000,"belt, done"\nV2,85k,coolant\n'
    read = 0
    for seed in range(rounds):
        path = tmp_path / ("fleet.csv" if kind == "csv" else "fleet.xlsx")
        made = {"bytes": lambda s: mutate(book, s), "inside": lambda s: mutated_inside(book, s),
                "csv": lambda s: mutate(text, s)}[kind](seed)  # fmt: skip
        path.write_bytes(made)
        with contextlib.suppress(InputError):
            read += len(read_grids(path))
    assert kind == "bytes" or read > 0
