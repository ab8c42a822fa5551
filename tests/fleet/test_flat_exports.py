"""Exports with vehicle cells repeated on every visit; data invented, expectations by hand."""

import pandas as pd
import pytest

VIN_A, VIN_B = "1M8GDM9AXKP042788", "1ZZAA1AA0AA000005"  # both pass 49 CFR 565.15(c)
HEADINGS = ["Unit", "VIN", "Make", "Year", "Customer", "Date", "Mileage", "Work done"]


def entries(fleet, action):
    rows = fleet.problems[fleet.problems["action"] == action]
    return rows[["cell", "was", "now"]].to_numpy().tolist()


@pytest.mark.parametrize("name", ["fleet.xlsx", "fleet.csv"])
def test_cells_that_disagree_are_listed_and_the_newest_is_followed(book, read, told, name):
    rows = [
        HEADINGS,
        ["7", VIN_A, "Brackmoor", 2016, "C2", "2024-05-01", 52000, "oil"],
        ["7", VIN_A, "Brackmore", 2015, "C1", "2022-05-01", 30000, "timing belt"],
        ["7", VIN_A, "", "", "C2", "2025-05-01", 61000, "oil"],
        ["7", VIN_A, "BRACKMOOR", 2016, "C2", "2023-05-01", 41000, "oil"],
    ]
    path = book(V=rows)
    if name.endswith("csv"):
        path = path.with_name(name)
        pd.DataFrame(rows[1:], columns=HEADINGS).to_csv(path, index=False)
    fleet = read(path)
    assert fleet.vehicles[["vehicle_id", "make", "model_year", "customer_id"]].to_numpy(
        dtype=object
    ).tolist() == [["7", "Brackmoor", 2016, "C2"]]
    assert entries(fleet, "repaired") == [
        ["C3", "Brackmore", "Brackmoor"],
        ["D3", "2015", "2016"],
        ["E3", "C1", "C2"],
    ]
    assert "the former owner's consent does not" in told(fleet, "repaired")
    assert len(fleet.service) == 4  # the history stays
    (tally,) = fleet.tallies
    assert (tally.used, tally.repaired, tally.set_aside) == (4, 1, 0)


def test_one_vin_is_one_vehicle_and_a_number_used_again_is_two(book, read, told):
    rows = [
        HEADINGS,
        ["7", VIN_A, "Brackmoor", 2012, "", "2019-05-01", 152000, "oil"],
        ["7", "", "", "", "", "2019-03-01", 150000, "timing belt"],
        ["", VIN_A, "", "", "", "2019-08-01", 155000, "oil"],
        ["7", VIN_B, "Tovask", 2020, "", "2020-05-01", 1200, "oil"],
        ["7", "", "", "", "", "2021-05-01", 14000, "timing belt"],
        ["7", "", "", "", "", "2020-01-15", 9000, "between the two"],
    ]
    fleet = read(book(V=rows))
    assert fleet.vehicles[["vehicle_id", "vin"]].to_numpy().tolist() == [
        ["7", VIN_A],
        ["7/000005", VIN_B],
    ]
    assert fleet.service[["vehicle_id", "row"]].to_numpy().tolist() == [
        ["7", 2], ["7", 3], ["7", 4], ["7/000005", 5], ["7/000005", 6],
    ]  # fmt: skip
    assert "settled by date" in told(fleet, "repaired")
    assert "more than one vehicle goes by '7'" in told(fleet)


def test_a_number_used_again_on_the_vehicle_sheet_is_settled_by_date(book, read, told):
    vehicles = [
        ["Unit", "VIN", "Make", "In service", "Status", "Sold date"],
        ["12", VIN_A, "Brackmoor", "2010-04-01", "sold", "2018-06-30"],
        ["12", VIN_B, "Tovask", "2018-09-01", "active", ""],
    ]
    work = [
        ["Unit", "Date", "Work done"],
        ["12", "2017-01-01", "oil"],
        ["12", "2019-01-01", "timing belt"],
        ["12", "2018-08-01", "whose?"],
    ]
    fleet = read(book(V=vehicles, W=work))
    assert fleet.service[["vehicle_id", "line"]].to_numpy().tolist() == [
        ["12", "oil"],
        ["12/000005", "timing belt"],
    ]
    assert fleet.vehicles["state"].tolist() == ["sold", "active"]
    assert "more than one vehicle" in told(fleet)
