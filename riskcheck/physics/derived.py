"""Facts for the rulebook that are computed from other facts, by name, over whole columns.

Every function takes float arrays of shape (n,) named like the facts they read (unit in the
name; NaN where the record is silent) and returns a float array (n,), NaN where it cannot be
told.  Flags are 1.0 and 0.0.  Nothing raises: an impossible input is a silent one.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from riskcheck.physics import longwire, trade
from riskcheck.physics.ampacity import boat_table_a
from riskcheck.physics.conductors import COPPER, Conductor
from riskcheck.physics.insulation import ENGINE_SPACE_C, Cable, insulation_for
from riskcheck.units import WireSize

Array = NDArray[np.float64]
SMALLEST_MM2, LARGEST_MM2 = 0.05, 400.0


def strap_amps_per_mm2(heater_rated_current_a: Array, strap_section_mm2: Array) -> Array:
    """Current density, A/mm²: I / S."""
    current, section = _usable(heater_rated_current_a, strap_section_mm2)
    return np.asarray(current / section)


def strap_below_trade_size(heater_rated_current_a: Array, strap_section_mm2: Array) -> Array:
    """1 where the strap is below the size the trade asks for at this current, 0 where it meets it.

    NaN between the currents the trade names (see ``riskcheck.physics.trade.strap_size``).
    """
    told = {"below": 1.0, "meets": 0.0, "no_figure": np.nan}

    def one(current_a: float, section_mm2: float) -> float:
        return told[trade.strap_size(section_mm2, current_a)]

    return _each_distinct(one, *_usable(heater_rated_current_a, strap_section_mm2))


def strap_temperature_rise_k(heater_rated_current_a: Array, strap_section_mm2: Array) -> Array:
    """Steady rise of the strap's own copper in still air of 50 °C, K: the wire alone.

    Joints and ends not counted; a wire that finds no balance within the copper law's range
    (500 °C) counts as that range's rise, a lower bound.  See ``longwire.steady``.
    """

    def one(current_a: float, section_mm2: float) -> float:
        conductor = Conductor(WireSize("mm2", section_mm2))
        cable = Cable(conductor, insulation_for("GPT", section_mm2))
        state = longwire.steady(cable, current_a, ENGINE_SPACE_C)
        return (state.conductor_c if state else COPPER.high_c) - ENGINE_SPACE_C

    return _each_distinct(one, *_usable(heater_rated_current_a, strap_section_mm2))


def strap_share_of_boat_table(heater_rated_current_a: Array, strap_section_mm2: Array) -> Array:
    """Current as a share of 33 CFR 183.425 Table 5 (105 °C insulation, engine space factor).

    For continuous current in boats: an order of magnitude for a strap.  Above 1 is over it.
    """

    def one(current_a: float, section_mm2: float) -> float:
        allowed_a = boat_table_a(section_mm2, 105, engine_space=True)
        return np.nan if allowed_a is None else current_a / allowed_a

    return _each_distinct(one, *_usable(heater_rated_current_a, strap_section_mm2))


def strap_copper_drop_v(
    heater_rated_current_a: Array, strap_section_mm2: Array, strap_length_m: Array
) -> Array:
    """Drop along the strap's copper at 20 °C, V: I rho L / S.  Joints come on top."""
    current, section = _usable(heater_rated_current_a, strap_section_mm2)
    length = np.where(strap_length_m > 0.0, strap_length_m, np.nan)
    return np.asarray(current * COPPER.resistivity_ohm_m * length / (section * 1e-6))


def strap_joint_mohm(
    strap_drop_v: Array, heater_return_current_a: Array, strap_section_mm2: Array,
    strap_length_m: Array,
) -> Array:  # fmt: skip
    """Resistance of both joints, mohm: measured drop over current, less the copper's share."""
    current, section = _usable(heater_return_current_a, strap_section_mm2)
    copper_ohm = COPPER.resistivity_ohm_m * strap_length_m / (section * 1e-6)
    return np.asarray(1000.0 * np.maximum(strap_drop_v / current - copper_ohm, 0.0))


def ground_path_mohm(heater_ground_drop_v: Array, heater_return_current_a: Array) -> Array:
    """Resistance from heater plate to battery negative, mohm: drop over returning current."""
    current = np.where(heater_return_current_a > 0.0, heater_return_current_a, np.nan)
    return np.asarray(1000.0 * heater_ground_drop_v / current)


def heater_current_share(heater_feed_current_a: Array, heater_rated_current_a: Array) -> Array:
    """Measured over rated current; 0 is open, 0.85 to 1.15 in range (common practice)."""
    rated = np.where(heater_rated_current_a > 0.0, heater_rated_current_a, np.nan)
    return np.asarray(heater_feed_current_a / rated)


def heater_stray_current_a(heater_feed_current_a: Array, heater_return_current_a: Array) -> Array:
    """Current that goes in but does not come back through the strap, A (never below 0)."""
    return np.asarray(np.maximum(heater_feed_current_a - heater_return_current_a, 0.0))


FACT_FUNCTIONS: dict[str, Callable[..., Array]] = {
    function.__name__: function
    for function in (
        strap_amps_per_mm2,
        strap_below_trade_size,
        strap_temperature_rise_k,
        strap_share_of_boat_table,
        strap_copper_drop_v,
        strap_joint_mohm,
        ground_path_mohm,
        heater_current_share,
        heater_stray_current_a,
    )
}
FUNCTIONS = FACT_FUNCTIONS


def _usable(current_a: Array, section_mm2: Array) -> tuple[Array, Array]:
    """Currents and sections with everything impossible turned into NaN."""
    current = np.asarray(current_a, dtype=np.float64)
    section = np.asarray(section_mm2, dtype=np.float64)
    current_fits = (current > 0.0) & (current <= longwire.LARGEST_CURRENT_A)
    section_fits = (section >= SMALLEST_MM2) & (section <= LARGEST_MM2)
    return np.where(current_fits, current, np.nan), np.where(section_fits, section, np.nan)


def _each_distinct(function: Callable[[float, float], float], *columns: Array) -> Array:
    """``function`` once per distinct pair (a fleet has few), NaN where either is silent."""
    pairs = np.column_stack(np.broadcast_arrays(*columns))
    known = ~np.isnan(pairs).any(axis=1)
    result = np.full(len(pairs), np.nan)
    if known.any():
        distinct, index = np.unique(pairs[known], axis=0, return_inverse=True)
        values = np.array([function(float(current), float(mm2)) for current, mm2 in distinct])
        result[known] = values[index.reshape(-1)]
    return result
