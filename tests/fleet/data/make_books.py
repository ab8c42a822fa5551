"""Writes shapes.* and cells.*: the same invented sheets as .xlsx, .xls, .ods and folders of .csv.

    python tests/fleet/data/make_books.py

openpyxl writes the .xlsx; LibreOffice (command ``soffice``) turns it into the other formats, so
that the tests read files that another program wrote.
"""

from __future__ import annotations

import csv
import datetime as dt
import subprocess
from pathlib import Path

import openpyxl
from openpyxl.utils.datetime import CALENDAR_MAC_1904
from openpyxl.worksheet.worksheet import Worksheet

HERE = Path(__file__).parent
DAY = dt.date

SHAPES: dict[str, list[list[object]]] = {
    "Stacked": [
        ["Workshop of the north yard, printed 2026-10-30"],
        [],
        ["Vehicle", None, "Bought", "Odometer"],
        ["ID", "Make", "In service", "(km)"],
        ["N1", "Brackmoor", DAY(2016, 4, 1), 160934.4],
        ["N2", "Tovask", DAY(2018, 5, 2), 80467.2],
        ["Total", None, None, 241401.6],
        [],
        ["Vehicle", "Date", "Work done", "RO"],
        ["N1", DAY(2024, 3, 15), "timing belt", 501],
        [None, None, "brake hoses", None],
        [None, None, "coolant", None],
        ["Vehicle", "Date", "Work done", "RO"],
        ["N2", DAY(2024, 4, 16), "oil", 502],
        [None, DAY(2024, 6, 1), "no vehicle here", 503],
        ["3 records", None, None, None],
    ],
    "Beside": [
        ["Unit", "Make", "Year", None, "Unit", "Date", "Work done"],
        ["S1", "Brackmoor", 2015, None, "S1", DAY(2024, 1, 2), "oil"],
        ["S2", "Tovask", 2019, None, "S2", DAY(2024, 1, 3), "timing belt"],
        [None, None, None, None, "S1", DAY(2024, 2, 4), "tires"],
    ],
    "Sections": [
        ["Repair log by unit"],
        [],
        ["Unit N1"],
        ["Date", "Mileage", "Work done"],
        [DAY(2025, 1, 5), 91000, "battery test"],
        [DAY(2025, 2, 6), 92500, "alternator"],
        ["Subtotal", 2, None],
        ["Unit #S2"],
        ["Date", "Mileage", "Work done"],
        [DAY(2025, 3, 7), 44000, "timing belt"],
        ["Page 1", None, None],
    ],
}
MERGED = {
    "Merged": [
        ["Identity", None, "Visit", None],
        ["Unit no", "Plate", "Date", "Description"],
        ["N2", "AB 12", DAY(2025, 5, 8), "tires"],
        [None, None, DAY(2025, 6, 9), "wheel torque"],
        [None, None, DAY(2025, 7, 1), "alignment"],
    ]
}


def _fill(sheet: Worksheet, rows: list[list[object]]) -> None:
    for row in rows:
        sheet.append(row)


def write_shapes() -> Path:
    book = openpyxl.Workbook()
    book.remove(book.active)
    for name, rows in (SHAPES | MERGED).items():
        _fill(book.create_sheet(name), rows)
    merged = book["Merged"]
    for cells in ("A1:B1", "C1:D1", "A3:A5", "B3:B5"):
        merged.merge_cells(cells)
    path = HERE / "shapes.xlsx"
    book.save(path)
    return path


def write_cells() -> Path:
    """Cells as spreadsheet programs damage them; a 1904 book, for its own sake, beside it."""
    book = openpyxl.Workbook()
    vehicles = book.active
    vehicles.title = "Vehicles"
    _fill(
        vehicles,
        [
            ["Unit", "VIN", "Year", "In service", "Odometer"],
            ["007", "1M8GDM9AXKP042788", "2015", DAY(2015, 3, 1), "=1/0"],
            [12, "1ZZAA1AA0AA000005", 2010, "=DATE(2012,3,15)", "120 500"],
            [1.2e16, None, 2011, None, 99000],
            ["A-9", None, "=NA()", None, "85k"],
        ],
    )
    work = book.create_sheet("Work")
    _fill(
        work,
        [
            ["Unit", "Date", "Work done"],
            ["7", DAY(2024, 3, 4), "was typed 04/03/2024 day first and turned round"],
            ["7", "25/03/2024", "stayed text"],
            ["7", "26/04/2024", "stayed text"],
            ["12", DAY(2024, 11, 5), "was typed 05/11/2024 and turned round"],
            ["12", "17/11/2024", "stayed text"],
        ],
    )
    path = HERE / "cells.xlsx"
    book.save(path)
    old = openpyxl.Workbook()
    old.epoch = CALENDAR_MAC_1904
    _fill(
        old.active,
        [["Unit", "Make", "In service"], ["7", "Brackmoor", DAY(2015, 3, 1)], ["8", "T", 40602]],
    )
    old.save(HERE / "book1904.xlsx")
    return path


def convert(path: Path) -> None:
    for kind in ("xls", "ods"):
        subprocess.run(
            ["soffice", "--headless", "--convert-to", kind, "--outdir", str(HERE), str(path)],
            check=True,
            capture_output=True,
        )


def write_csvs() -> None:
    folder = HERE / "shapes_csv"
    folder.mkdir(exist_ok=True)
    for name, rows in SHAPES.items():
        with (folder / f"{name}.csv").open("w", newline="", encoding="utf-8") as file:
            csv.writer(file, lineterminator="\n").writerows(rows)


if __name__ == "__main__":
    convert(write_shapes())
    convert(write_cells())
    convert(HERE / "book1904.xlsx")
    write_csvs()
