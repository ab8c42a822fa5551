"""One plan from one assessed fleet: jobs, weeks, days, and what stands against the rest."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np
import pandas as pd

from riskcheck.actions.known import Memory
from riskcheck.actions.plan.batches import batch_frame, batches_of, together
from riskcheck.actions.plan.booked import booked_jobs
from riskcheck.actions.plan.build import Setup, holds, setup_of
from riskcheck.actions.plan.days import Visit, Wanted, into_days
from riskcheck.actions.plan.improve import improve
from riskcheck.actions.plan.jobs import Jobs, jobs_of
from riskcheck.actions.plan.lateness import with_lateness
from riskcheck.actions.plan.more import Worth, worth_of_more
from riskcheck.actions.plan.parts import order_list, parts_for, with_parts
from riskcheck.actions.plan.problem import Costs, Floats, Ints, Problem, costs
from riskcheck.actions.plan.reasons import COLUMNS as REASON_COLUMNS
from riskcheck.actions.plan.reasons import reasons
from riskcheck.actions.plan.room import Room
from riskcheck.actions.plan.second_best import second_best
from riskcheck.actions.plan.shop import PAID_HOURS_A_DAY, Shop, shop_of
from riskcheck.actions.plan.simple import earliest_fit
from riskcheck.actions.plan.solve import Effort, Solution, solve
from riskcheck.actions.plan.talk import Talk, talk_of
from riskcheck.actions.plan.trials import trial_frame
from riskcheck.actions.plan.weeks import Weeks
from riskcheck.actions.plan.wishes import Wishes, pins_of
from riskcheck.fleet import Fleet
from riskcheck.rulebook import Rulebook
from riskcheck.usage import Usage

VISIT_COLUMNS = (
    "visit_id", "vehicle_id", "customer_id", "week_start", "date", "days", "bay", "hours", "jobs",
)  # fmt: skip
OUTCOME_COLUMNS = ("vehicle_id", "hazard_id", "outcome")
NOT_SOON = 10_000_000


def no_outcomes() -> pd.DataFrame:
    """Recorded outcomes where there are none."""
    return pd.DataFrame({name: pd.Series(dtype=object) for name in OUTCOME_COLUMNS})


@dataclass(frozen=True, eq=False)
class Asked:
    """What is planned: an assessed fleet, its weeks, and what people have settled already.

    ``outcomes``: vehicle_id, hazard_id, outcome of looks and jobs done; ``price_more``: solve again
    for the worth of one more of what is short; ``memory``: what the ledger knows of talk.
    """

    exposures: pd.DataFrame
    fleet: Fleet
    usage: Usage
    book: Rulebook
    as_of: dt.date
    weeks: Weeks
    horizon_months: int = 12
    wishes: Wishes = field(default_factory=Wishes)
    customers: tuple[str, ...] = ()
    effort: Effort = field(default_factory=Effort)
    outcomes: pd.DataFrame = field(default_factory=no_outcomes)
    price_more: bool = False
    memory: Memory | None = None


@dataclass(frozen=True, eq=False)
class Plan:
    """A plan and what is proven of it.

    jobs: one row a job, with week_start and date (NaT where undone), bay, late_days and late_why
    (``lateness``), no_call (its customer refused calls), last_date (of the plan before, NaT), told,
    second_week (NaT: none) and second_extra (USD);
    visits (``VISIT_COLUMNS``); unplaced: reasons;
    beyond: jobs that this plan did not look at, next in line; orders: parts; moved: pushed to a
    later week because no bay-day was left; dropped_pins: (job id, reason code); idle_pins: rows of
    the pins sheet that no job answers to.  ``value``: objective in USD of the weeks solved,
    ``cost`` of the plan as it stands, ``bound``: no plan can cost less; first_come,
    highest_risk: cost of the two simple policies.  batches, trials: the same job on many vehicles;
    worth: what one more of something would save; wishes: all that were kept to; sold: booked
    work of vehicles that are no longer there (vehicle_id, why, what, date), left out.
    """

    asked: Asked
    shop: Shop
    setup: Setup
    solution: Solution
    room: Room
    jobs: pd.DataFrame
    visits: pd.DataFrame
    unplaced: pd.DataFrame
    beyond: pd.DataFrame
    orders: pd.DataFrame
    moved: pd.DataFrame
    dropped_pins: tuple[tuple[str, str], ...]
    idle_pins: tuple[int, ...]
    cost: Costs
    first_come: Costs
    highest_risk: Costs
    batches: pd.DataFrame
    trials: pd.DataFrame
    worth: tuple[Worth, ...]
    wishes: Wishes
    sold: pd.DataFrame

    @property
    def gap(self) -> float:
        """How far the plan's cost may be above the least possible, as a share of its cost."""
        return (self.cost.total - self.solution.bound) / max(abs(self.cost.total), 1.0)

    @property
    def week_hours(self) -> Floats:
        """Hours of the whole shop by week, overtime left aside (w,)."""
        weeks = self.shop.weeks
        people = np.sum([weeks.per_week(t.hours) for t in self.shop.technicians], axis=0)
        bays = np.sum([weeks.per_week(bay.hours) for bay in self.shop.bays], axis=0)
        room = self.asked.book.policy.plan.weekly_fill.value * bays
        return np.asarray(np.minimum(np.minimum(self.shop.total, people), room))

    @property
    def objective(self) -> float:
        """Cost of the plan (USD)."""
        return self.cost.total


def make_plan(asked: Asked) -> Plan:
    """Plan the weeks; raises nothing on account of the data: what cannot be placed is listed."""
    policy = asked.book.policy
    talk = talk_of(asked.fleet, asked.as_of, asked.memory)
    jobs, beyond, sold = _jobs(asked, talk)
    known = parts_for(asked.book.hazards, asked.fleet.parts)
    jobs = Jobs(with_parts(jobs.frame, known, policy.plan, asked.as_of), jobs.loss)
    shop = shop_of(asked.fleet, policy, asked.weeks)
    pins, idle = pins_of(asked.fleet.pins, jobs.frame, asked.book.hazards)
    wishes = pins.over(asked.wishes)
    setup = setup_of(jobs, shop, asked.fleet, policy, wishes)
    simple = {
        "first_come": earliest_fit(setup.problem, np.arange(len(jobs.frame))),
        "highest_risk": earliest_fit(setup.problem, _by_rank(jobs.frame)),
    }
    solution = _solved(setup.problem, asked.effort, simple)
    room = Room(setup.problem, solution.week, solution.overtime)
    improve(room)
    kinds = vehicle_kinds(asked.fleet.vehicles)
    batches = batches_of(jobs.frame, kinds, policy.plan)
    together(room, batches, policy.plan)
    wanted = _wanted(jobs.frame, asked.weeks, setup, wishes)
    visits, pushed = into_days(setup, shop, room, wanted, policy.plan.walk_in_reserve.value)
    frame = _dated(jobs.frame, setup, shop, visits, wishes)
    frame = with_lateness(frame, setup, room, asked.weeks, wishes, pushed)
    frame = _second(frame, room, asked.weeks)
    squeezed = frozenset(job for job, _, later in pushed if later < 0)
    overtime = float(solution.overtime.sum())
    return Plan(
        asked=asked,
        shop=shop,
        setup=setup,
        solution=solution,
        room=room,
        jobs=frame,
        visits=_visit_frame(visits, frame, setup, shop),
        unplaced=reasons(frame, setup, room, squeezed)
        if len(frame)
        else pd.DataFrame(columns=list(REASON_COLUMNS)),
        beyond=beyond.frame,
        orders=order_list(frame, frame["date"], known, policy.plan, asked.as_of),
        moved=_moved(pushed, frame, asked.weeks),
        dropped_pins=_dropped(frame, setup, shop, wishes),
        idle_pins=tuple(idle),
        cost=costs(setup.problem, room.week, overtime),
        first_come=costs(setup.problem, simple["first_come"]),
        highest_risk=costs(setup.problem, simple["highest_risk"]),
        batches=batch_frame(frame, batches, policy.plan),
        trials=trial_frame(frame, asked.exposures, kinds, asked.outcomes, asked.book),
        worth=_worth(asked, setup, room, solution),
        wishes=wishes,
        sold=sold,
    )


def vehicle_kinds(vehicles: pd.DataFrame) -> pd.Series:
    """Make, model and engine by vehicle id."""
    cars = vehicles.drop_duplicates("vehicle_id").set_index("vehicle_id")
    names = cars[["make", "model", "engine"]].fillna("").agg(" ".join, axis=1)
    return names.str.replace("  ", " ").str.strip()


def _second(frame: pd.DataFrame, room: Room, weeks: Weeks) -> pd.DataFrame:
    """Jobs with their second-best week and what it costs more."""
    week, extra = second_best(room)
    days = [str(weeks.week_start(int(one))) if one >= 0 else "" for one in week]
    return frame.assign(second_week=pd.to_datetime(days), second_extra=extra)


def _worth(asked: Asked, setup: Setup, room: Room, solution: Solution) -> tuple[Worth, ...]:
    if not asked.price_more or solution.stopped == "fallback":
        return ()
    plan = asked.book.policy.plan
    day = PAID_HOURS_A_DAY * plan.present_share.value * (1.0 - plan.walk_in_reserve.value)
    bay_day = plan.bay_day_hours.value * plan.weekly_fill.value
    return tuple(worth_of_more(room, solution, setup.spare_names, (day, bay_day), asked.effort))


def _jobs(asked: Asked, talk: Talk) -> tuple[Jobs, Jobs, pd.DataFrame]:
    """The jobs to plan, booked work first; those that are next in line; booked work left out."""
    book = asked.book
    booked = booked_jobs(asked.fleet, asked.usage, book.policy.plan, asked.as_of, asked.weeks)
    here = asked.exposures[~asked.exposures["vehicle_id"].isin(list(talk.gone))]
    found = jobs_of(here, book, asked.as_of, asked.weeks, asked.horizon_months)
    if asked.customers:
        booked, found = (
            one.keep(np.flatnonzero(one.frame["customer_id"].isin(asked.customers)))
            for one in (booked, found)
        )
    gone = booked.frame["vehicle_id"].isin(list(talk.gone)).to_numpy(dtype=bool)
    left = booked.frame[gone]
    sold = pd.DataFrame(
        {
            "vehicle_id": left["vehicle_id"],
            "why": left["vehicle_id"].map(talk.gone),
            "what": left["name"],
            "date": left["latest"],
        }
    )
    order = found.frame["rank"].to_numpy(dtype=float).argsort(kind="stable")
    most = int(book.policy.plan.jobs_most.value)
    chosen, later = np.sort(order[:most]), np.sort(order[most:])
    jobs = booked.keep(np.flatnonzero(~gone)).and_(found.keep(chosen))
    no_call = jobs.frame["customer_id"].isin(list(talk.no_call))
    return Jobs(jobs.frame.assign(no_call=no_call), jobs.loss), found.keep(later), sold


def _by_rank(frame: pd.DataFrame) -> Ints:
    """Order of the call list; work that is booked keeps its place before it (j,)."""
    return np.asarray(frame["rank"].to_numpy(dtype=float).argsort(kind="stable"), dtype=np.int64)


def _solved(problem: Problem, effort: Effort, simple: Mapping[str, Ints]) -> Solution:
    """The best plan found; the better simple policy where the solver found none in time."""
    found = solve(problem, effort)
    if found is not None:
        return found
    week = min(simple.values(), key=lambda one: costs(problem, one).total)
    value = costs(problem, week).total
    return Solution(week, np.zeros_like(problem.overtime), value, 0.0, 1.0, "fallback", 0)


def _wanted(frame: pd.DataFrame, weeks: Weeks, setup: Setup, wishes: Wishes) -> Wanted:
    days = np.array(weeks.days, dtype="datetime64[D]")

    def number(column: str, missing: int) -> Ints:
        when = frame[column].to_numpy().astype("datetime64[D]")
        place = np.searchsorted(days, np.where(np.isnat(when), days[0], when), side="right") - 1
        return np.asarray(np.where(np.isnat(when), missing, place), dtype=np.int64)

    last: dict[int, int] = {}
    place = {day: at for at, day in enumerate(weeks.days)}
    for vehicle, job_id in zip(setup.problem.vehicle, frame["job_id"], strict=True):
        if job_id in wishes.pinned and wishes.pinned[job_id] in place:
            last[int(vehicle)] = place[wishes.pinned[job_id]]
        elif job_id in wishes.last and wishes.last[job_id].day in place:
            last.setdefault(int(vehicle), place[wishes.last[job_id].day])
    urgency = frame["tier"].to_numpy(dtype=float) * 1e6 + frame["rank"].to_numpy(dtype=float)
    return Wanted(number("latest", NOT_SOON), urgency, number("day_fixed", -1), last)


def _dated(
    frame: pd.DataFrame, setup: Setup, shop: Shop, visits: list[Visit], wishes: Wishes
) -> pd.DataFrame:
    """Jobs with their week, date, bay and visit, and what was settled of each before."""
    out = frame.assign(
        week_start=pd.Series(pd.NaT, index=frame.index, dtype="datetime64[s]"),
        date=pd.Series(pd.NaT, index=frame.index, dtype="datetime64[s]"),
        bay="",
        visit_id="",
    )
    for visit in visits:
        jobs = list(visit.jobs)
        out.loc[jobs, "week_start"] = pd.Timestamp(shop.weeks.week_start(visit.week)).as_unit("s")
        out.loc[jobs, "date"] = pd.Timestamp(shop.weeks.day(visit.day)).as_unit("s")
        out.loc[jobs, "bay"] = shop.bays[visit.bay].name
        out.loc[jobs, "visit_id"] = _visit_id(visit, setup, shop)
    out["last_date"] = pd.to_datetime(
        [str(wishes.last[j].day) if j in wishes.last else "" for j in out["job_id"]]
    )
    out["told"] = [j in wishes.last and wishes.last[j].told for j in out["job_id"]]
    out["pinned"] = [j in wishes.pinned for j in out["job_id"]]
    return out


def _visit_id(visit: Visit, setup: Setup, shop: Shop) -> str:
    return f"{shop.weeks.day(visit.day).isoformat()} {setup.vehicle_ids[visit.vehicle]}"


def _visit_frame(visits: list[Visit], jobs: pd.DataFrame, setup: Setup, shop: Shop) -> pd.DataFrame:
    rows = [
        {
            "visit_id": _visit_id(visit, setup, shop),
            "vehicle_id": setup.vehicle_ids[visit.vehicle],
            "customer_id": jobs.at[visit.jobs[0], "customer_id"],
            "week_start": pd.Timestamp(shop.weeks.week_start(visit.week)),
            "date": pd.Timestamp(shop.weeks.day(visit.day)),
            "days": visit.days,
            "bay": shop.bays[visit.bay].name,
            "hours": round(visit.hours, 4),
            "jobs": "; ".join(str(jobs.at[job, "job_id"]) for job in visit.jobs),
        }
        for visit in visits
    ]
    frame = pd.DataFrame(rows, columns=list(VISIT_COLUMNS))
    return frame.sort_values(["date", "bay", "vehicle_id"], kind="stable", ignore_index=True)


def _moved(pushed: list[tuple[int, int, int]], frame: pd.DataFrame, weeks: Weeks) -> pd.DataFrame:
    rows = [
        {
            "job_id": frame.at[job, "job_id"],
            "from_week": pd.Timestamp(weeks.week_start(before)),
            "to_week": pd.Timestamp(weeks.week_start(after)) if after >= 0 else pd.NaT,
        }
        for job, before, after in pushed
    ]
    return pd.DataFrame(rows, columns=["job_id", "from_week", "to_week"])


def _dropped(
    frame: pd.DataFrame, setup: Setup, shop: Shop, wishes: Wishes
) -> tuple[tuple[str, str], ...]:
    """Pins that cannot be kept, with the code of what stands against them."""
    out = []
    for job, job_id in enumerate(frame["job_id"]):
        if job_id in wishes.pinned and not holds(setup.blocked[job], job_id, shop, wishes):
            week = shop.weeks.week_of(wishes.pinned[job_id])
            out.append((str(job_id), "past" if week < 0 else str(setup.blocked[job, week])))
    return tuple(out)


def hours_by_week(plan: Plan) -> Floats:
    """Hours of work booked by week (w,)."""
    weeks = plan.shop.weeks
    total = np.zeros(weeks.count)
    for start, hours in zip(plan.visits["week_start"], plan.visits["hours"], strict=True):
        total[weeks.week_of(start.date())] += hours
    return total
