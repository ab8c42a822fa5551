"""Cells as spreadsheet programs and typists damage them; data invented, expectations by hand."""

import datetime as dt

import pandas as pd
import pytest

from riskcheck.errors import InputError
from riskcheck.fleet import to_contract_csvs
from riskcheck.fleet.dates import read_dates
from riskcheck.sheets import read_grids

AS_OF = dt.date(2026, 11, 1)
DAY = dt.date
VEHICLES = [["Unit", "Make"], ["7", "Brackmoor"]]


def read_column(*cells):
    return read_dates(pd.Series(cells, dtype=object), AS_OF)


TURNED = [DAY(2024, 3, 4), DAY(2024, 11, 5), DAY(2023, 2, 9), DAY(2023, 7, 1), DAY(2022, 12, 6)]


@pytest.mark.parametrize("texts", [("25/03/2024", "26/04/2024"), ("03/25/2024", "04/26/2024")])
def test_real_dates_that_were_turned_round_are_turned_back(texts):
    """Five real dates all of day 12 or less: chance alone does that once in 100."""
    read = read_column(*TURNED, *texts)
    back = ["2024-04-03", "2024-05-11", "2023-09-02", "2023-01-07", "2022-06-12"]
    assert read.lo.dt.strftime("%Y-%m-%d").tolist()[:5] == back
    assert read.repaired.all()
    assert "the 2 text dates of this column all have a day beyond 12, its 5 real" in read.reason[0]


def test_too_few_to_be_sure_keep_both_readings():
    read = read_column(*TURNED[:3], "25/03/2024", "26/04/2024")
    assert read.lo[0] == pd.Timestamp("2024-03-04")
    assert read.hi[0] == pd.Timestamp("2024-04-03")
    assert "two readings kept: perhaps" in read.reason[0]


@pytest.mark.parametrize(
    "cells",
    [
        (*TURNED, DAY(2024, 3, 25), "25/03/2024", "26/04/2024"),  # a real date beyond the 12th
        (*TURNED, "25/03/2024", "04/03/2024"),  # a text date the program could have turned
        (*TURNED, "25/03/2024"),  # a single text date
        (*TURNED, DAY(2026, 9, 12), "25/03/2024", "26/04/2024"),  # would lie in the future
    ],
)
def test_dates_are_left_alone_without_the_whole_pattern(cells):
    assert read_column(*cells).lo[0] == pd.Timestamp("2024-03-04")
    assert read_column(*cells).hi[0] == pd.Timestamp("2024-03-04")


def test_turned_dates_are_listed_as_repaired(book, read, told):
    rows = [["Unit", "Date", "Work done"]]
    rows += [["7", day, "oil"] for day in (*TURNED, "25/03/2024", "26/04/2024")]
    fleet = read(book(V=VEHICLES, W=rows))
    repaired = fleet.problems[fleet.problems["action"] == "repaired"]
    assert repaired[["cell", "was", "now"]].to_numpy().tolist()[0] == [
        "B2", "2024-03-04", "2024-04-03",
    ]  # fmt: skip
    assert len(repaired) == 5


def test_text_under_a_spreadsheet_name_is_read_and_said(tmp_path, read, told):
    path = tmp_path / "fleet.xlsx"
    path.write_text("Unit,Make\n7,Brackmoor\n", encoding="utf-8")
    fleet = read(path)
    assert fleet.vehicles["vehicle_id"].tolist() == ["7"]
    assert "named .xlsx, but it holds plain text" in told(fleet, "noted")
    path.write_text("hello world", encoding="utf-8")
    with pytest.raises(InputError, match=r"is not a spreadsheet file.*export again as \.xlsx"):
        read(path)


def test_cells_beyond_the_width_of_a_text_table_are_not_dropped(tmp_path):
    path = tmp_path / "work.csv"
    path.write_text("Unit,Date,Work\n" * 600 + "7,2024-01-02,belt,tensioner\n", encoding="utf-8")
    (grid,) = read_grids(path)
    assert grid.cells.iloc[-1].tolist() == ["7", "2024-01-02", "belt", "tensioner"]


def test_parquet_reads_like_the_workbook(tmp_path, book, read):
    rows = [["Unit", "Date", "Mileage", "Work done"], ["7", DAY(2024, 1, 2), 120_000, "oil"],
            ["7", DAY(2024, 3, 2), 125_000, "timing belt"]]  # fmt: skip
    folder = tmp_path / "tables"
    folder.mkdir()
    pd.DataFrame(rows[1:], columns=rows[0]).to_parquet(folder / "work.parquet")
    pd.DataFrame(VEHICLES[1:], columns=VEHICLES[0]).to_parquet(folder / "vehicles.parquet")
    one, other = read(folder), read(book(V=VEHICLES, W=rows))
    same = ["vehicle_id", "date_lo", "odometer_mi", "line", "row"]
    pd.testing.assert_frame_equal(one.service[same], other.service[same])
    (folder / "work.parquet").write_bytes((folder / "work.parquet").read_bytes()[:60])
    with pytest.raises(InputError, match="damaged Parquet file"):
        read(folder)


def test_every_row_of_every_sheet_has_its_fate_in_a_file(tmp_path, book, read):
    rows = [["Unit", "Date", "Mileage", "Work done"], ["7", "2024-01-02", "85k", "oil"], [None] * 4,
            ["9", "2024-01-02", 1, "no such vehicle"], ["Total", None, 2, None]]  # fmt: skip
    fleet = read(book(V=VEHICLES, W=rows))
    fate = fleet.rows[fleet.rows["sheet"] == "W"][["row", "fate"]].to_numpy().tolist()
    assert fate == [[1, "used"], [2, "repaired"], [4, "set_aside"], [5, "set_aside"]]
    written = to_contract_csvs(fleet, tmp_path / "out")
    table = pd.read_csv(written[-1])
    assert written[-1].name == "rows.csv"
    assert len(table) == sum(tally.rows for tally in fleet.tallies)
    for tally in fleet.tallies:
        counts = table[table["sheet"] == tally.sheet]["fate"].value_counts()
        assert counts.get("used", 0) == tally.used
        assert counts.get("repaired", 0) == tally.repaired
        assert counts.get("set_aside", 0) == tally.set_aside


def test_identifiers_rounded_by_a_spreadsheet_are_named_not_guessed(book, read, told):
    fleet = read(book(V=[["Unit", "VIN", "Make"], ["7", "1.2E+16", "B"], [1.2e16, None, "T"]]))
    assert fleet.vehicles[["vehicle_id", "vin"]].to_numpy().tolist() == [["7", ""]]
    assert told(fleet, "noted").count("rounded number") == 2
    assert "names no vehicle" in told(fleet)


def test_a_vehicle_sold_or_with_a_new_owner_keeps_its_history(book, read, told):
    vehicles = [
        ["Unit", "Make", "Status", "Sold date", "Customer", "Phone", "New owner since"],
        ["7", "Brackmoor", "sold", DAY(2025, 5, 1), "C1", "(406) 555-0100", None],
        ["8", "Tovask", "active", None, "C1", "(406) 555-0100", DAY(2026, 1, 5)],
        ["9", "Tovask", "Scrapped", None, "C2", None, None],
    ]
    work = [["Unit", "Date", "Work done"], ["7", "2024-01-02", "oil"], ["8", "2024-01-02", "oil"]]
    fleet = read(book(V=vehicles, W=work))
    assert fleet.vehicles["state"].tolist() == ["sold", "active", "scrapped"]
    assert fleet.vehicles["owner_since"].tolist()[1] == pd.Timestamp("2026-01-05")
    assert fleet.service["vehicle_id"].tolist() == ["7", "8"]


def test_the_year_in_the_vin_and_the_stated_one_are_reported_with_both(book, read):
    """49 CFR 565.15: K at position 10 is 1989 or 2019; up to 10,000 lb position 7 tells which
    (a digit the first, a letter the second), above that it says nothing.  VINs made up, check
    digits by 565.15(c).
    """
    digit_7, letter_7 = "1ZZAA11A9KA000005", "1ZZAA1AA9KA000005"
    sheet = [
        ["Unit", "VIN", "Make", "Year", "GVWR lb"],
        ["1", digit_7, "Brackmoor", 2018, 9_000],
        ["2", letter_7, "Brackmoor", 1989, 26_000],
        ["3", "1ZZAA1AA8KA000013", "Brackmoor", None, 9_000],
        ["4", "1ZZAA1AA8KAOOOO13", "Brackmoor", None, 26_000],
    ]
    fleet = read(book(V=sheet))
    noted = fleet.problems[fleet.problems["reason"].str.contains("the VIN says")]
    assert noted[["cell", "was"]].to_numpy().tolist() == [["D2", "2018"]]
    assert noted["reason"].iloc[0] == (
        "the VIN says model year 1989, the sheet 2018: the sheet was followed"
    )
    assert fleet.vehicles["model_year"].fillna(0).tolist() == [2018, 1989, 2019, 0]
    repaired = fleet.problems[fleet.problems["action"] == "repaired"]
    assert repaired[["cell", "now"]].to_numpy().tolist() == [["B5", "1ZZAA1AA8KA000013"]]


def test_an_estimate_and_its_invoice_count_once(book, read, told):
    work = [
        ["Unit", "Date", "Work done", "Status"],
        ["7", "2024-01-02", "timing belt", "estimate"],
        ["7", "2024-01-20", "timing belt", "invoice"],
        ["7", "2024-01-20", "timing belt", "invoice"],
        ["7", "2024-06-02", "brake hoses", "estimate"],
    ]
    fleet = read(book(V=VEHICLES, W=work))
    assert fleet.service[["line", "line_status"]].to_numpy().tolist() == [
        ["timing belt", "closed"],
        ["brake hoses", "estimate"],
    ]
    assert fleet.events["mark"].tolist() == ["done"]
    assert "estimate of a line that was also invoiced" in told(fleet)
    assert "the same line stands on an earlier row" in told(fleet)
