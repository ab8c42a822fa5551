"""Writes ``sample_data/fleet.xlsx``: the invented shop's own workbook.

    python sample_data/make_sample.py [OUT.xlsx]

Same script, same bytes.  Everything in it is invented: the shop, the valley, the people, the
makes and what happened to every vehicle.
"""

from __future__ import annotations

import datetime as dt
import sys
from pathlib import Path

from dice import Dice, listed
from shop_books import Books, Line
from shop_people import CUSTOMER_HEADINGS, Customer, people
from shop_stories import extra_lines, mess, planted, tell
from shop_vehicles import AS_OF, Vehicle, fleet
from shop_work import live

from riskcheck.sheets import Column, Sheet, Workbook, workbook_bytes

SEED = 20_261_001
RETAIL_CUSTOMERS = 118
FIRST_ORDER = 20_417
DATE = "yyyy-mm-dd"
DATED = frozenset(
    {"Date", "In service", "Odo date", "Booked for", "Week of", "From", "To", "Fixed date"}
    | {"Due date"}
)
ABOUT = (
    "Teasel Lane Garage, Sedgewater Valley: the shop's own workbook",
    "",
    "EVERYTHING IN THIS WORKBOOK IS INVENTED, for trying out riskcheck.",
    "There is no such shop, valley, customer, company, vehicle, make, model or engine.",
    "Telephone numbers end in 555-0100 to 555-0199, a range kept for fiction; e-mail addresses",
    "use example.com and example.org, which nobody can own; VINs start with 0S7, a maker code",
    "that is not assigned.  Any likeness to a real person or business is chance.",
    "",
    "The story so far: it is 1 October 2026, two or three weeks before the first frost.  The shop",
    "has four bays and three technicians (DK, MO, RJ), and looks after retail customers and three",
    "small fleets: a school-bus contractor (units B..), a courier (V..) and a farm co-op (F..).",
    "The lines were typed at the counter since 2022, by whoever was free; older paper is lost.",
    "Some are wrong, as in any shop's book.",
    "",
    "Sheets: Vehicles, Service, Measurements, Fault codes, Customers, Contact log, Appointments,",
    "Bay hours, Bays, Technicians, Away, Parts, Fixed dates, Service due.  Odometers are miles",
    "unless they are not.",
)
VEHICLE_HEADINGS = listed(
    "Unit #,VIN,Plate,Cust #,Make,Model,Engine,Year,In service,Use,Odometer,Odo date,GVWR lb,"
    "Value $,Status,Road salt,Freezing winters,Short trips,Tows often,Underside washed,"
    "Battery type,Grid heater,Strap mm2,Strap crimp,Pipe material"
)
SERVICE_HEADINGS = listed("RO #,Date,Unit #,VIN,Mileage,Description,Labor hrs,Amount,Status,Tech")
ASKED_FROM = VEHICLE_HEADINGS.index("Road salt")


def _vehicle_row(dice: Dice, vehicle: Vehicle, last: Line | None) -> list[object]:
    known = dice.chance(0.7) or vehicle.quiet
    worth = vehicle.kind.price * 0.86 ** ((AS_OF - vehicle.in_service).days / 365.25)
    return [
        vehicle.unit,
        vehicle.vin,
        vehicle.plate,
        vehicle.customer,
        vehicle.kind.make,
        vehicle.kind.model,
        vehicle.kind.engine,
        vehicle.year,
        vehicle.in_service if known else None,
        vehicle.duty,
        vehicle.odometer(last.day) if last else None,
        last.day if last else None,
        vehicle.kind.gvwr_lb if dice.chance(0.8) else None,
        max(round(worth, -2), 1500) if dice.chance(0.85) else None,
        vehicle.state,
        *(vehicle.columns.get(name) for name in VEHICLE_HEADINGS[ASKED_FROM:]),
    ]


def _service_row(dice: Dice, line: Line) -> list[object]:
    """A counter clerk's row: now and then a date as text, an odometer with a unit or none."""
    day: object = line.day
    if dice.chance(0.02):
        day = f"{line.day:%m/%d/%Y}"
    odometer: object = line.odometer
    if dice.chance(0.02):
        odometer = f"{line.odometer:,} mi"
    elif dice.chance(0.015):
        odometer = dice.pick(("n/a", "", "see unit"))
    vin = line.vehicle.vin if dice.chance(0.97) else line.vehicle.vin[-8:]
    return [
        line.order or None,
        day,
        line.vehicle.unit,
        vin,
        odometer,
        line.words,
        line.hours or None,
        line.amount or None,
        line.status,
        line.tech,
    ]


def _contact_rows(
    dice: Dice, customers: list[Customer], vehicles: list[Vehicle]
) -> list[list[object]]:
    results = (
        "booked",
        "left voicemail",
        "will call back",
        "declined",
        "no answer",
        "booked",
        "wants price by text",
        "wrong number",
    )
    topics = (
        "oil service due",
        "tires",
        "battery test before frost",
        "annual inspection",
        "brake hoses",
        "grid heater",
        "wheel re-torque",
    )
    rows: list[list[object]] = []
    owned: dict[str, list[Vehicle]] = {}
    for vehicle in vehicles:
        owned.setdefault(vehicle.customer, []).append(vehicle)
    for customer in customers:
        for _ in range(dice.pick((0, 0, 1, 1, 2))):
            day = AS_OF - dt.timedelta(days=dice.whole(6, 420))
            day -= dt.timedelta(days=max(day.weekday() - 4, 0))
            vehicle = dice.pick(owned.get(customer.key, vehicles))
            rows.append(
                [
                    day,
                    customer.key,
                    vehicle.unit,
                    dice.pick(("phone", "phone", "text", "email")),
                    dice.pick(topics),
                    dice.pick(results),
                    dice.pick(("", "", "call after 4", "spoke w/ spouse")),
                ]
            )
    return sorted(rows, key=lambda row: (row[0], row[1]))  # type: ignore[arg-type]


def _bay_rows() -> list[list[object]]:
    first = dt.date(2026, 10, 5)
    rows: list[list[object]] = []
    for week in range(13):
        monday = first + dt.timedelta(weeks=week)
        note = {
            3: "winter tire rush starts",
            7: "holiday week, 3 days",
            11: "closed Dec 24-26",
        }.get(week, "")
        rows.append([monday, 62 if week == 7 else 48 if week == 11 else 98, "all", 4, note])
    return rows


def _away_rows() -> list[list[object]]:
    """Who and what is not there: harvest, school trips, leave, closed days."""
    rows: list[list[object]] = [
        [f"F{number:02d}", "", "", AS_OF, dt.date(2026, 10, 10), "harvest"]
        for number in range(7, 12)
    ]
    rows += [
        ["", "", "MO", dt.date(2026, 10, 19), dt.date(2026, 10, 23), "leave"],
        ["", "", "DK", dt.date(2026, 11, 9), dt.date(2026, 11, 10), "course"],
    ]
    for bay in ("1", "2", "3", "4"):
        rows.append(["", bay, "", dt.date(2026, 11, 26), dt.date(2026, 11, 27), "closed, holiday"])
        rows.append(["", bay, "", dt.date(2026, 12, 24), dt.date(2026, 12, 25), "closed"])
    return rows


def _shop_sheets() -> list[Sheet]:
    """What a plan has to respect: bays, people, absences, parts, dates fixed elsewhere."""
    bays = [
        ["1", 8, "two-post lift", 11_000, ""],
        ["2", 8, "two-post lift; alignment", 11_000, ""],
        ["3", 8, "four-post lift", 16_000, ""],
        ["4", 8, "pit", 33_000, "door 3.6 m"],
    ]
    people = [
        ["DK", "A brakes; A diesel; A electrical; A alignment; high voltage", 8, ""],
        ["MO", "B brakes; B diesel; B electrical; B alignment", 8, ""],
        ["RJ", "C", 8, "started in spring"],
    ]
    parts = [
        ["brake hose set", 2, 4, "brake hoses in axle pairs", 88, ""],
        ["grid heater, captive stud", 0, 12, "heater-stud-drop", 365, "two suppliers"],
        ["25 mm2 strap, crimped", 6, 2, "heater-ground-strap-hot", 31, ""],
        ["fuel filter kit", 10, 2, "fuel-filter-overdue", 74, ""],
        ["battery group 65", 4, 1, "battery-age-parasitic", 240, ""],
        ["belt kit", 1, 6, "timing-belt-overdue", 390, ""],
        ["pump, exchange", 0, 15, "hp-fuel-pump-wear", 1480, "core charge"],
    ]
    fixed = [
        ["B03", "annual inspection", dt.date(2026, 11, 20), ""],
        ["B09", "annual inspection", dt.date(2026, 12, 4), ""],
        ["V11", "lease return", dt.date(2026, 12, 1), 3],
    ]
    due = [
        ["B01", "PM-A", dt.date(2026, 10, 20), "", 1.0],
        ["B02", "PM-A", dt.date(2026, 10, 28), "", 1.0],
        ["V02", "PM-B", dt.date(2026, 11, 3), "", 2.0],
        ["V07", "oil service", dt.date(2026, 10, 14), "", 0.6],
    ]
    return [
        _sheet(
            "Bays", listed("Bay,Hours per day,Equipment,Max weight lb,Notes"), bays,
            {"Equipment": 26},
        ),
        _sheet(
            "Technicians", listed("Technician,Skills,Hours per day,Notes"), people, {"Skills": 58}
        ),
        _sheet("Away", listed("Unit #,Bay,Technician,From,To,Why"), _away_rows(), {"Why": 22}),
        _sheet(
            "Parts",
            listed("Part,On hand,Lead days,For job,Unit cost,Notes"), parts,
            {"Part": 28, "For job": 28},
        ),
        _sheet(
            "Fixed dates", listed("Unit #,What is due,Fixed date,Tolerance days"), fixed,
            {"What is due": 24},
        ),
        _sheet(
            "Service due", listed("Unit #,Service due,Due date,Due miles,Hours"), due,
            {"Service due": 18},
        ),
    ]  # fmt: skip


def _sheet(
    name: str, headings: list[str], rows: list[list[object]], wide: dict[str, float]
) -> Sheet:
    columns = [
        Column(
            heading,
            width=wide.get(heading, 12.0),
            number_format=DATE if heading in DATED else "#,##0.00" if heading == "Amount" else "",
        )
        for heading in headings
    ]
    return Sheet(name, columns, rows, freeze_columns=1)


def _number_orders(lines: list[Line]) -> None:
    """Sort by visit and number the repair orders as the counter did, in order of date."""
    lines.sort(key=lambda line: (line.day, line.order))
    numbers: dict[int, int] = {}
    for line in lines:
        line.order = numbers.setdefault(line.order, FIRST_ORDER + len(numbers))


def build() -> Workbook:
    """The whole workbook, from the seed alone."""
    dice = Dice(SEED)
    customers = people(dice, RETAIL_CUSTOMERS)
    vehicles = fleet(dice, customers) + planted([c.key for c in customers[5:13]])
    by_unit = {vehicle.unit: vehicle for vehicle in vehicles}
    books = Books()
    for vehicle in vehicles:
        live(books, dice, vehicle)
    tell(books, dice, by_unit)
    mess(books, by_unit)
    books.lines.extend(extra_lines(by_unit["1010"]))
    _number_orders(books.lines)
    last: dict[str, Line] = {}
    for line in books.lines:
        if line.day <= AS_OF:
            last[line.vehicle.unit] = line
    vehicle_rows = [_vehicle_row(dice, v, last.get(v.unit)) for v in vehicles]
    vehicle_rows.insert(9, list(vehicle_rows[8]))  # typed twice
    service_rows = [_service_row(dice, line) for line in books.lines]
    service_rows.insert(
        700, [None, dt.date(2023, 4, 4), "B99", "", 81_220, "LOF", 0.5, 127.0, "closed", "MO"]
    )
    booked = [
        ["1202", dt.date(2026, 10, 8), "LOF, ck slow crank"],
        ["B05", dt.date(2026, 10, 6), "PM-A"],
        ["1044", dt.date(2026, 10, 13), "winter tires"],
    ]
    return Workbook(
        sheets=[
            Sheet(
                "About this workbook",
                [Column("", width=100)],
                [[text] for text in ABOUT],
                show_headings=False,
                filters=False,
            ),
            _sheet("Vehicles", VEHICLE_HEADINGS, vehicle_rows, {"VIN": 21}),
            _sheet("Service", SERVICE_HEADINGS, service_rows, {"Description": 62, "VIN": 21}),
            _sheet(
                "Measurements",
                listed("Unit #,Date,Mileage,Measured,Reading,Unit of measure,Tech"),
                sorted(books.measured, key=lambda r: (r[1], r[0])),
                {"Measured": 26},
            ),  # type: ignore[arg-type]
            _sheet(
                "Fault codes",
                listed("Unit #,Date,Code,Description,Mileage"),
                books.codes,
                {"Description": 34},
            ),
            _sheet(
                "Customers",
                CUSTOMER_HEADINGS,
                [c.row() for c in customers],
                {"Name": 26, "Notes": 34},
            ),
            _sheet(
                "Contact log",
                listed("Date,Cust #,Unit #,How,About,Result,Notes"),
                _contact_rows(dice, customers, vehicles),
                {"About": 26},
            ),
            _sheet("Appointments", listed("Unit #,Booked for,Work"), booked, {"Work": 30}),
            _sheet(
                "Bay hours",
                listed("Week of,Bay hours,Skill,Bays,Notes"),
                _bay_rows(),
                {"Notes": 28},
            ),
            *_shop_sheets(),
        ],
        title="Teasel Lane Garage (invented)",
    )


def main(path: Path) -> None:
    """Write the workbook to ``path``."""
    path.write_bytes(workbook_bytes(build()))
    print(f"wrote {path}")


if __name__ == "__main__":
    here = Path(__file__).resolve().parent
    main(Path(sys.argv[1]) if len(sys.argv) > 1 else here / "fleet.xlsx")
