"""On and off: what a duty cycle does to a long wire."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from riskcheck.physics.insulation import Cable
from riskcheck.physics.longwire import warm_up_from
from riskcheck.physics.ranges import require


@dataclass(frozen=True)
class Duty:
    """Current on for ``on_s``, off for ``off_s``, repeated."""

    on_s: float
    off_s: float

    def __post_init__(self) -> None:
        require("a heating time", self.on_s, 1.0, 3600.0, "s")
        require("a resting time", self.off_s, 0.0, 36000.0, "s")

    @property
    def share(self) -> float:
        """Share of the time that current flows."""
        return self.on_s / (self.on_s + self.off_s)

    def equivalent_current_a(self, current_a: float) -> float:
        """I sqrt(share): the steady current of equal mean heat.

        Right only where the cycle is much shorter than the wire's time constant; else the peak
        is above it, and ``peak_temperature_c`` is the answer.
        """
        return current_a * math.sqrt(self.share)


def peak_temperature_c(
    cable: Cable, current_a: float, ambient_c: float, duty: Duty, cycles: int = 200
) -> float | None:
    """Highest conductor temperature once the cycle repeats itself (to 0.01 K), °C.

    None if it leaves the metal's range.  Long wire, no joints.
    """
    start_c, peak_c = ambient_c, ambient_c
    for _ in range(cycles):
        previous_c = peak_c
        peak_c = float(warm_up_from(cable, current_a, ambient_c, [duty.on_s], start_c)[-1])
        if np.isnan(peak_c):
            return None
        start_c = float(warm_up_from(cable, 0.0, ambient_c, [max(duty.off_s, 1e-6)], peak_c)[-1])
        if abs(peak_c - previous_c) < 0.01:
            break
    return peak_c
