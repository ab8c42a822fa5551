"""Planted stories whose answers are known beforehand, and the mess a reader must survive."""

from __future__ import annotations

import datetime as dt

from dice import Dice
from shop_books import Books, Line, Visit
from shop_vehicles import AS_OF, Kind, Vehicle, vin_of

BUS = Kind("Sturven", "Shuttle", "D5.9", (2014, 2014), 1, 13_000, 14_500, 62_000, "diesel")
TRUCK = Kind("Brackmoor", "Haul 25", "D6.6", (2012, 2012), 1, 12_500, 9_900, 52_000, "diesel")
CAMPER = Kind("Tovask", "Carrier", "D3.0", (2013, 2013), 1, 9_000, 9_900, 45_000, "diesel")
WAGON = Kind("Quellin", "Ridge", "P2.5", (2016, 2016), 1, 9_000, 4_900, 30_000, "gas")
PARCEL = Kind("Tovask", "Parcel", "P3.6", (2019, 2019), 1, 42_000, 8_600, 39_000, "gas")
TRAIL = Kind("Brackmoor", "Trail 15", "P5.3", (2011, 2011), 1, 9_500, 6_900, 36_000, "gas")
DROVER = Kind("Halvern", "Drover", "D5.2", (2004, 2004), 1, 4_000, 21_000, 48_000, "diesel")

# unit -> what the tests say about it
STORIES = {
    "1201": "heater changed to the secured style in warm weather, current never measured",
    "B31": "brake hoses found bulging, written down, never repaired: called first",
    "B32": "twin of B31, hoses replaced with the date on file: not called",
    "1202": "heater proven at 94 A both legs and 0.04 V, on a thin ground strap",
    "1203": "our own wheel job last week, no re-torque on file",
    "V31": "a courier van with very many miles that is merely unusual",
    "1204": "heater stud found loose, owner wanted to think about it",
    "1205": "heater code stored, nobody has looked",
    "1206": "heater upgraded, strapped and measured: closed",
    "1207": "brake hoses found cracked, owner declined twice",
    "1208": "heater ground strap found running hot",
    "F31": "farm truck: nobody knows what heater it has",
}


# Done on both twins in the school holidays.
SUMMER_BUS_CARE = (
    ("oil & filter, drain water sep", 0.7, 236.00),
    ("R&R FUEL FLTRS PRI/SEC", 0.7, 205.00),
    ("CCV FILTER R&R, RESET", 0.5, 141.00),
    ("DPF removed & baked, ash reset", 3.2, 690.00),
    ("ball joints & tie rods tight, greased", 0.3, 45.00),
    ("alt 14.3v ok, grounds ok", 0.2, 0.0),
    ("p-brake cables R&R, adj, holds on ramp", 1.6, 388.00),
)


def _add(
    kind: Kind, unit: str, customer: str, duty: str, first: dt.date, serial: int, quiet: bool = True
) -> Vehicle:
    details = f"{kind.make[0]}{kind.model[0]}{kind.engine[-1]}A3".upper().replace("Q", "K")
    vehicle = Vehicle(
        unit,
        kind,
        kind.years[0],
        first,
        customer,
        duty,
        vin_of(kind.years[0], "A", details, serial),
        f"SGE {serial % 900 + 100}",
        kind.yearly_miles,
    )
    vehicle.quiet = quiet
    vehicle.first_visit = max(first + dt.timedelta(days=200), dt.date(2022, 3, 7))
    vehicle.columns = {"Road salt": "Y", "Freezing winters": "Y"}
    return vehicle


def planted(customers: list[str]) -> list[Vehicle]:
    """The vehicles of the stories; ``customers`` are retail keys to own some of them."""
    day = dt.date
    made = [
        _add(TRUCK, "1201", customers[0], "retail", day(2012, 5, 14), 900_011),
        _add(BUS, "B31", "C001", "bus", day(2014, 7, 21), 900_048),
        _add(BUS, "B32", "C001", "bus", day(2014, 7, 21), 900_049),
        _add(CAMPER, "1202", customers[1], "retail", day(2013, 6, 3), 900_122),
        _add(WAGON, "1203", customers[2], "retail", day(2016, 4, 11), 900_159),
        _add(PARCEL, "V31", "C002", "van", day(2019, 2, 18), 900_196),
        _add(TRUCK, "1204", customers[3], "retail", day(2012, 9, 3), 900_233),
        _add(TRUCK, "1205", customers[4], "retail", day(2012, 10, 8), 900_270),
        _add(TRUCK, "1206", customers[5], "retail", day(2012, 3, 26), 900_307),
        _add(TRAIL, "1207", customers[6], "retail", day(2011, 6, 20), 900_381),
        _add(CAMPER, "1208", customers[7], "retail", day(2013, 9, 9), 900_418),
        _add(DROVER, "F31", "C003", "farm", day(2004, 8, 2), 900_344),
    ]
    by_unit = {vehicle.unit: vehicle for vehicle in made}
    by_unit["1202"].columns |= {"Strap mm2": 6, "Strap crimp": "poor"}
    by_unit["1206"].columns |= {"Strap mm2": 35, "Strap crimp": "tool"}
    for unit in ("B31", "B32"):
        by_unit[unit].columns |= {
            "Strap mm2": 35,
            "Strap crimp": "tool",
            "Pipe material": "copper nickel",
        }
        by_unit[unit].scripted = True
    by_unit["V31"].yearly_miles = 44_000.0
    return made


def tell(books: Books, dice: Dice, fleet: dict[str, Vehicle]) -> None:
    """Write down each story."""
    _never_proven(books, dice, fleet["1201"])
    for unit in ("B31", "B32"):
        _bus(books, dice, fleet[unit], repaired=unit == "B32")
    _thin_strap(books, dice, fleet["1202"])
    _wheels_last_week(books, dice, fleet["1203"])
    _high_miles(books, dice, fleet["V31"])
    _loose_and_coded(books, dice, fleet["1204"], fleet["1205"])
    _proven(books, dice, fleet["1206"], dt.date(2024, 11, 12))
    _declined_twice(books, dice, fleet["1207"])
    _hot_strap(books, dice, fleet["1208"])


def _never_proven(books: Books, dice: Dice, vehicle: Vehicle) -> None:
    visit = Visit(books, dice, vehicle, dt.date(2025, 5, 20))
    visit.say("captive stud grid heater upgrade installed, new gaskets", 2.6, 872.40)
    visit.say("did not test heater - too warm")
    Visit(books, dice, vehicle, dt.date(2025, 11, 3)).job("oil_diesel")


def _bus(books: Books, dice: Dice, vehicle: Vehicle, repaired: bool) -> None:
    _proven(books, dice, vehicle, dt.date(2024, 7, 16))
    care = Visit(books, dice, vehicle, dt.date(2025, 7, 22))
    care.say("R&R brake line set, CuNi, bleed", 5.0, 1_040.00)
    care.say("coolant flush, -34F, ph 9", 1.4, 305.00)
    care.say("BRAKE FLUID EXCHANGE W/ABS PURGE", 0.8, 148.00)
    summer = Visit(books, dice, vehicle, dt.date(2026, 7, 28))
    for words, hours, amount in SUMMER_BUS_CARE:
        summer.say(words, hours, amount)
    summer.say("replaced both batteries", 0.6, 426.00)
    summer.say("R&R all tires (6), bal, DOT 2126", 2.4, 1_790.00)
    summer.measure("tyre DOT year", 2026, "")
    summer.measure("coolant freeze point", -34, "F")
    summer.measure("coolant pH", 8.9, "")
    if repaired:
        summer.say(
            "front & rear brake hoses replaced in pairs, flush, hold 125 lb 10s ok", 3.4, 742.00
        )
    else:
        summer.say(
            "brake hoses bulging both frt, cracked to cord RF - showed fleet mgr", 0.3, 45.00
        )
        summer.say("brake hose NOT replaced - part B/O")
    again = Visit(books, dice, vehicle, dt.date(2026, 8, 4))
    again.say("RE-TORQUE 55 MI, ALL 8 OK", 0.3)


def _thin_strap(books: Books, dice: Dice, vehicle: Vehicle) -> None:
    visit = Visit(books, dice, vehicle, dt.date(2024, 12, 3))
    visit.say("captive stud grid heater upgrade installed", 2.6, 790.00)
    visit.say("installed ground strap htr plate to block, 94 amps both legs", 0.5, 98.00)
    visit.say("ck htr ground ok .04v drop", 0.2, 30.00)
    visit.measure("heater feed current", 94, "A")
    visit.measure("heater return current", 94, "A")
    visit.measure("heater ground drop", 0.04, "V")


def _proven(books: Books, dice: Dice, vehicle: Vehicle, day: dt.date) -> None:
    visit = Visit(books, dice, vehicle, day)
    visit.say("captive stud grid heater upgrade installed", 2.6, 872.40)
    visit.say("installed ground strap htr plate to block, 181 amps both legs", 0.6, 128.00)
    visit.say("strap drop .05v, lug 12C over block after 60 s")
    visit.measure("heater feed current", 181, "A")
    visit.measure("heater return current", 180, "A")
    visit.measure("heater ground drop", 0.05, "V")
    visit.measure("strap drop", 0.05, "V")
    visit.measure("strap lug rise", 12, "C")


def _wheels_last_week(books: Books, dice: Dice, vehicle: Vehicle) -> None:
    visit = Visit(books, dice, vehicle, dt.date(2026, 9, 25))
    visit.say("R&R frt pads & rotors, rotate tires, rusty hubs cleaned", 1.9, 512.00)
    visit.say("cust will return for re-torque")


def _high_miles(books: Books, dice: Dice, vehicle: Vehicle) -> None:
    visit = Visit(books, dice, vehicle, dt.date(2026, 8, 18))
    visit.say("PM: LOF, all hoses & lines ok, tires 9/32, batt 720/730 ok", 1.2, 232.00)
    visit.say("brake hoses ok lock to lock")
    visit.say("underside ck, lines ok")


def _loose_and_coded(books: Books, dice: Dice, loose: Vehicle, coded: Vehicle) -> None:
    first = Visit(books, dice, loose, dt.date(2026, 9, 10))
    first.say("intake heeter bolt loose see pics", 0.4, 60.00)
    first.say("rec'd grid heater repl - customer declined, will think")
    second = Visit(books, dice, coded, dt.date(2026, 3, 17))
    second.job("oil_diesel")
    second.say("ck eng light on, P0541 stored, cust short on time")
    second.code("P0541", "intake heater circuit low")


def _declined_twice(books: Books, dice: Dice, vehicle: Vehicle) -> None:
    spring = Visit(books, dice, vehicle, dt.date(2026, 4, 14))
    spring.job("oil")
    spring.say("brake hoses cracked at bracket RF, quoted, cust declined", 0.2, 30.00)
    again = Visit(books, dice, vehicle, dt.date(2026, 8, 25))
    again.say("brake hoses still cracked, declined again, initialed", 0.2, 0.0)


def _hot_strap(books: Books, dice: Dice, vehicle: Vehicle) -> None:
    first = Visit(books, dice, vehicle, dt.date(2023, 10, 24))
    first.say("captive stud grid heater upgrade installed", 2.6, 790.00)
    first.say("installed ground strap htr plate to block, 93 amps both legs", 0.5, 98.00)
    second = Visit(books, dice, vehicle, dt.date(2026, 2, 10))
    second.say("htr ground strap getting hot, insulation brown - advise larger", 0.3, 45.00)


def mess(books: Books, fleet: dict[str, Vehicle]) -> None:
    """Rows as they really come out of shops: typing slips, wrong units, dates that cannot be."""
    by_unit: dict[str, list[Line]] = {}
    for line in books.lines:
        by_unit.setdefault(line.vehicle.unit, []).append(line)
    units = [unit for unit, lines in by_unit.items() if len(lines) > 8 and unit not in STORIES]
    by_unit[units[0]][3].odometer *= 10
    for line in by_unit[units[5]][2:4]:
        line.odometer = round(line.odometer * 1.609344)
    by_unit[units[9]][4].odometer //= 10
    by_unit[units[12]][5].day = dt.date(2062, by_unit[units[12]][5].day.month, 12)
    by_unit[units[15]][2].odometer = 999_999
    by_unit[units[20]][4].odometer = 0
    for position in (25, 31, 40):
        fleet[units[position]].vin = ""
    swapped = fleet[units[44]]
    swapped.vin = swapped.vin[:11] + swapped.vin[12] + swapped.vin[11] + swapped.vin[13:]
    fleet[units[50]].state = "sold"
    fleet[units[61]].state = "sold"


def extra_lines(vehicle: Vehicle) -> list[Line]:
    """An estimate that was never work, a voided line, a part sold over the counter."""
    day = AS_OF - dt.timedelta(days=40)
    miles = vehicle.odometer(day)
    return [
        Line(day, vehicle, miles, "EST: front brake hoses pr, flush", 2.2, 458.0, "estimate", "RJ"),
        Line(day, vehicle, miles, "VOID - battery replaced", 0.4, -212.0, "void", "RJ"),
        Line(
            day,
            vehicle,
            miles,
            "cust bought batt terminal kit, no install",
            0.0,
            11.5,
            "closed",
            "RJ",
        ),
    ]
