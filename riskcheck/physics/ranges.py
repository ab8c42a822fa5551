"""Refusing inputs that a formula was never made for."""

from __future__ import annotations

import math

from riskcheck.errors import UsageError


class OutOfRangeError(UsageError):
    """An input lies outside the range in which a formula holds; the message gives the range."""


def require(name: str, value: float, low: float, high: float, unit: str) -> float:
    """``value`` if ``low <= value <= high``; OutOfRangeError naming the range otherwise."""
    if math.isfinite(value) and low <= value <= high:
        return value
    raise OutOfRangeError(f"{name} of {value:g} {unit}: this holds from {low:g} to {high:g} {unit}")
