"""What the shop writes down: lines, tickets, readings and codes."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass, field

from dice import Dice
from shop_vehicles import Vehicle
from shop_words import JOBS, LONG_TAILS, MISSPELT

LABOUR_RATE = 150.0


@dataclass
class Line:
    """One service line before it is written down."""

    day: dt.date
    vehicle: Vehicle
    odometer: int
    words: str
    hours: float = 0.0
    amount: float = 0.0
    status: str = "closed"
    tech: str = "DK"
    order: int = 0


@dataclass
class Books:
    """Everything the shop wrote down."""

    lines: list[Line] = field(default_factory=list)
    measured: list[list[object]] = field(default_factory=list)
    codes: list[list[object]] = field(default_factory=list)
    orders: int = 0


def written(dice: Dice, words: str, tech: str) -> str:
    """The technician's own hand: capitals, lower case, a slip of the finger, a remark."""
    if dice.chance(0.05):
        for right, wrong in MISSPELT.items():
            if right in words:
                words = words.replace(right, wrong)
                break
    if dice.chance(0.05):
        words += dice.pick(LONG_TAILS)
    if tech == "DK" and dice.chance(0.6):
        return words.upper()
    if tech == "MO" and dice.chance(0.7):
        return words.lower()
    return words if dice.chance(0.5) else words[:1].upper() + words[1:]


def priced(dice: Dice, key: str) -> tuple[str, float, float]:
    """One way of writing a job, its hours and its price in $."""
    hours, parts, words = JOBS[key]
    amount = hours * LABOUR_RATE + parts * dice.between(0.9, 1.2)
    free = key.endswith(("_ok", "_decl", "_not")) or key in {"retorque", "torque_fit"}
    return dice.pick(words), hours, 0.0 if free else round(amount, 2)


class Visit:
    """One visit being written down."""

    def __init__(self, books: Books, dice: Dice, vehicle: Vehicle, day: dt.date) -> None:
        books.orders += 1
        self.books, self.dice, self.vehicle, self.day = books, dice, vehicle, day
        self.odometer = vehicle.odometer(day)
        self.order = books.orders
        self.tech = dice.pick(("DK", "MO", "RJ"))
        self.touched: set[str] = set()

    def say(
        self, words: str, hours: float = 0.0, amount: float = 0.0, status: str = "closed"
    ) -> None:
        """Write one line in so many words."""
        self.books.lines.append(
            Line(
                self.day,
                self.vehicle,
                self.odometer,
                words,
                hours,
                amount,
                status,
                self.tech,
                self.order,
            )
        )

    def job(self, key: str, status: str = "closed") -> None:
        """Write one line of the catalogue in this technician's hand."""
        self.touched.add(key.split("_")[0].rstrip("46"))
        words, hours, amount = priced(self.dice, key)
        self.say(written(self.dice, words, self.tech), hours, amount, status)

    def measure(self, quantity: str, value: float | str, unit: str) -> None:
        """Put a reading on the measurements sheet."""
        unit_no = self.vehicle.unit
        self.books.measured.append(
            [unit_no, self.day, self.odometer, quantity, value, unit, self.tech]
        )

    def code(self, code: str, words: str) -> None:
        """Put a code on the fault code sheet."""
        self.books.codes.append([self.vehicle.unit, self.day, code, words, self.odometer])
