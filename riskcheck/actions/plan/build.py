"""From jobs, shop and wishes to the arrays that are solved."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import pandas as pd

from riskcheck.actions.plan.jobs import Jobs
from riskcheck.actions.plan.problem import NONE, Bools, Floats, Ints, Pool, Problem
from riskcheck.actions.plan.shop import Shop, pools_of
from riskcheck.actions.plan.spares import spares_of
from riskcheck.actions.plan.wishes import FOREVER, Wishes
from riskcheck.fleet import Fleet
from riskcheck.rulebook.model import Policy

PINNED_CHARGE = 10_000.0  # USD: above every charge of the policy, so that a hand's word counts


@dataclass(frozen=True, eq=False)
class Setup:
    """A problem and what its numbers stand for.

    vehicle_ids (v,); free_days (v, days): days a vehicle may be in; spare_names (s,): (customer,
    type, how many may be out at once); labour (c,), bay (c,): who and where by class; earliest_day
    (j,): first working day that a job's parts or window allow; blocked (j, w): code of why a week
    is not allowed, "" where it is.
    """

    problem: Problem
    vehicle_ids: tuple[str, ...]
    free_days: Bools
    spare_names: tuple[tuple[str, str, int], ...]
    labour: tuple[frozenset[int], ...]
    bay: tuple[frozenset[int], ...]
    earliest_day: Ints
    blocked: np.ndarray


def setup_of(jobs: Jobs, shop: Shop, fleet: Fleet, policy: Policy, wishes: Wishes) -> Setup:
    """Arrays of one planning problem; every limit of the shop and every wish becomes a number."""
    frame, weeks = jobs.frame, shop.weeks
    vehicle_ids = tuple(dict.fromkeys(frame["vehicle_id"]))
    index = {name: at for at, name in enumerate(vehicle_ids)}
    vehicle = frame["vehicle_id"].map(index).to_numpy(dtype=np.int64)
    cars = (
        fleet.vehicles.drop_duplicates("vehicle_id").set_index("vehicle_id").loc[list(vehicle_ids)]
    )
    free = _free_days(vehicle_ids, fleet, shop)
    labour_sets, labour_class = _classes([shop.who(str(skill)) for skill in frame["skill"]])
    weight = cars["gvwr_lb"].fillna(0.0).to_numpy(dtype=float)
    bay_sets, bay_class = _classes(
        [shop.where(weight[v], str(n)) for v, n in zip(vehicle, frame["needs"], strict=True)]
    )
    group, openings, hours = _openings(frame, vehicle, [len(s) for s in labour_sets], labour_class)
    blocked, earliest = _blocked(frame, free[vehicle], shop, wishes)
    blocked[np.array([not labour_sets[c] for c in labour_class], dtype=bool)] = "no_one_qualified"
    blocked[np.array([not bay_sets[c] for c in bay_class], dtype=bool)] = "no_bay"
    group_vehicle, group_job, group_hours = openings
    spare_group, spare_names = spares_of(cars, fleet, policy)
    bay_hours = np.array([bay.hours for bay in shop.bays]).reshape(len(shop.bays), -1)
    bay_day = float(bay_hours.max()) if bay_hours.size else 0.0
    visit_cost = _visit_cost(cars, policy, weeks.count)
    longest = np.zeros(len(vehicle_ids))
    np.maximum.at(longest, vehicle, frame["hours"].to_numpy(dtype=float))
    problem = Problem(
        vehicle=vehicle,
        hours=hours,
        loss=_with_moves(jobs.loss, frame, shop, policy, wishes)
        + _visit_later(visit_cost[:, 0], vehicle, ~frame["rides"].to_numpy(bool), weeks.count),
        allowed=blocked == "",
        labour_class=labour_class,
        bay_class=bay_class,
        group=group,
        group_vehicle=group_vehicle,
        group_job=group_job,
        group_hours=group_hours,
        visit_cost=visit_cost,
        visit_hours=np.maximum(bay_day, longest),
        visit_job=_easiest(vehicle, len(vehicle_ids), [len(s) for s in labour_sets], labour_class),
        visit_overhead=policy.plan.visit_overhead_hours.value,
        spare_group=spare_group,
        spare_visits=np.outer(
            [name[2] for name in spare_names], weeks.per_week(weeks.open_days())
        ).reshape(len(spare_names), weeks.count),
        pools=_pools(shop, policy, labour_sets, bay_sets, bay_hours),
        overtime=_overtime(shop, policy),
        labour_rate=policy.labour_rate.value,
        overtime_rate=policy.labour_rate.value * policy.plan.overtime_premium.value,
    )
    return Setup(problem, vehicle_ids, free, spare_names, labour_sets, bay_sets, earliest, blocked)


def _free_days(vehicle_ids: tuple[str, ...], fleet: Fleet, shop: Shop) -> Bools:
    """Days on which each vehicle may be in (v, days): open, and not away."""
    working = np.zeros(len(shop.weeks.days), dtype=bool)
    for bay in shop.bays:
        working |= bay.hours > 0.0
    free = np.tile(working, (len(vehicle_ids), 1))
    away = fleet.availability[fleet.availability["vehicle_id"].ne("")]
    for place, name in enumerate(vehicle_ids):
        own = away[away["vehicle_id"] == name]
        if len(own):
            free[place] &= ~shop.weeks.days_away(own)
    return free


def _classes(sets: list[frozenset[int]]) -> tuple[tuple[frozenset[int], ...], Ints]:
    distinct = tuple(dict.fromkeys(sets))
    place = {one: at for at, one in enumerate(distinct)}
    return distinct, np.array([place[one] for one in sets], dtype=np.int64)


def _openings(
    frame: pd.DataFrame, vehicle: Ints, qualified: list[int], labour_class: Ints
) -> tuple[Ints, tuple[Ints, Ints, Floats], Floats]:
    """Openings that two or more jobs of a vehicle share, and hours without them (j,)."""
    hours = frame["hours"].to_numpy(dtype=np.float64).copy()
    opening = frame["opening_hours"].to_numpy(dtype=np.float64)
    group = np.full(len(frame), NONE, dtype=np.int64)
    vehicles: list[int] = []
    leads: list[int] = []
    shared: list[float] = []
    keys = frame["vehicle_id"] + "|" + frame["teardown"]
    for key, places in keys.groupby(keys, sort=False).indices.items():
        if len(places) < 2 or str(key).endswith(("|", "|NONE")):
            continue
        once = float(opening[places].min())
        if once <= 0.0:
            continue
        group[places] = len(vehicles)
        hours[places] -= once
        vehicles.append(int(vehicle[places[0]]))
        leads.append(int(min(places, key=lambda job: (qualified[labour_class[job]], job))))
        shared.append(once)
    packed = (
        np.array(vehicles, dtype=np.int64),
        np.array(leads, dtype=np.int64),
        np.array(shared, dtype=np.float64),
    )
    return group, packed, hours


def _easiest(vehicle: Ints, count: int, qualified: list[int], labour_class: Ints) -> Ints:
    """The job of each vehicle that most people may do: they bring it in and out (v,)."""
    order = sorted(range(len(vehicle)), key=lambda job: (qualified[labour_class[job]], -job))
    easiest = np.zeros(count, dtype=np.int64)
    for job in order:
        easiest[vehicle[job]] = job
    return easiest


def _blocked(
    frame: pd.DataFrame, free: Bools, shop: Shop, wishes: Wishes
) -> tuple[np.ndarray, Ints]:
    """Why each week is not allowed (j, w), and each job's first working day (j,)."""
    weeks = shop.weeks
    days = np.array(weeks.days, dtype="datetime64[D]")
    blocked = np.full((len(frame), weeks.count), "", dtype="U20")
    earliest = np.zeros(len(frame), dtype=np.int64)
    for job, row in enumerate(frame.to_dict("records")):
        if not pd.isna(row["earliest"]):
            start = np.datetime64(pd.Timestamp(row["earliest"]).date())
            earliest[job] = int(np.searchsorted(days, start))
        usable = free[job].copy()
        usable[: earliest[job]] = False
        if not pd.isna(row["day_fixed"]):
            usable &= days == np.datetime64(pd.Timestamp(row["day_fixed"]).date())
        late_enough = weeks.per_week(np.arange(len(days)) >= earliest[job]) > 0
        blocked[job, ~late_enough] = str(row["waits_for"]) or "too_early"
        blocked[job, weeks.per_week(free[job]) == 0] = "vehicle_away"
        blocked[job, (weeks.per_week(usable) == 0) & (blocked[job] == "")] = "vehicle_away"
        _wish(blocked[job], str(row["job_id"]), shop, wishes)
    return blocked, earliest


def _wish(blocked: np.ndarray, job_id: str, shop: Shop, wishes: Wishes) -> None:
    for day in sorted(wishes.forbidden.get(job_id, ())):
        week = slice(None) if day == FOREVER else shop.weeks.week_of(day)
        if isinstance(week, slice) or 0 <= week < len(blocked):
            blocked[week] = "forbidden"
    if holds(blocked, job_id, shop, wishes):
        week = shop.weeks.week_of(wishes.pinned[job_id])
        elsewhere = np.arange(len(blocked)) != week
        blocked[elsewhere & (blocked == "")] = "pinned_elsewhere"


def holds(blocked: np.ndarray, job_id: str, shop: Shop, wishes: Wishes) -> bool:
    """Whether a pin can be kept: its week is not over, and nothing else blocks it (w,)."""
    if job_id not in wishes.pinned:
        return False
    week = shop.weeks.week_of(wishes.pinned[job_id])
    return week >= len(blocked) or (week >= 0 and str(blocked[week]) == "")


def _with_moves(
    loss: Floats, frame: pd.DataFrame, shop: Shop, policy: Policy, wishes: Wishes
) -> Floats:
    """Losses with a charge for leaving the week of the last plan, more if the customer knows it.

    What is pinned by hand is done before anything that is not.
    """
    out = loss.copy()
    plan = policy.plan
    for job, job_id in enumerate(frame["job_id"]):
        if job_id in wishes.pinned:
            out[job, -1] += PINNED_CHARGE
        last = wishes.last.get(job_id)
        week = shop.weeks.week_of(last.day) if last else -1
        if last is not None and 0 <= week < shop.weeks.count:
            charge = plan.move_told_charge.value if last.told else plan.move_charge.value
            out[job, np.arange(out.shape[1]) != week] += charge
    return out


def _visit_cost(cars: pd.DataFrame, policy: Policy, weeks: int) -> Floats:
    first = next(iter(policy.day_cost))
    duty = cars["duty"].fillna("").astype(str)
    a_day = [policy.day_cost.get(name, policy.day_cost[first]).value for name in duty]
    return np.tile(np.array(a_day)[:, None] + policy.plan.visit_cost.value, (1, weeks))


def _visit_later(visit_cost: Floats, vehicle: Ints, calls: Bools, weeks: int) -> Floats:
    """What is left undone needs its visit later: its share of one, last column (j, w + 1).

    What only rides along (not ``calls``, (j,)) asks for no visit of its own.
    """
    later = np.zeros((len(vehicle), weeks + 1))
    shares = np.bincount(vehicle, weights=calls, minlength=len(visit_cost))
    later[:, -1] = np.where(calls, (visit_cost / np.maximum(shares, 1.0))[vehicle], 0.0)
    return later


def _pools(
    shop: Shop,
    policy: Policy,
    labour: tuple[frozenset[int], ...],
    bay: tuple[frozenset[int], ...],
    bay_hours: Floats,
) -> tuple[Pool, ...]:
    """People by who may do what, bays by what fits where, and the hours of the whole shop."""
    weeks = shop.weeks
    people = np.array([weeks.per_week(t.hours) for t in shop.technicians])
    named = [
        replace(pool, name=" and ".join(shop.technicians[t].name for t in pool.technicians))
        for pool in pools_of("labour", labour, people)
    ]
    if np.isfinite(shop.total).any():
        everyone = tuple(range(len(shop.technicians)))
        classes = frozenset(range(len(labour)))
        named.append(Pool("labour", "the shop", classes, shop.total, everyone))
    room = policy.plan.weekly_fill.value * weeks.per_week(bay_hours)
    places = [
        replace(
            pool,
            name="the bays" if len(pool.technicians) == len(shop.bays)
            else " and ".join(shop.bays[b].name for b in pool.technicians),
            technicians=(),
        )
        for pool in pools_of("bay", bay, room)
    ]  # fmt: skip
    return (*named, *places)


def _overtime(shop: Shop, policy: Policy) -> Floats:
    working = shop.weeks.per_week(shop.weeks.open_days()) > 0
    most = policy.plan.overtime_hours.value
    return np.tile(np.where(working, most, 0.0), (len(shop.technicians), 1))
