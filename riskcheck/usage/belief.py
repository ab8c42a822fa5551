"""What is believed of a vehicle's yearly use, from its own readings and from its likes.

Next year's use of vehicle i is ``X_i = theta_i * noise``, all on the log scale:

    log theta_i ~ N(log centre_d, tau^2)          vehicles of one duty d differ by tau
    corr(theta_i(0), theta_i(t)) = p + (1 - p) exp(-t / L)
    log y_i     ~ N(mean log theta_i, v_i)        a stretch of its record (``evidence``)
    log X_i     ~ N(mean log theta_i, c^2)        one year differs from the vehicle's habit by c

A share p of what tells vehicles apart stays (body, route, owner); the rest is a habit that gives
way to another once in L years on average (driver, contract).  A record whose latest years go on
as those before speaks for a habit that lasted, one that breaks off for a new one: belief weighs
the two.  The class figure of the policy (value, low, high) is the belief about X of a vehicle of
which nothing is known, so the variances of a year's mean habit and ``c^2`` make up its squared log
spread, and a vehicle without readings gets exactly that figure back.  The duty centre is itself
learned from the vehicles of that duty (normal-normal hierarchy, e.g. Gelman et al., Bayesian Data
Analysis, 3rd ed., 5.4, from memory).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from scipy.stats import norm

from riskcheck.figures import Figure
from riskcheck.usage.habit import YEAR_TO_YEAR, Habit, Own, Stretch, averaged, correlation
from riskcheck.usage.slopes import Floats, Ints

QUANTILES = (0.10, 0.30, 0.50, 0.70, 0.90)
Z_RANGE = 1.6448536269514722  # standard normal 95 % point: low and high are the 5 and 95 % points
Z_RATES: Floats = norm.ppf(np.array(QUANTILES))

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
    def yearly(self) -> Floats:
        """Log variance of one year's use about the habit (c^2), (n,)."""
        return np.asarray(np.minimum(YEAR_TO_YEAR.value**2, 0.75 * self.spread**2))

    @property
    def between(self) -> Floats:
        """Log variance of habits between vehicles (tau^2), (n,): its mean over one year and
        ``yearly`` make up the squared spread."""
        return np.asarray((self.spread**2 - self.yearly) / correlation(averaged(np.ones(1))))


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
        middle, variance, weight = self.habit.over(vehicle, gap, years)
        scatter = self.figures.yearly[vehicle] / np.maximum(years, SHORTEST_SPAN_YEARS)
        total = np.sqrt(variance + scatter)
        # The class figure may be lopsided; what the vehicle's own record says is not.
        below, above = (
            total * ((1.0 - weight) * side[vehicle] / self.figures.spread[vehicle] + weight)
            for side in self.figures.sides
        )
        return Pace(np.exp(middle), below, above)


def _duty_centres(duty: Ints, own: Own, figures: ClassFigures) -> Floats:
    """Log centre of each vehicle's duty, (n,), learned from its vehicles and the class figure."""
    n_duties = int(np.max(duty)) + 1 if len(duty) else 0
    log_class, between = np.log(figures.value), figures.between
    below, above = figures.sides
    # The mean of a lopsided (two-piece) normal lies off its middle by this much.
    lean = (above - below) / np.sqrt(2.0 * np.pi) * np.sqrt(between) / figures.spread
    # The mean over years lies above a middling one by half the variance that it evens out.
    latest, before = (
        stretch.log_rate - log_class - lean - _evened_out(stretch, figures) / 2.0 for stretch in own
    )
    variance, foretells, beyond = own.apart(between, np.asarray)
    fresh = (1.0 - foretells) / beyond
    shift = np.bincount(duty, latest / variance + fresh * (before - foretells * latest), n_duties)
    worth = np.bincount(duty, 1.0 / variance + fresh * (1.0 - foretells), n_duties)
    prior = CENTRE_WORTH.value / between
    return np.asarray(log_class + shift[duty] / (worth[duty] + prior), dtype=np.float64)


def _evened_out(stretch: Stretch, figures: ClassFigures) -> Floats:
    years = np.maximum(figures.yearly - stretch.noise, 0.0)
    return years + figures.between * (1.0 - correlation(averaged(stretch.years)))


def believe(own: Own, since: Floats, duty: Ints, figures: ClassFigures) -> RateBelief:
    """Shrink each vehicle's own rate toward vehicles of the same duty.

    ``since`` (n,) years since the last reading, 0 without one; ``duty`` (n,) int group; vehicles of
    one duty share one class figure.  The more years of readings and the fresher the last one, the
    closer the middle is to the vehicle's own rate.
    """
    centre = _duty_centres(duty, own, figures)
    return RateBelief(figures, Habit(own, centre, figures.between), since)
