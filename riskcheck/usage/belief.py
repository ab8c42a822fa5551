"""What is believed of a vehicle's yearly use, from its own readings and from its likes.

Next year's use of vehicle i is ``X_i = theta_i * noise``, all on the log scale:

    log theta_i ~ N(log centre_d, tau^2)          vehicles of one duty d differ by tau
    log y_ij    ~ N(log theta_i, v_ij)            what the record says of this vehicle
    log X_i     ~ N(log theta_i, c^2)             one year differs from the vehicle's habit by c

The class figure of the policy (value, low, high) is the belief about X of a vehicle of which
nothing is known, so ``tau^2 + c^2`` is its squared log spread, and a vehicle without readings
gets exactly that figure back.  The duty centre is itself learned from the vehicles of that duty
(normal-normal hierarchy, e.g. Gelman et al., Bayesian Data Analysis, 3rd ed., 5.4, from memory).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.stats import norm

from riskcheck.figures import Figure
from riskcheck.usage.slopes import Floats, Ints

QUANTILES = (0.10, 0.30, 0.50, 0.70, 0.90)
Z_RANGE = 1.6448536269514722  # standard normal 95 % point: low and high are the 5 and 95 % points
Z_RATES: Floats = norm.ppf(np.array(QUANTILES))

YEAR_TO_YEAR = Figure(0.15, "log sd of one year's use about the vehicle's habit", "common_practice")
DRIFT = Figure(0.15, "log sd a habit drifts by in a year unobserved", "common_practice")
# One habit change in a lifetime average sits, on average, a quarter of the life away from now.
LIFETIME_STALE = 0.25
# A duty's centre moves away from the policy figure only as its vehicles outweigh this many.
CENTRE_WORTH = Figure(4.0, "vehicles that the policy's class figure is worth", "common_practice")
# A single week or month departs from the habit by a log sd of about a half (common practice, no
# source), not by the square root of 52 times a year's scatter: weeks of one year are alike.
SHORTEST_SPAN_YEARS = 0.09
# A parked vehicle still moves a little; the log scale has no zero.
LEAST_SHARE_OF_CLASS = 0.02


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


@dataclass(frozen=True)
class RateBelief:
    """Belief about next year's use of each vehicle: a two-piece log-normal.

    ``middle`` (n,) units a year; ``below``, ``above`` (n,) log standard deviations; ``habit_var``
    and ``yearly_var`` (n,) the parts of the log variance that stay and that average out over
    years; ``weight_own`` (n,) how much of the middle comes from the vehicle's own record (0 to 1).
    """

    middle: Floats
    below: Floats
    above: Floats
    habit_var: Floats
    yearly_var: Floats
    weight_own: Floats

    def at_z(self, z: Floats) -> Floats:
        """Rate at standard normal points ``z`` (k,): (n, k) units a year."""
        side = np.where(z < 0, self.below[:, None], self.above[:, None])
        return self.middle[:, None] * np.exp(z * side)

    def gain(self, vehicle: Ints, years: Floats, z: float) -> Floats:
        """Use gained over ``years`` (m,) by vehicles ``vehicle`` (m,) at normal point ``z``, (m,).

        One year's scatter averages out over longer spans and weighs more on shorter ones.
        """
        side = (self.below if z < 0 else self.above)[vehicle]
        habit, yearly = self.habit_var[vehicle], self.yearly_var[vehicle]
        span = np.maximum(years, SHORTEST_SPAN_YEARS)
        scatter = np.sqrt((habit + yearly / span) / (habit + yearly))
        return self.middle[vehicle] * years * np.exp(z * side * scatter)

    def quantiles(self) -> Floats:
        """Rates at the 10, 30, 50, 70 and 90 % points, (n, 5) units a year."""
        return self.at_z(Z_RATES)


@dataclass(frozen=True)
class OwnEvidence:
    """What a vehicle's own record says of its rate.

    ``rate`` (n, s) units a year from s sources and ``variance`` (n, s) of its logarithm;
    NaN rate where a source is silent.
    """

    rate: Floats
    variance: Floats


def own_variance(years_covered: Floats, years_since: Floats) -> Floats:
    """Log variance of a rate seen over ``years_covered`` and last checked ``years_since`` ago.

    ``c^2 / covered`` (few data) plus ``drift^2 * since`` (old data); arrays (n,), years.
    """
    covered = np.maximum(years_covered, 1.0 / 365.0)
    return YEAR_TO_YEAR.value**2 / covered + DRIFT.value**2 * np.maximum(years_since, 0.0)


def _split_variance(spread: Floats) -> tuple[Floats, Floats]:
    """Split a class's log variance into between-vehicle (tau^2) and year-to-year (c^2)."""
    total = spread**2
    between = np.maximum(total - YEAR_TO_YEAR.value**2, total / 4.0)
    return between, total - between


def _combined(own: OwnEvidence, least: Floats) -> tuple[Floats, Floats]:
    """Precision-weighted mean of the sources' log rates (n,) and its precision (n,)."""
    seen = np.isfinite(own.rate)
    precision = np.where(seen, 1.0 / own.variance, 0.0)
    logs = np.log(np.maximum(np.where(seen, own.rate, 1.0), least[:, None]))
    total = precision.sum(axis=1)
    mean = np.where(total > 0, (precision * logs).sum(axis=1) / np.where(total > 0, total, 1.0), 0)
    return mean, total


def _duty_centres(
    duty: Ints, log_own: Floats, precision: Floats, log_class: Floats, between: Floats
) -> Floats:
    """Log centre of each vehicle's duty, (n,), learned from its vehicles and the class figure."""
    n_duties = int(np.max(duty)) + 1 if len(duty) else 0
    known = precision > 0
    weight = np.where(known, 1.0 / (between + 1.0 / np.where(known, precision, 1.0)), 0.0)
    shift = np.bincount(duty, weight * (log_own - log_class), n_duties)
    worth = np.bincount(duty, weight, n_duties)
    prior = CENTRE_WORTH.value / between
    return log_class + shift[duty] / (worth[duty] + prior)


def believe(own: OwnEvidence, duty: Ints, figures: ClassFigures) -> RateBelief:
    """Shrink each vehicle's own rate toward vehicles of the same duty.

    ``duty`` (n,) int group; vehicles of one duty share one class figure.  The more years of
    readings and the fresher the last one, the closer the middle is to the vehicle's own rate.
    """
    between, yearly = _split_variance(figures.spread)
    log_own, precision = _combined(own, LEAST_SHARE_OF_CLASS * figures.value)
    log_class = np.log(figures.value)
    centre = _duty_centres(duty, log_own, precision, log_class, between)
    weight = precision / (precision + 1.0 / between)
    habit = 1.0 / (precision + 1.0 / between)
    narrower = np.sqrt(habit + yearly) / figures.spread
    # The class figure may be lopsided; what the vehicle's own record says is not.
    below, above = ((1.0 - weight) * side + weight * figures.spread for side in figures.sides)
    return RateBelief(
        middle=np.exp(weight * log_own + (1.0 - weight) * centre),
        below=below * narrower,
        above=above * narrower,
        habit_var=habit,
        yearly_var=yearly,
        weight_own=weight,
    )
