"""Edits made in a real LibreOffice: sort, filter, move, type, copy, save; not a mere conversion."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import openpyxl
import pytest
from small_shop import Edit
from typing_hand import typing_sheets

from riskcheck import remembering
from riskcheck.ledger import Ledger

AT = dt.datetime(2026, 10, 8, 9, 0, 0)
SHEET = "Vehicle by vehicle"


def key_of(book: Path, sheet: str, vehicle: str, hazard: str) -> str:
    """The key of a vehicle's row in a workbook as it was sent."""
    sheets = typing_sheets(openpyxl.load_workbook(book))
    found, top, headings = next(one for one in sheets if one[0].title == sheet)
    for line in range(top + 1, found.max_row + 1):
        said = [str(found.cell(line, headings[h]).value) for h in ("Vehicle", "Hazard")]
        if said[0].startswith(vehicle) and said[1] == hazard:
            return str(found.cell(line, headings["Row key"]).value)
    raise AssertionError(f"no row of {vehicle}")


@pytest.mark.parametrize("suffix", [".xlsx", ".ods"])
def test_sorted_filtered_typed_and_moved(
    ledger: Ledger, sent: Path, tmp_path: Path, office: Edit, suffix: str
):
    back = tmp_path / f"back{suffix}"
    book = openpyxl.load_workbook(sent)
    sheet, top, headings = next(s for s in typing_sheets(book) if s[0].title == SHEET)
    # The first row after a descending sort by vehicle, found without LibreOffice.
    lines = [
        [str(sheet.cell(line, headings[h]).value) for h in ("Vehicle", "Row key")]
        for line in range(top + 1, sheet.max_row + 1)
    ]
    assert len(lines) > 1
    edits = [
        ["sort", SHEET, "Vehicle", True],
        ["type", SHEET, "Result", 1, "looked: found"],
        ["type", SHEET, "Date", 1, "2026-10-07"],
        ["type", SHEET, "Note", 1, '=HYPERLINK("x")'],
        ["filter", SHEET, "Result", "looked: found"],
        ["move_column", SHEET, "Note", 0],
        ["move_sheet", SHEET, 0],
        ["type", "Safety first", "Next step", 1, "call again"],
        ["add_row", "Safety first", {"Note": "walked in", "Result": "booked"}],
        ["add_sheet", "Jotted", [["", "ring the depot"]]],
    ]
    office(sent, back, edits)
    done = remembering.record_workbooks(ledger, [back], at=AT, by="jo")
    highest = max(vehicle for vehicle, _ in lines)
    keys = {key for vehicle, key in lines if vehicle == highest}
    contacts = ledger.contacts()
    found = contacts[contacts["kind"] == "vehicle"].iloc[0]
    assert found["row_key"] in keys
    assert (found["result"], found["note"]) == ("found", '=HYPERLINK("x")')
    assert found["date"].date() == dt.date(2026, 10, 7)
    assert len(contacts[contacts["kind"] == "vehicle"]) == 1, "a filter changes nothing"
    assert contacts[contacts["kind"] == "safety"]["next_step"].tolist() == ["call_again"]
    kept = sorted(sorted(row.cells.values()) for row in done.loose)
    assert kept == [["booked", "walked in"], ["ring the depot"]]
    assert done.merge.count("new") == 4


def test_an_untouched_save_by_libreoffice_is_no_typing(
    ledger: Ledger, sent: Path, tmp_path: Path, office: Edit
):
    for name in ("same.xlsx", "same.ods"):
        office(sent, tmp_path / name, [])
        done = remembering.record_workbooks(ledger, [tmp_path / name], at=AT, by="jo")
        assert (done.merge.kinds, done.loose, done.copies[0].refound) == ({}, [], ())


def test_a_key_column_deleted_and_a_row_copied_in_libreoffice(
    ledger: Ledger, sent: Path, tmp_path: Path, office: Edit
):
    key = key_of(sent, SHEET, "V6", "brake-hose-ageing")
    book = openpyxl.load_workbook(sent)
    sheet, top, headings = next(s for s in typing_sheets(book) if s[0].title == SHEET)
    nth = next(
        line - top
        for line in range(top + 1, sheet.max_row + 1)
        if sheet.cell(line, headings["Row key"]).value == key
    )
    office(
        sent,
        tmp_path / "back.xlsx",
        [
            ["type", SHEET, "Note", nth, "hose seen, dry"],
            ["copy_row", SHEET, nth],
            ["delete_column", SHEET, "Row key"],
        ],
    )
    remembering.record_workbooks(ledger, [tmp_path / "back.xlsx"], at=AT, by="jo")
    assert ledger.contacts()[["row_key", "note"]].values.tolist() == [[key, "hose seen, dry"]]
