"""Simulated lives, from first principles: nothing of ``riskcheck.risk`` is used here.

Each life is drawn from the stated belief itself (two-piece log-normal shape and B10, independent),
then a failure age is drawn from its Weibull; conditional chances are counted among survivors.
"""

from __future__ import annotations

import numpy as np

C = -np.log(0.9)
Z = 1.6448536269514722

STUD = ((2.0, 1.6, 2.8), (300.0, 180.0, 500.0))
BELT = ((4.0, 3.0, 6.0), (110.0, 85.0, 140.0))
BELT_YEARS = (9.0, 7.0, 11.0)
HOSE = ((3.5, 2.5, 4.5), (10.0, 7.0, 14.0))
WHEEL = ((0.4, 0.3, 0.6), (2000.0, 600.0, 6000.0))


def two_piece(figure: tuple[float, float, float], z: np.ndarray) -> np.ndarray:
    value, low, high = figure
    return np.where(z < 0, value * (value / low) ** (z / Z), value * (high / value) ** (z / Z))


def draw(life, count: int, rng: np.random.Generator, second=None):
    """(shape, B10) or (shape, B10, second B10) of ``count`` lives; both B10s share one z."""
    shape = two_piece(life[0], rng.standard_normal(count))
    z = rng.standard_normal(count)
    b10 = two_piece(life[1], z)
    return (shape, b10) if second is None else (shape, b10, two_piece(second, z))


def load(shape, b10, usage):
    """Cumulative hazard of the base life at ``usage``."""
    return C * (usage / b10) ** shape


def counted(failed: np.ndarray, alive: np.ndarray) -> tuple[float, float]:
    """Share of ``alive`` that ``failed`` and its standard error."""
    n = alive.sum()
    p = (failed & alive).sum() / n
    return float(p), float(np.sqrt(p * (1 - p) / n))
