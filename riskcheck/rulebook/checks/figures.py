"""Checks of numbers: units, shares, sources, and life models that make sense."""

from __future__ import annotations

import math
from collections.abc import Iterator

from riskcheck.figures import Figure
from riskcheck.rulebook.checks.base import HazardCheck
from riskcheck.rulebook.folder import Draft, HazardSource
from riskcheck.rulebook.model import WINDOW_OVER, Hazard, WeibullLife
from riskcheck.rulebook.validate import suggestion
from riskcheck.vocabulary import CLOCK_UNITS
from riskcheck.yamlfile import Fault, Where


class FigureUnits(HazardCheck):
    """Each figure has the unit its place demands; shares and ratios are parts of one.

    Shares per cent, per hundred and per thousand side by side are how a reader is misled; here
    every share, ratio and multiplier has the unit "1".
    """

    def in_hazard(self, source: HazardSource, draft: Draft) -> Iterator[Fault]:
        for where, figure, unit in expected_units(source.hazard):
            if figure.unit != unit:
                what = f"{_label(where)} is in {figure.unit}"
                instead = f'give it in unit "{unit}"' + (" (parts of one)" if unit == "1" else "")
                yield source.document.fault((*where, "unit"), what, instead)


class FigureBounds(HazardCheck):
    """Shares lie between 0 and 1; lives, shapes, multipliers above 0; costs not below."""

    def in_hazard(self, source: HazardSource, draft: Draft) -> Iterator[Fault]:
        for where, figure, unit in expected_units(source.hazard):
            low, high = figure.range
            name = where[-1]
            if name in ("share", "finds", "kept_age", "per_event") and not 0 <= low <= high <= 1:
                yield source.document.fault(where, f"{_label(where)} leaves 0 to 1", "correct it")
            elif name in ("shape", "b10", "multiplier", "length") and low <= 0:
                yield source.document.fault(where, f"{_label(where)} must be above 0", "correct it")
            elif unit != "1" and low < 0:
                yield source.document.fault(where, f"{_label(where)} is below 0", "correct it")


class OutcomeShares(HazardCheck):
    """The shares of the named outcomes add up to one."""

    def in_hazard(self, source: HazardSource, draft: Draft) -> Iterator[Fault]:
        total = math.fsum(outcome.share.value for outcome in source.hazard.outcomes)
        if not math.isclose(total, 1.0, abs_tol=1e-6):
            what = f"the shares of the outcomes add up to {total:g}, not to 1"
            yield source.document.fault(("outcomes",), what, "every event ends in one outcome")


class FactorFindings(HazardCheck):
    """A factor acts where one of the hazard's own findings holds."""

    def in_hazard(self, source: HazardSource, draft: Draft) -> Iterator[Fault]:
        known = list(source.hazard.findings)
        for index, factor in enumerate(source.hazard.factors):
            if factor.finding not in known:
                what = f"a factor acts on '{factor.finding}', which is no finding here"
                where = ("factors", index, "finding")
                yield source.document.fault(where, what, suggestion(factor.finding, known))


class HarmOnce(HazardCheck):
    """Harm is a ratio per event, or a rate per year while present: one of the two."""

    def in_hazard(self, source: HazardSource, draft: Draft) -> Iterator[Fault]:
        harm, hidden = source.hazard.harm, source.hazard.reveals == "by_looking"
        if (harm.per_event is None) == (harm.per_year_present is None):
            instead = "give per_year_present" if hidden else "give per_event"
            yield source.document.fault(
                ("harm",), "harm must be stated in exactly one way", instead
            )
        if hidden and source.hazard.look is None:
            what = "a hazard that shows only by looking needs a look"
            yield source.document.fault((), what, "add look: what to do, how long, what it finds")


class InfantWindow(HazardCheck):
    """A shape below 1 is watched for a stated window only, and a finding says when it is over."""

    def in_hazard(self, source: HazardSource, draft: Draft) -> Iterator[Fault]:
        hazard = source.hazard
        infant = isinstance(hazard.life, WeibullLife) and hazard.life.shape.value < 1
        if infant and hazard.watch_window is None:
            what = "a shape below 1 falls with use and must not be stretched over years"
            yield source.document.fault(("life",), what, "add watch_window: {clock, length}")
        if infant and hazard.watch_window is not None and WINDOW_OVER not in hazard.findings:
            what = "nothing says when the watch window is over"
            yield source.document.fault(("watch_window",), what, f"add the finding {WINDOW_OVER}")
        if infant and not hazard.life.starts:
            what = "a shape below 1 needs the event that starts its clock"
            yield source.document.fault(("life",), what, "add starts: [{topics, marks}]")


def expected_units(hazard: Hazard) -> Iterator[tuple[Where, Figure, str]]:
    """Every figure of a hazard with its place and the unit that belongs there."""
    yield from _life_units(hazard)
    for index, factor in enumerate(hazard.factors):
        yield ("factors", index, "multiplier"), factor.multiplier, "1"
        yield ("factors", index, "share"), factor.share, "1"
    for index, remedy in enumerate(hazard.remedies):
        if remedy.kept_age is not None:
            yield ("remedies", index, "kept_age"), remedy.kept_age, "1"
    for index, outcome in enumerate(hazard.outcomes):
        yield ("outcomes", index, "share"), outcome.share, "1"
        yield ("outcomes", index, "cost"), outcome.cost, "USD"
        yield ("outcomes", index, "days_down"), outcome.days_down, "d"
    yield ("job", "hours"), hazard.job.hours, "h"
    yield ("job", "parts"), hazard.job.parts, "USD"
    if hazard.look is not None:
        yield ("look", "minutes"), hazard.look.minutes, "min"
        yield ("look", "cost"), hazard.look.cost, "USD"
        yield ("look", "finds"), hazard.look.finds, "1"


def _life_units(hazard: Hazard) -> Iterator[tuple[Where, Figure, str]]:
    if isinstance(hazard.life, WeibullLife):
        yield ("life", "shape"), hazard.life.shape, "1"
        for index, clock in enumerate(hazard.life.clocks):
            yield ("life", "clocks", index, "b10"), clock.b10, CLOCK_UNITS[clock.clock]
    else:
        yield ("life", "share"), hazard.life.share, "1"
    if hazard.watch_window is not None:
        unit = CLOCK_UNITS[hazard.watch_window.clock]
        yield ("watch_window", "length"), hazard.watch_window.length, unit
    if hazard.harm.per_event is not None:
        yield ("harm", "per_event"), hazard.harm.per_event, "1"
    if hazard.harm.per_year_present is not None:
        yield ("harm", "per_year_present"), hazard.harm.per_year_present, "1/y"
    if hazard.becomes_costly_per_year is not None:
        yield ("becomes_costly_per_year",), hazard.becomes_costly_per_year, "1/y"


def _label(where: Where) -> str:
    return " ".join(str(part + 1) if isinstance(part, int) else part for part in where)
