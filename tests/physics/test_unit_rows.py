"""Published conversion factors one by one: NIST SP 811, appendix B (exact ones by definition)."""

from __future__ import annotations

import pytest

from riskcheck import units

ROWS = [
    (1.0, "ft", "m", 0.3048, 1e-15),
    (1.0, "yd", "m", 0.9144, 1e-15),
    (1.0, "mi", "km", 1.609344, 1e-15),
    (1.0, "gal", "L", 3.785411784, 1e-15),
    (1.0, "imp gal", "L", 4.54609, 1e-15),
    (1.0, "lbf", "N", 4.4482216152605, 1e-14),
    (1.0, "psi", "kPa", 6.894757293168361, 1e-14),
    (1.0, "ft lb", "N m", 1.3558179483314, 1e-13),
    (1.0, "in lb", "N m", 0.1129848290, 1e-9),
    (1.0, "hp", "W", 745.6998715822701, 1e-14),
    (1.0, "inHg", "kPa", 3.386389, 1e-6),
    (100.0, "ft lb", "N m", 135.581795, 1e-8),
    (100_000.0, "mi", "km", 160_934.4, 1e-15),
    (35.0, "psi", "kPa", 241.3165, 1e-6),
    (32.0, "degF", "degC", 0.0, 1e-12),
    (212.0, "degF", "degC", 100.0, 1e-12),
    (-40.0, "degF", "degC", -40.0, 1e-12),
    (98.6, "degF", "degC", 37.0, 1e-12),
]


@pytest.mark.parametrize(("value", "unit", "into", "expected", "rel"), ROWS)
def test_conversion(value: float, unit: str, into: str, expected: float, rel: float) -> None:
    converted = units.convert(value, unit, into)
    assert converted == pytest.approx(expected, rel=rel, abs=1e-12 if expected == 0.0 else 0.0)


def test_mpg_into_litres() -> None:
    """235.215 / mpg; 24 mpg is 9.8 L/100 km (NIST SP 811, B.5)."""
    assert units.litres_per_100_km(24.0) == pytest.approx(235.215 / 24.0, rel=3e-6)
