"""Joints: where a strap's resistance, and often most of its heat, really sits.

A joint of resistance R at current I makes I² R.  Where the metals touch, current and heat use
the same narrow spots, so (Wiedemann-Franz) the joint passes heat as G = L T / R: the worse it
conducts current, the less of its heat it lets into the metal behind it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from riskcheck.physics.ranges import require

LORENZ_W_OHM_K2 = 2.44e-8  # Sommerfeld value pi²/3 (k/e)²
GOOD_JOINT_MOHM = 0.1  # crimped and bolted on bright metal; from memory

# Resistivity at 20 °C, ohm m (from memory, typical of fastener metals).
FASTENER_RESISTIVITY_OHM_M: dict[str, float] = {
    "steel": 1.7e-7, "stainless": 7.2e-7, "brass": 6.5e-8, "copper": 1.7241e-8,
}  # fmt: skip


@dataclass(frozen=True)
class Lug:
    """A ring terminal with its small fastener: what a joint's heat has to warm.

    Defaults: about 20 g of copper and steel, 6 cm² of bare skin (from memory).
    """

    heat_capacity_j_k: float = 8.0
    skin_m2: float = 6e-4
    skin_diameter_m: float = 0.010
    emissivity: float = 0.3


@dataclass(frozen=True)
class Joint:
    """One end of the strap.

    ``resistance_mohm``: all contact and crimp resistance of that end.
    ``into_metal``: heat may also leave through the contact spots into metal at ``metal_c``;
    otherwise all of it stays with lug and wire (a stud in a plate that is itself hot, a lug on
    washers and paint): the cautious case.
    """

    resistance_mohm: float = GOOD_JOINT_MOHM
    into_metal: bool = True
    metal_c: float | None = None
    lug: Lug = Lug()

    def __post_init__(self) -> None:
        require("a joint resistance", self.resistance_mohm, 0.0, 1000.0, "mΩ")

    @property
    def resistance_ohm(self) -> float:
        """Resistance in ohm."""
        return self.resistance_mohm / 1000.0

    def thermal_conductance_w_k(self, mean_k: float) -> float:
        """G = L T / R of the contact spots at mean absolute temperature, W/K; 0 if cut off."""
        if not self.into_metal:
            return 0.0
        return LORENZ_W_OHM_K2 * mean_k / max(self.resistance_ohm, 1e-6)


def heat_w(current_a: float, resistance_mohm: float) -> float:
    """I² R of a joint, W."""
    return current_a**2 * resistance_mohm / 1000.0


def hottest_contact_c(drop_v: float, sides_c: float) -> float:
    """Temperature inside a metallic contact: T² = T0² + V² / (4 L) (Kohlrausch; Holm 1967).

    ``drop_v`` across the contact, both sides at ``sides_c``.  Metallic spots only; 0 to 0.43 V
    (copper softens near 0.12 V and melts near 0.43 V: Holm, from memory).
    """
    require("a contact drop", drop_v, 0.0, 0.43, "V")
    absolute_k = sides_c + 273.15
    return math.sqrt(absolute_k**2 + drop_v**2 / (4.0 * LORENZ_W_OHM_K2)) - 273.15


def thread_stress_area_mm2(diameter_mm: float, pitch_mm: float) -> float:
    """Tensile stress area of a metric thread: pi/4 (d - 0.9382 P)² (ISO 898-1), M3 to M16."""
    require("a thread diameter", diameter_mm, 3.0, 16.0, "mm")
    require("a thread pitch", pitch_mm, 0.25, 2.5, "mm")
    return math.pi / 4.0 * (diameter_mm - 0.9382 * pitch_mm) ** 2


def fastener_mohm(
    metal: str, thread: tuple[float, float], carrying_length_mm: float, contact_radius_mm: float
) -> float:
    """Resistance of a small fastener that carries the current itself, mohm.

    Stud: rho l / A_s, ``thread`` = (diameter, pitch) in mm; plus the narrowing at one seat,
    rho / (4 a) for a spot of radius a on thick metal (Holm).  Clean metal only: a film, paint
    or a loose nut comes on top and is usually larger.
    """
    resistivity = FASTENER_RESISTIVITY_OHM_M[metal]
    require("a carrying length", carrying_length_mm, 0.0, 200.0, "mm")
    require("a contact radius", contact_radius_mm, 0.05, 20.0, "mm")
    stud = resistivity * carrying_length_mm * 1e-3 / (thread_stress_area_mm2(*thread) * 1e-6)
    return 1000.0 * (stud + resistivity / (4.0 * contact_radius_mm * 1e-3))
