"""Words for ground-path answers: plain lines of at most 80 columns, and a JSON-ready dict.

Says what the numbers say and what to check; never that a strap, a heater or a vehicle is safe.
"""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Iterator
from dataclasses import asdict
from typing import Any

from riskcheck.physics.ground import Reading, RiseExplained, StrapCase, StrapVerdict
from riskcheck.units import WireSize, format_quantity

WIDTH = 78

PHYSICS_WORDS = {
    "serves": "computed within limits, with margin, if the joints are as given",
    "no_margin": "computed within limits, with little margin",
    "only_briefly": "too small to run on; computed within limits for a short time only",
    "does_not_serve": "computed beyond its limits at this current",
}
TRADE_WORDS = {
    "below": "below the size the trade asks for at this current",
    "meets": "not below the size the trade asks for at this current",
    "no_figure": "the trade names no size for this current and strap; not judged",
}
REASON_WORDS = {
    "within_limits": "temperature and drop both stay within limits",
    "temperature_over_limit": "running on, it passes its insulation rating",
    "within_limit_in_time": "within the time given it stays below that rating",
    "temperature_near_limit": "it uses more than 80 of 100 parts of the allowed rise",
    "rise_of_bare_strap": "a bare strap rises more than 60 K above the air",
    "drop_over_limit": "its drop passes 0.2 V (common practice, no source)",
    "drop_near_limit": "its drop comes close to 0.2 V (common practice, no source)",
    "no_balance_in_range": "it finds no heat balance below 500 °C copper (300 °C aluminium)",
}
VERDICT_WORDS = {
    "open": "OPEN: no current flows",
    "weak": "WEAK: the circuit works, but not as it should",
    "stray_path": "STRAY PATH: current comes back another way",
    "in_range": "IN RANGE: nothing in these readings points to the ground path",
    "no_answer": "NO ANSWER from these readings alone",
}
PLACE_WORDS = {
    "supply": "before the heater: relay, fuse link or feed cable",
    "feed_or_element": "feed side or element, not the return",
    "return": "the return: plate to strap, strap ends, strap to block, block to battery",
    "strap": "the strap itself or one of its two ends",
    "beyond_strap": "beyond the strap: block-to-battery ground and its ends",
    "other_path": "a second path: bolts, brackets, sensor grounds, a boost-tube clamp",
}
READING_REASONS = {
    "no_current": "the clamp reads nothing",
    "no_supply": "no voltage reaches the heater",
    "plate_floats_at_supply": "the plate sits at supply voltage, so its way back is missing",
    "plate_at_ground": "the plate is grounded, so the break is ahead of it",
    "measure_supply_and_drop": "measure voltage at the feed stud and from plate to battery",
    "feed_above_return": "more goes in than comes back through the strap",
    "return_above_feed": "more comes back than goes in: another load shares the strap, or a "
    "clamp was not zeroed",
    "nothing_in_strap": "none of it comes back through the strap",
    "return_drop_over_limit": "more than 0.2 V lost on the return (common practice, no source)",
    "return_drop_over_good": "more than 0.1 V lost on the return (common practice, no source)",
    "strap_drop_over_good": "more than 0.1 V lost end to end of the strap",
    "current_below_range": "current below the rated one less 15 %",
    "current_above_range": "current above the rated one plus 15 %: check the rating and element",
    "current_and_drop_in_range": "current on both legs and the drop agree with the rating",
    "rated_current_unknown": "the heater's rated current was not given",
    "measure_feed_and_return": "clamp the feed and the return",
    "measure_drop": "measure the drop from plate to battery negative at full current",
}
CHECKS = (
    "drop end to end of the strap at full current: 0.1 V good, 0.2 V the limit",
    "clamp on feed and on return: the same current on both",
    "lug after a minute of heating: 30 K above the block good, 60 K replace (these three: "
    "common practice, no source)",
    "lugs tool-crimped, lands bare and bright, nothing loose, browned or green",
)
CAUTIONS = (
    "This circuit may be unfused and live: battery negative off before a spanner goes near it.",
    "Heater, studs and strap can be hot enough to burn. Batteries give off explosive gas: no "
    "sparks near them, last clamp away from the battery.",
    "Keep to the heater's duty limit; test with a charger on. Manufacturer procedure comes "
    "first; these figures are for still air and never say that a vehicle is safe.",
)


def strap_lines(verdict: StrapVerdict, rise: RiseExplained | None = None) -> list[str]:
    """The verdict as lines of text, each at most 80 columns."""
    case = verdict.case
    lines = [
        f"{case.conductor.size.words()} {case.conductor.material.name}, "
        f"{format_quantity(case.length_m, 'm')} long, {format_quantity(case.current_a, 'A')}, "
        f"{_degrees(case.ambient_c)} air",
        "",
        *_wrapped(f"Physics: {PHYSICS_WORDS[verdict.physics_says]}."),
        *_wrapped(f"  because {_reasons(verdict)}."),
        *_wrapped(f"Trade:   {TRADE_WORDS[verdict.trade_says]} [common practice, no source]."),
        "",
    ]
    lines += [f"  {label:<34}{text}" for label, text in _strap_figures(verdict)]
    if rise is not None:
        lines += ["", *rise_lines(rise)]
    return [*lines, "", "Check:", *_bullets(CHECKS), "", *_cautions()]


def rise_lines(rise: RiseExplained) -> list[str]:
    """How much of a seen temperature the wire alone explains."""
    seen = f"{_degrees(rise.seen_c)} after {format_quantity(rise.seconds, 's')}"
    if rise.wire_alone_c is None or rise.share is None:
        return _wrapped(f"Seen {seen}: the wire alone already leaves the formulas' range.")
    lines = _wrapped(
        f"Seen {seen}: the wire alone would be at {_degrees(rise.wire_alone_c)}, which explains "
        f"{100 * rise.share:.0f} of 100 parts of the rise."
    )
    needed = (rise.joint_cut_off_mohm, rise.joint_into_metal_mohm)
    if needed[0] is not None and needed[0] > 0.0:
        upper = "more than 100" if needed[1] is None else f"{needed[1]:.1f}"
        lines += _wrapped(
            f"The rest needs a joint of about {needed[0]:.1f} mΩ (if all its heat stays in lug "
            f"and wire) to {upper} mΩ (if the contact also leads heat into cool metal), or heat "
            "from elsewhere, such as the heater's own plate."
        )
    return lines


def reading_lines(reading: Reading) -> list[str]:
    """What readings mean, as lines of text, each at most 80 columns."""
    lines = [*_wrapped(f"{VERDICT_WORDS[reading.verdict]}.")]
    lines += _bullets(READING_REASONS[code] for code in reading.reasons)
    if reading.place:
        lines += _wrapped(f"Look first: {PLACE_WORDS[reading.place]}.")
    figures = list(_reading_figures(reading))
    lines += ["", *(f"  {label:<34}{text}" for label, text in figures)] if figures else []
    return [*lines, "", *_cautions()]


def strap_json(verdict: StrapVerdict, rise: RiseExplained | None = None) -> dict[str, Any]:
    """Every number and code of the verdict, units in the names; None where there is none."""
    case = verdict.case
    answer: dict[str, Any] = {
        "question": {
            "current_a": case.current_a,
            "size": case.conductor.size.words(),
            "section_mm2": case.conductor.section_mm2,
            "metal": case.conductor.material.name,
            "length_m": case.length_m,
            "insulation": case.insulation,
            "joint_mohm": case.joint_mohm,
            "ambient_c": case.ambient_c,
            "seconds": case.seconds,
        }
    }
    answer |= {name: value for name, value in vars(verdict).items() if name != "case"}
    answer["reasons"] = list(verdict.reasons)
    answer["rise_explained"] = None if rise is None else asdict(rise)
    answer["cautions"] = list(CAUTIONS)
    return answer


def reading_json(reading: Reading) -> dict[str, Any]:
    """Every number and code of a reading's meaning."""
    return {**asdict(reading), "cautions": list(CAUTIONS)}


def _reasons(verdict: StrapVerdict) -> str:
    return "; ".join(REASON_WORDS[code] for code in verdict.reasons if code in REASON_WORDS)


def _strap_figures(verdict: StrapVerdict) -> Iterator[tuple[str, str]]:
    case = verdict.case
    yield f"{case.conductor.material.name} alone", format_quantity(verdict.wire_mohm, "mohm", 3)
    yield "with both joints", format_quantity(verdict.strap_mohm, "mohm", 3)
    hot = verdict.drop_hot_v
    yield (
        "drop, cold / warmed through",
        f"{verdict.drop_v:.3f} V / {'no figure' if hot is None else f'{hot:.3f} V'}",
    )
    yield "heat made", format_quantity(verdict.heat_w, "W", 3)
    yield f"wire alone after {case.seconds:g} s", _degrees(verdict.wire_timed_c)
    yield f"hottest place after {case.seconds:g} s", _degrees(verdict.timed_c)
    yield "wire alone, running on", _degrees(verdict.wire_steady_c)
    yield "hottest place, running on", _degrees(verdict.steady_c)
    if case.duty is not None:
        yield "wire peak at that duty", _degrees(verdict.duty_peak_c)
    if verdict.limit_c is not None:
        yield f"rating ({case.insulation})", _degrees(verdict.limit_c)
    if verdict.limit_share is not None:
        yield "share of the allowed rise used", f"{100 * verdict.limit_share:.0f} of 100"
    if verdict.seconds_to_limit is not None:
        yield "time to the rating", format_quantity(verdict.seconds_to_limit, "s", 2)
    yield "smallest by physics, good joints", _gauge(verdict.smallest_awg)
    if verdict.trade_asks_awg is not None:
        yield "size the trade asks for", _gauge(verdict.trade_asks_awg)
    if verdict.boat_table_a is not None:
        yield "33 CFR 183.425, engine space", f"{verdict.boat_table_a:.0f} A (boats, 105 °C)"
    if verdict.building_table_a is not None:
        yield "NEC 310.16, order of magnitude", f"{verdict.building_table_a:.0f} A (buildings)"


def _reading_figures(reading: Reading) -> Iterator[tuple[str, str]]:
    if reading.expected_a is not None:
        low, high = reading.expected_a
        yield "current to expect", f"{low:.0f} to {high:.0f} A (rated, 15 % either way)"
    for label, value in (
        ("return, plate to battery", reading.return_mohm),
        ("strap with its ends", reading.strap_mohm),
        ("second path", reading.stray_mohm),
        ("loop beyond the heater's rating", reading.excess_mohm),
    ):
        if value is not None:
            yield label, format_quantity(value, "mohm", 3)
    if reading.stray_a:
        yield "current on another path", format_quantity(abs(reading.stray_a), "A", 3)


def _degrees(value_c: float | None) -> str:
    """Both scales, since both are on shop thermometers."""
    if value_c is None:
        return "beyond what the formulas cover"
    return f"{value_c:.0f} °C ({value_c * 1.8 + 32:.0f} °F)"


def _gauge(number: int | None) -> str:
    return "none up to 4/0 AWG" if number is None else WireSize("awg", number).words()


def _wrapped(text: str) -> list[str]:
    return textwrap.wrap(text, WIDTH, subsequent_indent="  ")


def _bullets(texts: Iterable[str]) -> list[str]:
    lines: list[str] = []
    for text in texts:
        lines += textwrap.wrap(text, WIDTH, initial_indent="  - ", subsequent_indent="    ")
    return lines


def _cautions() -> list[str]:
    return ["Caution:", *_bullets(CAUTIONS)]


def case_title(case: StrapCase) -> str:
    """One line that names the case, for a picture."""
    size = case.conductor.size.words()
    return f"{size}, {case.length_m:.2f} m, {case.current_a:g} A, air {case.ambient_c:g} °C"
