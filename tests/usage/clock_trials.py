"""How often the clocks are right about simulated fleets whose true use is known.

Each trial gives rows: clock, what was known of the vehicles, how many of them, the share whose
true use lies within the stated 5 to 95 % range, and the five shares whose true use lies below the
stated 10, 30, 50, 70 and 90 % points of the next year.
"""

from __future__ import annotations

import functools
from typing import NamedTuple

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from simulated_fleets import (
    AS_OF,
    CLEAN,
    DAYS_PER_YEAR,
    EDGES,
    STRATA,
    SUPPOSED,
    TODAY,
    Fleet,
    Pens,
    World,
    build,
    readings,
    two_piece,
    vehicle_list,
)

from riskcheck import rulebook
from riskcheck.fleet.history import check_odometers
from riskcheck.usage import Usage, clocks
from riskcheck.usage.build import TOWS, TOWS_NOT, TOWS_UNKNOWN

Floats = NDArray[np.float64]
NO_EVENTS = pd.DataFrame(
    {
        "vehicle_id": pd.Series(dtype=object),
        "date_hi": pd.Series(dtype="datetime64[s]"),
        "topic": pd.Series(dtype=object),
        "mark": pd.Series(dtype=object),
    }
)
NEXT_YEAR = TODAY + DAYS_PER_YEAR
YEAR = np.array([12.0])


class Row(NamedTuple):
    """One line of the table; ``held`` and ``below`` (5,) are shares, NaN where not asked."""

    clock: str
    known: str
    n: int
    held: float
    below: Floats


class Trial(NamedTuple):
    """A simulated fleet and what riskcheck believes of it; ``stratum`` (n,) place in STRATA."""

    fleet: Fleet
    usage: Usage
    stratum: NDArray[np.int64]
    vehicles: pd.DataFrame
    per_mile: Floats
    share: Floats


@functools.cache
def policy() -> object:
    """The shipped policy: the class figures and profiles that are put to the test."""
    return rulebook.load(rulebook.shipped_dir()).policy


def three(figure) -> tuple[float, float, float]:
    return figure.range[0], figure.value, figure.range[1]


@functools.cache
def trial(world: World = SUPPOSED, pens: Pens = CLEAN, n: int = 20_000, seed: int = 1) -> Trial:
    """One fleet with all strata mixed, read by the shop, checked across rows and measured."""
    figures = policy()
    miles = {k: three(f) for k, f in figures.yearly_miles.items() if k != "default"}
    fleet = build(n, seed, miles, world)
    names, stratum = list(STRATA), np.arange(n) % len(STRATA)
    ratio = np.array([three(figures.yearly_engine_hours[d]) for d in fleet.duty])
    ratio = ratio / np.array([miles[d][1] for d in fleet.duty])[:, None]
    per_mile = two_piece(fleet.rng, ratio, n)
    read = readings(fleet, [STRATA[names[place]] for place in stratum], pens, per_mile)
    # Half of the vehicles have no hour meter.
    without = read["vehicle_id"].str[1:].astype(int) % 2 == 1
    read.loc[without, "engine_hours"] = np.nan
    if pens != CLEAN:
        read = check_odometers(read).readings
    said = fleet.rng.choice(["yes", "no", ""], n)
    tows = {"yes": TOWS, "no": TOWS_NOT, "": TOWS_UNKNOWN}
    share = two_piece(fleet.rng, np.array([three(tows[word]) for word in said]), n)
    vehicles = vehicle_list(fleet).assign(tows_often=said)
    known = clocks(vehicles, read, NO_EVENTS, figures, AS_OF)
    return Trial(fleet, known, stratum, vehicles, per_mile, share)


def _row(clock: str, known: str, held: NDArray[np.bool_], below: Floats | None) -> Row:
    shares = np.full(5, np.nan) if below is None else below.mean(axis=0)
    return Row(clock, known, len(held), float(held.mean()), shares)


def miles_rows(of: Trial) -> list[Row]:
    """Today's odometer and next year's miles by what was read."""
    now, then = of.fleet.everyone(TODAY), of.fleet.everyone(NEXT_YEAR)
    return _by_stratum(of, "miles", now, then - now, np.ones(of.fleet.n, dtype=bool))


def other_rows(of: Trial) -> list[Row]:
    """Engine hours with and without a meter, and miles with a trailer."""
    now, then = of.fleet.everyone(TODAY), of.fleet.everyone(NEXT_YEAR)
    metered = np.arange(of.fleet.n) % 2 == 0
    hours = now * of.per_mile, (then - now) * of.per_mile
    towed = now * of.share, (then - now) * of.share
    everyone = np.ones(of.fleet.n, dtype=bool)
    return [
        *_by_stratum(of, "engine_hours", *hours, metered),
        _whole(of, "engine_hours", "no hour meter", *hours, ~metered),
        _whole(of, "towing_miles", "all", *towed, everyone),
    ]


def _by_stratum(
    of: Trial, clock: str, now: Floats, gained: Floats, some: NDArray[np.bool_]
) -> list[Row]:
    return [
        _whole(of, clock, name, now, gained, some & (of.stratum == place))
        for place, name in enumerate(STRATA)
    ]


def _whole(
    of: Trial, clock: str, known: str, now: Floats, gained: Floats, some: NDArray[np.bool_]
) -> Row:
    low, _, high = of.usage.now(clock)
    ahead = of.usage.ahead(clock, YEAR)[:, :, 0]
    held = (low <= now) & (now <= high)
    return _row(clock, known, held[some], (gained[:, None] < ahead)[some])


def cold_start_rows(of: Trial) -> list[Row]:
    """Cold starts: every vehicle has its own yearly number, spread over the year's profile."""
    figures = policy()
    profile = np.array(figures.monthly_cold_starts)
    profile = profile / profile.sum()
    yearly = two_piece(np.random.default_rng(7), np.array(three(figures.yearly_cold_starts)),
                       of.fleet.n)  # fmt: skip
    now = yearly * (_years_by_day(TODAY, profile) - _years_by_day(of.fleet.start, profile))
    exact = of.vehicles["in_service_lo"].notna().to_numpy()
    return [
        _whole(of, "cold_starts", "first day known", now, yearly, exact),
        _whole(of, "cold_starts", "model year known", now, yearly, ~exact),
    ]


def _years_by_day(day: Floats | float, profile: Floats) -> Floats:
    """Yearly shares gained up to each day since the first month, summed month by month."""
    month = (EDGES[:-1].astype(np.int64).astype("datetime64[D]").astype("datetime64[M]")).astype(
        np.int64
    ) % 12
    gained = np.concatenate([[0.0], np.cumsum(profile[month])])
    return np.interp(day, EDGES, gained)


def since_rows(of: Trial) -> list[Row]:
    """Miles, hours and towing miles since a job of known date, a month to four years ago."""
    rng = np.random.default_rng(13)
    n = of.fleet.n
    day = np.floor(TODAY - rng.uniform(0.08, np.minimum(4.0, (TODAY - of.fleet.start) / 366), n)
                   * DAYS_PER_YEAR)  # fmt: skip
    dates = day.astype(np.int64).astype("datetime64[D]")
    gained = of.fleet.everyone(TODAY) - of.fleet.miles(np.arange(n), day)
    rows = []
    for clock, true in (
        ("miles", gained),
        ("engine_hours", gained * of.per_mile),
        ("towing_miles", gained * of.share),
    ):
        low, _, high = of.usage.since(clock, np.arange(n), dates, dates)
        held = (low <= true) & (true <= high)
        rows += [
            _row(f"{clock} since a job", name, held[of.stratum == place], None)
            for place, name in enumerate(STRATA)
        ]
    return rows


def horizon_rows(of: Trial, months: tuple[float, ...] = (3.0, 6.0, 24.0)) -> list[Row]:
    """Miles gained over other horizons than a year."""
    now = of.fleet.everyone(TODAY)
    rows = []
    for month in months:
        gained = of.fleet.everyone(TODAY + month / 12 * DAYS_PER_YEAR) - now
        ahead = of.usage.ahead("miles", np.array([month]))[:, :, 0]
        below = (gained[:, None] < ahead).mean(axis=0)
        rows.append(Row("miles", f"next {month:g} months", len(now), float("nan"), below))
    return rows


def table(rows: list[Row]) -> str:
    """The rows as a person reads them, in per cent."""
    lines = [
        f"{'clock':26s} {'known':18s} {'n':>6s} {'in 90 %':>8s}   below 10 30 50 70 90 % points"
    ]
    for row in rows:
        held = "" if np.isnan(row.held) else f"{100 * row.held:.1f}"
        five = "" if np.isnan(row.below[0]) else " ".join(f"{100 * b:5.1f}" for b in row.below)
        lines.append(f"{row.clock:26s} {row.known:18s} {row.n:6d} {held:>8s}   {five}")
    return "\n".join(lines)
