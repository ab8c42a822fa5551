"""Vehicles of the invented shop: makes from ``rules/platforms.yaml``, all of them invented.

VINs begin with 0S7: ISO 3780 has assigned no maker code that begins with 0 (from memory).  Their
check digits are right (49 CFR 565.15), so that a reader may test them.
"""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass, field

from dice import Dice
from shop_people import Customer

AS_OF = dt.date(2026, 10, 1)
MAKER_CODE = "0S7"
VIN_VALUES = dict(
    zip(
        "0123456789ABCDEFGHJKLMNPRSTUVWXYZ",
        [*range(10), *range(1, 9), *range(1, 6), 7, 9, *range(2, 10)],
        strict=True,
    )
)
VIN_WEIGHTS = (8, 7, 6, 5, 4, 3, 2, 10, 0, 9, 8, 7, 6, 5, 4, 3, 2)
FLEET_SIZE = 67  # buses, vans and farm trucks come first
YEAR_CODES = "ABCDEFGHJKLMNPRSTVWXY123456789"  # 1980 onwards, every 30 years again


@dataclass(frozen=True)
class Kind:
    """One platform in one owner's hands: how many, which years, yearly miles, weight, price."""

    make: str
    model: str
    engine: str
    years: tuple[int, int]
    count: int
    yearly_miles: float
    gvwr_lb: int
    price: int
    fuel: str


BUSES = (
    Kind("Sturven", "Shuttle", "D5.9", (2011, 2018), 12, 13_500, 14_500, 62_000, "diesel"),
    Kind("Sturven", "Shuttle", "P6.8", (2016, 2024), 9, 12_500, 14_500, 58_000, "gas"),
)
VANS = (
    Kind("Tovask", "Carrier", "D3.0", (2014, 2018), 6, 24_000, 9_900, 44_000, "diesel"),
    Kind("Tovask", "Carrier", "D3.0", (2019, 2024), 6, 26_000, 9_900, 47_000, "diesel"),
    Kind("Tovask", "Parcel", "P3.6", (2017, 2024), 10, 22_000, 8_600, 39_000, "gas"),
    Kind("Orrindale", "Combi", "D2.0", (2012, 2016), 4, 17_000, 6_600, 28_000, "diesel"),
)
FARM = (
    Kind("Halvern", "Drover", "D5.2", (1998, 2008), 6, 4_500, 21_000, 48_000, "diesel"),
    Kind("Halvern", "Stakebed", "D7.2", (2012, 2021), 5, 8_000, 26_000, 82_000, "diesel"),
    Kind("Brackmoor", "Haul 25", "D6.6", (2005, 2016), 6, 11_000, 9_900, 49_000, "diesel"),
    Kind("Brackmoor", "Trail 15", "P5.3", (2008, 2019), 3, 9_000, 6_900, 36_000, "gas"),
)
RETAIL = (
    Kind("Brackmoor", "Haul 25", "D6.6", (2003, 2007), 9, 9_500, 9_600, 46_000, "diesel"),
    Kind("Brackmoor", "Haul 25", "D6.6", (2008, 2017), 17, 12_500, 9_900, 52_000, "diesel"),
    Kind("Brackmoor", "Haul 25", "D6.6", (2018, 2023), 8, 14_000, 9_900, 60_000, "diesel"),
    Kind("Brackmoor", "Trail 15", "P5.3", (2006, 2023), 27, 11_500, 6_900, 38_000, "gas"),
    Kind("Orrindale", "Fen", "P1.8", (2004, 2013), 17, 10_500, 3_900, 21_000, "gas"),
    Kind("Orrindale", "Fen", "P1.0T", (2014, 2023), 16, 11_000, 3_900, 24_000, "gas"),
    Kind("Quellin", "Ridge", "P2.5", (2008, 2023), 21, 11_500, 4_900, 30_000, "gas"),
    Kind("Quellin", "Ridge Hybrid", "H2.5", (2013, 2023), 10, 12_500, 5_100, 35_000, "hybrid"),
    Kind("Quellin", "Lark", "H1.8", (2006, 2020), 12, 13_000, 3_900, 26_000, "hybrid"),
    Kind("Orrindale", "Combi", "D2.0", (2005, 2014), 8, 9_500, 6_600, 29_000, "diesel"),
    Kind("Tovask", "Carrier", "D3.0", (2009, 2017), 6, 8_500, 9_900, 45_000, "diesel"),
)


@dataclass
class Vehicle:
    """One vehicle and its true life, of which the workbook shows only what was written down."""

    unit: str
    kind: Kind
    year: int
    in_service: dt.date
    customer: str
    duty: str
    vin: str
    plate: str
    yearly_miles: float
    start_miles: float = 40.0
    first_visit: dt.date = dt.date(2018, 1, 8)
    state: str = "active"
    columns: dict[str, object] = field(default_factory=dict)
    quiet: bool = False  # a planted story: no random findings
    scripted: bool = False  # a planted story: nothing but oil services beside it

    def odometer(self, day: dt.date) -> int:
        """True miles on a day: a steady rate with a busier summer."""
        years = (day - self.in_service).days / 365.25
        summer = 0.03 * ((day.timetuple().tm_yday - 180) / 180.0)
        return round(self.start_miles + self.yearly_miles * max(years + summer, 0.02))

    @property
    def is_diesel(self) -> bool:
        return self.kind.fuel == "diesel"

    @property
    def grid_heater(self) -> bool:
        """Built with an exposed heater stud."""
        name, year = (self.kind.model, self.kind.engine), self.year
        late = {("Haul 25", "D6.6"): 2017, ("Carrier", "D3.0"): 2018, ("Shuttle", "D5.9"): 2018}
        return name in late and year <= late[name]

    @property
    def belt(self) -> bool:
        """Has a timing belt in the open, one that shops write about."""
        return (self.kind.model, self.kind.engine) in {("Fen", "P1.8"), ("Combi", "D2.0")}


def vin_of(year: int, plant: str, details: str, serial: int) -> str:
    """A 17-place number with the check digit of 49 CFR 565.15; ``details`` are places 4 to 8."""
    code = YEAR_CODES[(year - 1980) % 30]
    body = f"{MAKER_CODE}{details}0{code}{plant}{serial:06d}"
    total = sum(VIN_VALUES[c] * w for c, w in zip(body, VIN_WEIGHTS, strict=True))
    digit = "X" if total % 11 == 10 else str(total % 11)
    return body[:8] + digit + body[9:]


def plate_of(dice: Dice) -> str:
    """Letters and digits as on the plates of the invented valley."""
    letters = "ABCDEFGHJKLMNPRSTUVWXYZ"
    return "".join(dice.pick(letters) for _ in range(3)) + f" {dice.whole(100, 999)}"


def _vehicle(dice: Dice, kind: Kind, unit: str, customer: str, duty: str, serial: int) -> Vehicle:
    year = dice.whole(*kind.years)
    first = dt.date(year - 1, 9, 15) + dt.timedelta(days=dice.whole(0, 420))
    rate = dice.around(kind.yearly_miles, 0.28)
    seventh = "ABCDEFGH"[dice.whole(0, 7)] if year >= 2010 else str(dice.whole(1, 9))
    details = f"{kind.make[0]}{kind.model[0]}{kind.engine[-1]}{seventh}{dice.whole(1, 9)}".upper()
    details = details.replace("Q", "K").replace("O", "N").replace("I", "J")
    return Vehicle(
        unit=unit,
        kind=kind,
        year=year,
        in_service=min(first, dt.date(2025, 6, 1)),
        customer=customer,
        duty=duty,
        vin=vin_of(year, "ABCDEF"[dice.whole(0, 5)], details, serial),
        plate=plate_of(dice),
        yearly_miles=rate,
    )


def fleet(dice: Dice, customers: list[Customer]) -> list[Vehicle]:
    """All vehicles: three small fleets by unit number, then the retail customers' own."""
    made: list[Vehicle] = []
    groups = ((BUSES, "B", "C001", "bus"), (VANS, "V", "C002", "van"), (FARM, "F", "C003", "farm"))
    for kinds, letter, customer, duty in groups:
        number = 0
        for kind in kinds:
            for _ in range(kind.count):
                number += 1
                unit = f"{letter}{number:02d}"
                made.append(_vehicle(dice, kind, unit, customer, duty, 100_000 + len(made) * 37))
    owners = [customer.key for customer in customers if customer.kind == "retail"]
    for kind in RETAIL:
        for _ in range(kind.count):
            number = len(made)
            owner = owners[number % len(owners)]
            vehicle = _vehicle(
                dice, kind, str(1001 - FLEET_SIZE + number), owner, "retail", 100_000 + number * 37
            )
            if kind.model in {"Haul 25", "Carrier"} and dice.chance(0.2):
                vehicle.duty = "utility"
            made.append(vehicle)
    for vehicle in made:
        _history(dice, vehicle)
        _asked(dice, vehicle)
    return made


def _history(dice: Dice, vehicle: Vehicle) -> None:
    """When the vehicle came to this shop for the first time."""
    if vehicle.duty in {"bus", "van"}:
        came = dt.date(2022, dice.whole(1, 8), dice.whole(1, 28))
    else:
        came = dt.date(dice.whole(2022, 2025), dice.whole(1, 12), dice.whole(1, 28))
    bought_new = vehicle.in_service + dt.timedelta(days=dice.whole(60, 300))
    vehicle.first_visit = max(came, bought_new)


def _asked(dice: Dice, vehicle: Vehicle) -> None:
    """What somebody has asked the owner and put in a column; most was never asked."""
    columns = vehicle.columns
    if dice.chance(0.72):
        columns["Road salt"] = dice.pick(("Y", "Y", "Y", "yes", "N"))
    if dice.chance(0.5):
        columns["Freezing winters"] = "Y"
    if dice.chance(0.35):
        columns["Short trips"] = dice.pick(("Y", "N"))
    if vehicle.kind.gvwr_lb > 6_500 and dice.chance(0.45):
        columns["Tows often"] = dice.pick(("Y", "N", "N"))
    if dice.chance(0.25):
        columns["Underside washed"] = dice.pick(("Y", "N", "N"))
    if dice.chance(0.3):
        columns["Battery type"] = dice.pick(("flooded", "flooded", "AGM"))
    if vehicle.kind.model == "Stakebed" and dice.chance(0.5):
        columns["Grid heater"] = dice.pick(("exposed stud", "captive"))
