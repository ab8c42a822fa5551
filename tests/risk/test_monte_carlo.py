"""All shipped hazards through the whole pricing, against simulated vehicles.

One hard exposure for each: the design is uncertain, the part may have been renewed unseen at one
of five ages, or was partly renewed on file, a finding was seen some time ago, looks miss some, use
ahead has five paces, and a hidden fault that came has not turned costly so far, at the hazard's own
yearly rate; the rate multiplier is itself uncertain.  The simulation (numpy only) draws a shape and
a B10 from the figures of the hazard file, the age at which the event comes and how long it stays
silent, lives the history through and counts those that the record does not contradict.  Seeded by
the hazard's name.
"""

from __future__ import annotations

import zlib

import numpy as np
import pytest

from riskcheck import rulebook
from riskcheck.risk.figures_of import Question, answer, month_points
from riskcheck.risk.hazard_figures import belief_of
from riskcheck.risk.histories import Histories
from riskcheck.rulebook.model import ShareLife

BOOK = rulebook.load()
DRAWS = 100_000
WEIGHT, UNSEEN, KEPT, M_PAST, M_SEEN = 0.7, 0.6, 0.6, 1.3, 2.6
PACES = np.array([0.7, 0.9, 1.0, 1.1, 1.3])
NOW, SEEN, LOOKED, STEP = 0.9, 0.7, 0.5, 0.15  # in B10 lives; STEP is a year's use
RENEWED = np.array([0.1, 0.15, 0.2, 0.25, 0.3])
PARTLY = 0.4  # the age at which a partial renewal is on file
M_WIDTHS = (0.30, 0.25)  # standard deviations of its logarithm above and below its value
FINE = np.linspace(0.0, 1.0, 161)


def test_all_thirty_one_hazards_are_here():
    assert len(BOOK.hazards) == 31
    kinds = {hazard.reveals for hazard in BOOK.hazards.values()}
    assert kinds == {"by_itself", "by_looking"}


def is_worn(hazard):
    return not isinstance(hazard.life, ShareLife)


def drawn(figure, z):
    low, high = figure.range
    reach = np.where(z < 0, np.log(figure.value / low), np.log(high / figure.value))
    return figure.value * np.exp(reach * z / 1.6448536269514722)


def question(hazard, units, renewal):
    """The exposure: alternatives with stretches (from, to), known absent at, now, seen at."""
    hidden = hazard.reveals == "by_looking"
    known = LOOKED if hidden else NOW
    if renewal == "unseen":
        ages = [([(0.0, known)], known, NOW, SEEN)]
        ages += [([(0.0, known - at)], known - at, NOW - at, SEEN - at) for at in RENEWED]
        prior = np.array([1.0 - UNSEEN, *[UNSEEN / 5] * 5]) * WEIGHT
    else:
        back = PARTLY * (1.0 - KEPT)
        stretches = [(0.0, PARTLY), (PARTLY * KEPT, known - back)]
        ages = [(stretches, known - back, NOW - back, SEEN - back)]
        prior = np.array([WEIGHT])

    def columns(values):
        return np.array(values, dtype=float)[None, ..., None] * units

    months = month_points(12.0)
    gain = PACES[None, :, None, None] * (STEP * months / 12.0)[:, None] * units
    full = {name: np.array([value]) for name, value in (
        ("a_year", STEP * units[0]), ("loss", 5000.0), ("saved_rate", 0.01), ("look_cost", 60.0),
        ("loss_a_year", 250.0))}  # fmt: skip
    return ages, prior, Question(
        histories=Histories(
            prior=prior[None], absent=np.array([1.0 - WEIGHT]),
            lived_from=columns([[a for a, _ in one[0]] for one in ages]),
            lived_to=columns([[b for _, b in one[0]] for one in ages]),
            ok_at=columns([one[1] for one in ages]), now=columns([one[2] for one in ages]),
            m_past=np.array([M_PAST]), m_ahead=np.array([M_SEEN]),
            seen=columns([one[3] for one in ages]), pace=np.full((1, len(ages)), STEP * units[0]),
        ),
        months=months, gain=gain, pace=np.ones((1, len(units))), harm_a_year=2e-4, tolerance=1e-5,
        horizon=12.0, hidden=hidden, finds=hazard.look.finds.value if hidden else 1.0,
        costly_a_year=costly_a_year(hazard), m_widths=np.array([M_WIDTHS]), **full,
    )  # fmt: skip


def costly_a_year(hazard):
    rate = hazard.becomes_costly_per_year
    return rate.value if rate and hazard.reveals == "by_looking" else 0.0


class Part:
    """Drawn lives of one hazard's part: ages are shares of the B10 life, on every clock alike."""

    def __init__(self, hazard, count, rng):
        self.shape = drawn(hazard.life.shape, rng.standard_normal(count))
        z = rng.standard_normal(count)
        clocks = hazard.life.clocks
        self.ratio = np.stack([c.b10.value / drawn(c.b10, z) for c in clocks]).max(axis=0)
        z = rng.standard_normal(count)
        self.m = np.exp(z * np.where(z > 0.0, *M_WIDTHS))

    def bare(self, age):
        return -np.log(0.9) * self.m * (np.maximum(age, 0.0) * self.ratio) ** self.shape

    def load(self, age, seen):
        before = M_PAST * self.bare(np.minimum(age, seen))
        return before + M_SEEN * (self.bare(np.maximum(age, seen)) - self.bare(seen))

    def age_at(self, load, seen):
        """The age at which the load is reached: ``load`` turned round."""
        first = M_PAST * self.bare(seen)
        bare = np.where(load <= first, load / M_PAST, self.bare(seen) + (load - first) / M_SEEN)
        return (bare / self.m / -np.log(0.9)) ** (1.0 / self.shape) / self.ratio


def simulated(hazard, ages, prior, rng):
    """(p, its error, chance today): the event comes, is overlooked, stays silent, or does not."""
    hidden, n = hazard.reveals == "by_looking", DRAWS
    part = Part(hazard, n, rng)
    which = rng.choice(len(prior) + 1, size=n, p=[*prior, 1.0 - WEIGHT])
    pace = rng.choice(PACES, size=n)
    threshold, caught = rng.exponential(size=n), rng.random(n)
    rate = costly_a_year(hazard)
    silent = rng.exponential(size=n) / rate if rate else np.full(n, np.inf)
    finds = hazard.look.finds.value if hidden else 1.0
    came, fits, there = (np.zeros(n, dtype=bool) for _ in range(3))
    fits |= which == len(prior)
    for place, (stretches, known, now, seen) in enumerate(ages):
        *earlier, (first, _) = stretches
        gone = sum((part.load(b, 9.0) - part.load(a, 9.0) for a, b in earlier), np.zeros(n))
        age = part.age_at(np.maximum(threshold - gone, 0.0) + part.load(first, seen), seen)
        # What came before a partial renewal and outlived it counts as there from then on.
        years = (now - np.maximum(age, first)) / STEP
        unseen = (age > known) | (hidden & (caught >= finds))
        mine = which == place
        fits |= mine & unseen & (silent > years)
        came |= mine & (age <= now + STEP * pace)
        there |= mine & (age <= now)
    share = came[fits].mean()
    today = there[fits].mean() if hidden else 0.0
    return share, np.sqrt(share * (1 - share) / fits.sum()), today


def range_points(hazard, ages, prior, rng, count=8_000):
    """5 and 95 % points of the chance over drawn lives, silence by the trapezoid rule."""
    part = Part(hazard, count, rng)
    rate = costly_a_year(hazard)
    finds = hazard.look.finds.value if hazard.reveals == "by_looking" else 1.0
    values, weights = [np.zeros(count)], [np.full(count, 1.0 - WEIGHT)]
    for weight, (stretches, known, now, seen) in zip(prior, ages, strict=True):
        *earlier, (first, _) = stretches
        gone = sum((part.load(b, 9.0) - part.load(a, 9.0) for a, b in earlier), np.zeros(count))

        def clear(age, gone=gone, first=first, seen=seen):
            return np.exp(-gone - part.load(age, seen) + part.load(first, seen))

        def silently(start, end, clear=clear):
            """Weight of arrivals from start to end that are still silent at the end."""
            at = start + (end - start) * FINE
            alive = np.stack([clear(one) for one in at])
            fade = np.exp(-rate * (end - 0.5 * (at[1:] + at[:-1])) / STEP)
            return (fade[:, None] * (alive[:-1] - alive[1:])).sum(axis=0)

        old = -np.expm1(-gone) * np.exp(-rate * (known - first) / STEP) + silently(first, known)
        missed = (1.0 - finds) * old * np.exp(-rate * (now - known) / STEP)
        record = missed + silently(known, now) + clear(now)
        for pace in PACES:
            values.append(1.0 - clear(now + STEP * pace) / record)
            weights.append(weight * record / len(PACES))
    value, weight = np.concatenate(values), np.concatenate(weights)
    order = np.argsort(value)
    return np.interp([0.05, 0.95], np.cumsum(weight[order]) / weight.sum(), value[order])


@pytest.mark.parametrize("renewal", ["unseen", "partly"])
@pytest.mark.parametrize("hazard_id", [h.id for h in BOOK.hazards.values() if is_worn(h)])
def test_the_whole_pricing_agrees_with_simulated_vehicles(hazard_id, renewal):
    hazard = BOOK.hazards[hazard_id]
    rng = np.random.default_rng(zlib.crc32(f"{hazard_id} {renewal}".encode()))
    units = np.array([clock.b10.value for clock in hazard.life.clocks])
    ages, prior, asked = question(hazard, units, renewal)
    found = answer(belief_of(hazard), asked)
    share, error, there = simulated(hazard, ages, prior, rng)
    assert abs(found.p[0] - share) <= 4 * error + 0.005 * share
    spread = 4 * np.sqrt(there / DRAWS) + 0.005 * there
    assert abs(found.now[0] - there) <= spread + 1e-12
    for ours, theirs in zip(found.p_range[0], range_points(hazard, ages, prior, rng), strict=True):
        assert ours == pytest.approx(theirs, rel=0.07, abs=0.015)


@pytest.mark.parametrize("hazard_id", [h.id for h in BOOK.hazards.values() if not is_worn(h)])
def test_day_one_faults_agree_with_simulated_jobs(hazard_id):
    hazard = BOOK.hazards[hazard_id]
    rng = np.random.default_rng(zlib.crc32(hazard_id.encode()))
    _, _, asked = question(hazard, np.ones(1), "partly")
    found = answer(belief_of(hazard), asked)
    a, b = belief_of(hazard).a, belief_of(hazard).b
    rate, years = costly_a_year(hazard), float(asked.histories.now[0, 0, 0]) / STEP
    chance = -np.expm1(M_PAST * np.log1p(-rng.beta(a, b, DRAWS)))
    faulty = (rng.random(DRAWS) < chance) & (rng.random(DRAWS) < WEIGHT)
    silent = ~faulty | (rng.exponential(size=DRAWS) > rate * years)
    share = faulty[silent].mean()
    assert found.p[0] == pytest.approx(share, abs=4 * np.sqrt(share / silent.sum()))
    assert found.now[0] == found.p[0]
    fade = np.exp(-rate * years)
    weight = np.concatenate((1.0 - chance * (1.0 - fade), np.full(DRAWS, 1.0 / WEIGHT - 1.0)))
    value = np.concatenate((chance * fade / (1.0 - chance * (1.0 - fade)), np.zeros(DRAWS)))
    order = np.argsort(value, kind="stable")
    place = np.cumsum(weight[order]) / weight.sum()
    points = np.interp([0.05, 0.95], place, value[order])
    assert found.p_range[0] == pytest.approx(points, rel=0.02, abs=0.001)
    assert rate > 0.0
