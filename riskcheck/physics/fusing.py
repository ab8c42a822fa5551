"""Fusing and adiabatic limits.  Onderdonk and the adiabatic law are for seconds, Preece for a
steady bare wire in open air; none of them says what is fit for service."""

from __future__ import annotations

import math

from riskcheck.physics.conductors import Conductor
from riskcheck.physics.ranges import OutOfRangeError, require

ONDERDONK_SECONDS = (0.01, 10.0)
PREECE_DIAMETER_IN = (0.002, 0.47)
# I = a d^1.5, d in inches (Preece 1884/1888, as tabulated in open handbooks).
PREECE_COEFFICIENT: dict[str, float] = {"copper": 10244.0, "aluminium": 7585.0}
COPPER_MELTS_C = 1083.0


def onderdonk_a(conductor: Conductor, seconds: float, ambient_c: float = 25.0) -> float:
    """Current that melts a copper wire in ``seconds``, no heat given off, A.

    I = A_cmil sqrt(log10((Tm - Ta) / (234 + Ta) + 1) / (33 t)), Tm = 1083 °C.
    Holds for copper, 0.01 to 10 s, -40 to 200 °C; OutOfRangeError otherwise.
    """
    if conductor.material.name != "copper":
        raise OutOfRangeError("Onderdonk's formula holds for copper only")
    require("Onderdonk's time", seconds, *ONDERDONK_SECONDS, "s")
    require("an air temperature", ambient_c, -40.0, 200.0, "°C")
    mils = conductor.diameter_m / 0.0254 * 1000.0
    rise = math.log10((COPPER_MELTS_C - ambient_c) / (234.0 + ambient_c) + 1.0)
    return mils**2 * math.sqrt(rise / (33.0 * seconds))


def preece_a(conductor: Conductor) -> float:
    """Steady current at which a bare wire in open air melts, A: a d^1.5, d in inches.

    Copper or aluminium, 0.002 to 0.47 in; for long wires (short ones lose heat to their ends).
    """
    diameter_in = conductor.diameter_m / 0.0254
    require("Preece's diameter", diameter_in, *PREECE_DIAMETER_IN, "in")
    return PREECE_COEFFICIENT[conductor.material.name] * math.pow(diameter_in, 1.5)


def adiabatic_temperature_c(
    conductor: Conductor, current_a: float, seconds: float, start_c: float
) -> float:
    """Temperature after ``seconds`` if no heat leaves the metal, °C: an upper bound.

    (T + b) = (T0 + b) exp(I² t rho20 alpha / (S² c)), b = 1/alpha - 20, c = heat per volume
    (the law behind IEC 60949).  OutOfRangeError beyond the metal's range.
    """
    metal = conductor.material
    require("an adiabatic time", seconds, 0.0, 600.0, "s")
    offset = 1.0 / metal.coefficient_per_k - 20.0
    volume_heat = metal.density_kg_m3 * metal.specific_heat_j_kg_k
    density = current_a / (conductor.section_mm2 * 1e-6)
    growth = density**2 * seconds * metal.resistivity_ohm_m * metal.coefficient_per_k / volume_heat
    reached_c = (start_c + offset) * math.exp(min(growth, 50.0)) - offset
    return require(f"a {metal.name} temperature", reached_c, metal.low_c, metal.high_c, "°C")
