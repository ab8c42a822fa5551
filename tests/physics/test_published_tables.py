"""Whole published tables, every row: wire sizes, allowable currents, insulation, melting currents.

Wire: ASTM B258 (formula), resistivity and coefficient IEC 60028:1925 (1.7241e-8 ohm m, 0.00393 per
K at 20 °C); the printed columns are those reproduced in the HyperPhysics and Wikibooks wire tables,
the finer ones follow from the formula.  None of these tables is for road vehicles.
"""

from __future__ import annotations

import math

import pytest

from riskcheck.physics import ampacity, fusing, insulation
from riskcheck.physics.conductors import ALUMINIUM, Conductor, awg
from riskcheck.units import WireSize

# gauge: diameter in, diameter mm, area mm2, circular mils, ohm/km and ohm/1000 ft at 20 °C.
WIRE = {
    -3: (0.46000, 11.6840, 107.2, 211600, 0.1608, 0.0490),
    -2: (0.40964, 10.4049, 85.03, 167806, 0.2028, 0.0618),
    -1: (0.36480, 9.2658, 67.43, 133077, 0.2557, 0.0779),
    0: (0.32486, 8.2515, 53.48, 105535, 0.3224, 0.0983),
    1: (0.28930, 7.3481, 42.41, 83693, 0.4066, 0.1239),
    2: (0.25763, 6.5437, 33.63, 66371, 0.5127, 0.1563),
    3: (0.22942, 5.8273, 26.67, 52635, 0.6464, 0.1970),
    4: (0.20431, 5.1894, 21.15, 41741, 0.8152, 0.2485),
    5: (0.18194, 4.6213, 16.77, 33102, 1.0279, 0.3133),
    6: (0.16202, 4.1154, 13.3, 26251, 1.2961, 0.3951),
    7: (0.14429, 3.6649, 10.55, 20818, 1.6344, 0.4982),
    8: (0.12849, 3.2636, 8.366, 16510, 2.0609, 0.6282),
    9: (0.11442, 2.9064, 6.634, 13093, 2.5988, 0.7921),
    10: (0.10190, 2.5882, 5.261, 10383, 3.2770, 0.9988),
    11: (0.09074, 2.3048, 4.172, 8234, 4.1323, 1.2595),
    12: (0.08081, 2.0525, 3.309, 6530, 5.2107, 1.5882),
    13: (0.07196, 1.8278, 2.624, 5178, 6.5706, 2.0027),
    14: (0.06408, 1.6277, 2.081, 4107, 8.2853, 2.5254),
    15: (0.05707, 1.4495, 1.65, 3257, 10.4476, 3.1844),
    16: (0.05082, 1.2908, 1.309, 2583, 13.1742, 4.0155),
    17: (0.04526, 1.1495, 1.038, 2048, 16.6123, 5.0634),
    18: (0.04030, 1.0237, 0.823, 1624, 20.9478, 6.3849),
    19: (0.03589, 0.9116, 0.6527, 1288, 26.4147, 8.0512),
    20: (0.03196, 0.8118, 0.5176, 1022, 33.3083, 10.1524),
    21: (0.02846, 0.7229, 0.4105, 810, 42.0009, 12.8019),
    22: (0.02535, 0.6438, 0.3255, 642, 52.9622, 16.1429),
}


@pytest.mark.parametrize(("gauge", "row"), WIRE.items())
def test_every_wire_from_4_0_to_22(gauge: int, row: tuple[float, ...]) -> None:
    wire = awg(gauge)
    inches = wire.diameter_m / 0.0254
    assert inches == pytest.approx(row[0], abs=6e-6)
    assert 1000.0 * wire.diameter_m == pytest.approx(row[1], abs=6e-5)
    assert wire.section_mm2 == pytest.approx(row[2], rel=5e-4)
    assert 1e6 * inches**2 == pytest.approx(row[3], rel=8e-4)
    assert 1000.0 * wire.resistance_ohm(1.0) == pytest.approx(row[4], rel=4e-4)
    assert 1000.0 * wire.resistance_ohm(0.3048) == pytest.approx(row[5], rel=1e-3)


def test_three_gauges_double_the_area_and_one_is_the_39th_root_of_92() -> None:
    """Both 2.0050 and 1.122932 to the digits given (ASTM B258)."""
    for gauge in range(-3, 20):
        area = awg(gauge).section_mm2 / awg(gauge + 3).section_mm2
        assert area == pytest.approx(2.0050, abs=6e-5)
        step = awg(gauge).diameter_m / awg(gauge + 1).diameter_m
        assert step == pytest.approx(1.122932, abs=6e-7)


def test_copper_at_ninety_degrees() -> None:
    """1 + 0.00393·(90 − 20) = 1.27510."""
    ratio = awg(10).resistance_ohm(1.0, 90.0) / awg(10).resistance_ohm(1.0)
    assert ratio == pytest.approx(1.27510, rel=1e-12)


# 33 CFR 183.425 Table 5 (boats below 50 V, 30 °C): 60, 75, 80, 90, 105, 125, 200 °C insulation.
BOATS = {
    18: (10, 10, 15, 20, 20, 25, 25),
    16: (15, 15, 20, 25, 25, 30, 35),
    14: (20, 20, 25, 30, 35, 40, 45),
    12: (25, 25, 35, 40, 45, 50, 55),
    10: (40, 40, 50, 55, 60, 70, 70),
    8: (55, 65, 70, 70, 80, 90, 100),
    6: (80, 95, 100, 100, 120, 125, 135),
    4: (105, 125, 130, 135, 160, 170, 180),
    3: (120, 145, 150, 155, 180, 195, 210),
    2: (140, 170, 175, 180, 210, 225, 240),
    1: (165, 195, 210, 210, 245, 265, 280),
    0: (195, 230, 245, 245, 285, 305, 325),
    -1: (225, 265, 285, 285, 330, 355, 370),
    -2: (260, 310, 330, 330, 385, 410, 430),
    -3: (300, 360, 385, 385, 445, 475, 510),
}
# Engine space factors: 0.85 as printed at 105 °C, the others from memory.
ENGINE_SPACE = (0.58, 0.75, 0.78, 0.82, 0.85, 0.89, 1.00)


@pytest.mark.parametrize(("gauge", "row"), BOATS.items())
def test_every_current_of_the_boat_table(gauge: int, row: tuple[int, ...]) -> None:
    section = awg(gauge).section_mm2
    ratings = (60, 75, 80, 90, 105, 125, 200)
    assert tuple(ampacity.boat_table_a(section, c) for c in ratings) == row
    hot = [ampacity.boat_table_a(section, c, engine_space=True) for c in ratings]
    assert hot == pytest.approx([a * f for a, f in zip(row, ENGINE_SPACE, strict=True)])


# NEC 2023 Table 310.16, copper, as reproduced in open charts: 60, 75 and 90 °C (older editions
# print 20 and 25 A at 60 °C for 14 and 12, and 150 A at 90 °C for 1).  18 and 16 from memory.
BUILDINGS = {
    18: (None, None, 14), 16: (None, None, 18), 14: (15, 20, 25), 12: (20, 25, 30),
    10: (30, 35, 40), 8: (40, 50, 55), 6: (55, 65, 75), 4: (70, 85, 95), 3: (85, 100, 110),
    2: (95, 115, 130), 1: (110, 130, 145), 0: (125, 150, 170), -1: (145, 175, 195),
    -2: (165, 200, 225), -3: (195, 230, 260),
}  # fmt: skip


@pytest.mark.parametrize(("gauge", "row"), BUILDINGS.items())
def test_every_current_of_the_building_table(gauge: int, row: tuple[int | None, ...]) -> None:
    section = awg(gauge).section_mm2
    assert tuple(ampacity.building_table_a(section, c) for c in (60, 75, 90)) == row


# ISO 6722-1 classes and SAE J1128 types as printed on open cable specifications; for GPT 80 and
# 85 °C are both in print and the lower counts.
LIMITS = {"A": 85, "B": 100, "C": 125, "D": 150, "E": 175, "F": 200, "G": 225, "H": 250,
          "TXL": 125, "GXL": 125, "SXL": 125, "GPT": 80}  # fmt: skip


@pytest.mark.parametrize(("name", "limit_c"), LIMITS.items())
def test_every_insulation(name: str, limit_c: float) -> None:
    assert insulation.rated_limit_c(name) == limit_c


# Onderdonk's formula, A: 10 s, 1 s and 32 ms at 25 °C, and 1 s at 40 °C (worked out apart from this
# code; of the printed rows see test_conductor_tables).
ONDERDONK = {
    -3: (9789, 30956, 173051, 30416), -1: (6157, 19469, 108833, 19129),
    4: (1931, 6107, 34137, 6000), 8: (763.8, 2415, 13502, 2373), 10: (480.3, 1519, 8492, 1493),
    14: (190.0, 600.8, 3359, 590.3), 18: (75.1, 237.6, 1328, 233.5), 22: (29.7, 94.0, 525.4, 92.3),
}  # fmt: skip


@pytest.mark.parametrize(("gauge", "row"), ONDERDONK.items())
def test_every_onderdonk_current(gauge: int, row: tuple[float, ...]) -> None:
    cases = ((10.0, 25.0), (1.0, 25.0), (0.032, 25.0), (1.0, 40.0))
    ours = [fusing.onderdonk_a(awg(gauge), *case) for case in cases]
    assert ours == pytest.approx(row, rel=1e-3)


def of_diameter(inches: float, metal: Conductor | None = None) -> Conductor:
    return Conductor(
        WireSize("mm2", math.pi / 4 * (25.4 * inches) ** 2),
        *(() if metal is None else (metal.material,)),
    )


def test_preece_of_thick_wires() -> None:
    """a·d^1.5 with a = 10,244 for copper (Preece 1884): 8, 4, 2/0 and 4/0; and d = 0.0524 in."""
    ours = [fusing.preece_a(awg(gauge)) for gauge in (8, 4, -1, -3)]
    assert ours == pytest.approx([472, 946, 2257, 3196], abs=0.6)
    assert fusing.preece_a(of_diameter(0.0524)) == pytest.approx(123, abs=0.6)


def test_a_misprint_of_the_aluminium_column_is_not_followed() -> None:
    """One table prints 0.1208 in for 250 A of aluminium; 7,585·d^1.5 gives 0.1028."""
    aluminium = awg(10, ALUMINIUM)
    assert fusing.preece_a(of_diameter(0.1028, aluminium)) == pytest.approx(250, abs=0.5)
    assert fusing.preece_a(of_diameter(0.1208, aluminium)) > 310
