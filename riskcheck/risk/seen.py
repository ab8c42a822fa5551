"""Since when a physical finding has been there: the day the record first tells of it.

A factor that ``acts: from_seen`` multiplies the rate from that day on, not from today and not from
new.  A finding rests on facts; events, codes and readings have days, columns of the vehicle sheet
have none (then the factor acts from today, as for every finding without a day).
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from riskcheck.fleet import Fleet
from riskcheck.fleet.events import matching
from riskcheck.reasoning.reasoned import Reasoned
from riskcheck.rulebook.model import Factor, Hazard
from riskcheck.vocabulary import Fact

Days = NDArray[np.datetime64]


def first_seen(
    hazard: Hazard, reasoned: Reasoned, fleet: Fleet, vocabulary: Mapping[str, Fact]
) -> Days:
    """Day from which the acting from_seen factors act, per vehicle; NaT where none has a day.

    Where several act, all of them count from the latest of their days: too late rather than too
    early, so that a part is not credited with having survived what was not yet there.
    """
    ids = fleet.vehicles["vehicle_id"]
    none = np.full(len(ids), np.datetime64("NaT", "s"), dtype="datetime64[s]")
    latest, undated = none.copy(), np.zeros(len(ids), dtype=bool)
    for factor in hazard.factors:
        acts = np.asarray(reasoned.factors.get(factor.finding, np.zeros(len(ids)))) == 1
        if factor.acts != "from_seen" or not acts.any():
            continue
        day = _finding_days(factor, hazard, fleet, vocabulary).reindex(ids)
        days = day.to_numpy("datetime64[s]")
        undated |= acts & np.isnat(days)
        newer = acts & ~np.isnat(days) & (np.isnat(latest) | (days > latest))
        latest = np.where(newer, days, latest)
    return np.where(undated, none, latest)


def _finding_days(
    factor: Factor, hazard: Hazard, fleet: Fleet, vocabulary: Mapping[str, Fact]
) -> pd.Series:
    """First day any fact behind the factor's finding was on file, indexed by vehicle_id."""
    days = [
        _fact_days(vocabulary[name], fleet)
        for name in _facts_behind(factor.finding, hazard)
        if name in vocabulary
    ]
    found = [one for one in days if len(one)]
    if not found:
        return pd.Series([], index=pd.Index([], dtype=object), dtype="datetime64[s]")
    joined = pd.concat(found)
    first: pd.Series = joined.groupby(level=0).min()
    return first


def _facts_behind(finding: str, hazard: Hazard) -> Iterator[str]:
    """Names of the facts that a finding reads, through other findings too."""
    for rule in hazard.findings[finding].when:
        for name in rule:
            if name in hazard.findings:
                yield from _facts_behind(name, hazard)
            else:
                yield name


def _fact_days(fact: Fact, fleet: Fleet) -> pd.Series:
    """Day of the first event, code or reading behind a fact since it was last put right."""
    params, kind = fact.derivation.params, fact.derivation.kind
    if kind in ("open", "ever", "count"):
        told = matching(fleet.events, params["topics"], params["marks"])
        closing = params.get("closed_by")
        return _first_since(told["vehicle_id"], told["date_hi"], closing, fleet)
    if kind == "code":
        wanted = {str(code).upper() for code in params["codes"]}
        told = fleet.codes[fleet.codes["code"].isin(wanted)]
        return _first_since(told["vehicle_id"], told["date"], params.get("since_last"), fleet)
    if kind == "latest_value":
        told = fleet.measurements[fleet.measurements["quantity"].eq(params["quantity"])]
        # Only the latest reading is known to be bad: it counts from its own day.
        told = told.sort_values("date", kind="stable").drop_duplicates("vehicle_id", keep="last")
        return _first_since(told["vehicle_id"], told["date"], params.get("since_last"), fleet)
    return pd.Series([], index=pd.Index([], dtype=object), dtype="datetime64[s]")


def _first_since(
    vehicle: pd.Series, date: pd.Series, closing: Mapping[str, list[str]] | None, fleet: Fleet
) -> pd.Series:
    day = pd.Series(
        pd.to_datetime(date).to_numpy("datetime64[s]"),
        index=pd.Index(vehicle.to_numpy(object)),
    ).dropna()
    if closing and len(day):
        put_right = matching(fleet.events, closing["topics"], closing["marks"])
        last = pd.to_datetime(put_right["date_hi"]).groupby(put_right["vehicle_id"]).max()
        right = last.reindex(day.index).to_numpy("datetime64[s]")
        day = day[np.isnat(right) | (day.to_numpy() > right)]
    first: pd.Series = day.groupby(level=0).min()
    return first
