"""VINs: form, check digit and model year after 49 CFR 565.13 and 565.15 (ISO 3779 structure)."""

from __future__ import annotations

import re
from itertools import product
from typing import Literal

_VALUES = {
    **{str(digit): digit for digit in range(10)},
    **dict(zip("ABCDEFGH", range(1, 9), strict=True)),
    **dict(zip("JKLMN", range(1, 6), strict=True)),
    **{"P": 7, "R": 9},
    **dict(zip("STUVWXYZ", range(2, 10), strict=True)),
}
_WEIGHTS = (8, 7, 6, 5, 4, 3, 2, 10, 0, 9, 8, 7, 6, 5, 4, 3, 2)
_FORM = re.compile(r"^[A-HJ-NPR-Z0-9]{17}$")
_YEAR_CODES = "ABCDEFGHJKLMNPRSTVWXY123456789"  # 1980 .. 2009, then again from 2010
_LOOK_ALIKES = {"O": "0", "Q": "0", "I": "1"}
POSITION_7_LIMIT_LB = 10_000.0  # 565.15(b): above it position 7 says nothing about the cycle

Verdict = Literal["ok", "check_digit", "form", "missing"]


def check_digit(vin: str) -> str:
    """The character due at position 9 (565.15(c)).  Raises KeyError for forbidden letters."""
    total = sum(_VALUES[c] * weight for c, weight in zip(vin, _WEIGHTS, strict=True))
    return "X" if total % 11 == 10 else str(total % 11)


def verdict(vin: str) -> Verdict:
    """Whether form and check digit hold.

    A failed check digit is a warning, never a proof of error: only North American rules
    demand one.
    """
    if not vin:
        return "missing"
    if not _FORM.match(vin):
        return "form"
    return "ok" if vin[8] == check_digit(vin) else "check_digit"


def repair(vin: str) -> str:
    """The one VIN that letters I, O and Q can have stood for, or "" if there is not just one.

    Only a repair that also satisfies the check digit counts.
    """
    if len(vin) != 17 or not any(letter in _LOOK_ALIKES for letter in vin):
        return ""
    options = [(_LOOK_ALIKES[c],) if c in _LOOK_ALIKES else (c,) for c in vin]
    found = {"".join(letters) for letters in product(*options)}
    good = [candidate for candidate in found if verdict(candidate) == "ok"]
    return good[0] if len(good) == 1 else ""


def model_years(vin: str, gvwr_lb: float | None = None) -> tuple[int, ...]:
    """The model years that position 10 allows: one, two (30 years apart) or none.

    For vehicles known to be at or below 10,000 lb position 7 parts the cycles: a digit means
    1980-2009, a letter 2010-2039.  For heavier ones, and where the weight is not known, both
    years stay open.
    """
    if not _FORM.match(vin) or vin[9] not in _YEAR_CODES:
        return ()
    first = 1980 + _YEAR_CODES.index(vin[9])
    if gvwr_lb is None or gvwr_lb != gvwr_lb or gvwr_lb > POSITION_7_LIMIT_LB:
        return first, first + 30
    return (first,) if vin[6].isdigit() else (first + 30,)
