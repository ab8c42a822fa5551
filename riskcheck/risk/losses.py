"""What several exposures of one vehicle lose together: no engine is wrecked twice.

Exposures that destroy the same thing share a loss group, in which one loss ends the matter: the
chance of a group is that of the union, its expected loss Σ C_i·p_i·Π over dearer j of (1 − p_j),
and a vehicle never loses more than it is worth plus its longest downtime.  Events are taken as
independent given the record.
"""

from __future__ import annotations

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from riskcheck.risk.beliefs import Floats

NEEDED = ["vehicle_id", "x_loss_group", "x_loss_chance", "cost_if_fails", "x_loss_cap"]


def with_group_losses(exposures: pd.DataFrame) -> pd.DataFrame:
    """The exposures with x_group_chance, x_group_loss and x_vehicle_loss.

    Each is said on every row that it covers: the group's and the vehicle's figures over all their
    exposures within the horizon (USD), NaN where a row has no figures.
    """
    live = exposures["x_loss_chance"].notna().to_numpy()
    rows = exposures.loc[live, NEEDED]
    groups = _by_group(rows)
    vehicles = _by_vehicle(groups)
    pairs = pd.MultiIndex.from_frame(rows[["vehicle_id", "x_loss_group"]])
    out = exposures.assign(x_group_chance=np.nan, x_group_loss=np.nan, x_vehicle_loss=np.nan)
    for name, column in (("x_group_chance", "chance"), ("x_group_loss", "loss")):
        out.loc[live, name] = groups[column].reindex(pairs).to_numpy()
    out.loc[live, "x_vehicle_loss"] = vehicles["loss"].reindex(rows["vehicle_id"]).to_numpy()
    return out


def together(exposures: pd.DataFrame) -> pd.DataFrame:
    """What these exposures (any selection of priced rows) lose together, per vehicle.

    Returns, indexed by vehicle_id in order of first appearance: loss (USD, expected within the
    horizon), chance (of at least one costly event), exposures (count).  For a customer, add the
    losses of his vehicles.
    """
    rows = exposures.loc[exposures["x_loss_chance"].notna(), NEEDED]
    vehicles = _by_vehicle(_by_group(rows))
    return vehicles.reindex(rows["vehicle_id"].drop_duplicates())


def _by_group(rows: pd.DataFrame) -> pd.DataFrame:
    """Union chance and expected loss by (vehicle_id, x_loss_group), with the vehicle's cap."""
    order = rows.sort_values(
        ["vehicle_id", "x_loss_group", "cost_if_fails"],
        ascending=[True, True, False],
        kind="stable",
    )
    chance = order["x_loss_chance"].to_numpy(float)
    first = ~order.duplicated(["vehicle_id", "x_loss_group"]).to_numpy()
    loss = order["cost_if_fails"].to_numpy(float) * chance * spared(chance, first)
    table = pd.DataFrame(
        {
            "vehicle_id": order["vehicle_id"], "x_loss_group": order["x_loss_group"],
            "loss": loss, "clear": np.log1p(-np.minimum(chance, 1.0 - 1e-16)),
            "cap": order["x_loss_cap"], "exposures": 1,
        }
    )  # fmt: skip
    summed = table.groupby(["vehicle_id", "x_loss_group"], sort=True).agg(
        {"loss": "sum", "clear": "sum", "cap": "max", "exposures": "sum"}
    )
    # One thing is lost once: a group costs no more than the vehicle and its downtime.
    summed["loss"] = summed[["loss", "cap"]].min(axis=1)
    return summed.assign(chance=-np.expm1(summed["clear"]))


def _by_vehicle(groups: pd.DataFrame) -> pd.DataFrame:
    summed = groups.groupby(level="vehicle_id", sort=False).agg(
        {"loss": "sum", "clear": "sum", "cap": "max", "exposures": "sum"}
    )
    loss = summed[["loss", "cap"]].min(axis=1)
    return pd.DataFrame(
        {"loss": loss, "chance": -np.expm1(summed["clear"]), "exposures": summed["exposures"]}
    )


def spared(chance: Floats, first: NDArray[np.bool_]) -> Floats:
    """Chance that no dearer loss of the group has happened, for rows sorted dearest first (n,).

    ``first`` marks where each group begins.
    """
    clear = np.log1p(-np.minimum(chance, 1.0 - 1e-16))
    before = np.concatenate(([0.0], np.cumsum(clear)[:-1])) if len(clear) else clear
    start = np.maximum.accumulate(np.where(first, np.arange(len(first)), 0))
    return np.asarray(np.exp(before - before[start]), dtype=np.float64)
