"""A shop with seven vehicles, small enough to be judged in a second.  All of it is invented."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from pathlib import Path

from riskcheck.assessment import Assessment
from riskcheck.sheets import Column, Sheet, Workbook, write_workbook

# What the fixtures "judge" and "office" hand out.
Judge = Callable[..., Assessment]
Edit = Callable[[Path, Path, list[list[object]]], None]
AS_OF = dt.date(2026, 10, 1)
HAZARDS = ("brake-hose-ageing", "timing-belt-overdue", "battery-age-parasitic")
PEOPLE = {
    "C1": ("Ada Quillfen", "(406) 555-0142", "ada@example.org", "1 Sedge Lane"),
    "C2": ("Bo Tarnwick", "(406) 555-0143", "bo@example.org", "2 Sedge Lane"),
    "C3": ("Cleo Marsh", "(406) 555-0144", "cleo@example.org", "3 Sedge Lane"),
}
VEHICLES = [
    # unit, VIN, customer, year, in service, odometer, timing drive, interference
    ("V1", "0S7SS9D40EA100001", "C1", 2004, "2004-05-01", 148000, "dry belt", "yes"),
    ("V2", "0S7SS9D40EA100002", "C1", 2013, "2013-06-01", 126000, "dry belt", "yes"),
    ("V3", "0S7SS9D40EA100003", "C2", 2009, "2009-03-01", 171000, "chain", "yes"),
    ("V4", "0S7SS9D40EA100004", "C2", 2015, "2015-02-01", 88000, "dry belt", "no"),
    ("V5", "0S7SS9D40EA100005", "C3", 2011, "2011-08-01", 139000, "", ""),
    ("V6", "0S7SS9D40EA100006", "C3", 2008, "2008-04-01", 183000, "dry belt", "yes"),
    ("V7", "0S7SS9D40EA100007", "C3", 2016, "2016-09-01", 97000, "chain", "no"),
]
ODOMETERS_READ = "2026-09-15"
LINES = [
    ("V1", "2019-03-04", 81000, "replaced timing belt kit incl tensioner and water pump"),
    ("V2", "2026-02-10", 121000, "brake hose LF found cracked, customer declined"),
    ("V3", "2014-05-02", 70000, "replaced all brake hoses, flushed fluid"),
    ("V5", "2026-06-03", 136000, "oil change"),
    ("V6", "2026-07-08", 181000, "brake hose RR found leaking, declined today"),
    ("V7", "2026-08-01", 96000, "oil change"),
]


def write_fleet(path: Path, more_lines: list[tuple[str, str, int, str]] | None = None) -> Path:
    """The shop's workbook, with ``more_lines`` (unit, day, miles, words) under its history."""
    vehicle_columns = ["Unit #", "VIN", "Cust #", "Year", "In service", "Odometer", "Timing drive",
                       "Interference engine", "Odo date"]  # fmt: skip
    history = ["Unit #", "Date", "Mileage", "Description", "Status"]
    lines = [*LINES, *(more_lines or [])]
    people = ["Cust #", "Name", "Phone", "Email", "Address", "OK to call"]
    return write_workbook(
        path,
        Workbook(
            [
                _sheet("Vehicles", vehicle_columns, [[*row, ODOMETERS_READ] for row in VEHICLES]),
                _sheet("Service", history, [[u, day, mi, w, "closed"] for u, day, mi, w in lines]),
                _sheet("Customers", people, [[c, *who, "yes"] for c, who in PEOPLE.items()]),
            ]
        ),
    )


def _sheet(name: str, headings: list[str], rows: list[list[object]]) -> Sheet:
    return Sheet(name, [Column(heading) for heading in headings], rows)
