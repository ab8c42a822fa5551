"""Simulated fleets: lives, looks, renewals and use that are known, and the records they leave.

Numbers in, numbers and lines of a shop's history out; numpy only, nothing of the project.  The
lines are what a shop would write down: work done here, with an odometer at visits only, and nothing
from before the customer first came.

Times are years from the day of the assessment (before it negative), rounded to days where a record
is kept.  A ``Part`` carries what a hazard file states; each part that is fitted draws its own life
from it.  With ``Habits()`` people do what the files state: a share of the vehicles was renewed
before the record, evenly over the usual interval; a fault that a look overlooks is overlooked by
every look; what turns costly comes to this shop.  Other habits are for measuring what they do.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

YEAR = 365.2425
B10_LOAD = -np.log(0.9)
STEP, REACH, AHEAD = 1.0 / 12.0, 24.0, 2.5
# Log sd by which habits differ, years that one lasts, log sd of a year's use about it.
HABITS_DIFFER, HABIT_LASTS, YEAR_SCATTER = 0.30, 8.0, 0.15
USUAL_FROM, USUAL_TO = 0.55, 1.0  # shares of the B10 life between which a renewal is usual
VISITS = 26
MOST = 6.0  # related stories told twice must not run away: stated with the multipliers


@dataclass(frozen=True)
class Factor:
    """A stated multiplier (value, low, high) and the share of vehicles stated with the B10 life."""

    finding: str
    times: tuple[float, float, float]
    share: float
    from_seen: bool = False


@dataclass(frozen=True)
class Part:
    """What a hazard file states: figures as (value, low, high); clocks "miles" or "years".

    costly_a_year: None for an event that shows itself.  lines: what the shop writes when it is
    renewed, found bad, looked at and good, and when the physical finding is seen.
    """

    name: str
    shape: tuple[float, float, float]
    b10: dict[str, tuple[float, float, float]]
    factors: tuple[Factor, ...]
    renewed_before: float
    lines: dict[str, str]
    finds: float = 1.0
    costly_a_year: float | None = None
    look_share: float = 0.0
    renew_share: float = 0.0


@dataclass(frozen=True)
class Habits:
    """What people do.  The defaults are what the hazard files state.

    elsewhere: share of costly failures that are repaired where nobody tells us.  renewed: share
    renewed before the record, times the stated one.  lived: what came before the record is lived
    through (owners with the habit renew at every interval, costly failures are repaired) instead
    of drawn as stated.  misses_anew: each look overlooks afresh.  pace: use from two years ago on,
    as a multiple.  told: the facts behind the factors are on file.
    """

    elsewhere: float = 0.0
    renewed: float = 1.0
    lived: bool = False
    misses_anew: bool = False
    pace: float = 1.0
    told: bool = True


def two_piece(figure, z):
    """A figure (value, low, high) at standard normal scores: a log-normal in two pieces."""
    value, low, high = figure
    return value * np.where(z < 0, value / low, high / value) ** (z / 1.6448536269514722)


@dataclass(frozen=True, eq=False)
class Use:
    """Miles of n vehicles at the turn of months (n, g); ``start`` (n,): in service from."""

    start: np.ndarray
    miles: np.ndarray

    def at(self, clock, time, who=slice(None)):
        """Use since new of vehicles ``who`` at ``time`` (k,)."""
        if clock == "years":
            return np.maximum(time - self.start[who], 0.0)
        miles = self.miles[who]
        place = np.clip((time + REACH) / STEP, 0.0, miles.shape[1] - 1.001)
        low = place.astype(int)
        rows = np.arange(len(low))
        return miles[rows, low] + (place - low) * (miles[rows, low + 1] - miles[rows, low])

    def when(self, clock, use, who=slice(None)):
        """Time at which vehicles ``who`` reach ``use`` (k,); inf beyond the years ahead."""
        if clock == "years":
            return self.start[who] + use
        miles = self.miles[who]
        low = (miles <= use[:, None]).sum(axis=1) - 1
        rows, over = np.arange(len(low)), low >= miles.shape[1] - 1
        low = np.minimum(low, miles.shape[1] - 2)
        gained = miles[rows, low + 1] - miles[rows, low]
        share = (use - miles[rows, low]) / np.maximum(gained, 1e-9)
        return np.where(over, np.inf, (low + share) * STEP - REACH)


def drive(start, yearly, habits, rng):
    """Use of vehicles in service from ``start`` (n,), ``yearly`` miles (value, low, high).

    A habit differs between vehicles and drifts (Ornstein-Uhlenbeck); every month scatters about
    it by itself, so that the year does by ``YEAR_SCATTER``.
    """
    n, steps = len(start), round((REACH + AHEAD) / STEP)
    kept, monthly = np.exp(-STEP / HABIT_LASTS), YEAR_SCATTER / np.sqrt(STEP)
    z = rng.standard_normal(n)
    rates = np.empty((n, steps))
    spread = np.log(yearly[2] / yearly[1]) / 2.0 / 1.6448536269514722
    for step in range(steps):
        scatter = np.exp(monthly * rng.standard_normal(n) - 0.5 * monthly**2)
        rates[:, step] = two_piece(yearly, z * HABITS_DIFFER / spread) * scatter
        z = kept * z + np.sqrt(1.0 - kept**2) * rng.standard_normal(n)
    begins = np.arange(steps) * STEP - REACH
    rates[:, begins >= -2.0 - 1e-9] *= habits.pace
    inside = begins[None, :] >= start[:, None] - 1e-9
    gained = np.where(inside, rates * STEP, 0.0)
    return Use(start, np.concatenate([np.zeros((n, 1)), np.cumsum(gained, axis=1)], axis=1))


@dataclass(frozen=True, eq=False)
class Fleet:
    """n vehicles: use, visits (n, v) in whole days from today (NaN: none), facts and lines."""

    use: Use
    began: np.ndarray
    visits: np.ndarray
    holds: dict[str, np.ndarray]
    lines: list[tuple[np.ndarray, np.ndarray, str]] = field(default_factory=list)

    def write_line(self, who, days, text):
        """A line of work on vehicles ``who`` on ``days`` (k,)."""
        self.lines.append((np.asarray(who), np.asarray(days, dtype=float), text))


def fleet(count, parts, yearly, habits, rng):
    """Vehicles of 3 to 20 years whose record began 0.3 to 9 years ago, and their visits."""
    start = -np.round(rng.uniform(3.0, 20.0, count) / STEP) * STEP
    began = np.maximum(-rng.uniform(0.3, 9.0, count), start + 0.5)
    days = np.ceil(began * YEAR)[:, None] + np.concatenate(
        [np.zeros((count, 1)), np.cumsum(rng.gamma(2.0, 100.0, (count, VISITS)), axis=1)], axis=1
    )
    recent = -np.ceil(rng.uniform(1.0, 25.0, count))
    days[:, -1] = np.where(rng.random(count) < 0.5, recent, np.nan)
    days = np.where(days < 0.0, np.round(days), np.nan)
    least = 0.12 if habits.told else 0.0  # what is known may be common
    holds = {
        factor.finding: rng.random(count) < max(factor.share, least)
        for part in parts for factor in part.factors
    }  # fmt: skip
    made = Fleet(drive(start, yearly, habits, rng), days[:, 0] / YEAR, np.sort(days, axis=1), holds)
    who, visit = np.nonzero(np.isfinite(made.visits))
    made.write_line(who, made.visits[who, visit], "oil and filter change")
    return made


@dataclass(eq=False)
class Fitted:
    """The parts on the vehicles: fitted at ``since``, life, when the fault comes.

    m_past, m_ahead: rate before and after ``seen``.  findable: whether a look finds the fault.
    costly: when the fault turns costly.
    """

    since: np.ndarray
    shape: np.ndarray
    b10: np.ndarray
    came: np.ndarray
    seen: np.ndarray
    m_past: np.ndarray
    m_ahead: np.ndarray
    findable: np.ndarray
    costly: np.ndarray

    def put(self, who, other):
        """Other parts on the vehicles ``who``."""
        for name, value in vars(self).items():
            value[..., who] = getattr(other, name)


def multipliers(part, made, who, rng):
    """Rate of vehicles ``who`` against the population's, whose mean is one.

    Each finding multiplies the rate of its own; how much it truly does is drawn for every part.
    One that is seen acts from that day; without it, or before, the rate is that of those without.
    Returns m always (k,), m of those without and with the finding that is seen (numbers).
    """
    always, off, without, with_it = np.ones(len(who)), np.ones(len(who)), 1.0, 1.0
    for factor in part.factors:
        value = factor.times[0]
        centre = 1.0 + factor.share * (value - 1.0)
        if factor.from_seen:
            without, with_it = without / centre, with_it * value / centre
            continue
        holds = made.holds[factor.finding][who]
        always *= np.where(holds, value, 1.0) / centre
        drawn = two_piece(factor.times, rng.standard_normal(len(who)))
        off *= np.where(holds, drawn / value, 1.0)
    return np.minimum(always, MOST) * off, without, with_it


def progress(part, use, fitted, time, who=slice(None)):
    """Load c·(v/B10)^shape at ``time``, of the clock that is further through, at rate one."""
    through = [
        (use.at(clock, time, who) - use.at(clock, fitted.since, who)) / b10
        for clock, b10 in zip(part.b10, fitted.b10, strict=True)
    ]
    return B10_LOAD * np.maximum(np.max(through, axis=0), 0.0) ** fitted.shape


def survival(part, use, fitted, time):
    """Chance, for its own life, that the fault has not come by ``time`` (n,)."""
    gone, seen = (progress(part, use, fitted, t) for t in (time, fitted.seen))
    early, late = np.minimum(gone, seen), np.maximum(gone - seen, 0.0)
    return np.exp(-fitted.m_past * early - fitted.m_ahead * late)


def fit(part, made, who, since, seen, rng):
    """New parts on vehicles ``who`` at ``since``; ``seen`` (k,): day of a finding (NaN: none)."""
    k = len(who)
    z = rng.standard_normal(k)
    always, without, with_it = multipliers(part, made, who, rng)
    acts = np.isfinite(seen) & (seen >= since)
    fitted = Fitted(
        since=since,
        shape=two_piece(part.shape, rng.standard_normal(k)),
        b10=np.stack([two_piece(figure, z) for figure in part.b10.values()]),
        came=since,
        seen=np.where(acts, seen, np.maximum(0.0, since)),
        m_past=always * without,
        m_ahead=always * np.where(acts, with_it, without),
        findable=rng.random(k) < part.finds,
        costly=since,
    )
    load = rng.exponential(size=k)
    before = progress(part, made.use, fitted, fitted.seen, who)
    early = load <= fitted.m_past * before
    late = before + (load - fitted.m_past * before) / fitted.m_ahead
    through = (np.where(early, load / fitted.m_past, late) / B10_LOAD) ** (1.0 / fitted.shape)
    times = [
        made.use.when(clock, made.use.at(clock, since, who) + through * b10, who)
        for clock, b10 in zip(part.b10, fitted.b10, strict=True)
    ]
    fitted.came = np.min(times, axis=0)
    wait = 0.0 if part.costly_a_year is None else rng.exponential(1 / part.costly_a_year, k)
    fitted.costly = fitted.came + wait
    return fitted


def drawn_as_stated(part, made, who, share, seen, rng):
    """Parts as the record finds them, the renewal before it drawn as stated."""
    clock, figure = next(iter(part.b10.items()))
    at_start = made.use.at(clock, made.began[who], who)
    low, high = USUAL_FROM * figure[0], USUAL_TO * figure[0]
    renewed = rng.random(len(who)) < share * np.clip((at_start - low) / (high - low), 0.0, 1.0)
    first = np.maximum(low, at_start - high)
    at = first + rng.random(len(who)) * np.maximum(at_start - first, 0.0)
    since = np.where(renewed, made.use.when(clock, at, who), made.use.start[who])
    return fit(part, made, who, since, seen[who], rng)


def before_record(part, made, habits, seen, rng):
    """The part on every vehicle on the day its record begins, nothing turned costly unseen."""
    share = habits.renewed * part.renewed_before
    everyone = np.arange(len(made.began))
    if not habits.lived:
        fitted = drawn_as_stated(part, made, everyone, share, seen, rng)
        while len(again := np.flatnonzero(fitted.costly < made.began)):
            fitted.put(again, drawn_as_stated(part, made, again, share, seen, rng))
        return fitted
    clock, figure = next(iter(part.b10.items()))
    owner = rng.random(len(everyone)) < share
    fitted = fit(part, made, everyone, made.use.start.copy(), seen, rng)
    who = everyone
    while len(who):
        usual = rng.uniform(USUAL_FROM, USUAL_TO, len(who)) * figure[0]
        planned = made.use.when(clock, made.use.at(clock, fitted.since[who], who) + usual, who)
        end = np.minimum(np.where(owner[who], planned, np.inf), fitted.costly[who])
        again = end < made.began[who]
        who, end = who[again], end[again]
        fitted.put(who, fit(part, made, who, end, seen[who], rng))
    return fitted


def _first(times, wanted):
    """Earliest of ``times`` (n, v) where ``wanted``; inf where none."""
    return np.min(np.where(wanted, times, np.inf), axis=1, initial=np.inf)


def live(part, made, habits, rng):
    """Live through the record: faults, looks, repairs and renewals, with the lines they leave.

    A physical finding is a line left open: nobody has looked since, or the look would close it.
    Returns the parts on the vehicles today, and when each was last looked at and good (NaN).
    """
    n, times = made.visits.shape[0], made.visits / YEAR
    visited = np.isfinite(times)
    seen = np.full(n, np.nan)
    for factor in part.factors:
        if factor.from_seen:
            late = _first(times, visited & (times > -rng.uniform(0.1, 2.0, n)[:, None]))
            seen = np.where(made.holds[factor.finding] & np.isfinite(late), late, np.nan)
    has = np.flatnonzero(np.isfinite(seen))
    made.write_line(has, np.round(seen[has] * YEAR), part.lines.get("seen", ""))
    looked = visited & (rng.random(times.shape) < part.look_share)
    looked &= ~(times >= seen[:, None])
    planned = visited & (rng.random(times.shape) < part.renew_share) & ~looked
    notices = rng.random(times.shape) < part.finds
    fitted = before_record(part, made, habits, seen, rng)
    who, good = np.arange(n), np.full(n, np.nan)
    while len(who):
        now, own = times[who], looked[who]
        after = now > fitted.since[who, None]
        if habits.misses_anew:
            bad = notices[who]
        else:
            bad = np.broadcast_to(fitted.findable[who, None], now.shape)
        there = now >= fitted.came[who, None]
        found = _first(now, own & after & bad & there)
        renewed = _first(now, planned[who] & after)
        costly = np.ceil(fitted.costly[who] * YEAR) / YEAR
        end = np.minimum(np.minimum(found, renewed), costly)
        rows, column = np.nonzero(own & after & (now < end[:, None]))
        made.write_line(who[rows], made.visits[who[rows], column], part.lines.get("good", ""))
        last = np.max(np.where(own & after & (now < end[:, None]), now, -np.inf), axis=1)
        good[who] = np.where(np.isfinite(last), last, np.nan)
        ended = end <= 0.0
        by_itself = (costly <= found) & (costly <= renewed)
        told = ended & ~(by_itself & (rng.random(len(who)) < habits.elsewhere))
        made.write_line(who[told & ~by_itself & (found <= renewed)],
                        np.round(end[told & ~by_itself & (found <= renewed)] * YEAR),
                        part.lines.get("bad", ""))  # fmt: skip
        made.write_line(who[told], np.round(end[told] * YEAR), part.lines["renewed"])
        who, end = who[ended], end[ended]
        fitted.put(who, fit(part, made, who, end, seen[who], rng))
    return fitted, good


def after_work(part, made, works, rechecked, rng):
    """A fault that the shop's own work starts: fitted anew by the last line of ``works`` on file.

    ``rechecked``: share of jobs that somebody re-checks afterwards, and how often that is on file
    here.  Returns the parts on the vehicles (fitted today: no such work) and who was re-checked.
    """
    n = len(made.began)
    last = np.full(n, -np.inf)
    for who, days, text in made.lines:
        if text in works:
            np.maximum.at(last, who, days)
    worked = np.isfinite(last)
    since = np.where(worked, last, 0.0) / YEAR
    who, unseen = np.arange(n), np.full(n, np.nan)
    fitted = fit(part, made, who, since, unseen, rng)
    while len(who := np.flatnonzero(fitted.costly < 0.0)):
        fitted.put(who, fit(part, made, who, since[who], unseen[who], rng))
    checked = worked & (rng.random(n) < rechecked[0])
    later = last + np.ceil(rng.uniform(0.0, np.clip(-1.0 - last, 0.0, 14.0)))
    told = np.flatnonzero(checked & (rng.random(n) < rechecked[1]) & (later > last))
    made.write_line(told, later[told], part.lines["good"])
    return fitted, checked


def true_chance(part, made, fitted, good, until):
    """True chance (n,) that the fault has come by ``until``, for its own life and its record.

    ``good`` (n,): last good look (NaN: none); ``until`` (n,): years from today.  The record:
    nothing found at that look and nothing turned costly since the part was fitted, or nothing
    happened until today where the event shows itself (trapezoid rule).
    """
    none = np.zeros(len(fitted.since))
    today, then = (survival(part, made.use, fitted, time) for time in (none, until))
    if part.costly_a_year is None:
        return 1.0 - then / today
    look = np.where(np.isfinite(good), good, fitted.since)

    def silent(start, end):
        steps = np.linspace(0.0, 1.0, 161)
        times = [start + (end - start) * step for step in steps]
        alive = np.stack([survival(part, made.use, fitted, time) for time in times])
        fade = np.exp(part.costly_a_year * np.stack(times))
        return ((alive[:-1] - alive[1:]) * (fade[:-1] + fade[1:]) / 2.0).sum(axis=0)

    record = (1.0 - part.finds) * silent(fitted.since, look) + silent(look, none) + today
    return 1.0 - then / record
