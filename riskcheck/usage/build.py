"""From tidy frames to clocks: which columns feed which clock."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date

import numpy as np
import pandas as pd

from riskcheck.figures import Figure
from riskcheck.rulebook.model import Policy
from riskcheck.usage.belief import Z_RANGE, ClassFigures, Pace
from riskcheck.usage.calendar import EVEN_PROFILE, days, in_service, years_between
from riskcheck.usage.clocks import (
    Clock,
    EventClock,
    HoursClock,
    MeteredClock,
    SeasonClock,
    ShareClock,
)
from riskcheck.usage.meter import Meter, ServiceStart, meter
from riskcheck.usage.slopes import DAYS_PER_YEAR, Floats, Ints, Series, series
from riskcheck.usage.usage import Usage
from riskcheck.vocabulary import ClockName

USUAL_DUTY = "retail"
WATER_TOPICS = ("water_crossing",)
WATER_MARKS = ("complaint", "finding")
# Share of the miles with a trailer on, by what the record says of towing.
TOWS = Figure(0.20, "share of miles", "common_practice", 0.05, 0.50)
TOWS_NOT = Figure(0.01, "share of miles", "common_practice", 0.002, 0.05)
TOWS_UNKNOWN = Figure(0.05, "share of miles", "common_practice", 0.005, 0.30)


def clocks(
    vehicles: pd.DataFrame,
    readings: pd.DataFrame,
    events: pd.DataFrame,
    policy: Policy,
    as_of: date,
) -> Usage:
    """Every clock of every vehicle as known on ``as_of``; nothing later is looked at.

    ``vehicles``, ``readings`` and ``events`` as ``fleet.read_fleet`` gives them; class figures and
    month profiles from ``policy``.  No loop over vehicles.
    """
    ids = vehicles["vehicle_id"]
    today = days(np.array([as_of], dtype="datetime64[D]"))[0]
    start = ServiceStart(*(np.minimum(day, today) for day in in_service(vehicles)))
    duty, classes = _duties(vehicles["duty"], policy.yearly_miles)
    odometer = _series(ids, readings, "odometer_mi", today)
    odometer = _with_undated(odometer, vehicles["odometer_mi"], today)
    miles_class = _figures(classes, policy.yearly_miles)[duty]
    miles = meter(odometer, start, duty, _class_figures(miles_class), today)
    read = _series(ids, readings, "engine_hours", today)
    hours_class = _figures(classes, policy.yearly_engine_hours)[duty]
    hours, per_mile = _hours(read, miles, duty, hours_class / miles_class[:, 1:2], today)
    start = _start_with_guess(start, miles, today)
    by_name: dict[ClockName, Clock] = {
        "miles": MeteredClock(miles, EVEN_PROFILE),
        "engine_hours": HoursClock(hours, miles, per_mile, EVEN_PROFILE),
        "years": SeasonClock(start, (1.0, 1.0, 1.0), EVEN_PROFILE),
        "winters": SeasonClock(start, (1.0, 1.0, 1.0), _profile(policy.monthly_winter)),
        "cold_starts": SeasonClock(
            start, _three(policy.yearly_cold_starts), _profile(policy.monthly_cold_starts)
        ),
        "towing_miles": ShareClock(miles, _towing_share(vehicles), EVEN_PROFILE),
        "water_events": _water(ids, events, start, today),
    }
    return Usage(tuple(ids.astype(str).tolist()), float(today), by_name)


def _duties(duty: pd.Series, figures: Mapping[str, Figure]) -> tuple[Ints, list[str]]:
    """Duty group of each vehicle (n,) and, by group, the policy class it is counted in."""
    words = duty.fillna("").astype(str).str.strip().str.casefold()
    known = words.where(words.isin(list(figures)), USUAL_DUTY)
    classes = sorted(set(figures) | {USUAL_DUTY})
    group = pd.Categorical(known, categories=classes).codes
    return np.asarray(group, dtype=np.int64), classes


def _three(figure: Figure) -> tuple[float, float, float]:
    low, high = figure.range
    return low, figure.value, high


def _figures(classes: list[str], figures: Mapping[str, Figure]) -> Floats:
    """Low, value and high of each class, (classes, 3)."""
    usual = figures.get(USUAL_DUTY, next(iter(figures.values())))
    return np.array([_three(figures.get(name, usual)) for name in classes])


def _class_figures(table: Floats) -> ClassFigures:
    low, value, high = table.T
    return ClassFigures(value=value, low=low, high=high)


def _profile(monthly: list[float]) -> Floats:
    shares = np.asarray(monthly, dtype=np.float64)
    return np.asarray(shares / shares.sum(), dtype=np.float64)


def _index_of(ids: pd.Series, wanted: pd.Series) -> Ints:
    return np.asarray(pd.Index(ids).get_indexer(pd.Index(wanted)), dtype=np.int64)


def _series(ids: pd.Series, readings: pd.DataFrame, column: str, today: float) -> Series:
    day = days(readings["date"])
    day = np.where(day <= today, day, np.nan)
    value = pd.to_numeric(readings[column]).to_numpy(dtype=np.float64, na_value=np.nan)
    return series(_index_of(ids, readings["vehicle_id"]), day, value, len(ids))


def _with_undated(odometer: Series, latest: pd.Series, today: float) -> Series:
    """An odometer in the vehicle list of a vehicle never read elsewhere counts as read today."""
    value = pd.to_numeric(latest).to_numpy(dtype=np.float64, na_value=np.nan)
    alone = np.flatnonzero((odometer.count == 0) & np.isfinite(value))
    return series(
        np.concatenate([odometer.vehicle, alone]),
        np.concatenate([odometer.day, np.full(len(alone), today)]),
        np.concatenate([odometer.value, value[alone]]),
        len(value),
    )


def _hours(
    read: Series, miles: Meter, duty: Ints, per_mile: Floats, today: float
) -> tuple[Meter, Floats]:
    """Hour meter and hours per mile (n, 3) of vehicles without one, low, value, high.

    The class an hour meter is shrunk toward is the vehicle's own miles times the duty's hours per
    mile; how many hours a mile takes is learned from the hour meters of the duty.  The policy's
    range of yearly hours is taken as how much that ratio varies between vehicles of one duty.
    """
    expected = Pace(*(part[:, None] for part in miles.belief.next_year())).times(per_mile)
    table = np.column_stack([expected.at_z(z)[:, 0] for z in (-Z_RANGE, 0.0, Z_RANGE)])
    hours = meter(read, miles.start, duty, _class_figures(table), today)
    learned = np.exp(hours.belief.habit.log_centre) / table[:, 1]
    return hours, per_mile * learned[:, None]


def _start_with_guess(start: ServiceStart, miles: Meter, today: float) -> ServiceStart:
    """Where no in-service date is known, the age that the odometer speaks for."""
    everyone = np.arange(len(start.middle))
    day = np.full(len(everyone), today)
    now = miles.at(everyone, day, day)[1]
    slow, usual, fast = (miles.belief.next_year().at_z(z) for z in (-Z_RANGE, 0.0, Z_RANGE))
    early, middle, late = (today - now / rate * DAYS_PER_YEAR for rate in (slow, usual, fast))
    return ServiceStart(
        np.where(np.isnan(start.early), early, start.early),
        np.where(np.isnan(start.middle), middle, start.middle),
        np.where(np.isnan(start.late), late, start.late),
    )


def _towing_share(vehicles: pd.DataFrame) -> Floats:
    """(n, 3) share of miles with a trailer, from the ``tows_often`` column if there is one."""
    said = (
        vehicles["tows_often"] if "tows_often" in vehicles else pd.Series("", index=vehicles.index)
    )
    words = said.fillna("").astype(str).str.casefold().to_numpy(dtype=object)
    yes, no = np.isin(words, ["yes", "true", "1"]), np.isin(words, ["no", "false", "0"])
    share = np.where(
        yes[:, None], _three(TOWS), np.where(no[:, None], _three(TOWS_NOT), _three(TOWS_UNKNOWN))
    )
    return np.asarray(share, dtype=np.float64)


def _water(ids: pd.Series, events: pd.DataFrame, start: ServiceStart, today: float) -> EventClock:
    wanted = events["topic"].isin(WATER_TOPICS) & events["mark"].isin(WATER_MARKS)
    vehicle = _index_of(ids, events.loc[wanted, "vehicle_id"])
    day = days(events.loc[wanted, "date_hi"])
    keep = (vehicle >= 0) & (day <= today)
    watched = years_between(start.middle, np.full_like(start.middle, today))
    return EventClock(vehicle[keep], day[keep], watched, EVEN_PROFILE)
