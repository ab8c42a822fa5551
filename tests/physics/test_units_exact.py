"""Units: what people type, and exact factors (NIST SP 811 appendix B; scipy.constants, CODATA)."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import constants

from riskcheck import units

# Factor to SI as scipy.constants has it (an independent table of the same exact definitions).
SCIPY_FACTORS = {
    "in": constants.inch,
    "ft": constants.foot,
    "yd": constants.yard,
    "mi": constants.mile,
    "lb": constants.pound,
    "lbf": constants.pound_force,
    "psi": constants.psi,
    "gal": constants.gallon,
    "imp gal": constants.gallon_imp,
    "hp": constants.hp,
    "bar": constants.bar,
    "min": constants.minute,
    "h": constants.hour,
    "d": constants.day,
}
TYPED = [
    ("55A", "current", 55.0, "A"),
    ("20in", "length", 0.508, "m"),
    ("0.5m", "length", 0.5, "m"),
    ("0,5 m", "length", 0.5, "m"),
    ("1 ft 8 in", "length", 0.508, "m"),
    ("1'8\"", "length", 0.508, "m"),
    ("200F", "temperature", 93.3333333333, "degC"),
    ("35 degC", "temperature", 35.0, "degC"),
    ("−40 °F", "temperature", -40.0, "degC"),
    ("85k mi", "length", 85000.0, "mi"),
    ("123,456 mi", "length", 123456.0, "mi"),
    ("197 000 km", "length", 197000.0, "km"),
    (".04v", "voltage", 0.04, "V"),
    ("1.5mΩ", "resistance", 1.5, "mohm"),
    ("5 MΩ", "resistance", 5e6, "ohm"),
    ("2 min 30 s", "time", 150.0, "s"),
    ("100 ft-lb", "torque", 135.5817948, "N m"),
    ("16 mm²", "area", 16.0, "mm2"),
]


@pytest.mark.parametrize(("symbol", "factor"), SCIPY_FACTORS.items())
def test_factors_equal_those_of_scipy(symbol: str, factor: float) -> None:
    assert units.UNITS[symbol].factor == pytest.approx(factor, rel=1e-14)


@pytest.mark.parametrize(("text", "dimension", "value", "unit"), TYPED)
def test_reads_what_people_type(text: str, dimension: str, value: float, unit: str) -> None:
    assert units.parse(text, dimension).to(unit) == pytest.approx(value, rel=1e-9)


@pytest.mark.parametrize(
    ("text", "dimension"),
    [
        ("abc", "current"),
        ("55 V", "current"),
        ("", "length"),
        ("5 5 A", "current"),
        ("1,23,4 m", "length"),
        ("5-3 m", "length"),
        ("5 A 3 A", "current"),
        ("nan A", "current"),
        ("1e400 A", "current"),
        ("5 ft -2 in", "length"),
        ("20", "length"),
    ],
)
def test_refuses_what_is_no_quantity(text: str, dimension: str) -> None:
    with pytest.raises(units.UnitError):
        units.parse(text, dimension)


def test_published_conversions() -> None:
    # NIST SP 811: F to C, 235.215 for mpg; the rest follow from its exact factors.
    assert units.convert(212.0, "degF", "degC") == pytest.approx(100.0)
    assert units.convert(98.6, "degF", "degC") == pytest.approx(37.0)
    assert units.convert_difference(54.0, "degF", "degC") == pytest.approx(30.0)
    assert units.convert(100_000.0, "mi", "km") == pytest.approx(160_934.4, rel=1e-15)
    assert units.convert(35.0, "psi", "kPa") == pytest.approx(241.3165, abs=5e-5)
    assert units.litres_per_100_km(1.0) == pytest.approx(235.215, abs=5e-4)
    assert units.litres_per_100_km(24.0) == pytest.approx(9.8, abs=0.05)


@given(st.sampled_from(sorted(units.UNITS)), st.floats(0.001, 1e6))
def test_there_and_back_is_the_same(symbol: str, value: float) -> None:
    for other in units.units_of(units.UNITS[symbol].dimension):
        there = units.convert(value, symbol, other)
        assert units.convert(there, other, symbol) == pytest.approx(value, rel=1e-9, abs=1e-9)


@given(st.sampled_from(sorted(units.UNITS)), st.integers(-999, 999_999))
def test_what_is_shown_can_be_read_back(symbol: str, value: int) -> None:
    quantity = units.Quantity(float(value), symbol)
    again = units.parse(quantity.words(), units.UNITS[symbol].dimension)
    assert again.to(symbol) == pytest.approx(float(value))


def test_other_dimension_is_refused() -> None:
    with pytest.raises(units.UnitError, match="length"):
        units.convert(1.0, "m", "s")


@pytest.mark.parametrize(
    ("text", "section_mm2"),
    # AWG sections by ASTM B258 as printed in open tables; SAE 8 is the 8.0 mm² metric size.
    [
        ("10 AWG", 5.261),
        ("10", 5.261),
        ("#6", 13.30),
        ("6ga", 13.30),
        ("2/0", 67.43),
        ("0000", 107.2),
        ("AWG 18", 0.823),
        ("SAE 8", 8.0),
        ("16mm2", 16.0),
        ("25 sq mm", 25.0),
        ("10,5 mm²", 10.5),
    ],
)
def test_wire_sizes(text: str, section_mm2: float) -> None:
    assert units.parse_wire_size(text).section_mm2 == pytest.approx(section_mm2, rel=6e-4)


@pytest.mark.parametrize("text", ["thick", "41", "10 mm", "1/2", "0 mm2", "5000 mm2", ""])
def test_no_wire_size(text: str) -> None:
    with pytest.raises(units.UnitError):
        units.parse_wire_size(text)


def test_sae_sizes_have_less_metal_than_awg() -> None:
    # Trade pages put SAE cable up to 12 of 100 parts below the AWG section of the same number.
    for number in units.SAE_SECTION_MM2:
        ratio = (
            units.WireSize("sae", number).section_mm2 / units.WireSize("awg", number).section_mm2
        )
        assert 0.75 < ratio <= 1.0, number


def test_infinity_is_said_not_shown() -> None:
    assert "no figure" in units.format_quantity(math.inf, "A")


@pytest.mark.parametrize(
    ("text", "unit", "heading", "value"),
    [
        ("10 AWG", "mm2", "strap section", 5.261),
        ("10", "mm2", "strap section", 10.0),
        ("10", "mm2", "Strap gauge", 5.261),
        ("16mm2", "mm2", "Strap AWG", 16.0),
        ("20in", "m", "strap length", 0.508),
        ("0.5", "m", "strap length", 0.5),
        ("55A", "A", "heater current", 55.0),
    ],
)
def test_cells_in_their_columns_unit(text: str, unit: str, heading: str, value: float) -> None:
    assert units.value_in(text, unit, heading) == pytest.approx(value, rel=6e-4)


def test_cell_of_another_kind_is_refused() -> None:
    with pytest.raises(units.UnitError):
        units.value_in("20in", "A")
    with pytest.raises(units.UnitError):
        units.value_in("5", "furlong")
