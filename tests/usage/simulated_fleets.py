"""Fleets with known true use, month by month, from first principles (numpy only, seeded).

Nothing here comes from ``riskcheck``: vehicles of one duty differ as the policy's class
figure says, in part for good (body, route, owner), in part by a habit that lasts a while and is
then drawn anew (another driver or contract);
months scatter about the habit, seasons swing it, some vehicles stand parked for a while.  A shop
reads the meters at visits: to the mile, the hundred or the thousand, now and then with a slip of
the pen, and a few instruments are exchanged.
"""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np
import pandas as pd
from numpy.typing import NDArray

Floats = NDArray[np.float64]

Z_95 = 1.6448536269514722
DAYS_PER_YEAR = 365.2425
AS_OF = dt.date(2026, 10, 17)
TODAY = float((AS_OF - dt.date(1970, 1, 1)).days)
PAST_MONTHS, AHEAD_MONTHS = 16 * 12, 24
FIRST_MONTH = np.datetime64("2026-10", "M") - PAST_MONTHS
EDGES: Floats = (
    (FIRST_MONTH + np.arange(PAST_MONTHS + AHEAD_MONTHS + 1))
    .astype("datetime64[D]")
    .astype(np.float64)
)
# Relative use by month, January to December (invented): school buses stand in summer, farm
# vehicles work from May to October, others swing by a tenth.
SEASONS = {
    "retail": [0.9, 0.9, 1.0, 1.0, 1.05, 1.1, 1.1, 1.1, 1.0, 1.0, 0.95, 0.9],
    "van": [0.95, 0.9, 1.0, 1.0, 1.0, 1.0, 1.0, 1.0, 1.0, 1.05, 1.1, 1.0],
    "bus": [1.2, 1.2, 1.2, 1.2, 1.2, 0.7, 0.3, 0.4, 1.2, 1.2, 1.2, 1.0],
    "utility": [1.0] * 12,
    "farm": [0.5, 0.5, 0.8, 1.1, 1.4, 1.3, 1.3, 1.4, 1.4, 1.2, 0.7, 0.4],
}


@dataclass(frozen=True)
class World:
    """How use behaves.

    A share ``stays`` of the variance between vehicles is theirs for good; the rest is a habit that
    lasts ``habit_lasts`` years on average.  ``year_sd`` and ``month_sd``: log scatter of a
    year and of a month within it.  ``parked_share`` of the vehicles a year begin to stand (1/50 of
    their use) for a year on average; ``class_off``: true centre of every duty over the policy's.
    """

    stays: float = 0.6
    habit_lasts: float = 8.0
    year_sd: float = 0.08
    month_sd: float = 0.45
    seasons: bool = True
    parked_share: float = 0.0
    class_off: float = 1.0


SUPPOSED = World()


def two_piece(rng: np.random.Generator, figure: Floats, size: int | tuple[int, ...]) -> Floats:
    """Draws with median and 5 and 95 % points ``figure`` (..., 3) = low, value, high."""
    z = rng.standard_normal(size)
    low, value, high = np.moveaxis(np.asarray(figure, dtype=np.float64), -1, 0)
    side = np.where(z < 0, np.log(value / low), np.log(high / value)) / Z_95
    return np.asarray(value * np.exp(side * z))


@dataclass
class Fleet:
    """True use of n vehicles; ``total`` (n, months + 1) miles since new at ``EDGES``."""

    duty: NDArray[np.str_]
    start: Floats
    total: Floats
    rng: np.random.Generator
    rows: list[pd.DataFrame] = field(default_factory=list)

    @cached_property
    def n(self) -> int:
        return len(self.duty)

    def miles(self, vehicle: NDArray[np.int64], day: Floats) -> Floats:
        """True miles since new of ``vehicle`` (m,) on ``day`` (m,)."""
        month = np.clip(np.searchsorted(EDGES, day, side="right") - 1, 0, len(EDGES) - 2)
        share = (day - EDGES[month]) / (EDGES[month + 1] - EDGES[month])
        before, after = self.total[vehicle, month], self.total[vehicle, month + 1]
        return np.asarray(before + share * (after - before))

    def everyone(self, day: float) -> Floats:
        """True miles since new of all vehicles on one day, (n,)."""
        return self.miles(np.arange(self.n), np.full(self.n, day))


def build(n: int, seed: int, figures: dict[str, tuple[float, float, float]], world: World) -> Fleet:
    """n vehicles of the duties of ``figures`` (low, value, high miles a year), 1 to 15 years old.

    One year's use of a vehicle drawn at random has those three figures as its 5 %, middle and
    95 % points, within a hundredth.
    """
    rng = np.random.default_rng(seed)
    duty = rng.choice(sorted(figures), n)
    table = np.array([figures[name] for name in duty])[:, :, None]
    start = TODAY - rng.uniform(1.0, 15.0, n) * DAYS_PER_YEAR
    months = len(EDGES) - 1
    low, value, high = table[:, 0], table[:, 1], table[:, 2]
    spread = np.log(high / low) / Z_95 / 2
    share = np.minimum(np.hypot(world.year_sd, world.month_sd / np.sqrt(12)) / spread, 1.0)
    year = np.repeat(rng.standard_normal((n, months // 12 + 1)), 12, axis=1)[:, :months]
    # The months' own scatter stands in for its part of the year's.
    own = np.sqrt(world.stays) * rng.standard_normal((n, 1))
    own = own + np.sqrt(1 - world.stays) * _lasting(rng, n, months, world)
    z = np.sqrt(1 - share**2) * own + world.year_sd / spread * year
    rate = value * np.exp(z * np.where(z < 0, np.log(value / low), np.log(high / value)) / Z_95)
    rate *= np.exp(world.month_sd * rng.standard_normal((n, months)) - world.month_sd**2 / 2)
    # Scatter pulls the middle of a lopsided class toward its longer side; found by simulation.
    rate /= 0.965
    if world.seasons:
        month = (FIRST_MONTH + np.arange(months)).astype(np.int64) % 12
        swing = {name: np.array(shape) / np.mean(shape) for name, shape in SEASONS.items()}
        rate *= np.stack([swing[name] for name in duty])[:, month]
    rate *= np.where(_parked(rng, n, months, world.parked_share), 0.02, world.class_off)
    length = (EDGES[1:] - np.maximum(EDGES[:-1], start[:, None])).clip(0.0)
    gained = rate * np.minimum(length, np.diff(EDGES)) / DAYS_PER_YEAR
    return Fleet(duty, start, np.cumsum(np.pad(gained, ((0, 0), (1, 0))), axis=1), rng)


def _lasting(rng: np.random.Generator, n: int, months: int, world: World) -> Floats:
    """Standard normal habits (n, months), drawn anew every ``habit_lasts`` years on average."""
    drawn = rng.standard_normal((n, months))
    anew = rng.random((n, months)) < 1.0 / (12.0 * world.habit_lasts)
    anew[:, 0] = True
    last = np.maximum.accumulate(np.where(anew, np.arange(months), 0), axis=1)
    return np.take_along_axis(drawn, last, axis=1)


def _parked(rng: np.random.Generator, n: int, months: int, share: float) -> NDArray[np.bool_]:
    begins = rng.random((n, months)) < share / 12.0
    at, month = np.nonzero(begins)
    lasts = rng.exponential(12.0, len(at)).astype(np.int64) + 1
    change = np.zeros((n, months + 1))
    np.add.at(change, (at, month), 1.0)
    np.add.at(change, (at, np.minimum(month + lasts, months)), -1.0)
    return np.asarray(np.cumsum(change, axis=1)[:, :months] > 0)


@dataclass(frozen=True)
class Visits:
    """When meters are read: ``count`` (fewest, most) readings, evenly at random over ``span``
    years that end ``since`` (shortest, longest) years ago."""

    count: tuple[int, int]
    span: tuple[float, float]
    since: tuple[float, float]


STRATA = {
    "many, recent": Visits((8, 24), (2.0, 8.0), (0.0, 0.25)),
    "few, recent": Visits((2, 3), (0.3, 1.0), (0.0, 0.5)),
    "one": Visits((1, 1), (0.0, 0.0), (0.0, 1.5)),
    "old": Visits((3, 10), (1.0, 5.0), (2.0, 5.0)),
    "none": Visits((0, 0), (0.0, 0.0), (0.0, 0.0)),
}


@dataclass(frozen=True)
class Pens:
    """How a reading is written: shares rounded to 100 and 1,000, slips, exchanged instruments."""

    to_100: float = 0.0
    to_1000: float = 0.0
    slips: float = 0.0
    exchanged: float = 0.0


CLEAN = Pens()


def readings(
    fleet: Fleet, visits: list[Visits], pens: Pens, per_mile: Floats | None = None
) -> pd.DataFrame:
    """Readings of every vehicle as its ``visits`` say: vehicle_id, date, odometer_mi, engine_hours.

    Hours are read too where ``per_mile`` (n,) is given.  A vehicle younger than its visits would
    have it is read in the first sixth-tenths of its life at the latest.
    """
    rng, n = fleet.rng, fleet.n
    lowest, most, shortest, longest, soonest, latest = np.array(
        [(*visit.count, *visit.span, *visit.since) for visit in visits]
    ).T
    count = rng.integers(lowest.astype(np.int64), most.astype(np.int64) + 1)
    vehicle = np.repeat(np.arange(n), count)
    age = TODAY - fleet.start
    end = TODAY - np.minimum(rng.uniform(soonest, latest) * DAYS_PER_YEAR, 0.6 * age)
    first = np.maximum(end - rng.uniform(shortest, longest) * DAYS_PER_YEAR, fleet.start + 30)
    at = rng.random(len(vehicle))
    at[np.append(np.diff(vehicle) != 0, True)] = 1.0
    day = np.floor(first[vehicle] + at * (end - first)[vehicle])
    miles = fleet.miles(vehicle, day)
    hours = miles * per_mile[vehicle] if per_mile is not None else np.full(len(vehicle), np.nan)
    return pd.DataFrame(
        {
            "vehicle_id": np.char.add("v", vehicle.astype(str)).astype(object),
            "date": day.astype(np.int64).astype("datetime64[D]").astype("datetime64[s]"),
            "odometer_mi": _written(rng, vehicle, day, miles, n, pens),
            "engine_hours": np.round(hours, 1),
        }
    )


def _written(
    rng: np.random.Generator,
    vehicle: NDArray[np.int64],
    day: Floats,
    miles: Floats,
    n: int,
    pens: Pens,
) -> Floats:
    shares = [1.0 - pens.to_100 - pens.to_1000, pens.to_100, pens.to_1000]
    step = rng.choice([1.0, 100.0, 1000.0], n, p=shares)[vehicle]
    swapped = rng.random(n) < pens.exchanged
    when = TODAY - rng.uniform(0.0, 6.0, n) * DAYS_PER_YEAR
    after = swapped[vehicle] & (day > when[vehicle])
    offset = np.zeros(n)
    if after.any():
        old = pd.Series(miles[after]).groupby(vehicle[after]).min()
        offset[old.index.to_numpy()] = old.to_numpy()
    shown = np.where(after, miles - offset[vehicle] + 10.0, miles)
    shown = np.round(shown / step) * step
    slip = rng.random(len(vehicle)) < pens.slips
    # One digit wrong, anywhere in the number.
    place = 10.0 ** rng.integers(0, 6, len(vehicle))
    wrong = np.abs(shown + place * rng.choice([-3, -1, 1, 3], len(vehicle)))
    return np.where(slip, wrong, shown)


def vehicle_list(fleet: Fleet, exact_share: float = 0.6) -> pd.DataFrame:
    """The vehicle list: an exact first day for a share of the vehicles, else the model year.

    A model year's vehicle enters service between July before and June after it.
    """
    rng, n = fleet.rng, fleet.n
    exact = rng.random(n) < exact_share
    begin = fleet.start.astype(np.int64).astype("datetime64[D]")
    lead = rng.uniform(-0.5, 1.5, n)
    year = np.round(1970.0 + fleet.start / DAYS_PER_YEAR - lead)
    day = np.where(exact, begin, np.datetime64("NaT", "D")).astype("datetime64[s]")
    return pd.DataFrame(
        {
            "vehicle_id": [f"v{i}" for i in range(n)],
            "in_service_lo": day,
            "in_service_hi": day,
            "model_year": pd.array(year.astype(np.int64), dtype="Int64"),
            "duty": fleet.duty.astype(object),
            "odometer_mi": np.nan,
        }
    )
