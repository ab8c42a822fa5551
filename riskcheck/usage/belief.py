"""What is believed of a vehicle's yearly use, from its own readings and from its likes.

Next year's use of vehicle i is ``X_i = theta_i * noise``, all on the log scale:

    log theta_i ~ N(log centre_d, tau^2)          vehicles of one duty d differ by tau
    corr(theta_i(0), theta_i(t)) = exp(-t / L)    a habit lasts about L years (driver, route, owner)
    log y_i     ~ N(log theta_i, v_i)             what the record says of it (``evidence``)
    log X_i     ~ N(log theta_i, c^2)             one year differs from the vehicle's habit by c

The class figure of the policy (value, low, high) is the belief about X of a vehicle of which
nothing is known, so ``tau^2 + c^2`` is its squared log spread, and a vehicle without readings
gets exactly that figure back.  The duty centre is itself learned from the vehicles of that duty
(normal-normal hierarchy, e.g. Gelman et al., Bayesian Data Analysis, 3rd ed., 5.4, from memory).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from scipy.stats import norm

from riskcheck.figures import Figure
from riskcheck.usage.slopes import Floats, Ints

QUANTILES = (0.10, 0.30, 0.50, 0.70, 0.90)
Z_RANGE = 1.6448536269514722  # standard normal 95 % point: low and high are the 5 and 95 % points
Z_RATES: Floats = norm.ppf(np.array(QUANTILES))

YEAR_TO_YEAR = Figure(0.15, "log sd of one year's use about the vehicle's habit", "common_practice")
# It comes back to its likes as fast: L = 2 tau^2 / drift^2, 8 years where habits differ by 0.3.
DRIFT = Figure(0.15, "log sd a habit drifts by in a year unobserved", "common_practice")
# A habit that differs from its likes' may have given way to one like theirs, so the belief leans
# that way.  A two-piece normal with the right mean would lean by sqrt(pi/2) of the distance from
# middle to mean; most of that distance stems from few, far cases beyond the 5 and 95 % points.
LEAN = Figure(0.4, "lean per log distance of the mean from the middle", "common_practice")
# The shorter side keeps at least a quarter of the longer one.
MOST_LEAN = 0.5
# A duty's centre moves away from the policy figure only as its vehicles outweigh this many.
CENTRE_WORTH = Figure(4.0, "vehicles that the policy's class figure is worth", "common_practice")
# A single week or month departs from the habit by a log sd of about a half (common practice, no
# source), not by the square root of 52 times a year's scatter: weeks of one year are alike.
SHORTEST_SPAN_YEARS = 0.09


@dataclass(frozen=True)
class ClassFigures:
    """Policy figure of each vehicle's duty: ``value``, ``low``, ``high`` (n,), units a year."""

    value: Floats
    low: Floats
    high: Floats

    @property
    def sides(self) -> tuple[Floats, Floats]:
        """Log standard deviations below and above the value, (n,) each."""
        return np.log(self.value / self.low) / Z_RANGE, np.log(self.high / self.value) / Z_RANGE

    @property
    def spread(self) -> Floats:
        """One log standard deviation for both sides, (n,)."""
        below, above = self.sides
        return (below + above) / 2.0

    @property
    def lasts(self) -> Floats:
        """Years a habit lasts (L), (n,): the drift is what a habit strays in its first year."""
        return np.asarray(2.0 * (self.spread**2 - self.yearly) / DRIFT.value**2)

    @property
    def between(self) -> Floats:
        """Log variance of habits between vehicles (tau^2), (n,): its mean over one year and
        ``yearly`` make up the squared spread."""
        return np.asarray((self.spread**2 - self.yearly) / _averaged(1.0 / self.lasts))

    @property
    def yearly(self) -> Floats:
        """Log variance of one year's use about the habit (c^2), (n,)."""
        return np.asarray(np.minimum(YEAR_TO_YEAR.value**2, 0.75 * self.spread**2))


class Own(NamedTuple):
    """What the record says of each vehicle's yearly rate as of its last reading, (n,) each.

    ``log_rate``; ``variance`` of it about the habit, inf where the record is silent; ``steady``:
    the same had the habit never changed over the ``covers`` years that the rate was seen over.
    """

    log_rate: Floats
    variance: Floats
    steady: Floats
    covers: Floats


@dataclass(frozen=True)
class Habit:
    """What is believed of each vehicle's habit (n,), before any one year's scatter.

    ``own``: its own record; ``log_centre``: of its duty; ``between``: tau^2; ``lasts``: L, years.
    """

    own: Own
    log_centre: Floats
    between: Floats
    lasts: Floats

    def over(
        self, vehicle: Ints, gap: Floats, years: Floats
    ) -> tuple[Floats, Floats, Floats, Floats]:
        """The mean habit of ``vehicle`` (m,) over ``years`` (m,) that begin ``gap`` (m,) years
        after its last reading: log middle, log mean, log variance and weight of its own record.

        Mean and variance are those of normal regression on one noisy value of a process with
        correlation exp(-t / L) (covariances of its mean over a stretch: textbook integrals, from
        memory); they hold for any such process.  Most habits have simply not changed, so the
        middle stays nearer to the vehicle's own rate than the mean: as near as the chance of
        that makes it.
        """
        between, lasts = self.between[vehicle], self.lasts[vehicle]
        stretch = np.maximum(years / lasts, 1e-3)
        alike = np.exp(-gap / lasts) * -np.expm1(-stretch) / stretch
        weight = alike * between / (between + self.own.variance[vehicle])
        unchanged = np.exp(-(self.own.covers[vehicle] + gap) / lasts - stretch / 2.0)
        nearer = between / (between + self.own.steady[vehicle]) - weight
        centre = self.log_centre[vehicle]
        away = self.own.log_rate[vehicle] - centre
        variance = between * (_averaged(stretch) - alike * weight)
        middle = centre + away * (weight + unchanged * np.maximum(nearer, 0.0))
        return middle, centre + away * weight, variance, weight

    def between_readings(self, vehicle: Ints, share: Floats, years: Floats) -> Floats:
        """Variance of the use gained by ``share`` (m,) of the ``years`` between two readings.

        In (years of mean use)^2, as both ends are known: a year's scatter as a pinned random walk,
        c^2 T s (1 - s), and a habit that comes and goes, (1 - s) V(sT) + s V(T - sT) -
        s (1 - s) V(T) with V the variance of its integral (bridge of a stationary process).
        """
        other = 1.0 - share
        lasts = self.lasts[vehicle]

        def integral(span: Floats) -> Floats:
            stretch = np.maximum(span / lasts, 1e-3)
            return np.asarray(self.between[vehicle] * span**2 * _averaged(stretch))

        habit = other * integral(share * years) + share * integral(other * years)
        habit = habit - share * other * integral(years)
        return np.asarray(np.maximum(habit, 0.0) + YEAR_TO_YEAR.value**2 * years * share * other)


def _averaged(stretch: Floats) -> Floats:
    """Variance of a habit's mean over ``stretch`` of its lasting times, as a share of its own."""
    return np.asarray(2.0 * (stretch + np.expm1(-stretch)) / stretch**2, dtype=np.float64)


class Pace(NamedTuple):
    """Use a year over some span ahead: a two-piece log-normal, arrays of one shape.

    ``middle`` in units a year; ``below``, ``above`` log standard deviations.
    """

    middle: Floats
    below: Floats
    above: Floats

    def at_z(self, z: Floats | float) -> Floats:
        """Units a year at standard normal points ``z`` (any shape that broadcasts)."""
        side = np.where(np.less(z, 0.0), self.below, self.above)
        return np.asarray(self.middle * np.exp(z * side), dtype=np.float64)

    def times(self, factor: Floats) -> Pace:
        """The product with an independent two-piece factor (n, 3): low, value, high."""
        low, value, high = (edge.reshape(-1, 1) for edge in factor.T)
        return Pace(
            self.middle * value,
            np.hypot(self.below, np.log(value / low) / Z_RANGE),
            np.hypot(self.above, np.log(high / value) / Z_RANGE),
        )

    def points(self) -> Floats:
        """At the 10, 30, 50, 70 and 90 % points: (n, k) becomes (n, 5, k)."""
        pieces = Pace(*(part[:, None, :] for part in self))
        return pieces.at_z(Z_RATES[None, :, None])


@dataclass(frozen=True)
class RateBelief:
    """Belief about use ahead of each vehicle: a two-piece log-normal for every span of time.

    ``figures``: of the vehicle's class; ``habit``: what is believed of its habit; ``since`` (n,)
    years from its last reading to today, 0 without one.
    """

    figures: ClassFigures
    habit: Habit
    since: Floats

    def ahead(self, years: Floats) -> Pace:
        """Use a year over the ``years`` (k,) from today on, (n, k) each."""
        everyone = np.arange(len(self.since))[:, None]
        return self.over(everyone, self.since[:, None], np.asarray(years)[None, :])

    def next_year(self) -> Pace:
        """Next year's use, (n,) each."""
        return Pace(*(part[:, 0] for part in self.ahead(np.ones(1))))

    def over(self, vehicle: Ints, gap: Floats, years: Floats) -> Pace:
        """Use a year of ``vehicle`` over ``years`` that begin ``gap`` years after its last reading.

        Years scatter about the habit: less over several of them, more over a part of one.
        """
        middle, mean, variance, weight = self.habit.over(vehicle, gap, years)
        scatter = self.figures.yearly[vehicle] / np.maximum(years, SHORTEST_SPAN_YEARS)
        off = mean - middle
        total = np.sqrt(variance + scatter + off**2)
        lean = np.clip(LEAN.value * off, -MOST_LEAN * total, MOST_LEAN * total)
        half = np.sqrt(total**2 - lean**2)
        # The class figure may be lopsided too; what the vehicle's own record says is not.
        below, above = (
            part * ((1.0 - weight) * side[vehicle] / self.figures.spread[vehicle] + weight)
            for part, side in zip((half - lean, half + lean), self.figures.sides, strict=True)
        )
        return Pace(np.exp(middle), below, above)


def _duty_centres(duty: Ints, log_own: Floats, variance: Floats, figures: ClassFigures) -> Floats:
    """Log centre of each vehicle's duty, (n,), learned from its vehicles and the class figure."""
    n_duties = int(np.max(duty)) + 1 if len(duty) else 0
    log_class, between = np.log(figures.value), figures.between
    below, above = figures.sides
    # The mean of a lopsided (two-piece) normal lies off its middle by this much.
    lean = (above - below) / np.sqrt(2.0 * np.pi) * np.sqrt(between) / figures.spread
    weight = 1.0 / (between + variance)
    shift = np.bincount(duty, weight * (log_own - log_class - lean), n_duties)
    worth = np.bincount(duty, weight, n_duties)
    prior = CENTRE_WORTH.value / between
    return np.asarray(log_class + shift[duty] / (worth[duty] + prior), dtype=np.float64)


def believe(own: Own, since: Floats, duty: Ints, figures: ClassFigures) -> RateBelief:
    """Shrink each vehicle's own rate toward vehicles of the same duty.

    ``since`` (n,) years since the last reading; ``duty`` (n,) int group; vehicles of one duty
    share one class figure.  The more years of readings and the fresher the last one, the closer
    the middle is to the vehicle's own rate.
    """
    silent = ~np.isfinite(own.variance)
    known = Own(np.where(silent, np.log(figures.value), own.log_rate), *own[1:])
    age = np.where(silent, 0.0, since)
    centre = _duty_centres(duty, known.log_rate, own.variance + DRIFT.value**2 * age, figures)
    return RateBelief(figures, Habit(known, centre, figures.between, figures.lasts), age)
