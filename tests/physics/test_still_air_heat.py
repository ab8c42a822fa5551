"""Heat balance: correlations against published examples, solvers against closed forms."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from riskcheck.physics import air, fusing, longwire
from riskcheck.physics.conductors import COPPER, awg
from riskcheck.physics.duty import Duty, peak_temperature_c
from riskcheck.physics.insulation import Cable, insulation_for
from riskcheck.physics.joints import (
    Joint,
    Lug,
    fastener_mohm,
    hottest_contact_c,
    thread_stress_area_mm2,
)
from riskcheck.physics.ranges import OutOfRangeError
from riskcheck.physics.strap import CELLS, Strap, StrapHeat

NO_LUG = Lug(heat_capacity_j_k=1e-3, skin_m2=1e-9)


def cable(gauge: int, insulation: str = "GPT") -> Cable:
    return Cable(awg(gauge), insulation_for(insulation, awg(gauge).section_mm2))


def test_nusselt_equals_that_of_an_open_heat_transfer_library() -> None:
    # Test value of the open library "ht" for Churchill-Chu: Pr 0.69, Gr 2.63e9 -> 139.1349397.
    ours = air.nusselt_horizontal_cylinder(0.69 * 2.63e9, 0.69)
    assert float(ours) == pytest.approx(139.13493970073597, rel=1e-12)


@pytest.mark.parametrize(
    ("kelvin", "viscosity", "conductivity"),
    # Air tables of heat-transfer textbooks (from memory): Pa s * 1e7 and W/(m K) * 1e3.
    [(300.0, 184.6, 26.3), (400.0, 230.1, 33.8), (500.0, 270.1, 40.7)],
)
def test_air_properties(kelvin: float, viscosity: float, conductivity: float) -> None:
    assert float(air.viscosity_pa_s(kelvin)) * 1e7 == pytest.approx(viscosity, rel=0.015)
    assert float(air.conductivity_w_m_k(kelvin)) * 1e3 == pytest.approx(conductivity, rel=0.015)


def test_steam_pipe_example() -> None:
    # Textbook example of a 0.1 m pipe at 165 °C in a 23 °C room, emissivity 0.85 (Incropera &
    # DeWitt, from memory): 763 W/m with their rounded air properties.
    loss = air.surface_loss_w_per_m(165.0, 23.0, 0.1, 0.85)
    assert float(loss) == pytest.approx(763.0, rel=0.05)


@settings(max_examples=40, deadline=None)
@given(
    gauge=st.sampled_from([10, 8, 6, 4, 2, 0]),
    current_a=st.floats(5.0, 120.0),
    ambient_c=st.floats(-30.0, 90.0),
    bare=st.booleans(),
)
def test_long_wire_balance_closes(
    gauge: int, current_a: float, ambient_c: float, bare: bool
) -> None:
    wire = cable(gauge, "bare" if bare else "GPT")
    state = longwire.steady(wire, current_a, ambient_c)
    if state is None:
        loss = longwire.loss_curve(wire, ambient_c)(np.array(COPPER.high_c))
        assert current_a**2 * awg(gauge).resistance_ohm_per_m(COPPER.high_c) > float(loss)
        return
    surface_loss = air.surface_loss_w_per_m(
        state.surface_c, ambient_c, wire.outer_diameter_m, wire.emissivity
    )
    assert state.made_w_per_m == pytest.approx(float(surface_loss), rel=1e-3)
    assert state.made_w_per_m == pytest.approx(state.given_off_w_per_m, rel=1e-6)
    assert state.conductor_c >= state.surface_c >= ambient_c


@settings(max_examples=15, deadline=None)
@given(
    gauge=st.sampled_from([10, 8, 6, 4]),
    current_a=st.floats(10.0, 60.0),
    joint_mohm=st.floats(0.0, 2.0),
    into_metal=st.booleans(),
)
def test_strap_balance_closes(
    gauge: int, current_a: float, joint_mohm: float, into_metal: bool
) -> None:
    strap = Strap(cable(gauge), 0.5, (Joint(joint_mohm, into_metal), Joint()), 20.0)
    heat = StrapHeat(strap, current_a)
    steady = heat.steady()
    assert steady is not None
    flows = heat.flows(steady)
    assert flows.made_w == pytest.approx(flows.given_off_w, rel=1e-6)
    warming = heat.flows(heat.run([30.0])[-1])
    assert warming.made_w == pytest.approx(warming.given_off_w + warming.stored_w, rel=1e-9)


def test_stored_heat_is_what_was_made_less_what_left() -> None:
    strap = Strap(cable(10), 0.5, (Joint(2.0, False), Joint()), 20.0)
    heat = StrapHeat(strap, 55.0)
    times = np.linspace(0.0, 120.0, 1201)
    states = heat.run([float(time) for time in times])
    flows = [heat.flows(state) for state in states]
    kept = np.trapezoid([flow.made_w - flow.given_off_w for flow in flows], times)
    stored = float(((states[-1] - states[0]) * heat.capacity_j_k).sum())
    assert stored == pytest.approx(float(kept), rel=1e-4)


def test_cooled_fin_equals_its_closed_form() -> None:
    # Straight fin, insulated far end, linear loss g per metre and kelvin, heat P at the near end:
    # rise at the near end = P / sqrt(g k S) / tanh(m L), m = sqrt(g / (k S)) (textbook fin).
    wire, loss_w_m_k, length_m, heat_w, current_a = awg(10), 0.2, 0.3, 2.0, 1.0
    joint = Joint(1000.0 * heat_w / current_a**2 / 2.0, into_metal=False, lug=NO_LUG)
    second = Joint(0.0, into_metal=False, lug=NO_LUG)
    strap = Strap(Cable(wire), length_m, (joint, second), 20.0)
    heat = StrapHeat(strap, current_a * 2**0.5, lambda t: loss_w_m_k * (t - 20.0))
    steady = heat.steady()
    assert steady is not None
    axial = COPPER.conductivity_w_m_k * wire.section_mm2 * 1e-6
    m = (loss_w_m_k / axial) ** 0.5
    expected_k = heat_w / (loss_w_m_k * axial) ** 0.5 / np.tanh(m * length_m)
    assert steady[0] - 20.0 == pytest.approx(expected_k, rel=0.01)


def test_long_strap_is_a_long_wire_in_its_middle() -> None:
    strap = Strap(cable(10), 4.0, (Joint(), Joint()), 20.0)
    steady = StrapHeat(strap, 50.0).steady()
    alone = longwire.steady(cable(10), 50.0, 20.0)
    assert steady is not None
    assert alone is not None
    assert steady[CELLS // 2] == pytest.approx(alone.conductor_c, abs=0.05)


def test_warming_starts_adiabatic_and_ends_steady() -> None:
    bare = Cable(awg(10))
    first = longwire.warm_up(bare, 55.0, 20.0, [0.0, 1.0, 4 * 3600.0])
    adiabatic = fusing.adiabatic_temperature_c(awg(10), 55.0, 1.0, 20.0)
    steady = longwire.steady(bare, 55.0, 20.0)
    assert steady is not None
    assert first[1] - 20.0 == pytest.approx(adiabatic - 20.0, rel=0.02)
    assert first[1] < adiabatic
    assert first[2] == pytest.approx(steady.conductor_c, abs=0.01)


def test_linear_warming_equals_the_exponential() -> None:
    # C dT/dt = P - g (T - Ta), P constant: T - Ta = P/g (1 - exp(-g t / C)), in closed form.
    strap = Strap(
        Cable(awg(6)), 1.0, (Joint(0.0, False, lug=NO_LUG), Joint(0.0, False, lug=NO_LUG)), 20.0
    )
    heat = StrapHeat(strap, 1.0, lambda t: 0.3 * (t - 20.0))
    late = heat.run([100.0])[-1][1:-1]
    power, capacity = awg(6).resistance_ohm_per_m(20.0), strap.cable.heat_capacity_j_m_k
    expected_k = power / 0.3 * (1.0 - np.exp(-0.3 * 100.0 / capacity))
    assert float(late.mean()) - 20.0 == pytest.approx(expected_k, rel=0.01)


@settings(max_examples=20, deadline=None)
@given(current_a=st.floats(10.0, 80.0), more=st.floats(1.05, 2.0))
def test_more_current_or_less_metal_is_hotter(current_a: float, more: float) -> None:
    def hot(gauge: int, current: float) -> float:
        state = longwire.steady(cable(gauge), current, 20.0)
        return np.inf if state is None else state.conductor_c

    assert hot(8, current_a * more) > hot(8, current_a) > hot(6, current_a)


def test_duty_lies_between_mean_heat_and_always_on() -> None:
    wire, duty = cable(8), Duty(10.0, 30.0)
    peak = peak_temperature_c(wire, 100.0, 20.0, duty)
    mean = longwire.steady(wire, duty.equivalent_current_a(100.0), 20.0)
    always = longwire.steady(wire, 100.0, 20.0)
    assert peak is not None
    assert mean is not None
    assert always is not None
    assert mean.conductor_c < peak < always.conductor_c


@pytest.mark.parametrize(
    ("diameter", "pitch", "area"),
    # ISO 898-1 stress areas: M5 14.2, M6 20.1, M8 36.6, M10 58.0 mm².
    [(5, 0.8, 14.2), (6, 1.0, 20.1), (8, 1.25, 36.6), (10, 1.5, 58.0)],
)
def test_thread_stress_areas(diameter: float, pitch: float, area: float) -> None:
    assert thread_stress_area_mm2(diameter, pitch) == pytest.approx(area, abs=0.05)


def test_contact_softens_and_melts_at_the_handbook_voltages() -> None:
    # Holm: copper softens (190 °C) near 0.12 V, melts (1083 °C) near 0.43 V (from memory).
    assert hottest_contact_c(0.12, 20.0) == pytest.approx(190.0, abs=30.0)
    assert hottest_contact_c(0.43, 20.0) == pytest.approx(1083.0, rel=0.06)


def test_small_steel_stud_carries_more_resistance_than_a_large_copper_one() -> None:
    small = fastener_mohm("stainless", (5.0, 0.8), 15.0, 2.0)
    large = fastener_mohm("copper", (10.0, 1.5), 15.0, 4.0)
    assert small > 50 * large


def test_out_of_range_names_the_range() -> None:
    with pytest.raises(OutOfRangeError, match="0 to 3000 A"):
        longwire.steady(cable(10), 5000.0, 20.0)
