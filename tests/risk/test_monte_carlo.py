"""All shipped hazards through the whole pricing, against simulated vehicles.

One hard exposure for each: the design is uncertain, the part may have been renewed unseen at one
of five ages, or was partly renewed on file, a finding was seen some time ago, looks miss some, use
ahead has five paces.  The simulation (numpy only) draws a shape and a B10 from the figures of the
hazard file, lives the history through and counts those that the record does not contradict.
Seeded by the hazard's name.
"""

from __future__ import annotations

import zlib

import numpy as np
import pytest

from riskcheck import rulebook
from riskcheck.risk.figures_of import Question, answer, month_points
from riskcheck.risk.hazard_figures import belief_of
from riskcheck.risk.life import Histories
from riskcheck.rulebook.model import ShareLife

BOOK = rulebook.load()
DRAWS = 100_000
WEIGHT, UNSEEN, KEPT, M_PAST, M_SEEN = 0.7, 0.6, 0.6, 1.3, 2.6
PACES = np.array([0.7, 0.9, 1.0, 1.1, 1.3])
NOW, SEEN, LOOKED, STEP = 0.9, 0.7, 0.5, 0.15  # in B10 lives; STEP is a year's use
RENEWED = np.array([0.1, 0.15, 0.2, 0.25, 0.3])
PARTLY = 0.4  # the age at which a partial renewal is on file


def test_all_thirty_one_hazards_are_here():
    assert len(BOOK.hazards) == 31
    kinds = {hazard.reveals for hazard in BOOK.hazards.values()}
    assert kinds == {"by_itself", "by_looking"}


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
            seen=columns([one[3] for one in ages]),
        ),
        months=months, gain=gain, pace=np.ones((1, len(units))), harm_a_year=2e-4, tolerance=1e-5,
        horizon=12.0, hidden=hidden, finds=hazard.look.finds.value if hidden else 1.0, **full,
    )  # fmt: skip


def simulated(hazard, ages, prior, rng):
    """(p, its error, chance today, weighted 5 and 95 % points) by living it through."""
    hidden, n = hazard.reveals == "by_looking", DRAWS
    shape = drawn(hazard.life.shape, rng.standard_normal(n))
    z = rng.standard_normal(n)
    ratio = np.stack([clock.b10.value / drawn(clock.b10, z) for clock in hazard.life.clocks])
    ratio = ratio.max(axis=0)  # ages are the same share of every clock's B10
    which = rng.choice(len(prior) + 1, size=n, p=[*prior, 1.0 - WEIGHT])
    pace = rng.choice(PACES, size=n)

    def load(age, seen):
        def bare(value):
            return -np.log(0.9) * (np.maximum(value, 0.0) * ratio) ** shape

        return M_PAST * bare(np.minimum(age, seen)) + M_SEEN * (
            bare(np.maximum(age, seen)) - bare(seen)
        )

    threshold, caught = rng.exponential(size=n), rng.random(n)
    finds = hazard.look.finds.value if hidden else 1.0
    lived, today, end = (np.zeros(n) for _ in range(3))
    for place, (stretches, _, now, seen) in enumerate(ages):
        mine = which == place
        *earlier, last = stretches
        gone = sum((load(b, 9.0) - load(a, 9.0) for a, b in earlier), np.zeros(n))
        start = load(last[0], seen)
        lived = np.where(mine, gone + load(last[1], seen) - start, lived)
        today = np.where(mine, gone + load(now, seen) - start, today)
        end = np.where(mine, gone + load(now + STEP * pace, seen) - start, end)
    exposed = which < len(prior)
    event_by_look = exposed & (threshold <= lived)
    fits = ~event_by_look | (hidden & (caught >= finds))
    share = (exposed & (threshold <= end))[fits].mean()
    there = (exposed & (threshold <= today))[fits].mean() if hidden else 0.0
    weight = np.where(exposed, 1.0 - finds * -np.expm1(-lived), 1.0)
    clear = np.exp(-lived) / np.maximum(1.0 - finds * -np.expm1(-lived), 1e-300)
    value = np.where(exposed, 1.0 - clear * np.exp(-(end - lived)), 0.0)
    order = np.argsort(value)
    place = np.cumsum(weight[order]) / weight.sum()
    points = np.interp([0.05, 0.95], place, value[order])
    return share, np.sqrt(share * (1 - share) / fits.sum()), there, points


@pytest.mark.parametrize("renewal", ["unseen", "partly"])
@pytest.mark.parametrize("hazard_id", list(BOOK.hazards))
def test_the_whole_pricing_agrees_with_simulated_vehicles(hazard_id, renewal):
    hazard = BOOK.hazards[hazard_id]
    rng = np.random.default_rng(zlib.crc32(f"{hazard_id} {renewal}".encode()))
    if isinstance(hazard.life, ShareLife):
        units = np.ones(1)
    else:
        units = np.array([clock.b10.value for clock in hazard.life.clocks])
    ages, prior, asked = question(hazard, units, renewal)
    found = answer(belief_of(hazard), asked)
    if isinstance(hazard.life, ShareLife):
        a, b = belief_of(hazard).a, belief_of(hazard).b
        faulty = rng.random(DRAWS) < -np.expm1(M_PAST * np.log1p(-rng.beta(a, b, DRAWS)))
        share = (faulty & (rng.random(DRAWS) < WEIGHT)).mean()
        assert found.p[0] == pytest.approx(share, abs=4 * np.sqrt(share / DRAWS))
        return
    share, error, there, points = simulated(hazard, ages, prior, rng)
    assert abs(found.p[0] - share) <= 4 * error + 0.005 * share
    spread = 4 * np.sqrt(there / DRAWS) + 0.005 * there
    assert abs(found.now[0] - there) <= spread + 1e-12
    for ours, theirs in zip(found.p_range[0], points, strict=True):
        assert ours == pytest.approx(theirs, rel=0.07, abs=0.015)
