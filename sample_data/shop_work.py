"""Years of visits: what was done, said, measured and left out, vehicle by vehicle."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass

from dice import Dice
from shop_books import Books, Visit, written
from shop_vehicles import AS_OF, Vehicle

SCRIPT_FROM = dt.date(2026, 7, 1)  # from here on the story alone says what happened
HEATER_CODES = (
    ("P0541", "intake air heater circuit low"),
    ("P2604", "intake air heater range/performance"),
)
DIESEL_CODES = (
    ("P0401", "EGR flow insufficient"),
    ("P2002", "particulate filter efficiency"),
    ("P0128", "coolant below thermostat temperature"),
    ("P0299", "underboost"),
    ("P0562", "system voltage low"),
)
PETROL_CODES = (
    ("P0420", "catalyst efficiency below threshold"),
    ("P0171", "system too lean bank 1"),
    ("P0442", "evap small leak"),
    ("P0301", "cylinder 1 misfire"),
    ("P0128", "coolant below thermostat temperature"),
    ("P0562", "system voltage low"),
)
# Share of an owner's plans to come in that hold, January to December: busy before frost and after
# salt; buses come in the school holidays.
BUSY = (0.45, 0.40, 0.75, 0.95, 0.80, 0.55, 0.50, 0.55, 0.75, 1.00, 1.00, 0.65)
BUSY_BUSES = (0.30, 0.45, 0.35, 0.60, 0.35, 0.60, 1.00, 1.00, 0.35, 0.35, 0.35, 0.95)


@dataclass
class Wear:
    """When each part was last new, in truth."""

    battery: dt.date
    tires: dt.date
    coolant: dt.date
    hoses: dt.date
    pipes: dt.date
    belt_miles: int = 0


def visit_days(dice: Dice, vehicle: Vehicle) -> list[dt.date]:
    """Working days on which the vehicle came in, busier in autumn and spring."""
    gap = {"bus": 245, "van": 215, "farm": 470}.get(vehicle.duty, 610)
    day, found = vehicle.first_visit, []
    away = dice.whole(60, 400) if dice.chance(0.2) else 15
    last = AS_OF - dt.timedelta(days=away)
    busy = BUSY_BUSES if vehicle.duty == "bus" else BUSY
    while day <= last:
        if not dice.chance(busy[day.month - 1]):
            day += dt.timedelta(days=dice.whole(10, 24))
            continue
        while day.weekday() >= 5:
            day += dt.timedelta(days=1)
        if day <= last:
            found.append(day)
        day += dt.timedelta(days=max(20, round(dice.around(gap, 0.35))))
    return found


def live(books: Books, dice: Dice, vehicle: Vehicle) -> None:
    """All visits of one vehicle, up to the as-of date."""
    years = (AS_OF - vehicle.in_service).days / 365.25
    new = vehicle.in_service
    wear = Wear(new, new, new, new, new)
    if years > 7:  # somebody else's work before the first visit here
        before = vehicle.first_visit - dt.timedelta(days=dice.whole(100, 1200))
        wear = Wear(max(new, before), max(new, before), max(new, before), new, new)
    for day in visit_days(dice, vehicle):
        if vehicle.scripted and day > SCRIPT_FROM:
            continue
        visit = Visit(books, dice, vehicle, day)
        _routine(visit)
        if vehicle.scripted:
            continue
        _electrics_and_coolant(visit, wear)
        _wheels(visit, wear)
        if not vehicle.quiet:
            _codes(visit)
            _brakes_and_pipes(visit, wear)
            _engine(visit, wear)
            _other_systems(visit)
        _looks(visit)


def _age(visit: Visit, since: dt.date) -> float:
    return (visit.day - since).days / 365.25


def _routine(visit: Visit) -> None:
    dice = visit.dice
    if dice.chance(0.62):
        visit.job("oil_diesel" if visit.vehicle.is_diesel else "oil")
    if dice.chance(0.10):
        visit.job("inspect")
    if dice.chance(0.13):
        visit.job("noise")
    if dice.chance(0.04):
        visit.job("clean_complaint")


def _looks(visit: Visit) -> None:
    """What a careful technician looks at while the vehicle is up anyway; fleets pay for it."""
    dice, fleet_pm = visit.dice, visit.vehicle.duty in {"bus", "van"}
    if "hose" in visit.touched:
        visit.touched.add("hoses")
    for job, fleet_share, other_share in (
        ("hoses_ok", 0.34, 0.15),
        ("pipes_ok", 0.30, 0.14),
        ("tread_ok", 0.24, 0.12),
    ):
        part = {"tread": "tires", "pipes": "pipes", "hoses": "hoses"}[job.split("_")[0]]
        if part not in visit.touched and dice.chance(fleet_share if fleet_pm else other_share):
            visit.job(job)


def _electrics_and_coolant(visit: Visit, wear: Wear) -> None:
    dice, autumn = visit.dice, visit.day.month in {9, 10, 11, 12}
    if _age(visit, wear.battery) > 3.2 and dice.chance(0.55 if autumn else 0.3):
        if dice.chance(0.62):
            twin = visit.vehicle.is_diesel and visit.vehicle.kind.model not in {"Carrier", "Combi"}
            visit.job("batteries" if twin else "battery")
            wear.battery = visit.day
        else:
            visit.job(dice.pick(("battery_decl", "battery_weak", "terminals", "battery_decl")))
    elif dice.chance(0.12):
        visit.job("battery_ok")
        if dice.chance(0.4):
            visit.measure("battery CCA", dice.whole(560, 760), "CCA")
            visit.measure("battery rated CCA", 730, "CCA")
    if _age(visit, wear.coolant) > 4.0 and dice.chance(0.3):
        answer = dice.pick(
            (
                "coolant",
                "coolant",
                "coolant",
                "coolant_partial",
                "coolant_decl",
                "coolant_decl",
                "coolant_ok",
                "coolant_not",
                "coolant_bad",
            )
        )
        visit.job(answer)
        if answer == "coolant":
            wear.coolant = visit.day
            if dice.chance(0.6):
                visit.measure("coolant freeze point", dice.whole(-38, -31), "F")
                visit.measure("coolant pH", round(dice.between(8.3, 9.4), 1), "")


def _wheels(visit: Visit, wear: Wear) -> None:
    dice = visit.dice
    age = _age(visit, wear.tires)
    off = False
    if age > 3.8 and dice.chance(0.62):
        if dice.chance(0.82):
            visit.job("tires6" if visit.vehicle.kind.gvwr_lb > 14_000 else "tires4")
            wear.tires, off = visit.day, True
            if dice.chance(0.5):
                visit.measure("tyre DOT year", visit.day.year - (dice.chance(0.4)), "")
        else:
            visit.job("tires_decl")
    elif visit.day.month in {10, 11} and dice.chance(0.14):
        visit.job("winter")
        off = True
    elif dice.chance(0.13):
        visit.job("rotate")
        off = True
    elif dice.chance(0.04):
        visit.job("plug")
    if dice.chance(0.1):
        visit.job("pads")
        off = True
    if off:
        _after_wheels(visit)


def _after_wheels(visit: Visit) -> None:
    """Torque at fitting, and a re-check if the owner came back."""
    dice = visit.dice
    if dice.chance(0.35):
        visit.job("torque_fit")
    back = visit.day + dt.timedelta(days=dice.whole(2, 9))
    if dice.chance(0.42) and back.weekday() < 5 and back < AS_OF - dt.timedelta(days=14):
        Visit(visit.books, dice, visit.vehicle, back).job("retorque")


def _brakes_and_pipes(visit: Visit, wear: Wear) -> None:
    dice, age = visit.dice, _age(visit, wear.hoses)
    spring_or_autumn = visit.day.month in {3, 4, 5, 9, 10}
    if dice.chance(0.06):
        visit.job("bleed")
    if age > 6 and dice.chance(0.08):
        answer = dice.pick(("hoses_decl", "hoses", "hoses"))
        visit.job(answer)
        if answer == "hoses":
            wear.hoses = visit.day
    if age > 11 and dice.chance(0.03):
        visit.job("hose_one")
    if age > 9 and dice.chance(0.025):
        visit.job("pulls")
        visit.job("hoses_found")
        visit.job("hoses")
        wear.hoses = visit.day
    pipes = _age(visit, wear.pipes)
    if pipes > 5 and dice.chance(0.12 if spring_or_autumn else 0.04):
        visit.job(
            dice.pick(("pipes_ok", "pipes_ok", "pipes_ok", "pipes_decl", "exhaust", "pipes_splice"))
        )
    if pipes > 9 and dice.chance(0.03):
        visit.job("pipes_found")
        visit.job("pipes_done")
        wear.pipes = visit.day


def _codes(visit: Visit) -> None:
    """A warning lamp: the code goes on its own sheet, a line on the invoice."""
    dice = visit.dice
    if not dice.chance(0.055):
        return
    if visit.vehicle.grid_heater and dice.chance(0.18):
        code, meaning = dice.pick(HEATER_CODES)
    elif visit.vehicle.belt and dice.chance(0.15):
        code, meaning = "P0016", "crankshaft - camshaft correlation"
    else:
        code, meaning = dice.pick(DIESEL_CODES if visit.vehicle.is_diesel else PETROL_CODES)
        if visit.day.year - visit.vehicle.year > 6 and code == "P0442":
            code, meaning = PETROL_CODES[0]
    visit.code(code, meaning)
    ends = (
        "cleared, monitor",
        "see est",
        "cust to return",
        "smoke test ok, cleared",
        "repaired wiring",
    )
    visit.say(written(dice, f"ck eng light {code}, {dice.pick(ends)}", visit.tech), 0.8, 120.0)


# job -> share of visits, by what the vehicle is
DIESEL_CARE = {"fuel_filters": 0.26, "breather": 0.08, "soot": 0.03, "regen": 0.05, "egr_ok": 0.04}
ANY_CARE = {
    "joints_ok": 0.17,
    "charging_ok": 0.08,
    "shift": 0.04,
    "slides": 0.06,
    "spare": 0.03,
    "bleed": 0.05,
    "joints": 0.015,
}
CAR_CARE = {"boots_ok": 0.12, "boot": 0.02}


def _other_systems(visit: Visit) -> None:
    """Filters, joints, boots, gearbox, battery fan: the rest of a shop's bread and butter."""
    dice, kind = visit.dice, visit.vehicle.kind
    care = dict(ANY_CARE)
    if visit.vehicle.is_diesel:
        care |= DIESEL_CARE
    if kind.gvwr_lb < 7_000:
        care |= CAR_CARE
    if kind.fuel == "hybrid":
        care["hv_filter"] = 0.16
    if kind.model in {"Haul 25", "Trail 15"}:
        care["plug_ok"] = 0.10
    for job, share in care.items():
        if dice.chance(share):
            visit.job(job)


def _engine(visit: Visit, wear: Wear) -> None:
    dice = visit.dice
    if visit.vehicle.grid_heater and dice.chance(0.11):
        answer = dice.pick(
            (
                "heater_ok",
                "heater_ok",
                "heater_decl",
                "heater_decl",
                "heater_retq",
                "heater_look_alike",
                "heater_look_alike",
                "smoke",
            )
        )
        visit.job(answer)
    elif visit.vehicle.grid_heater and dice.chance(0.035):
        visit.job(dice.pick(("heater_captive", "heater_captive", "heater_new")))
        if dice.chance(0.5):
            visit.job("heater_ground")
    if visit.vehicle.belt and visit.odometer - wear.belt_miles > 78_000 and dice.chance(0.3):
        answer = dice.pick(
            (
                "belt_kit",
                "belt_kit",
                "belt_only",
                "belt_decl",
                "belt_decl",
                "belt_look",
                "pump_only",
            )
        )
        visit.job(answer)
        if answer in {"belt_kit", "belt_only"}:
            wear.belt_miles = visit.odometer
