"""Visits into bay-days: urgent and awkward ones first, then best fit by decreasing hours.

What does not fit is pushed to the next week with room, and said.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from riskcheck.actions.plan.build import Setup
from riskcheck.actions.plan.problem import Bools, Floats, Ints
from riskcheck.actions.plan.room import EPSILON, Room
from riskcheck.actions.plan.shop import Shop
from riskcheck.actions.plan.weeks import WORK_DAYS


@dataclass(frozen=True, eq=False)
class Visit:
    """One vehicle in one bay from one day on: ``days`` whole or part days, ``hours`` of work."""

    vehicle: int
    week: int
    day: int
    days: int
    bay: int
    hours: float
    jobs: tuple[int, ...]


@dataclass(frozen=True, eq=False)
class Wanted:
    """What matters for days beside the problem: last day (j,), urgency (j,; lower first), fixed
    day (j,; -1 none), and the day that the last plan had a vehicle in, by vehicle index.
    """

    latest_day: Ints
    urgency: Floats
    fixed_day: Ints
    last_day: Mapping[int, int]


class _Board:
    """Free hours of every bay-day and of the people of every day."""

    def __init__(self, setup: Setup, shop: Shop, reserve: float) -> None:
        self.setup, self.shop = setup, shop
        self.bays = np.array([bay.hours for bay in shop.bays]).reshape(len(shop.bays), -1)
        pools = [pool for pool in setup.problem.pools if pool.kind == "labour"]
        hours = np.array([t.hours for t in shop.technicians])
        open_days = shop.weeks.open_days()
        even = open_days / np.maximum(np.repeat(shop.weeks.per_week(open_days), WORK_DAYS), 1.0)
        people = []
        for pool in pools:
            own = hours[list(pool.technicians)].sum(axis=0)
            share = np.repeat(np.minimum(pool.hours, 1e6), WORK_DAYS) * even
            people.append(share if pool.name == "the shop" else own)
        # A day may draw on the walk-in reserve; its week may not.
        self.people = np.array(people).reshape(len(pools), len(open_days)) / (1.0 - reserve)
        self.classes = [pool.classes for pool in pools]
        self.out = np.zeros((len(setup.spare_names), len(open_days)), dtype=np.int64)

    def hours_of(self, jobs: tuple[int, ...]) -> tuple[float, Floats]:
        """Hours of a visit, and what it draws from each pool of people."""
        p = self.setup.problem
        total, drawn = 0.0, np.zeros(len(self.classes))
        vehicle = p.vehicle[jobs[0]]
        parts = [(p.labour_class[p.visit_job[vehicle]], p.visit_overhead)]
        parts += [(p.labour_class[job], p.hours[job]) for job in jobs]
        groups = sorted({int(p.group[job]) for job in jobs if p.group[job] >= 0})
        parts += [(p.labour_class[p.group_job[g]], p.group_hours[g]) for g in groups]
        for labour, hours in parts:
            total += float(hours)
            drawn += np.array([hours if labour in own else 0.0 for own in self.classes])
        return total, drawn

    def fits(self, visit: Visit, drawn: Floats) -> bool:
        """Whether bay, people and spares have room for it."""
        for day, hours in self._spread(visit):
            if hours > self.bays[visit.bay, day] + EPSILON:
                return False
            share = hours / max(visit.hours, EPSILON)
            if ((drawn * share > self.people[:, day] + EPSILON) & (drawn > 0.0)).any():
                return False
            spare = self.setup.problem.spare_group[visit.vehicle]
            if spare >= 0 and self.out[spare, day] >= self.setup.spare_names[spare][2]:
                return False
        return True

    def book(self, visit: Visit, drawn: Floats) -> None:
        """Take the room."""
        for day, hours in self._spread(visit):
            self.bays[visit.bay, day] -= hours
            self.people[:, day] -= drawn * hours / max(visit.hours, EPSILON)
            spare = self.setup.problem.spare_group[visit.vehicle]
            if spare >= 0:
                self.out[spare, day] += 1

    def _spread(self, visit: Visit) -> list[tuple[int, float]]:
        """Hours by day: full bay-days, then the rest."""
        left, parts = visit.hours, []
        whole = float(self.shop.bays[visit.bay].hours.max())
        for day in range(visit.day, visit.day + visit.days):
            parts.append((day, min(left, whole)))
            left -= whole
        return parts


def into_days(
    setup: Setup, shop: Shop, room: Room, wanted: Wanted, reserve: float
) -> tuple[list[Visit], list[tuple[int, int, int]]]:
    """Visits with their bay and day; and what was pushed: (job, week before, week after or -1).

    ``room`` holds the weeks and is changed where a visit had to be pushed.
    """
    board = _Board(setup, shop, reserve)
    visits: list[Visit] = []
    pushed: list[tuple[int, int, int]] = []
    for week in range(setup.problem.weeks):
        for jobs in _in_order(setup, board, room, week, wanted):
            visit, drawn = _best_place(board, jobs, week, wanted)
            if visit is not None:
                board.book(visit, drawn)
                visits.append(visit)
                continue
            pushed += [(job, week, _push(room, job, week)) for job in jobs]
    return visits, pushed


def _in_order(
    setup: Setup, board: _Board, room: Room, week: int, wanted: Wanted
) -> list[tuple[int, ...]]:
    """Visits of a week: fixed days, then urgent ones, then few bays, then many hours."""
    found: dict[int, list[int]] = {}
    for job in np.flatnonzero(room.week == week):
        found.setdefault(int(setup.problem.vehicle[job]), []).append(int(job))
    keyed = []
    for vehicle, members in found.items():
        jobs = tuple(members)
        fixed = min(-(wanted.fixed_day[list(jobs)] >= 0).astype(int))
        days = wanted.latest_day[list(jobs)]
        due = bool((days < (week + 1) * WORK_DAYS).any())
        urgency = float(wanted.urgency[list(jobs)].min()) if due else np.inf
        hours = board.hours_of(jobs)[0]
        keyed.append(((fixed, urgency, len(_bays(setup, jobs)), -hours, vehicle), jobs))
    return [jobs for _, jobs in sorted(keyed)]


def _bays(setup: Setup, jobs: tuple[int, ...]) -> frozenset[int]:
    sets = [setup.bay[setup.problem.bay_class[job]] for job in jobs]
    return frozenset.intersection(*sets)


def _usable(setup: Setup, jobs: tuple[int, ...], week: int, wanted: Wanted) -> Bools:
    """Days of the week on which all the jobs may start (5,)."""
    vehicle = int(setup.problem.vehicle[jobs[0]])
    first = week * WORK_DAYS
    days = np.arange(first, first + WORK_DAYS)
    usable = setup.free_days[vehicle, days] & (days >= setup.earliest_day[list(jobs)].max())
    fixed = wanted.fixed_day[list(jobs)]
    if (fixed >= 0).any():
        usable &= days == fixed.max()
    return np.asarray(usable, dtype=bool)


def _best_place(
    board: _Board, jobs: tuple[int, ...], week: int, wanted: Wanted
) -> tuple[Visit | None, Floats]:
    """The day and bay of a visit: the last plan's day, else early if due, else the best fit."""
    setup = board.setup
    hours, drawn = board.hours_of(jobs)
    vehicle = int(setup.problem.vehicle[jobs[0]])
    usable = _usable(setup, jobs, week, wanted)
    due = int(wanted.latest_day[list(jobs)].min())
    urgent = due < (week + 1) * WORK_DAYS
    best: tuple[tuple[float, ...], Visit] | None = None
    for bay in sorted(_bays(setup, jobs)):
        whole = float(board.shop.bays[bay].hours.max())
        length = max(1, int(np.ceil((hours - EPSILON) / max(whole, EPSILON))))
        for place in np.flatnonzero(usable):
            if (
                place + length > WORK_DAYS
                or not setup.free_days[
                    vehicle, week * WORK_DAYS + place : week * WORK_DAYS + place + length
                ].all()
            ):
                continue
            visit = Visit(vehicle, week, week * WORK_DAYS + int(place), length, bay, hours, jobs)
            if not board.fits(visit, drawn):
                continue
            kept = 0.0 if wanted.last_day.get(vehicle) == visit.day else 1.0
            early = float(place) if urgent else 0.0
            left = float(board.bays[bay, visit.day]) - hours
            others = -float(len(_reserved_for(board, bay)))
            key = (kept, early, others, left, float(place), float(bay))
            if best is None or key < best[0]:
                best = (key, visit)
    return (None if best is None else best[1]), drawn


def _reserved_for(board: _Board, bay: int) -> list[int]:
    """Job classes that can go to this bay: those that few classes can use stay free longest."""
    return [c for c, own in enumerate(board.setup.bay) if bay not in own]


def _push(room: Room, job: int, week: int) -> int:
    """Move the job to the later week that costs least, -1 if none has room."""
    room.take(job)
    later = [w for w in range(week + 1, room.problem.weeks) if not room.refusal(job, w)[0]]
    if not later:
        return -1
    best = min(later, key=lambda w: (room.added_cost(job, w), w))
    room.put(job, best)
    return best
