"""Chances, money and choices of one exposure, gathered from its figures and its rule file."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator

import pandas as pd

from riskcheck.explain.view import (
    Chance,
    Choice,
    CombinedLook,
    Held,
    Limit,
    NamedFigure,
    Price,
    Row,
    Wait,
)
from riskcheck.figures import Figure
from riskcheck.rulebook.model import Hazard, Policy, ShareLife, WeibullLife
from riskcheck.vocabulary import Fact

AHEAD = (3, 6, 12)
NO_PRICE = Price(math.nan, math.nan, math.nan)
FREE = Price(0.0, 0.0, 0.0)


def chances_of(row: Row, hazard: Hazard, horizon: int) -> tuple[Chance, ...]:
    """Today (hidden faults only), 3, 6, 12 months and the horizon; none without a figure.

    What shows itself is not there today as far as anybody knows, so today has no figure.
    """
    if pd.isna(row["probability"]) or row["evidence"] == "confirmed":
        return ()
    found = [Chance(month, *_three(row, f"x_p{month}")) for month in AHEAD]
    if hazard.reveals == "by_looking":
        now = (row["probability_now"], row["x_now_low"], row["x_now_high"])
        found.insert(0, Chance(0, *(float(figure) for figure in now)))
    if horizon not in AHEAD:
        found.append(Chance(horizon, *_three(row, "probability")))
    return tuple(sorted(found, key=lambda chance: chance.months))


def by_look_of(row: Row, hazard: Hazard) -> Chance | None:
    """Chance that a look today would find it: that it is there, times the share a look finds.

    None where it is no matter of looking, found already, or without a figure.
    """
    hidden = hazard.reveals == "by_looking" and hazard.look is not None
    if not hidden or row["evidence"] == "confirmed" or pd.isna(row["probability_now"]):
        return None
    finds = hazard.look.finds.value if hazard.look else 1.0
    now = (row["probability_now"], row["x_now_low"], row["x_now_high"])
    return Chance(0, *(finds * float(figure) for figure in now))


def if_it_applies_of(row: Row, horizon: int) -> Chance | None:
    """Chance by the horizon over the vehicles that have what the hazard needs."""
    if pd.isna(row["probability"]) or row["evidence"] == "confirmed":
        return None
    return Chance(horizon, *_three(row, "x_if_exposed"))


def _three(row: Row, name: str) -> tuple[float, float, float]:
    return float(row[name]), float(row[f"{name}_low"]), float(row[f"{name}_high"])


def waits_of(row: Row, horizon: int) -> tuple[Wait, ...]:
    """Net cost of waiting a month, further months where priced, and to the horizon."""
    if row["evidence"] == "confirmed":
        return ()
    figures = {1: row["wait_month"]}
    figures |= {month: row.get(f"x_wait_{month}", math.nan) for month in AHEAD}
    figures[horizon] = row["net_benefit"]
    return tuple(
        Wait(month, float(usd)) for month, usd in sorted(figures.items()) if not pd.isna(usd)
    )


def price_of(row: Row, name: str) -> Price:
    """A cost column with its range; NaN where there is no figure."""
    if pd.isna(row[name]):
        return NO_PRICE
    return Price(float(row[name]), float(row[f"x_{name}_low"]), float(row[f"x_{name}_high"]))


def choices_of(row: Row, hazard: Hazard, questions: tuple[Fact, ...]) -> tuple[Choice, ...]:
    """What the owner may do, cheapest first after doing nothing; the second opinion last."""
    found = [Choice("leave", "", price_of(row, "cost_if_fails"), math.nan, math.nan)]
    if questions and row["evidence"] != "confirmed":
        asked = questions[0].ask or questions[0].meaning
        found.append(Choice("ask", asked, FREE, math.nan, math.nan))
    if hazard.look is not None and row["evidence"] != "confirmed":
        look, (low, high) = hazard.look, hazard.look.cost.range
        price = Price(look.cost.value, low, high)
        hours = look.minutes.value / 60.0
        found.append(Choice("look", look.title, price, hours, 1.0 - look.finds.value))
    job = hazard.job
    found.append(
        Choice("job", job.title, price_of(row, "cost_to_prevent"), job.hours.value, math.nan)
    )
    for remedy in hazard.remedies:
        kept = remedy.kept_age.value if remedy.kept_age else math.nan
        found.append(
            Choice(
                "other_remedy", remedy.title, NO_PRICE, math.nan, kept, remedy.effect, remedy.hides
            )
        )
    return (*found, Choice("second_opinion", "", NO_PRICE, math.nan, math.nan))


def sooner_of(hazard: Hazard, row: Row) -> tuple[Held, ...]:
    """Factors above one that do not act on this vehicle today."""
    acting = str(row["x_factors"] or "").split("; ")
    return tuple(
        Held(factor.finding, hazard.findings[factor.finding].says)
        for factor in hazard.factors
        if factor.finding not in acting and factor.multiplier.value > 1.0
    )


def limits_of(hazard: Hazard, titles: dict[str, str]) -> tuple[Limit, ...]:
    """What each remedy does not cover and opens; ``titles``: hazard id to title."""
    return tuple(
        Limit(
            title=remedy.title,
            proof=remedy.proof,
            hides=remedy.hides,
            opens=tuple((opened, titles.get(opened, opened)) for opened in remedy.opens),
        )
        for remedy in hazard.remedies
    )


def combined_look_of(rows: Iterable[Row], titles: dict[str, str]) -> CombinedLook | None:
    """The look that several hazards of one vehicle share, if there is one."""
    for row in rows:
        members = [name for name in str(row["x_look_with"] or "").split("; ") if name]
        if len(members) > 1:
            named = tuple((name, titles.get(name, name)) for name in members)
            return CombinedLook(named, float(row["x_look_hours"]), float(row["x_look_cost"]))
    return None


def figures_of(hazard: Hazard, row: Row) -> tuple[NamedFigure, ...]:
    """Every figure of the rule file that entered this vehicle's result, in reading order."""
    acting = {name for name in str(row["x_factors"] or "").split("; ") if name}
    return tuple(_figures(hazard, acting))


def _figures(hazard: Hazard, acting: set[str]) -> Iterator[NamedFigure]:
    life: WeibullLife | ShareLife = hazard.life
    if isinstance(life, WeibullLife):
        for clock in life.clocks:
            yield NamedFigure("b10", clock.clock, clock.b10)
        yield NamedFigure("shape", "", life.shape)
    else:
        yield NamedFigure("share", "", life.share)
    for factor in hazard.factors:
        if factor.finding in acting:
            yield NamedFigure("factor", factor.finding, factor.multiplier)
    for role, figure in (
        ("harm_per_event", hazard.harm.per_event),
        ("harm_per_year", hazard.harm.per_year_present),
        ("costly_per_year", hazard.becomes_costly_per_year),
    ):
        if figure is not None:
            yield NamedFigure(role, "", figure)
    if hazard.look is not None:
        yield NamedFigure("look_cost", "", hazard.look.cost)
        yield NamedFigure("look_finds", "", hazard.look.finds)
    yield NamedFigure("job_hours", "", hazard.job.hours)
    yield NamedFigure("job_parts", "", hazard.job.parts)
    for outcome in hazard.outcomes:
        yield NamedFigure("outcome_share", outcome.name, outcome.share)
        yield NamedFigure("outcome_cost", outcome.name, outcome.cost)


def policy_of(policy: Policy, duty: str) -> tuple[NamedFigure, ...]:
    """The shop's own figures behind every result of one vehicle; ``duty`` picks its class."""
    classed: tuple[tuple[str, dict[str, Figure]], ...] = (
        ("vehicle_value", policy.vehicle_value),
        ("day_cost", policy.day_cost),
        ("yearly_miles", policy.yearly_miles),
    )
    plain = (
        ("labour_rate", policy.labour_rate),
        ("tolerance", policy.tolerance_p_harm),
        ("deferral", policy.deferral_rate),
        ("floor", policy.floor_per_bay_hour),
        ("tow", policy.tow_cost),
    )
    found = [NamedFigure(role, "", figure) for role, figure in plain]
    for role, by_duty in classed:
        name = duty if duty in by_duty else next(iter(by_duty))
        found.append(NamedFigure(role, name, by_duty[name]))
    return tuple(found)
