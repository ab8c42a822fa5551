"""Every shipped hazard's life against simulated lives: hidden or revealed, renewed, partly renewed.

The simulation (numpy only) draws shape and B10 from the figures in the hazard file, gives each life
one exponential threshold on its cumulative hazard, and counts.  Seeded by the hazard's name.
"""

from __future__ import annotations

import zlib

import numpy as np
import pytest

from riskcheck import rulebook
from riskcheck.risk.hazard_figures import belief_of
from riskcheck.risk.histories import survived
from riskcheck.risk.life import posterior
from riskcheck.rulebook.model import WeibullLife

BOOK = rulebook.load()
LIVES = [h.id for h in BOOK.hazards.values() if isinstance(h.life, WeibullLife)]
SHARES = [h.id for h in BOOK.hazards.values() if not isinstance(h.life, WeibullLife)]
DRAWS = 200_000
M, KEPT = 1.4, 0.6
# Ages in units of the B10 life: (survived stretches, age clear at, age now, age at the horizon).
HISTORIES = {
    "original": ([(0.0, 0.8)], 0.8, 0.8, 0.95),
    "looked at": ([(0.0, 0.4)], 0.4, 0.8, 0.95),
    "renewed": ([(0.0, 0.1)], 0.1, 0.1, 0.25),
    "partly renewed": ([(0.0, 0.5), (0.5 * KEPT, 0.6)], 0.6, 0.6, 0.75),
}


def drawn(figure, z):
    low, high = figure.range
    reach = np.where(z < 0, np.log(figure.value / low), np.log(high / figure.value))
    return figure.value * np.exp(reach * z / 1.6448536269514722)


@pytest.mark.parametrize("history", HISTORIES)
@pytest.mark.parametrize("hazard_id", LIVES)
def test_simulated_lives_agree(hazard_id, history):
    hazard = BOOK.hazards[hazard_id]
    stretches, clear, now, end = HISTORIES[history]
    unit = np.array([clock.b10.value for clock in hazard.life.clocks])
    rng = np.random.default_rng(zlib.crc32(f"{hazard_id} {history}".encode()))
    shape = drawn(hazard.life.shape, rng.standard_normal(DRAWS))
    z = rng.standard_normal(DRAWS)
    b10 = np.stack([drawn(clock.b10, z) for clock in hazard.life.clocks])

    def load(age):
        return M * -np.log(0.9) * ((age * unit[:, None] / b10).max(axis=0)) ** shape

    threshold = rng.exponential(size=DRAWS)
    lived = sum(load(b) - load(a) for a, b in stretches)
    alive = threshold > lived
    share = (threshold[alive] <= (lived + load(end) - load(clear))[alive]).mean()
    error = np.sqrt(share * (1 - share) / alive.sum())
    past = survived([(a * unit, b * unit) for a, b in stretches], clear * unit, now * unit, M)
    p = posterior(belief_of(hazard), past).chance((end * unit).reshape(1, 1, 1, -1))[0, 0]
    assert abs(p - share) <= 4 * error + 0.003 * p


@pytest.mark.parametrize("hazard_id", SHARES)
def test_day_one_shares_keep_their_stated_mean(hazard_id):
    hazard = BOOK.hazards[hazard_id]
    belief = belief_of(hazard)
    one = np.ones(1)
    assert belief.chance(one, one)[0] == pytest.approx(hazard.life.share.value, rel=1e-9)
    low, high = belief.after_silence(one, one, one)[1][0]
    assert low < hazard.life.share.value < high
