"""Figures of the trade, kept apart from the physics: every one is common practice, no source."""

from __future__ import annotations

from typing import Literal

from riskcheck.physics.conductors import awg

SOURCE = "common practice, no source"

TradeSize = Literal["below", "meets", "no_figure"]

SMALL_HEATER_A = (50.0, 55.0)  # for which the trade names 6 AWG
LARGE_HEATER_A = (150.0, 200.0)  # for which it names 25 to 50 mm² (4 to 1/0 AWG)

# Drops at full current, V.
GOOD_DROP_V = 0.1
LIMIT_DROP_V = 0.2

# Lug above the metal it sits on, K, after a minute of heating.
LUG_RISE_REPLACE_K = 60.0

# Heater current against its specification; wide enough for a heater that sinks from 55 A cold to
# 50 A hot as its resistance rises.
CURRENT_TOLERANCE = 0.15

# A clamp meter on a vehicle: the larger of these is its doubt (from memory).
CLAMP_ZERO_A = 1.0
CLAMP_SHARE = 0.03


def strap_size(section_mm2: float, current_a: float) -> TradeSize:
    """Is the strap below the size the trade asks for at this current?

    The trade names two sizes: 6 AWG for 50 to 55 A, 4 AWG or more for 150 to 200 A.  Bigger
    current never asks for less, so: below 6 AWG is below from 50 A up; 4 AWG meets up to 200 A;
    below 4 AWG is below from 150 A up.  Between these, or where no figure reaches: "no_figure".
    Sections within 3 % of the named size count as that size (SAE 6 gauge is 13.0 mm²).
    """
    small, large = (awg(number).section_mm2 * 0.97 for number in (6, 4))
    if section_mm2 < small:
        return "below" if current_a >= SMALL_HEATER_A[0] else "no_figure"
    if current_a <= SMALL_HEATER_A[1]:
        return "meets"
    if section_mm2 < large:
        return "below" if current_a >= LARGE_HEATER_A[0] else "no_figure"
    return "meets" if current_a <= LARGE_HEATER_A[1] else "no_figure"


def asked_awg(current_a: float) -> int | None:
    """The AWG number the trade names for this current; None where it names none."""
    if SMALL_HEATER_A[0] <= current_a <= SMALL_HEATER_A[1]:
        return 6
    return 4 if LARGE_HEATER_A[0] <= current_a <= LARGE_HEATER_A[1] else None
