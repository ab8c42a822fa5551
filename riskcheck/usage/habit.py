"""The habit of a vehicle: how much of it stays, how long the rest lasts, what a record says of it.

On the log scale, as ``belief`` has it: ``corr(theta(0), theta(t)) = p + (1 - p) exp(-t / L)``.  The
passing part is drawn anew once in L years on average, so exp(-t / L) is also the chance that it
was not drawn anew in t years.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from riskcheck.figures import Figure
from riskcheck.usage.slopes import Floats, Ints

YEAR_TO_YEAR = Figure(0.15, "log sd of one year's use about the vehicle's habit", "common_practice")
STAYS = Figure(0.4, "share of the variance between vehicles", "common_practice")
HABIT_LASTS = Figure(16.0, "years that a habit lasts", "common_practice")
# Variance of what was never read: as good as infinite, and still a number to reckon with.
SILENT = 1e12


class Stretch(NamedTuple):
    """What a stretch of the record says of each vehicle's mean log habit over it, (n,) each.

    ``log_rate``; ``noise``: its error variance, ``SILENT`` where the record says nothing;
    ``years``: how long the stretch is.
    """

    log_rate: Floats
    noise: Floats
    years: Floats

    def of(self, vehicle: Ints) -> Stretch:
        """The same of ``vehicle``, any shape."""
        return Stretch(*(part[vehicle] for part in self))


# How alike the passing parts of two stretches are, given something, by how alike they are at large.
Given = Callable[[Floats], Floats]


class Apart(NamedTuple):
    """Two stretches as independent evidence about the duty's centre, (n,) each.

    ``variance`` of the latest; how much of it ``foretells`` the one before; variance of what the
    one before says ``beyond`` that.
    """

    variance: Floats
    foretells: Floats
    beyond: Floats


class Own(NamedTuple):
    """Each vehicle's record: ``latest`` ends at its last reading, ``before`` ends where it begins.

    The errors of the two are independent; their habits are not.
    """

    latest: Stretch
    before: Stretch

    def of(self, vehicle: Ints) -> Own:
        """The same of ``vehicle``, any shape."""
        return Own(self.latest.of(vehicle), self.before.of(vehicle))

    @property
    def unbroken(self) -> Floats:
        """Chance, before its rates are looked at, that one habit lasted through the record."""
        return np.asarray(np.exp(-(self.latest.years + self.before.years) / HABIT_LASTS.value))

    def broken(self, alike: Floats) -> Floats:
        """``alike`` given that a habit did not: the average less the share where all is alike."""
        left = (alike - self.unbroken) / np.maximum(1.0 - self.unbroken, 1e-9)
        return np.asarray(np.clip(left, 0.0, 1.0))

    def apart(self, between: Floats, given: Given) -> Apart:
        """The two as independent pieces of evidence (one step of Gram and Schmidt)."""
        latest, before = self
        shared = between * correlation(given(faded(latest.years) * faded(before.years)))
        variance = between * correlation(given(averaged(latest.years))) + latest.noise
        foretells = shared / variance
        beyond = between * correlation(given(averaged(before.years))) + before.noise
        return Apart(variance, foretells, beyond - foretells * shared)


@dataclass(frozen=True)
class Habit:
    """What is believed of each vehicle's habit (n,), before any one year's scatter.

    ``own``: its record; ``log_centre``: of its duty; ``between``: tau^2.
    """

    own: Own
    log_centre: Floats
    between: Floats

    def over(self, vehicle: Ints, gap: Floats, years: Floats) -> tuple[Floats, Floats, Floats]:
        """The mean habit of ``vehicle`` (m,) over ``years`` (m,) that begin ``gap`` (m,) years
        after its last reading: log middle, log variance and weight of its own record.

        Normal regression on the two stretches of the record, once for a habit that lasted through
        them and once for one that did not, mixed by how likely each makes the record (Bayes).
        """
        own, between = self.own.of(vehicle), self.between[vehicle]
        centre = self.log_centre[vehicle]
        off = Own(*(part._replace(log_rate=part.log_rate - centre) for part in own))
        lasted, broken = (
            _regression(off, between, gap, years, given) for given in (np.ones_like, off.broken)
        )
        ratio = off.unbroken * np.exp(lasted.fit - broken.fit)
        chance = ratio / (ratio + 1.0 - off.unbroken)
        middle, variance, weight = (
            chance * one + (1.0 - chance) * other
            for one, other in zip(lasted[:3], broken[:3], strict=True)
        )
        spread = chance * (1.0 - chance) * (lasted.middle - broken.middle) ** 2
        return centre + middle, variance + spread, weight

    def between_readings(self, vehicle: Ints, share: Floats, years: Floats) -> Floats:
        """Variance of the use gained by ``share`` (m,) of the ``years`` between two readings.

        In (years of mean use)^2, as both ends are known: a year's scatter as a pinned random walk,
        c^2 T s (1 - s), and a habit that comes and goes, (1 - s) V(sT) + s V(T - sT) -
        s (1 - s) V(T) with V the variance of its integral (bridge of a stationary process).
        """
        other = 1.0 - share

        def integral(span: Floats) -> Floats:
            return np.asarray(self.between[vehicle] * span**2 * correlation(averaged(span)))

        habit = other * integral(share * years) + share * integral(other * years)
        habit = habit - share * other * integral(years)
        return np.asarray(np.maximum(habit, 0.0) + YEAR_TO_YEAR.value**2 * years * share * other)


class Regression(NamedTuple):
    """Middle about the centre, variance, weight of the record, log likelihood of the record."""

    middle: Floats
    variance: Floats
    weight: Floats
    fit: Floats


def _regression(off: Own, between: Floats, gap: Floats, years: Floats, given: Given) -> Regression:
    """Normal regression of the mean habit over ``years`` on a record ``off`` the centre."""
    latest, before = off
    variance, foretells, beyond = off.apart(between, given)
    ahead = np.exp(-gap / HABIT_LASTS.value) * faded(years)
    since = np.exp(-latest.years / HABIT_LASTS.value)
    to_latest = between * correlation(given(faded(latest.years)) * ahead)
    to_before = between * correlation(given(since * faded(before.years)) * ahead)
    second = (to_before - foretells * to_latest) / beyond
    first = to_latest / variance - foretells * second
    middle = first * latest.log_rate + second * before.log_rate
    error = between * correlation(averaged(years)) - first * to_latest - second * to_before
    surprise = latest.log_rate**2 / variance + np.log(variance * beyond)
    surprise = surprise + (before.log_rate - foretells * latest.log_rate) ** 2 / beyond
    return Regression(middle, error, first + second, -surprise / 2.0)


def correlation(alike: Floats) -> Floats:
    """Of two mean habits by how ``alike`` their passing parts are."""
    return np.asarray(STAYS.value + (1.0 - STAYS.value) * alike)


def faded(years: Floats) -> Floats:
    """How alike a stretch of years and the moment at its end are: the mean of exp(-t / L)."""
    stretch = np.maximum(years / HABIT_LASTS.value, 1e-9)
    return np.asarray(-np.expm1(-stretch) / stretch)


def averaged(years: Floats) -> Floats:
    """How alike a stretch of years is to itself: the mean of exp(-|t - u| / L) within it."""
    stretch = np.maximum(years / HABIT_LASTS.value, 1e-3)
    return np.asarray(2.0 * (stretch + np.expm1(-stretch)) / stretch**2)
