"""A wire far from its ends: heat made equals heat given off, and how it gets there.

The metal and its wall warm as one lump; the temperature difference across the wall is kept.
This is what the wire *alone* does; joints and ends are in ``riskcheck.physics.strap``.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from riskcheck.physics import air
from riskcheck.physics.insulation import Cable
from riskcheck.physics.ranges import require

if TYPE_CHECKING:
    from collections.abc import Sequence

Array = NDArray[np.float64]
Loss = Callable[[Array], Array]
LARGEST_CURRENT_A = 3000.0


@dataclass(frozen=True)
class SteadyWire:
    """Heat balance of a long wire.  Temperatures in °C, heats in W per metre."""

    conductor_c: float
    surface_c: float
    made_w_per_m: float
    given_off_w_per_m: float


def loss_curve(cable: Cable, ambient_c: float) -> Loss:
    """Heat given off per metre (W/m) as a function of *conductor* temperature (°C array).

    Solved once along the surface temperature (Tc = Ts + q' R_wall) and interpolated monotonely
    (PCHIP on 600 points; error below 1e-5 of the value), so that an ODE can call it cheaply.
    """
    from scipy.interpolate import PchipInterpolator

    span = np.linspace(-1.0, 1.0, 600)
    low, high = air.LOWEST_C - ambient_c, air.HIGHEST_C - ambient_c
    # Points crowd at the air temperature, where the still-air coefficient bends most.
    surface = ambient_c + np.where(span < 0.0, -low * span * np.abs(span), high * span**2)
    given_off = air.surface_loss_w_per_m(
        surface, ambient_c, cable.outer_diameter_m, cable.emissivity
    )
    conductor = surface + given_off * cable.wall_resistance_m_k_w
    curve = PchipInterpolator(conductor, given_off)
    return lambda temperature_c: np.asarray(curve(temperature_c), dtype=np.float64)


def steady(cable: Cable, current_a: float, ambient_c: float) -> SteadyWire | None:
    """Steady state: I² R'(Tc) = q'(Tc), solved by Brent's method.

    None where no balance exists below the metal's range (``material.high_c``): the wire would
    go beyond what the linear resistance law covers.  OutOfRangeError for inputs out of range.
    """
    from scipy.optimize import brentq

    require("a current", current_a, 0.0, LARGEST_CURRENT_A, "A")
    require("an air temperature", ambient_c, air.LOWEST_C, 200.0, "°C")
    loss = loss_curve(cable, ambient_c)
    conductor = cable.conductor

    def surplus(temperature_c: float) -> float:
        made = current_a**2 * conductor.resistance_ohm_per_m(temperature_c)
        return made - float(loss(np.asarray(temperature_c)))

    high_c = conductor.material.high_c
    if surplus(high_c) > 0.0:
        return None
    hot_c = ambient_c if current_a == 0.0 else float(brentq(surplus, ambient_c, high_c, xtol=1e-9))
    given_off = float(loss(np.asarray(hot_c)))
    return SteadyWire(
        conductor_c=hot_c,
        surface_c=hot_c - given_off * cable.wall_resistance_m_k_w,
        made_w_per_m=current_a**2 * conductor.resistance_ohm_per_m(hot_c),
        given_off_w_per_m=given_off,
    )


def warm_up(cable: Cable, current_a: float, ambient_c: float, times_s: Sequence[float]) -> Array:
    """Conductor temperature (°C) at ``times_s`` (ascending, from 0), current on at time 0.

    C' dT/dt = I² R'(T) - q'(T), by scipy's LSODA (rtol 1e-8); NaN from the moment the metal
    leaves its range.  Shape (len(times_s),).
    """
    return warm_up_from(cable, current_a, ambient_c, times_s, ambient_c)


def warm_up_from(
    cable: Cable, current_a: float, ambient_c: float, times_s: Sequence[float], start_c: float
) -> Array:
    """Like ``warm_up`` from a starting temperature (used for duty cycles and cooling down)."""
    from scipy.integrate import solve_ivp

    require("a current", current_a, 0.0, LARGEST_CURRENT_A, "A")
    loss = loss_curve(cable, ambient_c)
    conductor, capacity = cable.conductor, cable.heat_capacity_j_m_k
    times = np.asarray(times_s, dtype=np.float64)

    def rate(_time: float, temperature: Array) -> Array:
        made = current_a**2 * conductor.resistance_ohm_per_m(temperature)
        return np.asarray((made - loss(temperature)) / capacity)

    def leaves_range(_time: float, temperature: Array) -> float:
        return conductor.material.high_c - float(temperature[0])

    leaves_range.terminal = True  # type: ignore[attr-defined]
    solution = solve_ivp(
        rate, (0.0, max(float(times[-1]), 1e-9)), [start_c], method="LSODA",
        t_eval=times, events=leaves_range, rtol=1e-8, atol=1e-7,
    )  # fmt: skip
    temperatures = np.full(times.shape, np.nan)
    if len(solution.t):
        temperatures[: len(solution.t)] = solution.y[0]
    return temperatures
