"""The shop's lines that decide who is called: limits that several steps of the ranking share."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from riskcheck.risk.beliefs import Floats

DUE_WITHIN_DAYS = 60
COMING_IN_DAYS = 10
LOOK_WEIGHT = 0.3
# Nobody is telephoned for less than one bay-hour is worth: the call, the write-up and the moving of
# the vehicle take about that long (common practice, no source).
LEAST_VISIT_HOURS = 1.0
LIVE = ("exposed", "unproven", "unknown")


class Line(NamedTuple):
    """Tolerance for P_harm a year, dollars a bay-hour must save, dollars a harm averted is worth.

    ``harm_value`` counts only where a look is weighed against its cost.
    """

    tolerance: float
    floor: float
    harm_value: float = 0.0

    def over(self, p_harm: Floats) -> NDArray[np.bool_]:
        """Whether a chance of harm is at or over the line; no chance at all never is."""
        return np.asarray((p_harm >= self.tolerance) & (p_harm > 0.0))
