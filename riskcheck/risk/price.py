"""Put figures on every exposure of a fleet: the one door of this package."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

import numpy as np
import pandas as pd

from riskcheck.fleet import Fleet
from riskcheck.reasoning.reasoned import Reasoned
from riskcheck.risk.frames import exposure_frame
from riskcheck.risk.hazard_figures import Figures, figures_of
from riskcheck.risk.invented import behind_tiers
from riskcheck.risk.lines import Line
from riskcheck.risk.looks import combined_looks
from riskcheck.risk.losses import with_group_losses
from riskcheck.risk.ranking import rank, tiers
from riskcheck.risk.setting import Setting, setting_of
from riskcheck.rulebook.book import Rulebook
from riskcheck.usage import Usage

COLUMNS = (
    "vehicle_id", "customer_id", "hazard_id", "status", "severity", "likelihood", "risk_level",
    "usage", "usage_unit", "probability", "probability_low", "probability_high", "cost_if_fails",
    "cost_to_prevent", "net_benefit", "act_by_date", "act_by_odometer_mi", "findings",
    "questions", "case_id", "evidence", "exposed_weight", "probability_now", "p_harm",
    "people_level", "money_level", "wait_month", "act_by_reason", "hours", "tier", "rank",
    "people_code", "money_code", "probability_12m",
)  # fmt: skip


@dataclass(frozen=True)
class Priced:
    """Exposures, one row per vehicle (input order) and hazard (by id).

    The columns of ``COLUMNS`` come first, then details with the prefix ``x_``.  Figures are NaN
    (dates NaT) for the statuses not_applicable, closed and no_answer.
    """

    exposures: pd.DataFrame


def price(
    rulebook: Rulebook,
    reasoning_hazards: Mapping[str, Reasoned],
    fleet: Fleet,
    usage: Usage,
    as_of: date,
    horizon_months: int,
) -> Priced:
    """Chance, cost, act-by date, level and rank of every vehicle-hazard pair.

    Vehicles are in the order of ``fleet.vehicles``, which is that of ``usage`` and of every
    Reasoned.  Raises nothing on account of the data: where something is unknown the figure is NaN.
    """
    setting = setting_of(rulebook, fleet, usage, as_of, float(horizon_months))
    frames = []
    for hazard_id in sorted(rulebook.hazards):
        hazard, reasoned = rulebook.hazards[hazard_id], reasoning_hazards[hazard_id]
        figures: Figures = figures_of(hazard, reasoned, setting)
        frames.append(exposure_frame(hazard, reasoned, figures, setting))
    if not frames:
        return Priced(pd.DataFrame(columns=list(COLUMNS)))
    rows = pd.concat(frames, ignore_index=True).copy()  # in one piece, even without a vehicle
    return Priced(_ranked(rows, setting))


def _date_by_tier(rows: pd.DataFrame, placed: pd.DataFrame, as_of: date) -> None:
    """Where an inspection, a warranty or a season gave the tier, it is the date to act by."""
    own = placed["own_days"].notna()
    days = placed.loc[own, "own_days"].clip(lower=0.0).to_numpy().astype("timedelta64[D]")
    rows.loc[own, "act_by_date"] = [str(day) for day in np.datetime64(as_of) + days]
    rows.loc[own, "act_by_reason"] = placed.loc[own, "tier_reason"]
    rows.loc[own, "r_act_by_days"] = placed.loc[own, "own_days"]
    rows.loc[own, "act_by_odometer_mi"] = np.nan


def _ranked(rows: pd.DataFrame, setting: Setting) -> pd.DataFrame:
    """Tier, key and rank over all hazards together, in the contract's column order."""
    policy = setting.policy
    line = Line(
        policy.tolerance_p_harm.value, policy.floor_per_bay_hour.value, policy.harm_value.value
    )
    helper = rows.rename(columns=lambda name: name.removeprefix("r_"))
    looks = combined_looks(helper, line, setting.dates)
    placed = tiers(helper, line, looks)
    for name in ("lead", "with", "hours", "cost", "harm"):
        rows[f"x_look_{name}"] = looks[name]
    rows["tier"], rows["x_tier_reason"] = placed["tier"], placed["tier_reason"]
    _date_by_tier(rows, placed, setting.as_of)
    rows["x_key"], rows["x_key_value"] = placed["key_words"], placed["key"]
    order = rows.assign(key=placed["key"], then=placed["then"], act_by_days=rows["r_act_by_days"])
    rows["rank"] = rank(order).astype("Int64").where(rows["tier"].notna())
    rows["tier"] = rows["tier"].astype("Int64")
    rows["x_invented"] = [
        "; ".join(part for part in parts if part)
        for parts in zip(rows["r_invented"], behind_tiers(rows, policy), strict=True)
    ]
    rows = rows.sort_values(["r_row", "hazard_id"], kind="stable", ignore_index=True)
    rows = with_group_losses(rows)
    details = [name for name in rows.columns if name.startswith("x_")]
    return rows[[*COLUMNS, *details]]
