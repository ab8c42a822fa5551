"""Copper and aluminium conductors: geometry, resistance, weight of heat.

A conductor is its metal section; AWG, SAE gauge and mm² are only ways to say it
(``riskcheck.units.WireSize``).  The solid-equivalent diameter sqrt(4 S / pi) is used for the
surface.  A stranded wire is 10 to 15 % thicker, so it sheds a little more heat than computed,
and its resistance is 1 to 3 % higher (from memory); the two nearly cancel.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from riskcheck.physics.ranges import require
from riskcheck.units import WireSize

Celsius = TypeVar("Celsius", float, NDArray[np.float64])

STANDARD_AWG: tuple[int, ...] = (18, 16, 14, 12, 10, 8, 6, 4, 3, 2, 1, 0, -1, -2, -3)


@dataclass(frozen=True)
class Material:
    """A conductor metal.  Resistance is linear in temperature from ``low_c`` to ``high_c``."""

    name: str
    resistivity_ohm_m: float  # at 20 °C
    coefficient_per_k: float  # at 20 °C
    density_kg_m3: float
    specific_heat_j_kg_k: float
    conductivity_w_m_k: float
    low_c: float
    high_c: float
    source: str

    def resistance_factor(self, temperature_c: Celsius) -> Celsius:
        """R(T) / R(20 °C) = 1 + alpha (T - 20); float or array of °C."""
        return 1.0 + self.coefficient_per_k * (temperature_c - 20.0)


COPPER = Material(
    "copper", 1.7241e-8, 0.00393, 8890.0, 385.0, 391.0, -60.0, 500.0,
    "IEC 60028:1925 (resistivity, coefficient; density from memory); heat capacity and thermal "
    "conductivity from memory; linear law within 2 % of handbook resistivity to 500 °C",
)  # fmt: skip
ALUMINIUM = Material(
    "aluminium", 2.8264e-8, 0.00403, 2703.0, 900.0, 230.0, -60.0, 300.0,
    "IEC 60889 hard-drawn wire, 61 % IACS (from memory); heat capacity from memory",
)  # fmt: skip
MATERIALS: dict[str, Material] = {metal.name: metal for metal in (COPPER, ALUMINIUM)}


@dataclass(frozen=True)
class Conductor:
    """A length-less piece of wire: size and metal."""

    size: WireSize
    material: Material = COPPER

    def __post_init__(self) -> None:
        require("a wire section", self.section_mm2, 0.002, 400.0, "mm²")

    @property
    def section_mm2(self) -> float:
        """Metal section, mm²."""
        return self.size.section_mm2

    @property
    def diameter_m(self) -> float:
        """Solid-equivalent diameter, m."""
        return math.sqrt(4.0 * self.section_mm2 * 1e-6 / math.pi)

    @property
    def heat_capacity_j_m_k(self) -> float:
        """Heat taken up per metre and kelvin, J/(m K)."""
        metal = self.material
        return self.section_mm2 * 1e-6 * metal.density_kg_m3 * metal.specific_heat_j_kg_k

    def resistance_ohm_per_m(self, temperature_c: Celsius) -> Celsius:
        """R' = rho20 / S (1 + alpha (T - 20)), ohm/m; float or array of °C.

        Holds between ``material.low_c`` and ``material.high_c``; the caller keeps the range.
        """
        per_metre = self.material.resistivity_ohm_m / (self.section_mm2 * 1e-6)
        return per_metre * self.material.resistance_factor(temperature_c)

    def resistance_ohm(self, length_m: float, temperature_c: float = 20.0) -> float:
        """Resistance of ``length_m`` of it, ohm.  OutOfRangeError outside the metal's range."""
        metal = self.material
        require(f"a {metal.name} temperature", temperature_c, metal.low_c, metal.high_c, "°C")
        require("a length", length_m, 0.0, 100.0, "m")
        return self.resistance_ohm_per_m(temperature_c) * length_m


def voltage_drop_v(
    conductor: Conductor, current_a: float, length_m: float, temperature_c: float = 20.0
) -> float:
    """I R along one way, V.  There and back is ``voltage_drop_there_and_back_v``."""
    return current_a * conductor.resistance_ohm(length_m, temperature_c)


def voltage_drop_there_and_back_v(
    feed: Conductor,
    back: Conductor,
    current_a: float,
    lengths_m: tuple[float, float],
    temperature_c: float = 20.0,
) -> float:
    """Drop of a two-wire circuit, V: I (R_feed + R_return); each leg of its own size and length."""
    there = voltage_drop_v(feed, current_a, lengths_m[0], temperature_c)
    return there + voltage_drop_v(back, current_a, lengths_m[1], temperature_c)


@lru_cache(maxsize=64)
def awg(number: int, material: Material = COPPER) -> Conductor:
    """Conductor of an AWG number (1/0 is 0, 4/0 is -3)."""
    return Conductor(WireSize("awg", number), material)


def nearest_awg_not_above(section_mm2: float) -> int | None:
    """The largest standard AWG size whose section does not exceed ``section_mm2`` by 0.5 %.

    A table in AWG is entered with this number for a mm² or SAE size, so that the wire is
    never credited with more metal than it has.  None below 18 AWG.
    """
    fitting = [n for n in STANDARD_AWG if awg(n).section_mm2 <= section_mm2 * 1.005]
    return min(fitting) if fitting else None
