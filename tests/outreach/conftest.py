"""A small invented fleet whose people and words are as awkward as possible, and its campaign."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from pathlib import Path

import openpyxl
import pytest

from riskcheck.ledger import Ledger, open_ledger
from riskcheck.outreaching import Campaign, outreach

AS_OF = dt.date(2026, 10, 1)
AT = dt.datetime(2026, 10, 1, 9, 30)
ONLY = ("brake-hose-ageing", "tyre-age-tread", "timing-belt-overdue")
SHOP = """
shop:
  name: Teasel Lane Garage
  phone: "+14065550199"
  address: 4 Teasel Lane, Sedgewater
  email: desk@example.org
"""
# Seeded marks: they must turn up only where a person's data may stand.
FORMULA = '=HYPERLINK("http://example.org/x","click")'
PEOPLE = [
    # id, name, phone, email, address, kind, call, text, email consent, opt out, notes
    ("C1", FORMULA, "(406) 555-0101", "anna@example.com", "1 Quince Row", "retail", "Y", "Y", "Y",
     None, "@SUM(1+1)*cmd"),
    ("C2", "Bertil Quernstone", "(406) 555-0102", "bertil@example.com", "2 Quince Row", "retail",
     "N", "Y", "N", None, None),
    ("C3", "Cleva Will Fail Recall", "(406) 555-0103", "cleva@example.com", "3 Quince Row",
     "retail", "N", "N", "Y", None, None),
    ("C4", "Dorrit Haverlock", "(406) 555-0104", "dorrit@example.com", "4 Quince Row", "retail",
     None, None, None, "x", None),
    ("C5", "Ewart Sallowfield", "(406) 555-0105", None, "5 Quince Row", "retail", None, None, None,
     None, "works nights"),
]  # fmt: skip


@pytest.fixture(scope="session")
def fleet_file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Five owners of old vehicles with rubber hoses, a find, a refusal and a contact log."""
    book = openpyxl.Workbook()
    vehicles = book.active
    vehicles.title = "Vehicles"
    vehicles.append(["Unit #", "VIN", "Cust #", "Make", "Model", "Engine", "Year", "In service",
                     "Use", "Odometer", "Odo date", "Road salt"])  # fmt: skip
    service = book.create_sheet("Service")
    service.append(["RO #", "Date", "Unit #", "Mileage", "Description"])
    for number in range(1, 6):
        unit = f"U90{number}"
        vehicles.append([unit, f"0S7SS9D40EA99000{number}", f"C{number}", "Sturven", "Shuttle",
                         "D5.9", 2008, dt.datetime(2008, 6, 1), "bus", 160_000 + number,
                         dt.datetime(2026, 9, 1), "Y"])  # fmt: skip
        for year in range(2022, 2027):
            service.append([year * 10 + number, dt.datetime(year, 5, 10), unit,
                            100_000 + (year - 2021) * 10_000, "LOF, ck lights"])  # fmt: skip
    service.append([1, dt.datetime(2026, 8, 3), "U905", 158_000, "brake hoses bulging both frt"])
    service.append([2, dt.datetime(2025, 3, 3), "U901", 140_000, "rec brake hoses, cust declined"])
    customers = book.create_sheet("Customers")
    customers.append(["Cust #", "Name", "Phone", "Email", "Address", "Kind", "OK to call",
                      "OK to text", "OK to email", "Opt out", "Notes"])  # fmt: skip
    for person in PEOPLE:
        customers.append(list(person))
    for row in customers.iter_rows(min_row=2):
        for cell in row:
            if isinstance(cell.value, str):
                cell.data_type = "s"
    path = tmp_path_factory.mktemp("fleet") / "small.xlsx"
    book.save(path)
    return path


@pytest.fixture(scope="session")
def shop_rules(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A shop's own rules folder: who it is."""
    folder = tmp_path_factory.mktemp("shop")
    (folder / "policy.yaml").write_text(SHOP, encoding="utf-8")
    return folder


@pytest.fixture
def ledger(tmp_path: Path) -> Iterator[Ledger]:
    with open_ledger(tmp_path / "ledger.sqlite") as opened:
        yield opened


@pytest.fixture(scope="session")
def campaign(
    fleet_file: Path, shop_rules: Path, tmp_path_factory: pytest.TempPathFactory
) -> Campaign:
    """The first campaign on an empty ledger."""
    where = tmp_path_factory.mktemp("first") / "ledger.sqlite"
    with open_ledger(where) as empty:
        return outreach(fleet_file, as_of=AS_OF, ledger=empty, rules=[shop_rules], only=ONLY)
