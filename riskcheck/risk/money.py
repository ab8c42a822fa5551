"""What an event costs, what preventing it costs, and how losses on one vehicle add up (USD)."""

from __future__ import annotations

from collections.abc import Mapping
from typing import NamedTuple

import numpy as np

from riskcheck.figures import Figure
from riskcheck.risk.beliefs import Floats
from riskcheck.rulebook.model import Hazard, Policy


class Spread(NamedTuple):
    """Value with low and high, (n,) each."""

    value: Floats
    low: Floats
    high: Floats


def spread_of(figure: Figure) -> tuple[float, float, float]:
    """(value, low, high) of a figure."""
    return (figure.value, *figure.range)


def by_class(figures: Mapping[str, Figure], duty: list[str]) -> Spread:
    """A policy figure per vehicle by its duty; an unlisted duty takes the first entry."""
    first = next(iter(figures))
    table = {name: spread_of(figure) for name, figure in figures.items()}
    columns = np.array([table.get(name, table[first]) for name in duty]).reshape(-1, 3).T
    return Spread(*columns)


def failure_cost(hazard: Hazard, policy: Policy, value_usd: Floats, day_cost: Spread) -> Spread:
    """C_f = Σ share·(min(repair, vehicle value) + days down·day cost + tow) over the outcomes.

    ``value_usd`` (n,): a repair never costs more than the vehicle is worth.
    """
    tow = spread_of(policy.tow_cost)
    total = [np.zeros(len(value_usd)) for _ in range(3)]
    for outcome in hazard.outcomes:
        repair, days = spread_of(outcome.cost), spread_of(outcome.days_down)
        for place in range(3):
            cost = np.minimum(repair[place], value_usd) + days[place] * day_cost[place]
            total[place] += outcome.share.value * (cost + (tow[place] if outcome.tow else 0.0))
    return Spread(*total)


def downtime_cost(hazard: Hazard, policy: Policy, day_cost: Spread) -> Floats:
    """Days down·day cost + tow over the outcomes (n,): what comes on top of the repair."""
    total = np.zeros(len(day_cost.value))
    for outcome in hazard.outcomes:
        tow = policy.tow_cost.value if outcome.tow else 0.0
        total += outcome.share.value * (outcome.days_down.value * day_cost.value + tow)
    return total


def job_cost(hazard: Hazard, policy: Policy, count: int) -> Spread:
    """C_p = hours·labour rate + parts of the preventive job, (count,)."""
    hours, parts = spread_of(hazard.job.hours), spread_of(hazard.job.parts)
    rate = policy.labour_rate.value
    return Spread(*(np.full(count, h * rate + p) for h, p in zip(hours, parts, strict=True)))


def harm_12m(hazard: Hazard, chance_12m: Floats, present_12m: Floats) -> Floats:
    """P_harm over 12 months: ratio·p where the event shows itself, ρ·(years there) where hidden.

    ``present_12m`` (n,): expected years of the next one that the fault is there and silent.
    """
    total = np.zeros(len(chance_12m))
    if hazard.harm.per_event is not None:
        total += hazard.harm.per_event.value * chance_12m
    if hazard.harm.per_year_present is not None:
        total += hazard.harm.per_year_present.value * present_12m
    return total
