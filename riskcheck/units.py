"""Quantities as people type them ("55A", "20in", "200F", "85k mi") and exact conversions.

Standard library only.  Factors are the exact ones of NIST Special Publication 811, appendix B
(international foot 0.3048 m, pound 0.453 592 37 kg, US gallon 231 cubic inches, ...); derived
factors are products of those, so a conversion is right to the last bits of a double.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass

_POUND_KG = 0.45359237
_POUND_FORCE_N = _POUND_KG * 9.80665
_INCH_M = 0.0254
_FOOT_M = 0.3048


class UnitError(ValueError):
    """The text is not a quantity of the kind asked for; the message says what would be right."""


@dataclass(frozen=True)
class Unit:
    """One unit: ``base = value * factor + offset`` in the dimension's SI unit."""

    symbol: str
    dimension: str
    factor: float
    offset: float = 0.0
    spellings: tuple[str, ...] = ()


def _table(*units: Unit) -> dict[str, Unit]:
    return {unit.symbol: unit for unit in units}


# Spellings are compared without case; the symbol itself is tried with its case first.
UNITS: dict[str, Unit] = _table(
    Unit("m", "length", 1.0, spellings=("metre", "metres", "meter", "meters")),
    Unit("cm", "length", 0.01),
    Unit("mm", "length", 0.001),
    Unit("km", "length", 1000.0, spellings=("kms", "kilometre", "kilometres", "kilometers")),
    Unit("in", "length", _INCH_M, spellings=("inch", "inches", '"', "″", "''", "in.")),
    Unit("ft", "length", _FOOT_M, spellings=("foot", "feet", "'", "′", "ft.")),
    Unit("yd", "length", 0.9144, spellings=("yard", "yards")),
    Unit("mi", "length", 1609.344, spellings=("mile", "miles", "mi.")),
    Unit("mm2", "area", 1e-6, spellings=("mm²", "mm^2", "sqmm", "sq mm", "qmm")),
    Unit("cmil", "area", math.pi / 4 * (_INCH_M / 1000) ** 2, spellings=("cm.", "circular mil")),
    Unit("in2", "area", _INCH_M**2, spellings=("in²", "in^2", "sq in")),
    Unit("A", "current", 1.0, spellings=("amp", "amps", "ampere", "amperes")),
    Unit("mA", "current", 1e-3),
    Unit("V", "voltage", 1.0, spellings=("volt", "volts", "vdc")),
    Unit("mV", "voltage", 1e-3, spellings=("millivolt", "millivolts")),
    Unit("ohm", "resistance", 1.0, spellings=("ohms", "Ω", "ω")),
    Unit("mohm", "resistance", 1e-3, spellings=("mΩ", "mω", "milliohm", "milliohms", "mohms")),
    Unit("uohm", "resistance", 1e-6, spellings=("µΩ", "µω", "μω", "microhm", "microohm")),
    Unit("Mohm", "resistance", 1e6, spellings=("MΩ", "megohm", "megaohm")),
    Unit("W", "power", 1.0, spellings=("watt", "watts")),
    Unit("kW", "power", 1000.0),
    Unit("hp", "power", _FOOT_M * _POUND_FORCE_N * 550.0, spellings=("bhp",)),
    Unit("K", "temperature", 1.0, spellings=("kelvin",)),
    Unit("degC", "temperature", 1.0, 273.15, ("°c", "ºc", "c", "deg c", "celsius")),
    Unit("degF", "temperature", 5 / 9, 459.67 * 5 / 9, ("°f", "ºf", "f", "deg f", "fahrenheit")),
    Unit("s", "time", 1.0, spellings=("sec", "secs", "second", "seconds")),
    Unit("min", "time", 60.0, spellings=("mins", "minute", "minutes")),
    Unit("h", "time", 3600.0, spellings=("hr", "hrs", "hour", "hours")),
    Unit("d", "time", 86400.0, spellings=("day", "days")),
    Unit("kg", "mass", 1.0, spellings=("kgs", "kilogram", "kilograms")),
    Unit("g", "mass", 1e-3, spellings=("gram", "grams")),
    Unit("lb", "mass", _POUND_KG, spellings=("lbs", "pound", "pounds")),
    Unit("N", "force", 1.0),
    Unit("lbf", "force", _POUND_FORCE_N),
    Unit("Pa", "pressure", 1.0),
    Unit("kPa", "pressure", 1000.0),
    Unit("bar", "pressure", 1e5),
    Unit("psi", "pressure", _POUND_FORCE_N / _INCH_M**2),
    Unit("inHg", "pressure", 3386.389, spellings=("in hg",)),
    Unit("N m", "torque", 1.0, spellings=("nm", "n·m", "n-m")),
    Unit(
        "ft lb", "torque", _FOOT_M * _POUND_FORCE_N, spellings=("ft-lb", "ftlb", "lb-ft", "lb ft")
    ),
    Unit("in lb", "torque", _INCH_M * _POUND_FORCE_N, spellings=("in-lb", "inlb", "lb-in")),
    Unit("L", "volume", 1e-3, spellings=("litre", "litres", "liter", "liters")),
    Unit("gal", "volume", 231 * _INCH_M**3, spellings=("us gal", "gallon", "gallons")),
    Unit("imp gal", "volume", 4.54609e-3, spellings=("uk gal",)),
    Unit("qt", "volume", 231 * _INCH_M**3 / 4, spellings=("quart", "quarts")),
)

_NUMBER = r"[-+]?(?:\d{1,3}(?: \d{3})+(?!\d)|\d[\d,]*|(?=\.\d))(?:\.\d*)?(?:[eE][-+]?\d+)?"
_UNIT = r"(?:[^\d\s+\-]|(?<=\S)[-](?=[^\W\d])|\s(?=[^\d\s+\-]))*(?:\^?2(?!\d))?"
_PART = re.compile(rf"\s*(?P<number>{_NUMBER})\s*(?P<unit>{_UNIT})\s*")
_ODD_SPACES = dict.fromkeys(map(ord, "\u00a0\u2007\u2009\u202f"), " ")


@dataclass(frozen=True)
class Quantity:
    """A number with its unit (a key of ``UNITS``)."""

    value: float
    unit: str

    def to(self, unit: str) -> float:
        """The value in another unit of the same dimension; UnitError otherwise."""
        return convert(self.value, self.unit, unit)

    def words(self, digits: int = 4) -> str:
        """The quantity as a person reads it, to ``digits`` significant digits."""
        return format_quantity(self.value, self.unit, digits)


def convert(value: float, unit: str, to_unit: str) -> float:
    """``value`` in ``unit`` expressed in ``to_unit`` (symbols of ``UNITS``).

    Temperatures are points on the scale; a difference is ``convert_difference``.
    Raises UnitError for an unknown unit or another dimension.
    """
    source, target = _unit(unit), _unit(to_unit)
    if source.dimension != target.dimension:
        raise UnitError(f"{unit} is a {source.dimension}, {to_unit} a {target.dimension}")
    if source == target:
        return value
    return (value * source.factor + source.offset - target.offset) / target.factor


def convert_difference(value: float, unit: str, to_unit: str) -> float:
    """A difference (a temperature rise, say): like ``convert`` but without the scales' offsets."""
    source, target = _unit(unit), _unit(to_unit)
    if source.dimension != target.dimension:
        raise UnitError(f"{unit} is a {source.dimension}, {to_unit} a {target.dimension}")
    return value if source == target else value * source.factor / target.factor


def litres_per_100_km(miles_per_us_gallon: float) -> float:
    """Fuel use from US miles per gallon: 235.215 / mpg (NIST SP 811, B.5)."""
    gallon_l = UNITS["gal"].factor / UNITS["L"].factor
    return 100.0 * gallon_l / (miles_per_us_gallon * UNITS["mi"].factor / 1000.0)


def parse(text: str, dimension: str, default_unit: str | None = None) -> Quantity:
    """Read "55A", "20in", "1 ft 8 in", "0,5 m", "85k mi", "200F" as a quantity of ``dimension``.

    ``default_unit`` serves a bare number.  "1,234" is a thousand, "0,5" a half; a "k" before
    the unit multiplies by a thousand.  Parts ("2 min 30 s") add up in the first part's unit.
    Raises UnitError with what would be right.
    """
    cleaned = text.translate(_ODD_SPACES).replace("−", "-").strip()
    parts: list[Quantity] = []
    position = 0
    while position < len(cleaned):
        match = _PART.match(cleaned, position)
        if match is None or match.end() == position:
            raise UnitError(_complaint(text, dimension, default_unit))
        parts.append(_part(match, text, dimension, default_unit))
        position = match.end()
    if not parts:
        raise UnitError(_complaint(text, dimension, default_unit))
    first, rest = parts[0], parts[1:]
    if rest and (dimension not in ("length", "time") or any(p.value < 0 for p in rest)):
        raise UnitError(_complaint(text, dimension, default_unit))
    return Quantity(first.value + sum(part.to(first.unit) for part in rest), first.unit)


def format_quantity(value: float, unit: str, digits: int = 4) -> str:
    """``value`` with its unit, to ``digits`` significant digits; whole units are always kept."""
    shown = {"degC": "°C", "degF": "°F", "mm2": "mm²", "ohm": "Ω", "mohm": "mΩ", "uohm": "µΩ"}
    if not math.isfinite(value):
        return f"no figure ({shown.get(unit, unit)})"
    decimals = digits - 1 - (math.floor(math.log10(abs(value))) if value else 0)
    number = f"{value:,.{max(decimals, 0)}f}"
    if "." in number:
        number = number.rstrip("0").rstrip(".")
    return f"{number} {shown.get(unit, unit)}"


# Nominal metric sizes of SAE J1127/J1128 cable, as printed in open metric-to-gauge tables
# (20 to 2 gauge); 1 to 4/0 from memory.  Up to 10 % below the AWG section of the same number.
SAE_SECTION_MM2: dict[float, float] = {
    20: 0.5, 18: 0.8, 16: 1.0, 14: 2.0, 12: 3.0, 10: 5.0, 8: 8.0, 6: 13.0, 4: 19.0, 2: 32.0,
    1: 40.0, 0: 50.0, -1: 62.0, -2: 81.0, -3: 103.0,
}  # fmt: skip


@dataclass(frozen=True)
class WireSize:
    """A wire size as printed on the wire: system "awg", "sae" or "mm2", and the number.

    In "awg" and "sae" 1/0 is number 0, 2/0 is -1, 3/0 is -2 and 4/0 is -3.
    """

    system: str
    number: float

    @property
    def section_mm2(self) -> float:
        """Metal section in mm²: ASTM B258 for AWG, the nominal metric size for SAE.

        d(in) = 0.005 * 92^((36 - n) / 39), section = pi/4 d^2.  Raises UnitError for an SAE
        gauge that has no nominal metric size here.
        """
        if self.system == "mm2":
            return self.number
        if self.system == "awg":
            diameter_mm: float = 0.005 * 92.0 ** ((36.0 - self.number) / 39.0) * 25.4
            return math.pi / 4.0 * diameter_mm**2
        if self.number not in SAE_SECTION_MM2:
            known = ", ".join(WireSize("sae", n).words() for n in SAE_SECTION_MM2)
            raise UnitError(f"{self.words()} has no nominal section here; known: {known}")
        return SAE_SECTION_MM2[self.number]

    def words(self) -> str:
        """The size as a person writes it."""
        if self.system == "mm2":
            return f"{self.number:g} mm²"
        gauge = f"{1 - self.number:g}/0" if self.number <= 0 else f"{self.number:g}"
        return f"{gauge} AWG" if self.system == "awg" else f"SAE {gauge}"


_GAUGE = r"(?P<gauge>\d{1,2}|0{2,4}|[1-4]\s*/\s*0)"
_MM2 = r"(?P<mm2>\d+(?:[.,]\d+)?)\s*(?:sq\.?\s*mm|mm\s*(?:2|²|\^2|sq)|qmm)\.?"
_WIRE = re.compile(
    rf"(?:{_MM2}|(?P<sae>sae)?\s*(?:awg|gauge|ga\.?|no\.?|#)*\s*{_GAUGE}"
    r"\s*(?:-?\s*(?:awg|gauge|ga\.?|g))?)"
)


def parse_wire_size(text: str) -> WireSize:
    """Read "10 AWG", "#6", "6ga", "2/0", "0000", "SAE 8", "16mm2", "25 sq mm"; bare is AWG.

    Raises UnitError for anything else, and for gauges beyond 40.
    """
    cleaned = " ".join(text.translate(_ODD_SPACES).split()).casefold().replace("aught", "0")
    match = _WIRE.fullmatch(cleaned)
    wanted = 'write a wire size such as "10 AWG", "1/0", "SAE 8" or "16 mm2"'
    if match is None:
        raise UnitError(f"{text!r} is not a wire size; {wanted}")
    if match["mm2"]:
        area = float(match["mm2"].replace(",", "."))
        if not 0.0 < area <= 1000.0:
            raise UnitError(f"{text!r}: a section lies between 0 and 1,000 mm²")
        return WireSize("mm2", area)
    gauge = match["gauge"].replace(" ", "")
    if "/" in gauge:
        number = 1 - int(gauge[0])
    else:
        number = 1 - len(gauge) if set(gauge) == {"0"} else int(gauge)
    if number > 40:
        raise UnitError(f"{text!r}: gauges run from 4/0 to 40; {wanted}")
    return WireSize("sae" if match["sae"] else "awg", number)


def value_in(text: str, unit: str, heading: str = "") -> float:
    """A cell's words as a number in the unit its column is kept in.

    "20in" for a column in m gives 0.508.  A column in mm² also takes wire sizes ("10 AWG",
    "2/0", "SAE 8"); there a bare number is a section, unless ``heading`` speaks of gauge or AWG.
    Raises UnitError where the words mean no such quantity.
    """
    if unit == "mm2" and (speaks_of_gauge(heading) or not _looks_bare(text)):
        return parse_wire_size(text).section_mm2
    if unit not in UNITS:
        raise UnitError(f"{unit!r} is not a unit known here")
    return parse(text, UNITS[unit].dimension, unit).to(unit)


def speaks_of_gauge(heading: str) -> bool:
    """Does a heading say that bare numbers under it are wire gauges?"""
    return re.search(r"gauge|awg", heading, re.IGNORECASE) is not None


def _looks_bare(text: str) -> bool:
    return re.fullmatch(r"\s*\d+(?:[.,]\d+)?\s*", text) is not None


def units_of(dimension: str) -> list[str]:
    """Symbols of one dimension, in table order."""
    return [unit.symbol for unit in UNITS.values() if unit.dimension == dimension]


def _unit(symbol: str) -> Unit:
    if symbol not in UNITS:
        raise UnitError(f"{symbol!r} is not a unit known here; known: {', '.join(UNITS)}")
    return UNITS[symbol]


def _find(spelling: str, dimension: str) -> Unit | None:
    candidates = [unit for unit in UNITS.values() if unit.dimension == dimension]
    for unit in candidates:
        if spelling in (unit.symbol, *unit.spellings):
            return unit
    folded = spelling.casefold()
    for unit in candidates:
        if folded in (s.casefold() for s in (unit.symbol, *unit.spellings)):
            return unit
    return None


def _part(match: re.Match[str], text: str, dimension: str, default_unit: str | None) -> Quantity:
    number = _number(match["number"], text)
    spelling = " ".join(match["unit"].split())
    unit = _find(spelling, dimension) if spelling else None
    if unit is None and spelling[:1] in ("k", "K"):
        number, spelling = number * 1000.0, spelling[1:].lstrip(" .")
        unit = _find(spelling, dimension) if spelling else None
    if unit is None and not spelling and default_unit is not None:
        unit = _unit(default_unit)
    if unit is None:
        raise UnitError(_complaint(text, dimension, default_unit))
    return Quantity(number, unit.symbol)


def _number(digits: str, text: str) -> float:
    compact = re.sub(r"\s", "", digits)
    if "," in compact:
        grouped = re.fullmatch(r"[-+]?[1-9]\d{0,2}(,\d{3})+(\.\d*)?", compact)
        if grouped:
            compact = compact.replace(",", "")
        elif compact.count(",") == 1 and "." not in compact:
            compact = compact.replace(",", ".")
        else:
            raise UnitError(f"{text!r}: the commas do not make a number; write 1,234.5 or 0,5")
    number = float(compact)
    if not math.isfinite(number):
        raise UnitError(f"{text!r} is too large to be a measurement")
    return number


def _complaint(text: str, dimension: str, default_unit: str | None) -> str:
    known = ", ".join(units_of(dimension))
    bare = f"; a bare number is read as {default_unit}" if default_unit else ""
    return f"{text!r} is not a {dimension}; write a number and one of: {known}{bare}"
