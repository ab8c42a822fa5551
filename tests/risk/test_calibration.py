"""Calibration by simulation: fleets with known lives and looking habits, priced as strangers.

Each vehicle's life is drawn from the stated belief, so its true conditional chance is known.  Over
the belief the 90 % range must hold that truth about 90 times in 100, and predicted counts must
match what then happens.  Nothing here is fitted.
"""

from __future__ import annotations

import functools
import importlib.util
from pathlib import Path

import numpy as np
import pytest

from riskcheck.figures import Figure
from riskcheck.risk.beliefs import life_belief
from riskcheck.risk.histories import Histories
from riskcheck.risk.life import posterior

_spec = importlib.util.spec_from_file_location("lives", Path(__file__).parent / "lives.py")
assert _spec is not None
assert _spec.loader is not None
lives = importlib.util.module_from_spec(_spec)
_spec.loader.exec_module(lives)

FLEET = 20_000
# name: life, oldest age, horizon, years between looks (None: reveals itself), multiplier, share of
# faults that a look finds, rate a year at which a hidden fault turns costly
FLEETS = {
    "belt, reveals itself": (lives.BELT, 140.0, 15.0, None, 1.0, 1.0, None),
    "stud, harsh duty": (lives.STUD, 250.0, 15.0, None, 3.0, 1.0, None),
    "hose, looked at now and then": (lives.HOSE, 14.0, 1.0, 5.0, 1.7, 1.0, None),
    "hose, never looked at": (lives.HOSE, 14.0, 1.0, np.inf, 1.0, 1.0, None),
    "wheel nuts": (lives.WHEEL, 60.0, 50.0, None, 3.0, 1.0, None),
    "hose, silent so far": (lives.HOSE, 18.0, 1.0, np.inf, 1.0, 1.0, 0.4),
    "hose, looked at in passing and silent": (lives.HOSE, 18.0, 1.0, 5.0, 1.7, 0.6, 0.4),
}
FINE = np.linspace(0.0, 1.0, 161)


def grid(life):
    figures = [Figure(v, "1", "invented", low, high) for v, low, high in life]
    return life_belief(figures[0], [figures[1]])


def silently(clear, start, end, rate):
    """Chance of a fault that comes from start to end and is silent at the end (trapezoid rule)."""
    at = start + (end - start) * FINE[:, None]
    alive = np.stack([clear(age) for age in at])
    fade = np.exp(-rate * (end - 0.5 * (at[1:] + at[:-1])))
    return (fade * (alive[:-1] - alive[1:])).sum(axis=0)


def simulated_fleet(name):
    """Who is left: age, age at the last good look, true chance by the horizon, what happened."""
    life, oldest, ahead, looks, m, finds, costly = FLEETS[name]
    rng = np.random.default_rng([77, list(FLEETS).index(name)])
    shape, b10 = lives.draw(life, FLEET, rng)
    now = rng.uniform(0.05 * oldest, oldest, FLEET)
    if looks is None:
        looked = now
    elif np.isinf(looks):
        looked = np.zeros(FLEET)
    else:
        looked = np.maximum(now - rng.exponential(looks, FLEET), 0.0)
    came = b10 * (rng.exponential(size=FLEET) / m / lives.C) ** (1.0 / shape)

    def clear(age):
        return np.exp(-m * lives.load(shape, b10, age))

    caught = rng.random(FLEET) < finds
    fits = (came > looked) | ~caught
    record = 1.0 - finds * (1.0 - clear(looked))
    if costly is not None:
        fits &= rng.exponential(size=FLEET) > costly * (now - came)
        old = silently(clear, 0.0, looked, costly) * np.exp(-costly * (now - looked))
        record = (1.0 - finds) * old + silently(clear, looked, now, costly) + clear(now)
    truth = 1.0 - clear(now + ahead) / record
    return now[fits], looked[fits], truth[fits], (came <= now + ahead)[fits]


@functools.cache
def predicted(name):
    life, _, ahead, _, m, finds, costly = FLEETS[name]
    now, clear, truth, happened = simulated_fleet(name)
    belief, parts = grid(life), []
    for start in range(0, len(now), 200):
        age, ok = now[start : start + 200, None, None], clear[start : start + 200, None, None]
        n = len(age)
        past = Histories(
            prior=np.ones((n, 1)), absent=np.zeros(n), lived_from=np.zeros((n, 1, 1, 1)),
            lived_to=ok[:, :, None], ok_at=ok, now=age, m_past=np.full(n, m),
            m_ahead=np.full(n, m), pace=np.ones((n, 1)),
        )  # fmt: skip
        parts.append(
            posterior(belief, past, finds, costly).chance_with_range(age[:, :, None] + ahead)
        )
    p = np.concatenate([part[0] for part in parts])
    return p, np.concatenate([part[1] for part in parts]), truth, happened


@pytest.mark.parametrize("name", FLEETS)
def test_ranges_hold_the_truth_and_counts_match(name):
    p, spread, truth, happened = predicted(name)
    held = ((spread[:, 0] <= truth) & (truth <= spread[:, 1])).mean()
    brier, base = ((p - happened) ** 2).mean(), happened.mean()
    assert held == pytest.approx(0.90, abs=0.010)
    error = np.sqrt((truth * (1 - truth)).sum())
    assert abs(p.sum() - happened.sum()) < 4 * error
    # Brier's score is best for whoever knows: never worse than the base rate alone.
    assert brier <= base * (1 - base) + 1e-4


@pytest.mark.parametrize("name", FLEETS)
def test_every_tenth_of_the_fleet_sees_what_was_predicted(name):
    """The calibration table: ten groups by predicted chance, each within four standard errors."""
    p, _, _, happened = predicted(name)
    for group in np.array_split(np.argsort(p, kind="stable"), 10):
        error = np.sqrt((p[group] * (1 - p[group])).sum())
        assert abs(p[group].sum() - happened[group].sum()) < 4 * max(error, 1.0)
