"""What a technician's readings at an intake heater say about its ground path.

Only arithmetic and the trade's limits (``riskcheck.physics.trade``): Ohm's law on the loop, and
"what goes in must come back" on the clamp.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from riskcheck.errors import UsageError
from riskcheck.physics import trade
from riskcheck.physics.ranges import require

ReadingVerdict = Literal["open", "weak", "stray_path", "in_range", "no_answer"]
Place = Literal["supply", "feed_or_element", "return", "strap", "beyond_strap", "other_path", ""]

NOMINAL_SUPPLY_V = 12.5  # at which a heater's current is usually quoted; from memory
NO_SUPPLY_V = 1.0


@dataclass(frozen=True)
class Reading:
    """Readings with the heater commanded on (None where not taken) and what they mean.

    ``verdict`` and ``place`` are codes; ``reasons`` says what led there, most telling first.
    Resistances in mohm: ``return_mohm`` plate to battery negative, ``stray_mohm`` of a second
    path, ``excess_mohm`` what the loop has beyond the heater's own resistance.
    """

    supply_v: float | None
    feed_a: float | None
    return_a: float | None
    drop_v: float | None
    strap_drop_v: float | None
    nominal_a: float | None
    verdict: ReadingVerdict
    place: Place
    reasons: tuple[str, ...]
    expected_a: tuple[float, float] | None
    stray_a: float | None
    return_mohm: float | None
    stray_mohm: float | None
    strap_mohm: float | None
    excess_mohm: float | None


def interpret_reading(
    *,
    supply_v: float | None = None,
    feed_a: float | None = None,
    return_a: float | None = None,
    drop_v: float | None = None,
    strap_drop_v: float | None = None,
    nominal_a: float | None = None,
    nominal_supply_v: float = NOMINAL_SUPPLY_V,
) -> Reading:
    """Judge readings taken with the heater on.

    ``supply_v`` between the heater's feed terminal and battery negative, ``feed_a`` and
    ``return_a`` by clamp, ``drop_v`` plate to battery negative, ``strap_drop_v`` end to end of
    the strap, ``nominal_a`` the heater's rated current at ``nominal_supply_v``.
    UsageError where nothing was measured, OutOfRangeError for impossible readings.
    """
    given = (supply_v, feed_a, return_a, drop_v, strap_drop_v)
    if all(value is None for value in given):
        raise UsageError("no reading given: measure at least the clamp current on the feed")
    for name, value, high, unit in (
        ("a supply", supply_v, 60.0, "V"), ("a feed current", feed_a, 1000.0, "A"),
        ("a return current", return_a, 1000.0, "A"), ("a drop", drop_v, 60.0, "V"),
        ("a strap drop", strap_drop_v, 60.0, "V"),
    ):  # fmt: skip
        if value is not None:
            require(name, value, 0.0, high, unit)
    if nominal_a is not None:
        require("a rated current", nominal_a, 1.0, 1000.0, "A")
    require("a rated supply", nominal_supply_v, 5.0, 60.0, "V")
    expected_a = _expected_a(nominal_a, supply_v, nominal_supply_v)
    stray_a = _stray_a(feed_a, return_a)
    returning_a = return_a if return_a is not None else feed_a
    return_mohm = _mohm(drop_v, returning_a)
    verdict, place, reasons = _judge(*given, expected_a, stray_a)
    return Reading(
        supply_v, feed_a, return_a, drop_v, strap_drop_v, nominal_a,
        verdict, place, reasons, expected_a, stray_a,
        return_mohm=return_mohm,
        stray_mohm=_mohm(drop_v, stray_a),
        strap_mohm=_mohm(strap_drop_v, returning_a),
        excess_mohm=_excess_mohm(supply_v, feed_a, nominal_a, nominal_supply_v),
    )  # fmt: skip


def clamp_doubt_a(current_a: float) -> float:
    """How far a clamp reading may be off: the larger of 1 A and 3 % (from memory)."""
    return max(trade.CLAMP_ZERO_A, trade.CLAMP_SHARE * current_a)


def _expected_a(
    nominal_a: float | None, supply_v: float | None, nominal_supply_v: float
) -> tuple[float, float] | None:
    """Current band: rated ± 15 %, scaled with the measured supply if that carries the heater."""
    if nominal_a is None:
        return None
    scale = 1.0 if supply_v is None or supply_v < NO_SUPPLY_V else supply_v / nominal_supply_v
    low, high = 1.0 - trade.CURRENT_TOLERANCE, 1.0 + trade.CURRENT_TOLERANCE
    return nominal_a * scale * low, nominal_a * scale * high


def _stray_a(feed_a: float | None, return_a: float | None) -> float | None:
    """Feed minus return where it exceeds what two clamp readings can differ by; 0 within."""
    if feed_a is None or return_a is None:
        return None
    doubt = math.hypot(clamp_doubt_a(feed_a), clamp_doubt_a(return_a))
    difference = feed_a - return_a
    return difference if abs(difference) > doubt else 0.0


def _mohm(drop_v: float | None, current_a: float | None) -> float | None:
    if drop_v is None or current_a is None or current_a < trade.CLAMP_ZERO_A:
        return None
    return 1000.0 * drop_v / current_a


def _excess_mohm(
    supply_v: float | None, feed_a: float | None, nominal_a: float | None, nominal_v: float
) -> float | None:
    """Loop resistance beyond the heater's rated one, mohm; negative means less than rated."""
    if supply_v is None or nominal_a is None or feed_a is None or feed_a < trade.CLAMP_ZERO_A:
        return None
    return 1000.0 * (supply_v / feed_a - nominal_v / nominal_a)


_Judgement = tuple[ReadingVerdict, Place, tuple[str, ...]]


def _judge(
    supply_v: float | None,
    feed_a: float | None,
    return_a: float | None,
    drop_v: float | None,
    strap_drop_v: float | None,
    expected_a: tuple[float, float] | None,
    stray_a: float | None,
) -> _Judgement:
    """Open before stray before weak before in range: the worst that the readings show."""
    if feed_a is None and return_a is not None:
        feed_a = return_a
    if feed_a is not None and feed_a < trade.CLAMP_ZERO_A:
        return _open(supply_v, drop_v)
    if stray_a:
        more = "return_above_feed" if stray_a < 0 else "feed_above_return"
        no_strap = return_a is not None and return_a < trade.CLAMP_ZERO_A
        return "stray_path", "other_path", (more, *(("nothing_in_strap",) if no_strap else ()))
    reasons: list[str] = []
    place: Place = ""
    for drop, high, limit in (
        (drop_v, "return_drop_over_limit", trade.LIMIT_DROP_V),
        (drop_v, "return_drop_over_good", trade.GOOD_DROP_V),
        (strap_drop_v, "strap_drop_over_good", trade.GOOD_DROP_V),
    ):
        if drop is not None and drop > limit:
            reasons.append(high)
            place = _where(drop_v, strap_drop_v)
    if expected_a is not None and feed_a is not None and feed_a < expected_a[0]:
        reasons.append("current_below_range")
        place = place or "feed_or_element"
    if reasons:
        return "weak", place, tuple(reasons)
    if expected_a is not None and feed_a is not None and feed_a > expected_a[1]:
        return "weak", "feed_or_element", ("current_above_range",)
    return _in_range(drop_v, expected_a, feed_a, stray_a)


def _open(supply_v: float | None, drop_v: float | None) -> _Judgement:
    """No current: is the supply missing, the return, or the element?"""
    if supply_v is not None and supply_v < NO_SUPPLY_V:
        return "open", "supply", ("no_current", "no_supply")
    if supply_v is None or drop_v is None:
        return "open", "", ("no_current", "measure_supply_and_drop")
    if drop_v > supply_v / 2.0:
        return "open", "return", ("no_current", "plate_floats_at_supply")
    return "open", "feed_or_element", ("no_current", "plate_at_ground")


def _where(drop_v: float | None, strap_drop_v: float | None) -> Place:
    """Strap (copper and its two ends) or what lies beyond it to the battery."""
    if strap_drop_v is None:
        return "return"
    if drop_v is None or strap_drop_v >= drop_v / 2.0:
        return "strap"
    return "beyond_strap"


def _in_range(
    drop_v: float | None,
    expected_a: tuple[float, float] | None,
    feed_a: float | None,
    stray_a: float | None,
) -> _Judgement:
    """Proof needs current on both legs and the drop; anything less names what is missing."""
    missing = []
    if expected_a is None:
        missing.append("rated_current_unknown")
    if feed_a is None or stray_a is None:
        missing.append("measure_feed_and_return")
    if drop_v is None:
        missing.append("measure_drop")
    if feed_a is None or (expected_a is None and drop_v is None):
        return "no_answer", "", tuple(missing)
    return "in_range", "", ("current_and_drop_in_range",) if not missing else tuple(missing)
