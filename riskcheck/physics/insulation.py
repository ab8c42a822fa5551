"""What the insulation stands, and how it hinders the heat."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass

from riskcheck.errors import UsageError
from riskcheck.physics.conductors import Conductor
from riskcheck.physics.ranges import require

# Highest conductor temperature by ISO 6722-1 class, as printed in open cable specifications.
ISO_6722_CLASS_C: dict[str, float] = {
    "A": 85.0, "B": 100.0, "C": 125.0, "D": 150.0, "E": 175.0, "F": 200.0, "G": 225.0, "H": 250.0,
}  # fmt: skip
# SAE J1128 primary wire and J1127 battery cable.  For GPT 80 and 85 °C are both in print; the
# lower is used.  SGT and SGX as printed on one supplier's page.
SAE_TYPE_C: dict[str, float] = {
    "GPT": 80.0, "TXL": 125.0, "GXL": 125.0, "SXL": 125.0, "SGT": 80.0, "SGX": 125.0,
}  # fmt: skip
UNKNOWN_TYPE = "GPT"

# Air around the strap.  50 °C is what 33 CFR 183.425 note 1 assumes for an engine space.
ENGINE_SPACE_C = 50.0
ENGINE_BAY_C: dict[str, float] = {
    "cold_start": 0.0,  # when an intake heater is wanted; common practice, no source
    "engine_space": ENGINE_SPACE_C,
    "hot_soak": 105.0,  # minutes after a hot shutdown; from memory
}


@dataclass(frozen=True)
class Insulation:
    """A plastic wall around the metal, with the highest conductor temperature it is rated for.

    Thermal figures are those of common wire plastics (conductivity and heat capacity after
    IEC 60287 and IEC 60853 tables, from memory); the wall only moves the answer by a few kelvin.
    """

    name: str
    limit_c: float
    wall_mm: float
    conductivity_w_m_k: float = 0.24
    heat_capacity_j_m3_k: float = 2.0e6
    emissivity: float = 0.9


def typical_wall_mm(section_mm2: float) -> float:
    """Nominal wall of thick-wall vehicle cable by section, mm (ISO 6722-1 sizes, from memory)."""
    steps = ((2.5, 0.7), (6.0, 0.8), (16.0, 1.0), (35.0, 1.3), (70.0, 1.5), (math.inf, 1.6))
    return next(wall for up_to, wall in steps if section_mm2 <= up_to)


def rated_limit_c(name: str) -> float:
    """Rated temperature, °C, of an ISO 6722-1 class, an SAE type or a plain "105C".

    Raises UsageError listing what is known.
    """
    key = name.strip().upper().removeprefix("CLASS ").removeprefix("ISO 6722-1 ")
    if key in ISO_6722_CLASS_C:
        return ISO_6722_CLASS_C[key]
    if key in SAE_TYPE_C:
        return SAE_TYPE_C[key]
    plain = re.fullmatch(r"(\d{2,3})\s*(?:°|DEG)?\s*C?", key)
    if plain:
        return require("an insulation rating", float(plain[1]), 60.0, 250.0, "°C")
    known = ", ".join([*ISO_6722_CLASS_C, *SAE_TYPE_C])
    raise UsageError(f'{name!r} is not an insulation known here; write {known}, "bare" or "105C"')


def insulation_for(name: str, section_mm2: float) -> Insulation | None:
    """Insulation by name on a wire of this section with its usual wall; None for "bare"."""
    if name.strip().casefold() == "bare":
        return None
    return Insulation(name.strip(), rated_limit_c(name), typical_wall_mm(section_mm2))


@dataclass(frozen=True)
class Cable:
    """A conductor in its insulation (or bare), as the air sees it."""

    conductor: Conductor
    insulation: Insulation | None = None
    bare_emissivity: float = 0.3  # lightly tarnished copper; bright tin is lower (from memory)

    @property
    def outer_diameter_m(self) -> float:
        """Outside diameter, m."""
        wall_mm = self.insulation.wall_mm if self.insulation else 0.0
        return self.conductor.diameter_m + 2e-3 * wall_mm

    @property
    def emissivity(self) -> float:
        """Share of black-body radiation that the outside gives off."""
        return self.insulation.emissivity if self.insulation else self.bare_emissivity

    @property
    def wall_resistance_m_k_w(self) -> float:
        """Thermal resistance of the wall per metre, ln(D/d) / (2 pi k), m K/W."""
        if self.insulation is None:
            return 0.0
        ratio = self.outer_diameter_m / self.conductor.diameter_m
        return math.log(ratio) / (2.0 * math.pi * self.insulation.conductivity_w_m_k)

    @property
    def heat_capacity_j_m_k(self) -> float:
        """Heat taken up per metre and kelvin by metal and wall, J/(m K)."""
        metal = self.conductor.heat_capacity_j_m_k
        if self.insulation is None:
            return metal
        wall_m2 = math.pi / 4 * (self.outer_diameter_m**2 - self.conductor.diameter_m**2)
        return metal + wall_m2 * self.insulation.heat_capacity_j_m3_k
