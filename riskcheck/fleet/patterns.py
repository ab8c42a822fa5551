"""What many readings or dates together give away: values filled in by a program, import days.

Thresholds are choices of this project, no source.
"""

from __future__ import annotations

import numpy as np
import pandas as pd

from riskcheck.fleet.history import KM_PER_MILE

_ON_A_LINE = 5  # so many readings of a vehicle on one exact line were computed, not read
_LINE_MILES = 1.0
_SHARED_BY, _SHARED_SHARE = 5, 0.2  # vehicles that carry one and the same reading
_USUAL_STEPS, _JUMP_PACE, _RATIO_SLACK = 4, 4.0, 0.05
_PILE_LINES, _PILE_VEHICLES, _PILE_TIMES = 30, 15, 8.0


def on_a_line(readings: pd.DataFrame) -> pd.Series:
    """How many readings of the vehicle lie on one exact line, at its last reading.

    Indexed by the labels of those last readings; vehicles whose readings scatter are left out.
    """
    dated = readings[readings["odometer_mi"].notna() & readings["date"].notna()]
    codes, _ = pd.factorize(dated["vehicle_id"])
    order = np.lexsort((dated["date"].to_numpy(), codes))
    vehicle = codes[order]
    miles = dated["odometer_mi"].to_numpy(dtype=np.float64)[order]
    days = dated["date"].to_numpy()[order].astype("datetime64[D]").astype(np.float64)
    _, starts, counts = np.unique(vehicle, return_index=True, return_counts=True)
    ends = starts + counts - 1
    span, climb = days[ends] - days[starts], miles[ends] - miles[starts]
    slope = np.divide(climb, span, out=np.zeros_like(span), where=span > 0)
    due = np.repeat(miles[starts], counts) + np.repeat(slope, counts) * (
        days - np.repeat(days[starts], counts)
    )
    off = np.maximum.reduceat(np.abs(miles - due), starts) if len(starts) else np.zeros(0)
    drawn = (counts >= _ON_A_LINE) & (climb > 0) & (off <= _LINE_MILES)
    return pd.Series(counts[drawn], index=dated.index[order[ends[drawn]]])


def shared_values(readings: pd.DataFrame) -> pd.Series:
    """Readings whose value a fifth of all vehicles and at least five share: label -> vehicles."""
    told = readings[readings["odometer_mi"].notna()]
    most = max(_SHARED_BY, _SHARED_SHARE * told["vehicle_id"].nunique())
    often = told["odometer_mi"].value_counts()
    some = told[told["odometer_mi"].isin(often.index[often >= most])]
    carriers = some.groupby("odometer_mi")["vehicle_id"].nunique()
    found = some["odometer_mi"].map(carriers[carriers >= most])
    return found[found.notna()].astype("int64")


def import_days(dates: pd.Series, vehicles: pd.Series) -> list[pd.Timestamp]:
    """Days on which so many lines of so many vehicles stand that they were imported, not worked.

    At least 30 lines of 15 vehicles, and eight times what all but the busiest twentieth of the
    other days hold (the busiest day of all is not counted among those).
    """
    lines = dates.value_counts()
    usual = max(float(lines.iloc[1:].quantile(0.95)) if len(lines) > 1 else 1.0, 1.0)
    many = lines.index[lines >= max(_PILE_LINES, _PILE_TIMES * usual)]
    return sorted(day for day in many if vehicles[dates == day].nunique() >= _PILE_VEHICLES)


def _risen_by_half(dated: pd.DataFrame) -> pd.DataFrame:
    """Readings in order of vehicle and date, of vehicles with a step to 1.5 times or more."""
    vehicle, _ = pd.factorize(dated["vehicle_id"])
    order = np.lexsort((dated["date"].to_numpy(), vehicle))
    miles, vehicle = dated["odometer_mi"].to_numpy(dtype=np.float64)[order], vehicle[order]
    steep = (miles[1:] >= 1.5 * miles[:-1]) & (vehicle[1:] == vehicle[:-1])
    return dated.iloc[order[np.isin(vehicle, vehicle[1:][steep])]]


def unit_switches(readings: pd.DataFrame) -> pd.Series:
    """Readings that jump as if from miles to kilometres and go on so: label -> value in miles.

    A step counts if it alone is more than four times the vehicle's usual pace (median of its
    steps, at least three others) and the reading divided by 1.609344 (NIST SP 811) lies within
    5 % of where the usual pace would have led.  A vehicle merely driven more is not that near.
    """
    dated = readings[readings["odometer_mi"].notna() & readings["date"].notna()]
    ordered = _risen_by_half(dated)
    by = ordered.groupby("vehicle_id", sort=False)
    step, gap = by["odometer_mi"].diff(), by["date"].diff().dt.days
    pace = step / gap.clip(lower=1)
    usual = pace.groupby(ordered["vehicle_id"], sort=False).transform("median")
    known = pace.groupby(ordered["vehicle_id"], sort=False).transform("count") >= _USUAL_STEPS
    due = ordered["odometer_mi"] - step + usual * gap
    ratio = ordered["odometer_mi"] / due.where(due > 0)
    fast = known & (usual > 0) & (pace > _JUMP_PACE * usual)
    once = fast.groupby(ordered["vehicle_id"], sort=False).transform("sum") == 1
    jump = fast & once
    jump &= (ratio / KM_PER_MILE - 1.0).abs() <= _RATIO_SLACK
    if not jump.any():
        return pd.Series(dtype="float64")
    after = jump.groupby(ordered["vehicle_id"], sort=False).cummax()
    in_miles: pd.Series = ordered.loc[after, "odometer_mi"] / KM_PER_MILE
    return in_miles.round(1)
