"""Where an invented figure acts: the names of those behind each row, so that nobody is misled.

A figure counts as invented while its source says so; an owner who sets it, or a shop's own rules,
take the tag away.  Names are those of the files: ``policy.tow_cost``, ``hazard.life.shape``;
``riskcheck.*`` are defaults of the program itself.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from pydantic import BaseModel

from riskcheck.figures import Figure
from riskcheck.reasoning.reasoned import Reasoned
from riskcheck.risk.asking import opening_share
from riskcheck.risk.hazard_figures import LIVE, Figures, kept_by_leading_job
from riskcheck.risk.history import clock_names
from riskcheck.risk.setting import Setting
from riskcheck.rulebook.model import Hazard, Policy, WeibullLife
from riskcheck.usage.clocks import WATER_RATE

Bools = NDArray[np.bool_]
INVENTED = "invented"
YEARLY = {
    "miles": "yearly_miles", "towing_miles": "yearly_miles",
    "engine_hours": "yearly_engine_hours", "cold_starts": "yearly_cold_starts",
}  # fmt: skip


def behind_figures(
    hazard: Hazard, reasoned: Reasoned, figures: Figures, setting: Setting
) -> list[str]:
    """Names of the invented figures behind chance and cost of each vehicle (n,), "; " joined."""
    n = len(setting.usage.vehicle_ids)
    acts = {name: np.ones(n, dtype=bool) for name in _of_hazard(hazard)}
    acts |= _factors(hazard, reasoned, n)
    acts |= _policy(hazard, figures, setting)
    # What finding out at the bench costs stands behind the worth of a question.
    named, share = opening_share(hazard, setting.policy)
    if share.source == INVENTED:
        acts[f"policy.plan.opening_share.{named}"] = reasoned.status == "unknown"
    weibull = isinstance(hazard.life, WeibullLife)
    hides = weibull & (figures.unseen > 0.0)
    acts["riskcheck.unseen_renewal_interval"] = hides
    stated = any(remedy.unseen_share for remedy in hazard.remedies)
    acts["riskcheck.unseen_renewal_share"] = hides & (not stated)
    if "water_events" in clock_names(hazard) and WATER_RATE.source == INVENTED:
        acts["riskcheck.water_rate"] = np.ones(n, dtype=bool)
    live = np.isin(reasoned.status, LIVE)
    return _joined({name: mask & live for name, mask in acts.items()}, n)


def behind_tiers(rows: pd.DataFrame, policy: Policy) -> list[str]:
    """Names of the invented policy figures that gave a row its tier or date, "; " joined.

    ``rows``: tier, x_tier_reason, act_by_reason, x_look_with.
    """
    reason, by = rows["x_tier_reason"], rows["act_by_reason"]
    looked = rows["x_look_with"].ne("")
    over = rows["tier"].eq(3).fillna(False).astype(bool) | by.eq("people")
    acts: dict[str, Bools] = {}
    if policy.tolerance_p_harm.source == INVENTED:
        acts["policy.tolerance_p_harm"] = (over | looked).to_numpy()
    if policy.floor_per_bay_hour.source == INVENTED:
        money = reason.isin(("money", "under_floor", "small_job_next_visit", "look_due", "season"))
        acts["policy.floor_per_bay_hour"] = (money | looked).to_numpy()
    if policy.harm_value.source == INVENTED:
        acts["policy.harm_value"] = looked.to_numpy()
    if policy.seasons_source == INVENTED:
        acts["policy.seasons"] = (by.eq("season") | reason.eq("season")).to_numpy()
    return _joined(acts, len(rows))


def _of_hazard(hazard: Hazard) -> Iterator[str]:
    """Every invented figure of a hazard file but those of factors, which act by vehicle."""
    for name in type(hazard).model_fields:
        if name != "factors":
            yield from _figures(getattr(hazard, name), f"hazard.{name}")


def _figures(value: object, path: str) -> Iterator[str]:
    if isinstance(value, Figure):
        if value.source == INVENTED:
            yield path
    elif isinstance(value, BaseModel):
        for name in type(value).model_fields:
            yield from _figures(getattr(value, name), f"{path}.{name}")
    elif isinstance(value, list | tuple):
        for place, one in enumerate(value):
            key = getattr(one, "id", None) or getattr(one, "name", None) or str(place)
            yield from _figures(one, f"{path}.{key}")


def _factors(hazard: Hazard, reasoned: Reasoned, n: int) -> dict[str, Bools]:
    acts = {}
    for factor in hazard.factors:
        if INVENTED in (factor.multiplier.source, factor.share.source):
            state = reasoned.factors.get(factor.finding, np.zeros(n, dtype=np.int8))
            acts[f"hazard.factors.{factor.finding}"] = np.asarray(state) == 1
    return acts


def _policy(hazard: Hazard, figures: Figures, setting: Setting) -> dict[str, Bools]:
    """Policy figures behind cost and pace."""
    policy, n = setting.policy, len(setting.usage.vehicle_ids)
    everyone, nobody = np.ones(n, dtype=bool), np.zeros(n, dtype=bool)
    acts: dict[str, Bools] = {}

    def add(name: str, figure: Figure, mask: Bools) -> None:
        if figure.source == INVENTED and mask.any():
            acts[f"policy.{name}"] = mask

    add("labour_rate", policy.labour_rate, everyone)
    tow = any(outcome.tow for outcome in hazard.outcomes)
    add("tow_cost", policy.tow_cost, everyone if tow else nobody)
    weighed = hazard.reveals == "by_itself" and kept_by_leading_job(hazard) is None
    put_off = weighed or not isinstance(hazard.life, WeibullLife)
    add("deferral_rate", policy.deferral_rate, everyone if put_off else nobody)
    dear = max(outcome.cost.value for outcome in hazard.outcomes)
    capped = setting.value_guessed & (
        (dear > setting.value_usd) | (figures.cost_job.value > setting.value_usd)
    )
    down = any(outcome.days_down.value > 0.0 for outcome in hazard.outcomes)
    by_class = [("vehicle_value", policy.vehicle_value, capped)]
    by_class.append(("day_cost", policy.day_cost, everyone if down else nobody))
    for clock in clock_names(hazard):
        figure = getattr(policy, YEARLY[clock]) if clock in YEARLY else {}
        if isinstance(figure, Figure):
            add(YEARLY[clock], figure, everyone)
        elif figure:
            by_class.append((YEARLY[clock], figure, everyone))
    for name, table, mask in by_class:
        for duty, chosen in _classes(setting.duty, table).items():
            add(f"{name}.{duty}", table[duty], mask & chosen)
    return acts


def _classes(duty: NDArray[np.str_], table: Mapping[str, Figure]) -> dict[str, Bools]:
    """Who takes which entry of a table by duty; the first entry stands for unlisted duties."""
    first = next(iter(table))
    taken = np.where(np.isin(duty, list(table)), duty, first)
    return {name: taken == name for name in table}


def _joined(acts: Mapping[str, Bools], n: int) -> list[str]:
    """One text a row; rows of the same figures share it."""
    names = sorted(name for name, mask in acts.items() if mask.any())
    if not names:
        return [""] * n
    grid = np.stack([acts[name] for name in names], axis=1)
    patterns, place = np.unique(grid, axis=0, return_inverse=True)
    texts = ["; ".join(np.array(names)[one]) for one in patterns]
    return [texts[at] for at in place.reshape(-1)]
