"""Sheets laid out for the eye, in every format; the books are made by data/make_books.py.

LibreOffice wrote the .xls and .ods files.  Expected frames are written by hand.
"""

from pathlib import Path

import pandas as pd
import pytest

from riskcheck.fleet.layout import apart
from riskcheck.fleet.tables import Books
from riskcheck.sheets import Grid, read_grids

DATA = Path(__file__).parent / "data"
VEHICLES = [
    ["N1", "Brackmoor", pd.Timestamp("2016-04-01"), 100000.0],  # 160,934.4 km, NIST SP 811
    ["N2", "Tovask", pd.Timestamp("2018-05-02"), 50000.0],
    ["S1", "Brackmoor", None, None],
    ["S2", "Tovask", None, 44000.0],
]
LINES = {
    "Stacked": [
        ["N1", "2024-03-15", "timing belt", 10],
        ["N1", "2024-03-15", "brake hoses", 11],
        ["N1", "2024-03-15", "coolant", 12],
        ["N2", "2024-04-16", "oil", 14],
    ],
    "Beside, columns E to G": [
        ["S1", "2024-01-02", "oil", 2],
        ["S2", "2024-01-03", "timing belt", 3],
        ["S1", "2024-02-04", "tires", 4],
    ],
    "Sections": [
        ["N1", "2025-01-05", "battery test", 5],
        ["N1", "2025-02-06", "alternator", 6],
        ["S2", "2025-03-07", "timing belt", 10],
    ],
    "Merged": [
        ["N2", "2025-05-08", "tires", 3],
        ["N2", "2025-06-09", "wheel torque", 4],
        ["N2", "2025-07-01", "alignment", 5],
    ],
}


def lines(fleet):
    table = fleet.service.assign(day=fleet.service["date_lo"].dt.strftime("%Y-%m-%d"))
    return {
        sheet: rows[["vehicle_id", "day", "line", "row"]].to_numpy(dtype=object).tolist()
        for sheet, rows in table.groupby("sheet", sort=False)
    }


@pytest.mark.parametrize("name", ["shapes.xlsx", "shapes.xls", "shapes.ods", "shapes_csv"])
def test_every_layout_reads_as_a_plain_list_would(name, read, told):
    fleet = read(DATA / name)
    expected = dict(LINES)
    if name == "shapes_csv":
        del expected["Merged"]  # text tables have no merged cells
    assert lines(fleet) == expected
    columns = ["vehicle_id", "make", "in_service_lo", "odometer_mi"]
    found = fleet.vehicles[columns].astype(object)
    found = found.where(found.notna(), None)
    plain = [[*row[:3], round(row[3], 1) if row[3] else None] for row in found.to_numpy().tolist()]
    latest = [["N1", *VEHICLES[0][1:3], 100000.0], *VEHICLES[1:]]
    assert sorted(plain, key=str) == sorted(latest, key=str)
    gone = told(fleet)
    for words in ("title or note", "total or footer", "heading repeated", "no vehicle is named"):
        assert words in gone
    filled = fleet.problems[fleet.problems["reason"].str.contains("same visit")]
    assert filled[filled["sheet"] == "Stacked"]["now"].tolist()[:2] == ["N1", "N1"]
    assert "2 lone rows name the vehicle" in told(fleet, "noted")


def test_a_list_grouped_by_vehicle_is_filled_down_and_said(book, read, told):
    rows = [["Unit", "Date", "Work done"], ["7", "2024-01-02", "oil"]]
    rows += [["", f"2024-0{month}-02", "oil"] for month in range(2, 7)]
    fleet = read(book(V=[["Unit", "Make"], ["7", "Brackmoor"]], W=rows))
    assert fleet.service["vehicle_id"].tolist() == ["7"] * 6
    assert told(fleet, "repaired").count("the line above that names a vehicle") == 5


def test_one_line_without_a_vehicle_is_not_given_to_its_neighbour(book, read, told):
    rows = [["Unit", "Date", "Work done"]]
    rows += [["7", f"2024-0{month}-02", "oil"] for month in range(1, 7)]
    rows.insert(4, ["", "2024-03-09", "whose?"])
    fleet = read(book(V=[["Unit", "Make"], ["7", "Brackmoor"]], W=rows))
    assert "whose?" not in set(fleet.service["line"])
    assert "no vehicle is named on this row" in told(fleet)


def test_blocks_without_a_gap_are_parted_where_the_headings_start_again():
    cells = [["Unit", "Date", "Work done"] * 2, ["1", "2024-01-02", "oil"] * 2]
    grid = Grid("f.csv", "", pd.DataFrame(cells, dtype=object))
    parts = apart(grid, Books({}, {}))
    assert [part.sheet for part in parts] == ["columns A to C", "columns D to F"]
    assert parts[1].address(1, 0) == "D2"


def test_a_blank_column_inside_one_table_parts_nothing():
    cells = [["Unit", "", "Date", "Work done"], ["1", "", "2024-01-02", "oil"]]
    grid = Grid("f.csv", "", pd.DataFrame(cells, dtype=object))
    assert apart(grid, Books({}, {})) == [grid]


@pytest.mark.parametrize("kind", ["xlsx", "xls", "ods"])
def test_error_cells_keep_their_place_in_every_format(kind):
    """LibreOffice calculated the formulas of the .xls and .ods; openpyxl's never were."""
    grid = read_grids(DATA / f"cells.{kind}")[0]
    errors = {grid.address(*cell): text for cell, text in grid.errors.items()}
    if kind == "xlsx":
        assert errors == {}
        assert {grid.address(*cell) for cell in grid.uncomputed} == {"E2", "D3", "C5"}
    else:
        assert errors == {"E2": "#DIV/0!", "C5": "#N/A"}


@pytest.mark.parametrize("kind", ["xlsx", "xls", "ods"])
def test_damaged_cells_read_alike_in_every_format(kind, read, told):
    fleet = read(DATA / f"cells.{kind}")
    assert fleet.vehicles["vehicle_id"].tolist() == ["007", "12", "A-9"]
    assert fleet.vehicles["odometer_mi"].tolist()[1:] == [120500.0, 85000.0]
    assert fleet.vehicles["model_year"].fillna(0).tolist() == [2015, 2010, 0]
    assert fleet.service["vehicle_id"].tolist() == ["007"] * 3 + ["12"] * 2  # zeros lost, unique
    assert "rounded number" in told(fleet, "noted")
    told_cells = told(fleet, "noted")
    assert ("never calculated" if kind == "xlsx" else "shows an error") in told_cells
    if kind != "xlsx":
        assert fleet.vehicles["in_service_lo"].iloc[1] == pd.Timestamp("2012-03-15")


@pytest.mark.parametrize("kind", ["xlsx", "xls", "ods"])
def test_books_that_count_days_from_1904(kind, read):
    """Day 40602 of the 1904 system is 1 March 2015 (ECMA-376 part 1, 18.17.4.1)."""
    fleet = read(DATA / f"book1904.{kind}")
    assert set(fleet.vehicles["in_service_lo"]) == {pd.Timestamp("2015-03-01")}
