"""Will this strap carry this current?  The verdict in numbers and reason codes, no wording.

Two judgements are kept apart: what the physics says (temperature against the insulation's
rating, drop against the trade's limit) and whether the strap is below the size the trade asks
for at this current.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from riskcheck.errors import UsageError
from riskcheck.physics import fusing, longwire, trade
from riskcheck.physics.ampacity import boat_table_a, building_table_a
from riskcheck.physics.conductors import STANDARD_AWG, Conductor, awg
from riskcheck.physics.duty import Duty, peak_temperature_c
from riskcheck.physics.insulation import Cable, insulation_for
from riskcheck.physics.joints import GOOD_JOINT_MOHM, Joint
from riskcheck.physics.ranges import require
from riskcheck.physics.reading import Reading, interpret_reading
from riskcheck.physics.strap import Strap, StrapHeat, joint_that_explains

__all__ = [
    "Reading", "RiseExplained", "StrapCase", "StrapVerdict", "assess_strap", "explain_rise",
    "interpret_reading", "temperature_curve",
]  # fmt: skip

PhysicsSays = Literal["serves", "no_margin", "only_briefly", "does_not_serve"]
MARGIN = 0.8  # share of the rated rise, or of the drop limit, that a fit strap may use; invented
LONGEST_RUN_S = 4 * 3600.0


@dataclass(frozen=True)
class StrapCase:
    """The question.  ``joint_mohm`` is the worse end; the other is taken as a good joint."""

    current_a: float
    conductor: Conductor
    length_m: float
    insulation: str
    ambient_c: float
    joint_mohm: float = GOOD_JOINT_MOHM
    into_metal: bool = True
    seconds: float = 60.0
    duty: Duty | None = None

    def __post_init__(self) -> None:
        require("a current", self.current_a, 0.1, longwire.LARGEST_CURRENT_A, "A")
        require("a strap length", self.length_m, 0.02, 20.0, "m")
        require("a time", self.seconds, 0.1, LONGEST_RUN_S, "s")
        require("an air temperature", self.ambient_c, -60.0, 150.0, "°C")

    @property
    def cable(self) -> Cable:
        """The conductor in the insulation asked for."""
        return Cable(self.conductor, insulation_for(self.insulation, self.conductor.section_mm2))

    @property
    def strap(self) -> Strap:
        """Cable, length and joints; the worse joint is the first."""
        worse = Joint(self.joint_mohm, self.into_metal)
        return Strap(self.cable, self.length_m, (worse, Joint()), self.ambient_c)


@dataclass(frozen=True)
class StrapVerdict:
    """The answer.  Temperatures °C; None = beyond what the formulas cover, or no such limit.

    ``wire_steady_c`` and ``wire_timed_c`` are the wire alone; ``steady_c`` and ``timed_c`` the
    hottest place of the strap with its joints.  ``limit_share`` is the share of the allowed rise
    (insulation rating less air) used in the steady state by the hotter of the two: a strap
    between cold lugs runs cooler than its wire alone, but nobody promises the lugs stay cold.
    """

    case: StrapCase
    physics_says: PhysicsSays
    trade_says: trade.TradeSize
    trade_asks_awg: int | None
    wire_mohm: float
    strap_mohm: float
    drop_v: float
    drop_hot_v: float | None
    heat_w: float
    wire_steady_c: float | None
    steady_c: float | None
    wire_timed_c: float | None
    timed_c: float | None
    duty_peak_c: float | None
    limit_c: float | None
    limit_share: float | None
    seconds_to_limit: float | None
    smallest_awg: int | None
    boat_table_a: float | None
    building_table_a: float | None
    fusing_share: float | None
    reasons: tuple[str, ...]


@dataclass(frozen=True)
class RiseExplained:
    """How much of a rise that somebody saw the wire alone explains, and what would explain it.

    ``joint_cut_off_mohm``: joint resistance needed if all its heat stays with lug and wire;
    ``joint_into_metal_mohm``: if the contact also leads heat into cool metal.  None: no joint
    up to 100 mohm does it; other sources (heat from the heater's own plate) come to mind.
    """

    seen_c: float
    seconds: float
    wire_alone_c: float | None
    share: float | None
    joint_cut_off_mohm: float | None
    joint_into_metal_mohm: float | None


def assess_strap(case: StrapCase) -> StrapVerdict:
    """Judge one strap.  OutOfRangeError or UsageError for inputs that no formula here covers."""
    heat = StrapHeat(case.strap, case.current_a)
    state = heat.steady()
    timed_c = _hottest(heat.run([case.seconds])[-1])
    steady_c = None if state is None else float(np.max(state))
    wire = longwire.steady(case.cable, case.current_a, case.ambient_c)
    wire_timed = longwire.warm_up(case.cable, case.current_a, case.ambient_c, [case.seconds])[-1]
    limit_c = None if case.cable.insulation is None else case.cable.insulation.limit_c
    if limit_c is not None and limit_c <= case.ambient_c:
        raise UsageError(
            f"air of {case.ambient_c:g} °C is already at the insulation's {limit_c:g} °C"
        )
    wire_ohm = case.conductor.resistance_ohm(case.length_m)
    joints_ohm = sum(joint.resistance_ohm for joint in case.strap.joints)
    hot_ohm = None if state is None else _hot_ohm(case, state[1:-1]) + joints_ohm
    judged_c = None if wire is None or steady_c is None else max(wire.conductor_c, steady_c)
    share = _limit_share(judged_c, limit_c, case.ambient_c)
    says, reasons = _judge(case, judged_c, limit_c, share, hot_ohm)
    in_time = timed_c is not None and limit_c is not None and timed_c <= limit_c
    if in_time and reasons == ("temperature_over_limit",):
        says, reasons = "only_briefly", ("temperature_over_limit", "within_limit_in_time")
    trade_says = trade.strap_size(case.conductor.section_mm2, case.current_a)
    return StrapVerdict(
        case=case,
        physics_says=says,
        trade_says=trade_says,
        trade_asks_awg=trade.asked_awg(case.current_a),
        wire_mohm=1000.0 * wire_ohm,
        strap_mohm=1000.0 * (wire_ohm + joints_ohm),
        drop_v=case.current_a * (wire_ohm + joints_ohm),
        drop_hot_v=None if hot_ohm is None else case.current_a * hot_ohm,
        heat_w=case.current_a**2 * (wire_ohm + joints_ohm if hot_ohm is None else hot_ohm),
        wire_steady_c=None if wire is None else wire.conductor_c,
        steady_c=steady_c,
        wire_timed_c=None if np.isnan(wire_timed) else float(wire_timed),
        timed_c=timed_c,
        duty_peak_c=None if case.duty is None else peak_temperature_c(
            case.cable, case.current_a, case.ambient_c, case.duty
        ),
        limit_c=limit_c,
        limit_share=share,
        seconds_to_limit=_seconds_to(limit_c, heat, steady_c),
        smallest_awg=smallest_awg(case),
        boat_table_a=boat_table_a(case.conductor.section_mm2, 105.0, engine_space=True),
        building_table_a=building_table_a(case.conductor.section_mm2, 75.0),
        fusing_share=_fusing_share(case),
        reasons=(*reasons, f"trade_{trade_says}"),
    )  # fmt: skip


def smallest_awg(case: StrapCase) -> int | None:
    """Smallest standard AWG that carries the current for good with margin, joints good.

    Copper wire alone: steady rise and drop (with two good joints) each within ``MARGIN`` of the
    limit.  None if not even 4/0 does.  A bare strap is judged on its drop and a 60 K rise only.
    """
    for number in STANDARD_AWG:
        size = replace(case, conductor=awg(number, case.conductor.material))
        state = longwire.steady(size.cable, case.current_a, case.ambient_c)
        if state is None:
            continue
        insulation = size.cable.insulation
        allowed_k = insulation.limit_c - case.ambient_c if insulation else trade.LUG_RISE_REPLACE_K
        hot_ohm = size.conductor.resistance_ohm(case.length_m, state.conductor_c)
        drop_v = case.current_a * (hot_ohm + 2e-3 * GOOD_JOINT_MOHM)
        if (
            state.conductor_c - case.ambient_c <= MARGIN * allowed_k
            and drop_v <= MARGIN * trade.LIMIT_DROP_V
        ):
            return number
    return None


def explain_rise(case: StrapCase, seen_c: float) -> RiseExplained:
    """Split a temperature seen after ``case.seconds`` into the wire's share and the joint's.

    The hottest place is compared, whichever it was that was touched or looked at.
    """
    high_c = case.conductor.material.high_c
    require("a seen temperature", seen_c, case.ambient_c + 1.0, high_c, "°C")
    alone = longwire.warm_up(case.cable, case.current_a, case.ambient_c, [case.seconds])[-1]
    needed = [
        joint_that_explains(
            replace(case, into_metal=into_metal).strap, case.current_a, seen_c, case.seconds
        )
        for into_metal in (False, True)
    ]
    rise_share = (alone - case.ambient_c) / (seen_c - case.ambient_c)
    return RiseExplained(
        seen_c, case.seconds,
        wire_alone_c=None if np.isnan(alone) else float(alone),
        share=None if np.isnan(alone) else min(float(rise_share), 1.0),
        joint_cut_off_mohm=needed[0], joint_into_metal_mohm=needed[1],
    )  # fmt: skip


def temperature_curve(case: StrapCase, points: int = 121) -> dict[str, list[float | None]]:
    """Times (s) and temperatures (°C) over ``case.seconds`` for a picture: keys ``seconds``,
    ``wire_alone_c``, ``hottest_c``; None from where the metal's range ends."""
    times = [case.seconds * index / (points - 1) for index in range(points)]
    wire = longwire.warm_up(case.cable, case.current_a, case.ambient_c, times)
    states = StrapHeat(case.strap, case.current_a).run(times)
    return {
        "seconds": list(times),
        "wire_alone_c": [None if np.isnan(value) else float(value) for value in wire],
        "hottest_c": [_hottest(state) for state in states],
    }


def _hottest(state_c: longwire.Array) -> float | None:
    return None if np.isnan(state_c).any() else float(np.max(state_c))


def _hot_ohm(case: StrapCase, wire_c: longwire.Array) -> float:
    per_metre = case.conductor.resistance_ohm_per_m(wire_c)
    return float(per_metre.mean()) * case.length_m


def _limit_share(steady_c: float | None, limit_c: float | None, ambient_c: float) -> float | None:
    if steady_c is None or limit_c is None:
        return None
    return (steady_c - ambient_c) / (limit_c - ambient_c)


def _judge(
    case: StrapCase,
    steady_c: float | None,
    limit_c: float | None,
    share: float | None,
    hot_ohm: float | None,
) -> tuple[PhysicsSays, tuple[str, ...]]:
    """Worst of temperature and drop."""
    if steady_c is None or hot_ohm is None:
        return "does_not_serve", ("no_balance_in_range",)
    over: list[str] = []
    near: list[str] = []
    if limit_c is not None and share is not None:
        (over if share > 1.0 else near if share > MARGIN else []).append("temperature")
    elif steady_c - case.ambient_c > trade.LUG_RISE_REPLACE_K:
        over.append("rise_of_bare_strap")
    drop_share = case.current_a * hot_ohm / trade.LIMIT_DROP_V
    (over if drop_share > 1.0 else near if drop_share > MARGIN else []).append("drop")
    if over:
        return "does_not_serve", tuple(f"{name}_over_limit" for name in over)
    if near:
        return "no_margin", tuple(f"{name}_near_limit" for name in near)
    return "serves", ("within_limits",)


def _seconds_to(limit_c: float | None, heat: StrapHeat, steady_c: float | None) -> float | None:
    """First time (s) at which the hottest place reaches the limit; None if it never does."""
    if limit_c is None or (steady_c is not None and steady_c <= limit_c):
        return None
    times = np.concatenate([[0.0], np.geomspace(0.1, LONGEST_RUN_S, 400)])
    states = heat.run([float(value) for value in times])
    hottest = np.where(np.isnan(states).any(axis=1), np.inf, states.max(axis=1))
    first = int(np.argmax(hottest >= limit_c))
    before, after = hottest[first - 1], hottest[first]
    if first == 0 or not np.isfinite(after):
        return float(times[first])
    return float(np.interp(limit_c, [before, after], [times[first - 1], times[first]]))


def _fusing_share(case: StrapCase) -> float | None:
    """Current as a share of Preece's fusing current of the bare wire."""
    diameter_in = case.conductor.diameter_m / 0.0254
    low, high = fusing.PREECE_DIAMETER_IN
    if not low <= diameter_in <= high:
        return None
    return case.current_a / fusing.preece_a(case.conductor)
