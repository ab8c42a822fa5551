"""Chance that comes out the same on every Python: only the generator's plain floats are used."""

from __future__ import annotations

import math
import random
from collections.abc import Sequence
from typing import TypeVar

T = TypeVar("T")


class Dice:
    """Seeded chance for the invented shop."""

    def __init__(self, seed: int) -> None:
        self._random = random.Random(seed)

    def chance(self, share: float) -> bool:
        """True in ``share`` of the throws."""
        return self._random.random() < share

    def between(self, low: float, high: float) -> float:
        """Evenly between low and high."""
        return low + (high - low) * self._random.random()

    def whole(self, low: int, high: int) -> int:
        """A whole number from low to high, both included."""
        return low + int(self._random.random() * (high - low + 1))

    def pick(self, options: Sequence[T]) -> T:
        """One of the options."""
        return options[int(self._random.random() * len(options))]

    def around(self, middle: float, log_sd: float) -> float:
        """Log-normal about the middle."""
        first, second = 1.0 - self._random.random(), self._random.random()
        normal = math.sqrt(-2.0 * math.log(first)) * math.cos(2.0 * math.pi * second)
        return middle * math.exp(log_sd * normal)


def listed(text: str) -> list[str]:
    """The comma-separated words of a text."""
    return text.split(",")
