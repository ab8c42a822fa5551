"""How many vehicles of one type a fleet can do without at the same time."""

from __future__ import annotations

import numpy as np
import pandas as pd

from riskcheck.actions.plan.problem import NONE, Ints
from riskcheck.fleet import Fleet
from riskcheck.rulebook.model import Policy

LARGE_FLEET = 50


def spares_of(
    cars: pd.DataFrame, fleet: Fleet, policy: Policy
) -> tuple[Ints, tuple[tuple[str, str, int], ...]]:
    """Group of each vehicle of ``cars`` (v,), and per group (customer, type, may be out at once).

    Only fleets' vehicles are grouped (NONE: another customer's).  What the spares sheet says of a
    fleet and type comes first; the policy's share of their number where it is silent.
    """
    people = fleet.customers.drop_duplicates("customer_id").set_index("customer_id")
    fleets = people.index[people["kind"].eq("fleet") | people["fleet"].ne("")]
    owned = (
        fleet.vehicles.assign(type=_type_of(fleet.vehicles)).groupby(["customer_id", "type"]).size()
    )
    group = np.full(len(cars), NONE, dtype=np.int64)
    names: list[tuple[str, str, int]] = []
    place: dict[tuple[str, str], int] = {}
    told = zip(cars["customer_id"], _type_of(cars), cars["model"], cars["duty"], strict=True)
    for at, (customer, own, model, duty) in enumerate(told):
        if customer not in fleets or not own:
            continue
        if (customer, own) not in place:
            place[customer, own] = len(names)
            said = _said(
                fleet.spares,
                {"customer_id": customer, "fleet": people.loc[customer, "fleet"]},
                {_key(name) for name in (own, model, duty)},
            )
            count = _by_policy(int(owned[customer, own]), policy) if said is None else said
            names.append((str(customer), str(own), count))
        group[at] = place[customer, own]
    return group, tuple(names)


def _type_of(vehicles: pd.DataFrame) -> pd.Series:
    joined: pd.Series = vehicles["make"].fillna("") + " " + vehicles["model"].fillna("")
    return joined.str.strip()


def _said(sheet: pd.DataFrame, owner: dict[str, object], types: set[str]) -> int | None:
    """What the sheet says, its most particular row first; a blank cell speaks of everybody.

    A row of less than one vehicle says nothing that a workshop could work by.
    """
    best: tuple[int, int] | None = None
    for row in sheet[sheet["spares"] >= 1.0].to_dict("records"):
        given = {name: _key(row[name]) for name in (*owner, "type") if _key(row[name])}
        fits = all(given[name] == _key(owner[name]) for name in owner if name in given)
        if fits and ("type" not in given or given["type"] in types):
            found = (-len(given), int(row["spares"]))
            best = found if best is None else min(best, found)
    return None if best is None else best[1]


def _key(value: object) -> str:
    return "" if pd.isna(value) else str(value).strip().casefold()  # type: ignore[call-overload]


def _by_policy(count: int, policy: Policy) -> int:
    """How many of so many may be out at once: a share of them, few in a small fleet, never none."""
    share = int(policy.plan.spare_share.value * count)
    if count < LARGE_FLEET:
        share = min(share, int(policy.plan.spares_small_fleet.value))
    return max(1, share)
