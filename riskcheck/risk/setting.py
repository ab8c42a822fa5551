"""What pricing needs to know of a fleet on one day."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

import numpy as np
import pandas as pd

from riskcheck.fleet import Fleet
from riskcheck.risk.beliefs import Floats
from riskcheck.risk.lines import COMING_IN_DAYS
from riskcheck.risk.looks import VehicleDates
from riskcheck.risk.money import Spread, by_class
from riskcheck.rulebook.book import Rulebook
from riskcheck.rulebook.model import Policy
from riskcheck.usage import Usage
from riskcheck.vocabulary import Fact

DATE_COLUMNS = {
    "inspection": "inspection_due", "warranty": "warranty_end", "goodwill": "goodwill_end",
}  # fmt: skip


@dataclass(frozen=True, eq=False)
class Setting:
    """One fleet on one day: policy, clocks and what each vehicle (n,) is worth, in USD.

    ``value_guessed`` (n,): the value is its duty's, none of its own is on file.  ``usual_miles``
    (n,): the least that is usual of its duty in a year.
    """

    policy: Policy
    vocabulary: Mapping[str, Fact]
    fleet: Fleet
    usage: Usage
    as_of: date
    horizon: float
    duty: np.ndarray[tuple[int], np.dtype[np.str_]]
    value_usd: Floats
    value_guessed: np.ndarray[tuple[int], np.dtype[np.bool_]]
    day_cost: Spread
    usual_miles: Floats
    coming_in: np.ndarray[tuple[int], np.dtype[np.bool_]]
    odometer_mi: Floats
    dates: VehicleDates


def setting_of(
    rulebook: Rulebook, fleet: Fleet, usage: Usage, as_of: date, horizon: float
) -> Setting:
    """Gather what pricing needs; a vehicle's own value goes before its class's."""
    vehicles, policy = fleet.vehicles, rulebook.policy
    duty = vehicles["duty"].fillna("").astype(str).tolist()
    own = pd.to_numeric(vehicles["value_usd"], errors="coerce").to_numpy("float64", na_value=np.nan)
    value = np.where(np.isfinite(own), own, by_class(policy.vehicle_value, duty).value)
    booked = fleet.appointments
    when = pd.to_datetime(booked["date"]).dt.normalize()  # the day counts, not the hour
    today = pd.Timestamp(as_of)
    soon = booked[(when >= today) & (when <= today + pd.Timedelta(days=COMING_IN_DAYS))]
    return Setting(
        policy=policy,
        vocabulary=rulebook.vocabulary,
        fleet=fleet,
        usage=usage,
        as_of=as_of,
        horizon=horizon,
        duty=np.array(duty, dtype=str),
        value_usd=value,
        value_guessed=~np.isfinite(own),
        day_cost=by_class(policy.day_cost, duty),
        usual_miles=by_class(policy.yearly_miles, duty).low,
        coming_in=vehicles["vehicle_id"].isin(soon["vehicle_id"]).to_numpy(dtype=bool),
        odometer_mi=np.asarray(usage.now("miles")[1], dtype=np.float64),
        dates=vehicle_dates(fleet, as_of),
    )


def vehicle_dates(fleet: Fleet, as_of: date) -> VehicleDates:
    """Days since each vehicle's last closed visit, and to the dates on file for it (n,).

    A warranty or goodwill that is over has no date any more; a passed inspection has.
    """
    vehicles, today = fleet.vehicles, pd.Timestamp(as_of)
    closed = fleet.service[fleet.service["line_status"].eq("closed")]
    last = pd.to_datetime(closed["date_hi"]).groupby(closed["vehicle_id"]).max().dropna()
    since = _days(last.reindex(vehicles["vehicle_id"]), today)
    ahead = {}
    for name, column in DATE_COLUMNS.items():
        until = -_days(vehicles[column], today)
        ahead[name] = until if name == "inspection" else np.where(until >= 0.0, until, np.nan)
    return VehicleDates(since, ahead)


def _days(dates: pd.Series, today: pd.Timestamp) -> Floats:
    """Days from each date to today (n,), NaN where there is none."""
    days = pd.to_datetime(dates).to_numpy("datetime64[s]")
    gone = (np.datetime64(today, "s") - days) / np.timedelta64(1, "D")
    return np.asarray(gone, dtype=np.float64)
