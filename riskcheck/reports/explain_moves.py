"""What moves a chance and what makes its range wide, in words; the largest first."""

from __future__ import annotations

import math

from riskcheck.explain import HazardView
from riskcheck.explain.view import Driver, NamedFigure, Unknown
from riskcheck.reports import chances, words
from riskcheck.reports.explain_grounds import amount, figure_words, plain_number
from riskcheck.reports.explain_terms import Line, denominator
from riskcheck.rulebook.model import Hazard, WeibullLife

# A range narrower than this needs no reason (common practice, no source).
WIDE_ENOUGH = 0.30
WHY_WIDE = "Why the range is wide"
SILENT = "it has not shown itself so far, which speaks for the part"


def moves_lines(view: HazardView, months: int) -> list[Line]:
    """Drivers with how many times they make the load, then why the range is wide."""
    lines = [
        Line(
            f"{_driver(view, one)} (times {_times(one.times)}{_rate(view, one)})",
            _way(one),
            f"drivers/{place}",
        )
        for place, one in enumerate(view.drivers)
    ]
    return [*lines, *wide_lines(view, WHY_WIDE)]


def moves_owner_lines(view: HazardView, months: int) -> list[Line]:
    """The same without the numbers of the model."""
    lines = [Line(_driver(view, one), _way(one)) for one in view.drivers if one.code != "capped"]
    hidden = chances.stated(view.row) is None
    return [*lines, *wide_lines(view, "Why no count is given" if hidden else WHY_WIDE)]


def wide_lines(view: HazardView, label: str) -> list[Line]:
    """Why the range is wide and what would narrow it; nothing where it is narrow."""
    told = view.if_it_applies
    if told is None or not view.unknowns or told.high - told.low <= WIDE_ENOUGH:
        return []
    why = [_unknown(view, one) for one in view.unknowns]
    if view.hazard.reveals == "by_looking" and not view.row["x_last_good_look"]:
        why.append("no look at it is on file, so nothing tells how this one has fared")
    return [
        Line("; ".join(why), label, "unknowns"),
        Line(words.listing(_narrowing(view)), "What would narrow it"),
    ]


def _driver(view: HazardView, driver: Driver) -> str:
    row, hazard = view.row, view.hazard
    of = denominator(view)
    match driver.code:
        case "use":
            return _use(view)
        case "factor":
            return hazard.findings[driver.of].says.rstrip(".")
        case "elsewhere":
            what = "spares such parts" if driver.times > 1.0 else "brings it on sooner"
            return f"what {what} elsewhere is not at work here"
        case "capped":
            return "more of such stories than are let add up (at most 6 times in all)"
        case "looked":
            return f"seen good on {row['x_last_good_look']}: what counts is what came since"
        case "renewed":
            return "perhaps renewed before our record begins"
        case "silent":
            return SILENT
        case _:
            return f"it applies only to {chances.applies_to(row, of)}"


def _use(view: HazardView) -> str:
    """ "it is 1.9 times as far as one in ten gets ..."."""
    row = view.row
    gone = f"{plain_number(float(row['usage']))} {row['usage_unit']} on its clock"
    early = "one in ten of such parts has had it"
    life = view.hazard.life
    assert isinstance(life, WeibullLife)
    by = " or ".join(amount(clock.b10.value, clock.b10.unit) for clock in life.clocks)
    return f"{gone}, where {early} by {by}"


def _way(driver: Driver) -> str:
    return "Raises it" if driver.times > 1.0 else "Lowers it"


def _times(times: float) -> str:
    """Two digits: "6.1", "0.34", "12"."""
    if times >= 10.0 or times < 1e-3:
        return f"{times:,.0f}" if times >= 10.0 else "less than 0.001"
    digits = 1 - math.floor(math.log10(times))
    return f"{times:.{digits}f}"


def _rate(view: HazardView, driver: Driver) -> str:
    """The yearly rate by which silence speaks for the part, with where it is from."""
    yearly = view.hazard.becomes_costly_per_year
    if driver.code != "silent" or yearly is None:
        return ""
    return f"; {figure_words(NamedFigure('costly_per_year', '', yearly))}"


def _unknown(view: HazardView, unknown: Unknown) -> str:
    low, high = (plain_number(edge) for edge in unknown.range)
    of = denominator(view)
    match unknown.code:
        case "life":
            return (
                f"such parts differ in how long they last (one in ten has had it by {low} to "
                f"{high} {unknown.unit})"
            )
        case "share":
            few, many = (words.count_of(edge, of) for edge in unknown.range)
            return f"jobs differ in how often it is left behind (on {few} to {many} of {of:,})"
        case "factor":
            finding = view.hazard.findings[unknown.of].says.rstrip(".")
            return f"how much it does that {finding} is a range itself (times {low} to {high})"
        case "use":
            return f"its use up to today is known only as {low} to {high} {unknown.unit}"
        case _:
            many = f"{words.about(unknown.range[0], of)} of {of:,}"
            return f"{many} such parts were renewed before our record begins, perhaps this one too"


def _narrowing(view: HazardView) -> list[str]:
    codes = {unknown.code for unknown in view.unknowns}
    found = []
    if view.hazard.look is not None:
        found.append(_look(view.hazard))
    if "use" in codes:
        found.append("today's reading")
    if "renewed" in codes:
        found.append("an old invoice for the part")
    return found or ["more finds and non-finds, recorded: riskcheck learns from them"]


def _look(hazard: Hazard) -> str:
    assert hazard.look is not None
    return f"a look ({hazard.look.title}, {hazard.look.minutes.value:g} min)"
