"""Heat that a horizontal cylinder gives to still air and to its surroundings.

Any wind only cools further, so still air is the cautious case; an enclosed or taped strap is
hotter than computed here.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from riskcheck.physics.ranges import require

Array = NDArray[np.float64]

STEFAN_BOLTZMANN_W_M2_K4 = 5.670374419e-8  # SI, CODATA 2018
GRAVITY_M_S2 = 9.80665
AIR_GAS_CONSTANT_J_KG_K = 287.05287
ATMOSPHERE_PA = 101325.0
PRANDTL_AIR = 0.70  # handbook tables print 0.684 to 0.72 from -60 to 500 °C
ZERO_C_K = 273.15
LOWEST_C, HIGHEST_C = -60.0, 520.0


def viscosity_pa_s(temperature_k: ArrayLike) -> Array:
    """Dynamic viscosity of air: 1.458e-6 T^1.5 / (T + 110.4) (U.S. Standard Atmosphere 1976)."""
    t = np.asarray(temperature_k, dtype=np.float64)
    return np.asarray(1.458e-6 * t**1.5 / (t + 110.4))


def conductivity_w_m_k(temperature_k: ArrayLike) -> Array:
    """Thermal conductivity of air: 2.64638e-3 T^1.5 / (T + 245.4 * 10^(-12/T)) (same, eq. 53)."""
    t = np.asarray(temperature_k, dtype=np.float64)
    return np.asarray(2.64638e-3 * t**1.5 / (t + 245.4 * 10.0 ** (-12.0 / t)))


def nusselt_horizontal_cylinder(rayleigh: ArrayLike, prandtl: float = PRANDTL_AIR) -> Array:
    """Nu = {0.60 + 0.387 Ra^(1/6) / [1 + (0.559/Pr)^(9/16)]^(8/27)}^2 (Churchill & Chu 1975).

    Holds for 1e-5 <= Ra <= 1e12; Ra = 0 gives the conduction limit 0.36.
    """
    ra = np.asarray(rayleigh, dtype=np.float64)
    share = (1.0 + (0.559 / prandtl) ** (9.0 / 16.0)) ** (8.0 / 27.0)
    return np.asarray((0.60 + 0.387 * ra ** (1.0 / 6.0) / share) ** 2)


def convection_w_m2_k(surface_c: ArrayLike, ambient_c: float, diameter_m: float) -> Array:
    """Still-air heat transfer coefficient of a horizontal cylinder, W/(m² K).

    Air properties at the film temperature (mean of surface and air), sea-level pressure.
    ``surface_c`` -60 to 520 °C, any shape; ``diameter_m`` 0.2 mm to 0.1 m.
    """
    require("an air temperature", ambient_c, LOWEST_C, 200.0, "°C")
    require("a wire diameter", diameter_m * 1000.0, 0.2, 100.0, "mm")
    surface_k = np.asarray(surface_c, dtype=np.float64) + ZERO_C_K
    ambient_k = ambient_c + ZERO_C_K
    film_k = (surface_k + ambient_k) / 2.0
    density = ATMOSPHERE_PA / (AIR_GAS_CONSTANT_J_KG_K * film_k)
    kinematic = viscosity_pa_s(film_k) / density
    buoyancy = GRAVITY_M_S2 / film_k * np.abs(surface_k - ambient_k) * diameter_m**3
    rayleigh = buoyancy * PRANDTL_AIR / kinematic**2
    nusselt = nusselt_horizontal_cylinder(rayleigh)
    return np.asarray(nusselt * conductivity_w_m_k(film_k) / diameter_m)


def surface_loss_w_per_m(
    surface_c: ArrayLike, ambient_c: float, diameter_m: float, emissivity: float
) -> Array:
    """Heat given off per metre of horizontal cylinder, W/m: convection plus radiation.

    q' = pi D [h (Ts - Ta) + eps sigma (Ts^4 - Ta^4)], surroundings at air temperature;
    negative where the surface is colder than the air.  Shape of ``surface_c``.
    """
    surface = np.asarray(surface_c, dtype=np.float64)
    rise = surface - ambient_c
    convection = convection_w_m2_k(surface, ambient_c, diameter_m) * rise
    radiation = (surface + ZERO_C_K) ** 4 - (ambient_c + ZERO_C_K) ** 4
    per_area = convection + emissivity * STEFAN_BOLTZMANN_W_M2_K4 * radiation
    return np.asarray(np.pi * diameter_m * per_area)
