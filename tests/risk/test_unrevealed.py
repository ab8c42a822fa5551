"""A hidden fault that has not turned costly: against closed forms, quadrature and identities.

With a constant arrival rate λ and a constant reveal rate κ the states absent, there, costly form
the two-stage chain whose occupation λ·(exp(−κD) − exp(−λD))/(λ − κ) is in any text on Markov
reliability models (Bateman's equations, 1910; from memory).
"""

from __future__ import annotations

import itertools
from dataclasses import replace

import numpy as np
import pytest
from scipy import integrate

from riskcheck.figures import Figure
from riskcheck.risk.beliefs import life_belief, share_belief
from riskcheck.risk.histories import survived
from riskcheck.risk.life import posterior
from riskcheck.risk.unrevealed import LOOKBACK, years_present, years_there
from tests.risk import lives

C = -np.log(0.9)
KAPPAS = [0.02, 0.1, 0.4, 1.0]


def exact(shape, b10):
    return life_belief(Figure(shape, "1", "invented"), [Figure(b10, "y", "invented")])


def hose():
    shape, b10 = (Figure(v, "1", "invented", lo, hi) for v, lo, hi in lives.HOSE)
    return life_belief(shape, [b10])


def aged(now, ok=0.0, m=1.0, start=0.0):
    return replace(survived([((start,), (ok,))], (ok,), (now,), m), pace=np.ones((1, 1)))


def there(state):
    return float(state.chance_now()[0])


@pytest.mark.parametrize("kappa", KAPPAS)
@pytest.mark.parametrize("rate", [0.01, 0.05, 0.3])
@pytest.mark.parametrize("years", [0.5, 5.0, 12.0])
def test_constant_rates_agree_with_the_two_stage_chain(kappa, rate, years):
    state = posterior(exact(1.0, C / rate), aged(years), 1.0, kappa)
    absent = np.exp(-rate * years)
    present = rate * (np.exp(-kappa * years) - absent) / (rate - kappa)
    assert there(state) == pytest.approx(present / (present + absent), rel=5e-4)
    at = LOOKBACK * years
    absent, now = np.exp(-rate * at), rate * (np.exp(-kappa * at) - np.exp(-rate * at))
    chain = now / (rate - kappa) / (now / (rate - kappa) + absent)
    assert state.before[0] == pytest.approx(chain, rel=1e-8, abs=1e-12)


@pytest.mark.parametrize("kappa", KAPPAS)
@pytest.mark.parametrize("shape", [0.4, 1.0, 2.0, 3.5, 6.0])
@pytest.mark.parametrize(("looked", "now"), [(0.0, 4.0), (0.0, 15.0), (9.0, 15.0), (14.9, 15.0)])
def test_a_weibull_arrival_agrees_with_quadrature(kappa, shape, looked, now):
    """scipy.integrate.quad of the density times the chance of staying silent; f = 0.8."""

    def clear(age):
        return np.exp(-C * (age / 10.0) ** shape)

    def silent_from(start, end):
        """Arrivals from start to end that are silent at the end (by parts: no pole at age 0)."""
        part = integrate.quad(
            lambda t: kappa * np.exp(-kappa * (end - t)) * clear(t), start, end, limit=200
        )
        return part[0] + np.exp(-kappa * (end - start)) * clear(start) - clear(end)

    missed = 0.2 * silent_from(0.0, looked) * np.exp(-kappa * (now - looked))
    present = missed + silent_from(looked, now)
    state = posterior(exact(shape, 10.0), aged(now, looked), 0.8, kappa)
    # The steep start of an infant mode costs the points some accuracy.
    error = 1e-3 if shape >= 1.0 else 6e-3
    assert there(state) == pytest.approx(present / (present + clear(now)), rel=error)
    later = state.chance(np.array([[[[now + 1.0]]]]))[0, 0]
    assert later == pytest.approx(1.0 - clear(now + 1.0) / (present + clear(now)), rel=error)


def test_no_rate_says_nothing():
    for finds in (1.0, 0.7):
        plain, silent = (posterior(hose(), aged(12.0, 9.0, 1.7), finds, k) for k in (None, 0.0))
        assert silent.weight == pytest.approx(plain.weight, rel=1e-9)
        assert there(silent) == pytest.approx(there(plain), rel=1e-9)
        assert silent.before[0, -1] == pytest.approx(there(plain), rel=1e-9)


def test_the_row_of_the_hose_stands_at_no_rate():
    """0.293965 by the horizon and 0.212410 today: computed apart from this project's code."""
    state = posterior(hose(), aged(12.0, 9.0, 1.7), 1.0, 0.0)
    assert there(state) == pytest.approx(0.212410, abs=1e-6)
    assert state.chance(np.array([[[[13.0]]]]))[0, 0] == pytest.approx(0.293965, abs=1e-6)


def test_the_sooner_it_would_show_the_less_likely_it_is_there():
    found = [there(posterior(hose(), aged(15.0, 0.0, 1.7), 0.9, k)) for k in (0.0, *KAPPAS, 5.0)]
    assert all(a > b for a, b in itertools.pairwise(found))
    assert found[-1] > 0.0


@pytest.mark.parametrize("kappa", [0.0, *KAPPAS])
@pytest.mark.parametrize("finds", [1.0, 0.9, 0.5, 0.1])
def test_a_good_look_never_raises_the_chance(kappa, finds):
    never = posterior(hose(), aged(15.0), finds, kappa)
    horizon = np.array([[[[16.0]]]])
    for looked in (1.0, 5.0, 10.0, 14.0, 15.0):
        state = posterior(hose(), aged(15.0, looked), finds, kappa)
        # The points of the two integrals differ: equal to within their error.
        assert there(state) <= there(never) * (1.0 + 2e-3)
        assert state.chance(horizon)[0, 0] <= never.chance(horizon)[0, 0] * (1.0 + 2e-3)


@pytest.mark.parametrize("kappa", KAPPAS)
def test_silence_is_not_held_against_the_part_being_there(kappa):
    """A burst before our record would have been repaired elsewhere: the design stays as likely."""
    past = replace(aged(20.0), prior=np.array([[0.3]]), absent=np.array([0.7]))
    state = posterior(hose(), past, 1.0, kappa)
    alone = posterior(hose(), aged(20.0), 1.0, kappa)
    assert state.exposed[0] == pytest.approx(0.3, abs=1e-12)
    assert there(state) == pytest.approx(0.3 * there(alone), rel=1e-9)
    assert state.before[0] == pytest.approx(0.3 * alone.before[0], rel=1e-9)
    assert state.survival[0] == pytest.approx(1.0, abs=1e-12)
    # A good look that did not find it is another matter: it counts as before.
    looked = replace(aged(20.0, 15.0), prior=np.array([[0.3]]), absent=np.array([0.7]))
    weights = [posterior(hose(), looked, 1.0, k).exposed[0] for k in (None, kappa)]
    assert weights[0] == pytest.approx(weights[1], rel=1e-12)
    assert weights[0] < 0.3


@pytest.mark.parametrize("kappa", [0.0, 1e-9, *KAPPAS, 3.0])
def test_years_there_agree_with_quadrature_and_never_exceed_what_came(kappa):
    """The path is an exponential arrival; fine steps, so that "linear in between" does not show."""
    years = np.linspace(0.0, 10.0, 4001)
    path = (0.2 + 0.8 * (1.0 - np.exp(-0.07 * years)))[None]
    now, found = (each[0] for each in years_present(path, years, kappa))

    def present(t):
        fresh = integrate.quad(lambda x: 0.056 * np.exp(-0.07 * x - kappa * (t - x)), 0.0, t)[0]
        return 0.2 * np.exp(-kappa * t) + fresh

    for place in (0, 400, 2000, 4000):
        exact_years = integrate.quad(present, 0.0, years[place])[0]
        assert found[place] == pytest.approx(exact_years, rel=1e-5, abs=1e-12)
        assert now[place] == pytest.approx(present(years[place]), rel=1e-5)
    assert np.all(kappa * found <= path[0] + 1e-12)
    assert np.all(np.diff(found) > 0.0)


def test_what_was_found_stays_until_it_turns_costly():
    assert years_there(np.array(1.0), 0.0) == 1.0
    assert years_there(np.array(2.0), 0.5) == pytest.approx(-np.expm1(-1.0) / 0.5, rel=1e-12)
    ones = np.ones((1, 3))
    times = np.array([0.0, 1.0, 2.0])
    gathered = years_present(ones, times, 0.5)[1][0]
    assert gathered == pytest.approx(years_there(times, 0.5), rel=1e-12)


@pytest.mark.parametrize("m", [0.5, 1.0, 2.5])
@pytest.mark.parametrize("fade", [1.0, 0.6, 0.05])
def test_a_silent_share_agrees_with_quadrature_over_the_beta(m, fade):
    share = share_belief(Figure(0.10, "1", "invented", 0.03, 0.25))
    s = (np.arange(200_000) + 0.5) / 200_000
    density = s ** (share.a - 1.0) * (1.0 - s) ** (share.b - 1.0)
    fault = 1.0 - (1.0 - s) ** m
    silent = density * (1.0 - fault + fault * fade)
    value = fault * fade / (1.0 - fault + fault * fade)
    one = np.ones(1)
    for exposed in (1.0, 0.8):
        p, spread, given = share.after_silence(m * one, exposed * one, fade * one)
        weight = exposed * silent / silent.sum()
        absent = 1.0 - exposed
        total = weight.sum() + absent
        assert p[0] == pytest.approx((weight * value).sum() / total, rel=1e-6)
        within = (absent + np.cumsum(weight)) / total
        assert spread[0] == pytest.approx(
            np.interp([0.05, 0.95], within, value), rel=1e-3, abs=1e-5
        )
        alone = np.cumsum(silent) / silent.sum()
        assert given[0] == pytest.approx(np.interp([0.05, 0.95], alone, value), rel=1e-3)


def test_the_pace_of_the_past_is_asked_for():
    with pytest.raises(ValueError, match="pace of the past"):
        posterior(hose(), replace(aged(12.0), pace=None), 1.0, 0.3)
