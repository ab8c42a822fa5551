"""A strap of finite length with a joint at each end: steady and warming up.

One dimension along the wire in equal cells, a lug at each end.  Cell i of length dx:
    C' dx dT_i/dt = I² R'(T_i) dx - q'(T_i) dx + k S (T_{i-1} - 2 T_i + T_{i+1}) / dx
Lug:  C dT/dt = I² R_j f - skin loss - G (T - T_metal) + k S (T_1 - T) / (dx/2)
where half of a joint's heat stays on the lug's side (f = 1/2) if the contact also passes heat
into the metal behind (G = L T / R), and all of it (f = 1) if not.  Steady states and warming
use the same equations, so heat made equals heat given off plus heat stored.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from riskcheck.physics import air
from riskcheck.physics.insulation import Cable
from riskcheck.physics.joints import Joint
from riskcheck.physics.longwire import LARGEST_CURRENT_A, Loss, loss_curve
from riskcheck.physics.ranges import require

if TYPE_CHECKING:
    from collections.abc import Sequence

Array = NDArray[np.float64]
CELLS = 40
STEADY_SECONDS = 8 * 3600.0


@dataclass(frozen=True)
class Strap:
    """Cable, length and the joints of its two ends; air at ``ambient_c``."""

    cable: Cable
    length_m: float
    joints: tuple[Joint, Joint]
    ambient_c: float

    def __post_init__(self) -> None:
        require("a strap length", self.length_m, 0.02, 20.0, "m")
        require("an air temperature", self.ambient_c, air.LOWEST_C, 200.0, "°C")


@dataclass(frozen=True)
class Profile:
    """Temperatures along a strap, °C: ``wire_c`` (CELLS,) from end to end, ``lugs_c`` (2)."""

    wire_c: Array
    lugs_c: tuple[float, float]

    @property
    def hottest_c(self) -> float:
        """The hottest place, wire or lug."""
        return max(float(np.max(self.wire_c)), *self.lugs_c)


@dataclass(frozen=True)
class HeatFlows:
    """Heats of one moment, W: what the current makes, what leaves, what is being stored."""

    made_w: float
    given_off_w: float
    stored_w: float


class StrapHeat:
    """The equations of one strap at one current (state: lug, cells, lug; °C).

    ``wire_loss`` overrides the still-air curve (W/m of conductor °C), for other surroundings.
    """

    def __init__(self, strap: Strap, current_a: float, wire_loss: Loss | None = None) -> None:
        require("a current", current_a, 0.0, LARGEST_CURRENT_A, "A")
        self.strap, self.current_a = strap, current_a
        self.conductor = strap.cable.conductor
        self.cell_m = strap.length_m / CELLS
        self.wire_loss = wire_loss or loss_curve(strap.cable, strap.ambient_c)
        metal = self.conductor.material
        self.axial_w_m_k = metal.conductivity_w_m_k * self.conductor.section_mm2 * 1e-6
        lugs = [joint.lug.heat_capacity_j_k for joint in strap.joints]
        cells = np.full(CELLS, strap.cable.heat_capacity_j_m_k * self.cell_m)
        self.capacity_j_k = np.concatenate([[lugs[0]], cells, [lugs[1]]])

    def made_w(self, state_c: Array) -> Array:
        """Heat that the current leaves in each node, W (CELLS + 2,)."""
        square = self.current_a**2
        wire: Array = square * self.conductor.resistance_ohm_per_m(state_c[1:-1]) * self.cell_m
        ends = [square * j.resistance_ohm * (0.5 if j.into_metal else 1.0) for j in self.joints]
        return np.concatenate([[ends[0]], wire, [ends[1]]])

    def given_off_w(self, state_c: Array) -> Array:
        """Heat that leaves each node to air and to the metal behind a joint, W (CELLS + 2,)."""
        wire = self.wire_loss(state_c[1:-1]) * self.cell_m
        ends = [
            self._lug_loss_w(joint, float(lug_c))
            for joint, lug_c in zip(self.joints, state_c[[0, -1]], strict=True)
        ]
        return np.concatenate([[ends[0]], wire, [ends[1]]])

    def conducted_w(self, state_c: Array) -> Array:
        """Net heat conducted along the wire into each node, W (CELLS + 2,); sums to 0."""
        gaps_m = np.full(CELLS + 1, self.cell_m)
        gaps_m[[0, -1]] /= 2.0
        flow = self.axial_w_m_k * np.diff(state_c) / gaps_m
        net: Array = np.concatenate([flow, [0.0]]) - np.concatenate([[0.0], flow])
        return net

    def net_w(self, state_c: Array) -> Array:
        """Heat being stored in each node, W."""
        return self.made_w(state_c) - self.given_off_w(state_c) + self.conducted_w(state_c)

    def flows(self, state_c: Array) -> HeatFlows:
        """Totals over the strap at one moment."""
        return HeatFlows(
            float(self.made_w(state_c).sum()),
            float(self.given_off_w(state_c).sum()),
            float(self.net_w(state_c).sum()),
        )

    @property
    def joints(self) -> tuple[Joint, Joint]:
        """The joints of both ends."""
        return self.strap.joints

    def run(self, times_s: Sequence[float], start_c: float | None = None) -> Array:
        """States (°C) at ascending ``times_s`` from a uniform start; shape (times, CELLS + 2).

        scipy's LSODA with a tridiagonal Jacobian, rtol 1e-7; NaN rows from the moment any
        place leaves the metal's range.
        """
        from scipy.integrate import solve_ivp

        high_c = self.conductor.material.high_c
        times = np.asarray(times_s, dtype=np.float64)
        start = np.full(CELLS + 2, self.strap.ambient_c if start_c is None else start_c)

        def leaves_range(_time: float, state: Array) -> float:
            return high_c - float(np.max(state))

        leaves_range.terminal = True  # type: ignore[attr-defined]
        solution = solve_ivp(
            lambda _time, state: self.net_w(state) / self.capacity_j_k,
            (0.0, max(float(times[-1]), 1e-9)), start, method="LSODA", t_eval=times,
            events=leaves_range, rtol=1e-7, atol=1e-6, lband=1, uband=1,
        )  # fmt: skip
        states = np.full((len(times), CELLS + 2), np.nan)
        reached = len(solution.t)
        if reached:
            states[:reached] = solution.y.T
        return states

    def steady(self) -> Array | None:
        """The state that no longer changes, or None if it lies beyond the metal's range.

        Eight hours of warming as the starting point, then Newton (scipy ``root``) on net heat.
        """
        from scipy.optimize import root

        late = self.run([STEADY_SECONDS])[0]
        if np.isnan(late).any():
            return None
        solution = root(self.net_w, late, tol=1e-11)
        return np.asarray(solution.x) if solution.success else late

    def _lug_loss_w(self, joint: Joint, lug_c: float) -> float:
        lug, ambient_c = joint.lug, self.strap.ambient_c
        length_m = lug.skin_m2 / (np.pi * lug.skin_diameter_m)
        per_metre = air.surface_loss_w_per_m(lug_c, ambient_c, lug.skin_diameter_m, lug.emissivity)
        metal_c = ambient_c if joint.metal_c is None else joint.metal_c
        mean_k = (lug_c + metal_c) / 2.0 + air.ZERO_C_K
        behind = joint.thermal_conductance_w_k(mean_k) * (lug_c - metal_c)
        return float(per_metre) * length_m + behind


def profile(state_c: Array) -> Profile:
    """A state vector as temperatures of wire and lugs."""
    return Profile(state_c[1:-1], (float(state_c[0]), float(state_c[-1])))


def joint_that_explains(
    strap: Strap, current_a: float, seen_c: float, seconds: float
) -> float | None:
    """Resistance (mohm) of the first joint with which the strap's hottest place reaches
    ``seen_c`` in ``seconds``; 0 if the rest alone does, None if none up to 100 mohm does.

    The second joint, the wire and the way heat leaves are as ``strap`` says.
    """
    from dataclasses import replace

    from scipy.optimize import brentq

    def shortfall(resistance_mohm: float) -> float:
        joint = replace(strap.joints[0], resistance_mohm=resistance_mohm)
        tried = replace(strap, joints=(joint, strap.joints[1]))
        state = StrapHeat(tried, current_a).run([seconds])[-1]
        hottest = strap.cable.conductor.material.high_c if np.isnan(state).any() else state.max()
        return float(hottest - seen_c)

    if shortfall(0.0) >= 0.0:
        return 0.0
    high = 1.0
    while shortfall(high) < 0.0:
        high *= 2.0
        if high > 100.0:
            return None
    return float(brentq(shortfall, 0.0, high, xtol=1e-3))
