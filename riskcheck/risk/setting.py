"""What pricing needs to know of a fleet on one day."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

import numpy as np
import pandas as pd

from riskcheck.fleet import Fleet
from riskcheck.risk.beliefs import Floats
from riskcheck.risk.money import Spread, by_class
from riskcheck.risk.ranking import COMING_IN_DAYS
from riskcheck.rulebook.model import Policy
from riskcheck.usage import Usage


@dataclass(frozen=True, eq=False)
class Setting:
    """One fleet on one day: policy, clocks and what each vehicle (n,) is worth, in USD."""

    policy: Policy
    fleet: Fleet
    usage: Usage
    as_of: date
    horizon: float
    value_usd: Floats
    day_cost: Spread
    coming_in: np.ndarray[tuple[int], np.dtype[np.bool_]]
    odometer_mi: Floats


def setting_of(policy: Policy, fleet: Fleet, usage: Usage, as_of: date, horizon: float) -> Setting:
    """Gather what pricing needs; a vehicle's own value goes before its class's."""
    vehicles = fleet.vehicles
    duty = vehicles["duty"].fillna("").astype(str).tolist()
    own = pd.to_numeric(vehicles["value_usd"], errors="coerce").to_numpy("float64", na_value=np.nan)
    value = np.where(np.isfinite(own), own, by_class(policy.vehicle_value, duty).value)
    booked = fleet.appointments
    when = pd.to_datetime(booked["date"])
    today = pd.Timestamp(as_of)
    soon = booked[(when >= today) & (when <= today + pd.Timedelta(days=COMING_IN_DAYS))]
    return Setting(
        policy=policy,
        fleet=fleet,
        usage=usage,
        as_of=as_of,
        horizon=horizon,
        value_usd=value,
        day_cost=by_class(policy.day_cost, duty),
        coming_in=vehicles["vehicle_id"].isin(soon["vehicle_id"]).to_numpy(dtype=bool),
        odometer_mi=np.asarray(usage.now("miles")[1], dtype=np.float64),
    )
