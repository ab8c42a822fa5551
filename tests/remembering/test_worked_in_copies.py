"""A worked-in workbook comes back, whatever was done to it (edited by openpyxl, not by our writer).

Expected values are what this file types in.
"""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import openpyxl
import pytest
from typing_hand import type_into, typing_sheets

from riskcheck import remembering
from riskcheck.errors import InputError
from riskcheck.ledger import Ledger, open_ledger

AT = dt.datetime(2026, 10, 5, 9, 0, 0)


def record(ledger: Ledger, *paths: Path) -> remembering.Recorded:
    return remembering.record_workbooks(ledger, paths, at=AT, by="jo")


def first_sheet(book: openpyxl.Workbook):
    return next(typing_sheets(book))


def test_a_fresh_workbook_holds_no_typing(ledger: Ledger, sent: Path):
    done = record(ledger, sent)
    assert (done.merge.kinds, done.loose) == ({}, [])
    assert not remembering.holds_unrecorded(ledger, sent, AT.date())


def test_everything_typed_is_known_by_its_row(ledger: Ledger, sent: Path, tmp_path: Path):
    typed = {"Result": "booked", "Date": dt.date(2026, 10, 5), "Note": "Tuesday", "Next step": "x"}
    back = tmp_path / "back.xlsx"
    keys = type_into(sent, back, typed)
    done = record(ledger, back)
    assert done.merge.count("new") == 4 * len(keys)
    contacts = ledger.contacts()
    assert set(contacts["row_key"]) == set(keys)
    assert set(contacts["result"]) == {"booked"}
    assert set(contacts["date"].dt.date) == {dt.date(2026, 10, 5)}
    assert contacts["customer_id"].ne("").all()
    assert {typed.cell.value for typed in done.copies[0].unclear} == {"x"}
    assert record(ledger, back).merge.count("new") == 0


def test_two_copies_merge_and_a_conflict_keeps_both(ledger: Ledger, sent: Path, tmp_path: Path):
    one, two = tmp_path / "counter.xlsx", tmp_path / "office.xlsx"
    type_into(sent, one, {"Result": "booked"}, rows=1)
    keys = type_into(sent, two, {"Result": "said no for now", "Note": "later"}, rows=1)
    done = record(ledger, one, two)
    assert done.merge.count("conflict") == len(keys)
    assert set(done.conflicts["values"]) == {"booked | said no for now"}
    assert ledger.contacts()["note"].ne("").all()


def test_a_copied_row_is_one_contact_with_both_notes(ledger: Ledger, sent: Path, tmp_path: Path):
    book = openpyxl.load_workbook(sent)
    sheet, top, headings = first_sheet(book)
    sheet.append([cell.value for cell in sheet[top + 1]])
    sheet.cell(top + 1, headings["Note"]).value = "first"
    sheet.cell(sheet.max_row, headings["Note"]).value = "second"
    book.save(tmp_path / "back.xlsx")
    assert record(ledger, tmp_path / "back.xlsx").merge.count("conflict") == 1
    assert ledger.contacts()["note"].tolist() == ["first | second"]


def test_added_rows_are_kept_and_named_ones_understood(ledger: Ledger, sent: Path, tmp_path: Path):
    book = openpyxl.load_workbook(sent)
    sheet, _top, headings = first_sheet(book)
    row = sheet.max_row + 1
    sheet.cell(row, headings["Note"]).value = "my neighbour asked for a price"
    sheet.cell(row + 1, headings["Customer"]).value = "C2"
    sheet.cell(row + 1, headings["Result"]).value = "booked"
    book.create_sheet("Mine")["B7"] = "remember the tyres"
    sheets = book.sheetnames
    book[sheets[0]].cell(40, 1).value = "scribbled on the first page"
    book.save(tmp_path / "back.xlsx")
    done = record(ledger, tmp_path / "back.xlsx")
    said = sorted((row.why, *row.cells.values()) for row in done.loose)
    assert said == [
        ("added", "C2", "booked"),
        ("added", "my neighbour asked for a price"),
        ("other_sheet", "remember the tyres"),
        ("other_sheet", "scribbled on the first page"),
    ]
    contact = ledger.contacts().iloc[0]
    assert (contact["customer_id"], contact["result"]) == ("C2", "booked")
    again = record(ledger, tmp_path / "back.xlsx")
    assert (len(again.loose), again.merge.loose_added) == (4, 0)


def test_columns_moved_and_added_and_a_printed_cell_changed(
    ledger: Ledger, sent: Path, tmp_path: Path
):
    book = openpyxl.load_workbook(sent)
    sheet, top, headings = first_sheet(book)
    sheet.cell(top, sheet.max_column + 1).value = "Colour"
    sheet.cell(top + 1, sheet.max_column).value = "green"
    sheet.cell(top + 1, headings["Customer"]).value = "Ada Quillfen (406) 555-0177"
    sheet.cell(top + 1, headings["Note"]).value = "new number"
    sheet.insert_cols(1, 2)
    sheet.insert_rows(1, 3)
    book.move_sheet(sheet.title, 5)
    book.save(tmp_path / "back.xlsx")
    record(ledger, tmp_path / "back.xlsx")
    contact = ledger.contacts().iloc[0]
    assert contact["note"] == "new number"
    assert contact["words"] == "Colour: green; Customer: Ada Quillfen (406) 555-0177"


def test_hours_written_over_the_estimate_belong_to_the_find(
    ledger: Ledger, sent: Path, tmp_path: Path
):
    book = openpyxl.load_workbook(sent)
    sheet, top, headings = next(s for s in typing_sheets(book) if s[0].title.startswith("Vehicle"))
    sheet.cell(top + 1, headings["Result"]).value = "looked: found"
    sheet.cell(top + 1, headings["Hours"]).value = 1.25
    book.save(tmp_path / "back.xlsx")
    record(ledger, tmp_path / "back.xlsx")
    found = ledger.outcomes()
    assert found[["vehicle_id", "outcome", "hours"]].values.tolist() == [["V2", "found", 1.25]]


def test_a_row_without_its_key_is_known_by_its_print(ledger: Ledger, sent: Path, tmp_path: Path):
    book = openpyxl.load_workbook(sent)
    sheet, top, headings = first_sheet(book)
    key = sheet.cell(top + 1, headings["Row key"]).value
    sheet.delete_cols(headings["Row key"])
    sheet.cell(top + 1, headings["Note"]).value = "key lost"
    book.save(tmp_path / "back.xlsx")
    done = record(ledger, tmp_path / "back.xlsx")
    assert ledger.contacts()[["row_key", "note"]].values.tolist() == [[key, "key lost"]]
    assert len(done.copies[0].refound) >= 1


def test_a_sort_that_left_the_keys_behind_writes_nothing_to_a_stranger(
    ledger: Ledger, sent: Path, tmp_path: Path
):
    book = openpyxl.load_workbook(sent)
    sheet, top, headings = next(s for s in typing_sheets(book) if s[0].max_row > s[1] + 1)
    one, two = (sheet.cell(top + n, headings["Row key"]) for n in (1, 2))
    right = one.value
    one.value, two.value = two.value, one.value
    sheet.cell(top + 1, headings["Note"]).value = "about the first"
    book.save(tmp_path / "back.xlsx")
    record(ledger, tmp_path / "back.xlsx")
    assert ledger.contacts()[["row_key", "note"]].values.tolist() == [[right, "about the first"]]


def test_a_copy_is_understood_by_a_ledger_that_never_saw_the_run(sent: Path, tmp_path: Path):
    type_into(sent, tmp_path / "back.xlsx", {"Result": "booked", "Note": "x"}, rows=1)
    with open_ledger(tmp_path / "other.sqlite") as other:
        record(other, tmp_path / "back.xlsx")
        contacts = other.contacts()
        assert contacts["customer_id"].ne("").all()
        assert set(contacts["result"]) == {"booked"}
        assert other.snapshot(contacts["run_id"].iloc[0]).empty


@pytest.mark.parametrize(
    "text",
    ['=HYPERLINK("http://x","y")', "+1 406 555", "-2+3", "@cmd", "'quoted", "a\nb", "ünï €"],
)
def test_text_that_looks_like_a_formula_comes_back_as_typed(
    ledger: Ledger, sent: Path, tmp_path: Path, text: str
):
    book = openpyxl.load_workbook(sent)
    sheet, top, headings = first_sheet(book)
    cell = sheet.cell(top + 1, headings["Note"])
    cell.value, cell.data_type = text, "s"
    book.save(tmp_path / "back.xlsx")
    record(ledger, tmp_path / "back.xlsx")
    assert ledger.contacts()["note"].tolist() == [text]


def test_unrecorded_typing_is_seen_and_an_unreadable_file_counts_as_such(
    ledger: Ledger, sent: Path, tmp_path: Path
):
    type_into(sent, sent, {"Note": "not yet"}, rows=1)
    assert remembering.holds_unrecorded(ledger, sent, AT.date())
    record(ledger, sent)
    assert not remembering.holds_unrecorded(ledger, sent, AT.date())
    (tmp_path / "broken.xlsx").write_bytes(b"PK\x03\x04 cut")
    assert remembering.holds_unrecorded(ledger, tmp_path / "broken.xlsx", AT.date())
    assert not remembering.holds_unrecorded(ledger, tmp_path / "none.xlsx", AT.date())


def test_one_bad_copy_stops_all_of_them(ledger: Ledger, sent: Path, tmp_path: Path):
    type_into(sent, tmp_path / "good.xlsx", {"Note": "x"})
    other = openpyxl.Workbook()
    other.active["A1"] = "some other workbook"
    other.save(tmp_path / "other.xlsx")
    (tmp_path / "cut.xlsx").write_bytes(sent.read_bytes()[:900])
    for bad in ("other.xlsx", "cut.xlsx", "none.xlsx"):
        with pytest.raises(InputError):
            record(ledger, tmp_path / "good.xlsx", tmp_path / bad)
        assert ledger.contacts().empty


def test_a_copy_that_is_still_open_is_said_to_be(ledger: Ledger, sent: Path):
    (sent.parent / f".~lock.{sent.name}#").write_text("someone")
    assert record(ledger, sent).still_open == (sent.name,)
