"""Conductors, tables and fusing limits against published rows.

AWG: ASTM B258 formula; printed columns as reproduced in the HyperPhysics and Wikibooks wire
tables.  Resistivity and coefficient: IEC 60028.
"""

from __future__ import annotations

import math
from itertools import pairwise

import pytest

from riskcheck.errors import UsageError
from riskcheck.physics import ampacity, fusing, insulation
from riskcheck.physics.conductors import (
    ALUMINIUM,
    COPPER,
    Conductor,
    awg,
    nearest_awg_not_above,
    voltage_drop_there_and_back_v,
)
from riskcheck.physics.ranges import OutOfRangeError
from riskcheck.units import WireSize

# gauge: diameter in, area mm2, ohm/km at 20 C (printed tables, solid copper).
PRINTED = {
    -3: (0.46000, 107.2, 0.1608),
    -1: (0.36480, 67.43, 0.2557),
    0: (0.32486, 53.48, 0.3224),
    2: (0.25763, 33.63, 0.5127),
    4: (0.20431, 21.15, 0.8152),
    6: (0.16202, 13.30, 1.296),
    8: (0.12849, 8.366, 2.061),
    10: (0.10190, 5.261, 3.277),
}


@pytest.mark.parametrize(("gauge", "row"), PRINTED.items())
def test_awg_rows(gauge: int, row: tuple[float, float, float]) -> None:
    wire = awg(gauge)
    assert wire.diameter_m / 0.0254 == pytest.approx(row[0], abs=6e-6)
    assert wire.section_mm2 == pytest.approx(row[1], rel=5e-4)
    assert 1000.0 * wire.resistance_ohm(1.0) == pytest.approx(row[2], rel=1e-3)


def test_gauge_steps() -> None:
    # 92^(1/39) per step; six steps double the diameter to 2.0050.
    assert awg(9).diameter_m / awg(10).diameter_m == pytest.approx(92 ** (1 / 39))
    assert awg(4).diameter_m / awg(10).diameter_m == pytest.approx(2.0050, abs=1e-4)


@pytest.mark.parametrize(
    ("temperature_c", "factor"),
    [(0, 0.9214), (25, 1.01965), (50, 1.1179), (75, 1.21615), (105, 1.33405), (125, 1.41265)],
)
def test_temperature_factor(temperature_c: float, factor: float) -> None:
    # 1 + 0.00393 (T - 20), IEC 60028.
    cold, warm = awg(10).resistance_ohm(1.0), awg(10).resistance_ohm(1.0, temperature_c)
    assert warm / cold == pytest.approx(factor, rel=1e-12)


def test_linear_law_holds_for_hot_copper_within_two_of_a_hundred() -> None:
    # CRC handbook resistivity of copper, 1e-8 ohm m, from memory: 3.09 at 500 K, 5.26 at 800 K.
    for kelvin, handbook in ((500.0, 3.09), (800.0, 5.26)):
        ours = COPPER.resistivity_ohm_m * COPPER.resistance_factor(kelvin - 273.15)
        assert ours * 1e8 == pytest.approx(handbook, rel=0.025)


def test_aluminium_has_61_percent_of_copper_conductance() -> None:
    # 61 % IACS, IEC 60889 (from memory).
    assert COPPER.resistivity_ohm_m / ALUMINIUM.resistivity_ohm_m == pytest.approx(0.61, abs=5e-4)


def test_drop_there_and_back_adds_both_legs() -> None:
    # 200 A through 0.5 milliohm is 0.1 V (arithmetic); two equal legs make twice one.
    half_milliohm = 0.5e-3 / awg(4).resistance_ohm_per_m(20.0)
    both = voltage_drop_there_and_back_v(awg(4), awg(4), 200.0, (half_milliohm, half_milliohm))
    assert both == pytest.approx(0.2)


def test_temperature_outside_the_law_is_refused_with_its_range() -> None:
    with pytest.raises(OutOfRangeError, match="-60 to 500"):
        awg(10).resistance_ohm(1.0, 700.0)


def test_metric_size_enters_an_awg_table_from_below() -> None:
    assert nearest_awg_not_above(16.0) == 6
    assert nearest_awg_not_above(25.0) == 4
    assert nearest_awg_not_above(awg(-3).section_mm2) == -3
    assert nearest_awg_not_above(0.5) is None


@pytest.mark.parametrize(
    ("gauge", "rating_c", "amps"),
    # 33 CFR 183.425 Table 5.
    [(18, 105, 20), (10, 60, 40), (10, 105, 60), (6, 80, 100), (4, 125, 170), (-3, 200, 510)],
)
def test_boat_table(gauge: int, rating_c: int, amps: int) -> None:
    assert ampacity.boat_table_a(awg(gauge).section_mm2, rating_c) == amps


def test_boat_table_engine_space_factor() -> None:
    # Note 1 of the table: 0.85 at 105 °C, 18 AWG 20 -> 17 A, 4/0 445 -> 378 A.
    assert ampacity.boat_table_a(awg(18).section_mm2, 105, engine_space=True) == pytest.approx(17)
    largest = ampacity.boat_table_a(awg(-3).section_mm2, 105, engine_space=True)
    assert largest == pytest.approx(378, abs=0.5)


@pytest.mark.parametrize(
    ("gauge", "rating_c", "amps"),
    # NEC 2023 Table 310.16, copper, as reproduced in open charts.
    [(14, 60, 15), (10, 75, 35), (6, 90, 75), (4, 75, 85), (0, 75, 150), (-3, 90, 260)],
)
def test_building_table(gauge: int, rating_c: int, amps: int) -> None:
    assert ampacity.building_table_a(awg(gauge).section_mm2, rating_c) == amps


def test_tables_rise_with_metal_and_rating() -> None:
    for table in (ampacity.BOAT_TABLE_A, ampacity.NEC_TABLE_A):
        gauges = sorted(table, reverse=True)
        for row in table.values():
            known = [amps for amps in row if amps is not None]
            assert known == sorted(known)
        for thin, thick in pairwise(gauges):
            pairs = zip(table[thin], table[thick], strict=True)
            assert all(a is None or a < b for a, b in pairs)


def test_too_low_a_rating_has_no_column() -> None:
    with pytest.raises(OutOfRangeError, match="60"):
        ampacity.boat_table_a(5.0, 40)


@pytest.mark.parametrize(
    ("name", "limit_c"),
    # ISO 6722-1 classes and SAE J1128 types as printed in open cable specifications.
    [("A", 85), ("class D", 150), ("H", 250), ("GXL", 125), ("105C", 105), ("90", 90)],
)
def test_insulation_limits(name: str, limit_c: float) -> None:
    assert insulation.rated_limit_c(name) == limit_c


def test_unknown_insulation_is_refused() -> None:
    with pytest.raises(UsageError, match="TXL"):
        insulation.rated_limit_c("cotton")


@pytest.mark.parametrize(
    ("gauge", "seconds", "amps", "rel"),
    # Wikibooks wire table prints 31 k, 6.1 k, 3.8 k, 2.4 k (1 s) and 173, 34, 21, 13.5 k (32 ms).
    [
        (-3, 1.0, 31_000, 0.02),
        (4, 1.0, 6_100, 0.01),
        (6, 1.0, 3_800, 0.02),
        (8, 1.0, 2_400, 0.01),
        (-3, 0.032, 173_000, 0.005),
        (4, 0.032, 34_000, 0.01),
        (6, 0.032, 21_000, 0.03),
        (8, 0.032, 13_500, 0.005),
    ],
)
def test_onderdonk_rows(gauge: int, seconds: float, amps: float, rel: float) -> None:
    assert fusing.onderdonk_a(awg(gauge), seconds, 25.0) == pytest.approx(amps, rel=rel)


def test_onderdonk_with_234_plus_ambient() -> None:
    # A public example (2581 cmil, 5 s, 25 °C) took 234 - Ta and got 178 A; 234 + Ta gives 168.86.
    mm2 = 2581 * math.pi / 4 * 0.0254**2
    current_a = fusing.onderdonk_a(Conductor(WireSize("mm2", mm2)), 5.0, 25.0)
    assert current_a == pytest.approx(168.86, abs=0.01)


@pytest.mark.parametrize("seconds", [0.001, 60.0])
def test_onderdonk_is_for_seconds(seconds: float) -> None:
    with pytest.raises(OutOfRangeError, match=r"0\.01 to 10 s"):
        fusing.onderdonk_a(awg(10), seconds)


@pytest.mark.parametrize(
    ("amps", "diameter_in"),
    # Printed copper table: diameters for 1, 10, 30, 100 and 300 A.
    [(1, 0.0021), (10, 0.0098), (30, 0.0205), (100, 0.0457), (300, 0.0950)],
)
def test_preece_rows(amps: float, diameter_in: float) -> None:
    mm2 = math.pi / 4 * (diameter_in * 25.4) ** 2
    assert fusing.preece_a(Conductor(WireSize("mm2", mm2))) == pytest.approx(amps, rel=0.03)


def test_preece_by_gauge_and_metal() -> None:
    # Computed from the published coefficients 10244 and 7585.
    assert [round(fusing.preece_a(awg(n))) for n in (22, 18, 14, 10, 6)] == [41, 83, 166, 333, 668]
    copper, aluminium = fusing.preece_a(awg(10)), fusing.preece_a(awg(10, ALUMINIUM))
    assert aluminium / copper == pytest.approx(7585 / 10244)


def test_adiabatic_agrees_with_short_circuit_constant() -> None:
    # IEC 60949: I = K S sqrt(ln((Tf + 234.5)/(Ti + 234.5)) / t), K = 226 for copper (from memory).
    current_a, seconds, section = 600.0, 1.0, awg(10).section_mm2
    reached_c = fusing.adiabatic_temperature_c(awg(10), current_a, seconds, 20.0)
    growth = (current_a / (226.0 * section)) ** 2 * seconds
    published_c = (20.0 + 234.5) * math.exp(growth) - 234.5
    assert reached_c - 20.0 == pytest.approx(published_c - 20.0, rel=0.02)
