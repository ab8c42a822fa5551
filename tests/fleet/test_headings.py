"""What headings are taken for, and what is only suggested; headings as shops write them."""

import pytest

from riskcheck.fleet.fields import KIND_BY_NAME
from riskcheck.fleet.headings import HeadingBook

BOOKS = {
    name: HeadingBook({field.name: field.words for field in kind.fields})
    for name, kind in KIND_BY_NAME.items()
}


@pytest.mark.parametrize(
    ("kind", "heading", "field"),
    [
        ("vehicles", "Odometr", "odometer"),
        ("vehicles", "Manufacter", "make"),
        ("vehicles", "In-Service Dt", ""),
        ("vehicles", "Licence Plate No.", "plate"),
        ("vehicles", "VehicleID", "vehicle_id"),
        ("vehicles", "Gross Vehicle Wt Rating", ""),
        ("service", "Descripton", "line"),
        ("service", "Work Perfomed", "line"),
        ("service", "Servce Date", "date"),
    ],
)
def test_misspelt_headings(kind, heading, field):
    found = BOOKS[kind].match(heading)
    assert found.field == field or (field and found.instead == (field,))


@pytest.mark.parametrize(
    ("kind", "heading", "never"),
    [
        ("vehicles", "Last Svc Date", "in_service"),
        ("vehicles", "Next Svc Date", "in_service"),
        ("vehicles", "Service due", "in_service"),
        ("vehicles", "Trade name", "make"),
        ("vehicles", "Lease end", "warranty_end"),
        ("vehicles", "Owner's phone", "customer_id"),
        ("vehicles", "Engine oil", "engine"),
        ("vehicles", "Fuel model", "model"),
        ("service", "Next Due Date", "date"),
        ("service", "Date of birth", "date"),
        ("service", "Next odometer", "odometer"),
        ("service", "Not approved by", "approved"),
        ("customers", "Phone model", "phone"),
    ],
)
def test_headings_that_only_look_alike_are_not_even_suggested(kind, heading, never):
    found = BOOKS[kind].match(heading)
    assert found.field != never
    assert never not in found.instead


VEHICLES = [["Unit", "Make", "Odometr", "Last Svc Date"], ["7", "Brackmoor", 84_000, "2026-01-05"]]


def test_cells_speak_against_a_near_heading(book, read):
    fleet = read(book(V=VEHICLES))
    assert fleet.vehicles["odometer_mi"].tolist() == [84_000.0]
    report = fleet.reports.set_index("heading")
    assert report.loc["Last Svc Date", "field"] == ""
    assert report.loc["Last Svc Date", "how"] == "not understood"
    text = [VEHICLES[0], ["7", "Brackmoor", "needs a look", "2026-01-05"]]
    report = read(book(V=text)).reports.set_index("heading")
    assert report.loc["Odometr", "field"] == ""
    assert report.loc["Odometr", "how"].startswith("not understood")


def test_the_offered_mapping_is_read_back_and_changes_nothing_but_what_was_filled_in(
    book, read, tmp_path
):
    from riskcheck.fleet import parse_mapping, write_mapping

    path = book(V=[["Wagen", "Unit", "Make"], ["W-1", "7", "Brackmoor"]])
    first = read(path)
    offered = write_mapping(first, tmp_path / "mapping.csv")
    again = read(path, mapping=parse_mapping([str(offered)], _empty()))
    assert again.vehicles.equals(first.vehicles)
    filled = offered.read_text(encoding="utf-8").replace('"Wagen",""', '"Wagen","vehicle_id"')
    offered.write_text(filled, encoding="utf-8")
    mapped = read(path, mapping=parse_mapping([str(offered)], _empty()))
    assert mapped.vehicles[["vehicle_id", "unit"]].to_numpy().tolist() == [["W-1", "7"]]


def _empty():
    from riskcheck.vocabulary import Vocabulary

    return Vocabulary({})
