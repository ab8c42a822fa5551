"""Published current tables, quoted as an order of magnitude; neither is for road vehicles.

* 33 CFR 183.425 Table 5 (boats, below 50 V, stranded copper, 30 °C air): a US regulation and the
  nearest published low-voltage table to a vehicle harness.  Cranking conductors are exempt.
* NEC (2023) Table 310.16 (buildings, up to three conductors in raceway or cable, 30 °C), as
  reproduced in open charts; 18 and 16 AWG from memory.  Older editions print 20 and 25 A for
  14 and 12 AWG at 60 °C; overcurrent protection is limited to 15, 20 and 30 A for 14, 12 and
  10 AWG whatever the table says (240.4(D)).
"""

from __future__ import annotations

from riskcheck.physics.conductors import nearest_awg_not_above
from riskcheck.physics.ranges import OutOfRangeError

BOAT_RATINGS_C = (60, 75, 80, 90, 105, 125, 200)
BOAT_TABLE_A: dict[int, tuple[int, ...]] = {
    18: (10, 10, 15, 20, 20, 25, 25), 16: (15, 15, 20, 25, 25, 30, 35),
    14: (20, 20, 25, 30, 35, 40, 45), 12: (25, 25, 35, 40, 45, 50, 55),
    10: (40, 40, 50, 55, 60, 70, 70), 8: (55, 65, 70, 70, 80, 90, 100),
    6: (80, 95, 100, 100, 120, 125, 135), 4: (105, 125, 130, 135, 160, 170, 180),
    3: (120, 145, 150, 155, 180, 195, 210), 2: (140, 170, 175, 180, 210, 225, 240),
    1: (165, 195, 210, 210, 245, 265, 280), 0: (195, 230, 245, 245, 285, 305, 325),
    -1: (225, 265, 285, 285, 330, 355, 370), -2: (260, 310, 330, 330, 385, 410, 430),
    -3: (300, 360, 385, 385, 445, 475, 510),
}  # fmt: skip
# Engine space (50 °C) factors, note 1; 0.85 at 105 °C as published, the others from memory.
ENGINE_SPACE_FACTOR: dict[int, float] = {
    60: 0.58, 75: 0.75, 80: 0.78, 90: 0.82, 105: 0.85, 125: 0.89, 200: 1.00,
}  # fmt: skip

NEC_RATINGS_C = (60, 75, 90)
NEC_TABLE_A: dict[int, tuple[int | None, int | None, int]] = {
    18: (None, None, 14), 16: (None, None, 18), 14: (15, 20, 25), 12: (20, 25, 30),
    10: (30, 35, 40), 8: (40, 50, 55), 6: (55, 65, 75), 4: (70, 85, 95), 3: (85, 100, 110),
    2: (95, 115, 130), 1: (110, 130, 145), 0: (125, 150, 170), -1: (145, 175, 195),
    -2: (165, 200, 225), -3: (195, 230, 260),
}  # fmt: skip


def boat_table_a(
    section_mm2: float, rating_c: float, *, engine_space: bool = False
) -> float | None:
    """Allowable current of 33 CFR 183.425 Table 5, A.

    The section enters as the largest AWG not above it; the rating as the highest column not
    above it.  None below 18 AWG.  OutOfRangeError for a rating under 60 °C.
    """
    column = _column(rating_c, BOAT_RATINGS_C)
    gauge = nearest_awg_not_above(section_mm2)
    if gauge is None:
        return None
    factor = ENGINE_SPACE_FACTOR[BOAT_RATINGS_C[column]] if engine_space else 1.0
    return BOAT_TABLE_A[gauge][column] * factor


def building_table_a(section_mm2: float, rating_c: float) -> float | None:
    """Current of NEC Table 310.16, A; entered like ``boat_table_a``; None where it has none."""
    gauge = nearest_awg_not_above(section_mm2)
    value = None if gauge is None else NEC_TABLE_A[gauge][_column(rating_c, NEC_RATINGS_C)]
    return None if value is None else float(value)


def _column(rating_c: float, ratings: tuple[int, ...]) -> int:
    fitting = [index for index, rating in enumerate(ratings) if rating <= rating_c]
    if not fitting:
        raise OutOfRangeError(
            f"an insulation rating of {rating_c:g} °C: the table starts at {ratings[0]} °C"
        )
    return fitting[-1]
