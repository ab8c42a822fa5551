"""Who and what does the work: technicians, bays, their hours by day, and who may do what.

Each comes from an optional sheet; where there is none a stated default stands in, and ``assumed``
says which.
"""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd

from riskcheck.actions.plan.problem import Floats, Pool
from riskcheck.actions.plan.weeks import WORK_DAYS, Weeks
from riskcheck.fleet import Fleet
from riskcheck.rulebook.model import Policy

LEVELS = "CBA"
MOST_POOLS = 256
PAID_HOURS_A_DAY = 8.0
EVERYBODY = "the shop"


@dataclass(frozen=True)
class Skill:
    """What a job asks for: least level (A over B over C) and a speciality, "" for none."""

    level: str
    speciality: str

    @staticmethod
    def of(words: str) -> Skill:
        """From "A brakes", "B", "high voltage"."""
        found = re.match(r"\s*([ABC])\b\s*(.*)", words)
        level, rest = (found[1], found[2]) if found else ("C", words)
        return Skill(level, rest.strip().casefold())


@dataclass(frozen=True, eq=False)
class Technician:
    """One technician: what is written of the skills (empty: not said), hours by day (days,)."""

    name: str
    skills: tuple[Skill, ...]
    hours: Floats

    def can(self, skill: Skill) -> bool:
        """Whether what is written covers the skill; nothing written covers all but high voltage.

        A level by itself ("A") counts for work without a speciality.
        """
        if not self.skills:
            return skill.speciality != "high voltage" or self.name == EVERYBODY
        best = max(LEVELS.index(own.level) for own in self.skills)
        if not skill.speciality:
            return best >= LEVELS.index(skill.level)
        return any(
            own.speciality == skill.speciality
            and max(best, LEVELS.index(own.level)) >= LEVELS.index(skill.level)
            for own in self.skills
        )


@dataclass(frozen=True, eq=False)
class Bay:
    """One bay: what it is fitted with, the heaviest vehicle (lb, inf if not said), hours by day."""

    name: str
    equipment: str
    max_weight_lb: float
    hours: Floats

    def takes(self, weight_lb: float, needs: str) -> bool:
        """Whether a vehicle of that weight fits and the bay has what the job ``needs``."""
        return weight_lb <= self.max_weight_lb and needs in self.equipment


@dataclass(frozen=True, eq=False)
class Shop:
    """Technicians and bays over the weeks, and hours of the whole shop by week (w,).

    ``total`` is inf where only the technicians' own hours limit; ``assumed``: codes of what was
    not on file: technicians, bays, hours.
    """

    weeks: Weeks
    technicians: tuple[Technician, ...]
    bays: tuple[Bay, ...]
    total: Floats
    assumed: tuple[str, ...]

    def who(self, skill: str) -> frozenset[int]:
        """Technicians who may do work of that skill."""
        wanted = Skill.of(skill)
        return frozenset(i for i, t in enumerate(self.technicians) if t.can(wanted))

    def where(self, weight_lb: float, needs: str) -> frozenset[int]:
        """Bays that take such a vehicle and job; a need that no bay names is not asked for."""
        known = any(needs in bay.equipment for bay in self.bays) if needs else False
        return frozenset(
            i for i, bay in enumerate(self.bays) if bay.takes(weight_lb, needs if known else "")
        )


def shop_of(fleet: Fleet, policy: Policy, weeks: Weeks) -> Shop:
    """The shop from the optional sheets, each with a default of the policy."""
    plan = policy.plan
    assumed = []
    away = fleet.availability
    usable = plan.present_share.value * (1.0 - plan.walk_in_reserve.value)
    total = _total_hours(fleet.hours, weeks) * (1.0 - plan.walk_in_reserve.value)
    if with_hours(fleet.technicians).empty and not np.isfinite(total).all():
        assumed.append("hours")
        usual = policy.bay_hours_per_week.value * (1.0 - plan.walk_in_reserve.value) / WORK_DAYS
        total = np.where(np.isfinite(total), total, usual * weeks.per_week(weeks.open_days()))
    people = with_hours(fleet.technicians)
    if people.empty:
        assumed.append("technicians")
        # Hours of the whole shop limit already: the nameless crew adds no limit of its own.
        crew = np.where(weeks.open_days(), 1e4, 0.0)
        technicians: tuple[Technician, ...] = (Technician(EVERYBODY, (), crew),)
    else:
        technicians = tuple(
            _technician(row, away, weeks, usable) for row in people.to_dict("records")
        )
    if with_hours(fleet.bays).empty:
        assumed.append("bays")
    return Shop(weeks, technicians, _bays(fleet, policy, weeks), total, tuple(assumed))


def with_hours(sheet: pd.DataFrame) -> pd.DataFrame:
    """Rows of a bays or technicians sheet that give hours; a blank cell stands for a usual day."""
    return sheet[~(sheet["hours_per_day"] <= 0.0)]


def _technician(
    row: dict[object, object] | dict[str, object],
    away: pd.DataFrame,
    weeks: Weeks,
    usable: float,
) -> Technician:
    values = {str(key): value for key, value in row.items()}
    name = str(values["name"])
    own = away[away["technician"].str.casefold() == name.casefold()]
    a_day = _number(values.get("hours_per_day"), PAID_HOURS_A_DAY)
    free = weeks.open_days() & ~weeks.days_away(own)
    parts = re.split(r"[;,/\n]", str(values.get("skills") or ""))
    skills = tuple(Skill.of(part) for part in parts if part.strip())
    return Technician(name, skills, np.where(free, a_day * usable, 0.0))


def _bays(fleet: Fleet, policy: Policy, weeks: Weeks) -> tuple[Bay, ...]:
    use = policy.plan.bay_day_hours.value / PAID_HOURS_A_DAY
    rows = with_hours(fleet.bays).to_dict("records")
    if not rows:
        stated = fleet.hours["bays"].max() if len(fleet.hours) else float("nan")
        a_week = WORK_DAYS * policy.plan.bay_day_hours.value
        count = stated if stated >= 1 else math.ceil(policy.bay_hours_per_week.value / a_week)
        rows = [{"bay": f"bay {number + 1}"} for number in range(int(count))]
    bays = []
    for row in rows:
        name = str(row["bay"])
        own = fleet.availability[fleet.availability["bay"].str.casefold() == name.casefold()]
        free = weeks.open_days() & ~weeks.days_away(own)
        a_day = _number(row.get("hours_per_day"), PAID_HOURS_A_DAY) * use
        weight = _number(row.get("max_weight_lb"), math.inf)
        equipment = str(row.get("equipment") or "").casefold()
        called = f"bay {name}" if name.isdecimal() else name
        bays.append(Bay(called, equipment, weight, np.where(free, a_day, 0.0)))
    return tuple(bays)


def _number(value: object, otherwise: float) -> float:
    number = float(value) if isinstance(value, int | float) else math.nan
    return number if number == number and number > 0.0 else otherwise


def _total_hours(hours: pd.DataFrame, weeks: Weeks) -> Floats:
    """Bay hours a week (w,) from the hours sheet; inf in weeks that it does not name.

    A row stands from its date to its ``to`` date, or to the day before the next row (six days on
    at most); a week that it covers in part gets its share of the working days.
    """
    total = np.full(weeks.count, np.inf)
    whole = hours[
        hours["date"].notna()
        & hours["bay_hours"].notna()
        & hours["skill"].str.casefold().isin(["", "all", "any"])
        & hours["technician"].eq("")
    ].sort_values("date")
    if whole.empty:
        return total
    days = np.array(weeks.days, dtype="datetime64[D]")
    per_day = np.zeros(len(days))
    named = np.zeros(len(days), dtype=bool)
    first = whole["date"].to_numpy().astype("datetime64[D]")
    following = np.append(first[1:], first[-1] + np.timedelta64(7, "D"))
    usual = np.minimum(following - np.timedelta64(1, "D"), first + np.timedelta64(6, "D"))
    last = whole["to"].to_numpy().astype("datetime64[D]")
    last = np.where(np.isnat(last), usual, last)
    for start, end, amount in zip(first, last, whole["bay_hours"].to_numpy(float), strict=True):
        span = np.arange(start, end + np.timedelta64(1, "D"))
        work = max(1, int(np.is_busday(span).sum()))
        inside = (days >= start) & (days <= end)
        per_day[inside] += amount / work
        named |= inside
    open_days = weeks.open_days()
    by_week = weeks.per_week(np.where(named & open_days, per_day, 0.0))
    return np.asarray(np.where(weeks.per_week(named & open_days) > 0, by_week, np.inf))


def pools_of(kind: str, allowed: Sequence[frozenset[int]], hours: Floats) -> tuple[Pool, ...]:
    """Limits on hours for job classes, from who may do each and their hours a week (n, w).

    One pool for each connected union of the sets of who may: together they are met exactly when
    the hours can be handed out by name.  Beyond ``MOST_POOLS`` unions, the sets themselves and
    everybody together stand in (a necessary condition, no longer a sufficient one).
    """
    sets = sorted({one for one in allowed if one}, key=lambda one: (len(one), sorted(one)))
    unions: set[frozenset[int]] = set(sets)
    edge = list(unions)
    while edge and len(unions) <= MOST_POOLS:
        grown = {one | other for one in edge for other in sets if one & other} - unions
        unions |= grown
        edge = sorted(grown, key=lambda one: (len(one), sorted(one)))
    if len(unions) > MOST_POOLS:
        unions = {*sets, frozenset().union(*sets)}
    pools = []
    for union in sorted(unions, key=lambda one: (len(one), sorted(one))):
        classes = frozenset(c for c, one in enumerate(allowed) if one and one <= union)
        members = tuple(sorted(union))
        pools.append(Pool(kind, "", classes, hours[list(members)].sum(axis=0), members))
    return tuple(pools)
