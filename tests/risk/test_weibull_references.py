"""Chances at exact lives, against published shapes and scales, scipy and surpyval.

Conditional chance 1 − exp(−[((T+t)/η)^β − (T/η)^β]): NIST/SEMATECH e-Handbook 8.1.6.2; the fit
1.7208 / 606.5280 is that of its section 8.4.1.3 (20 units, 10 failed by 500 h).
"""

from __future__ import annotations

import numpy as np
import pytest
import surpyval
from scipy import stats

from riskcheck.figures import Figure
from riskcheck.risk.beliefs import B10_LOAD, life_belief
from riskcheck.risk.histories import survived
from riskcheck.risk.life import posterior

NIST_FAILED = [54, 187, 216, 240, 244, 335, 361, 373, 375, 386]


def exact(shape, scale):
    def sure(value):
        return Figure(value, "1", "published", citation="see module")

    return life_belief(sure(shape), [sure(scale * B10_LOAD ** (1 / shape))])


def chance(shape, scale, now, ahead, m=1.0):
    state = posterior(exact(shape, scale), survived([((0,), (now,))], (now,), (now,), m))
    return float(state.chance(np.array([[[[now + ahead]]]], dtype=float))[0, 0])


@pytest.mark.parametrize(
    ("now", "ahead", "shape", "scale", "stated"),
    [(0, 1000, 2, 5000, 0.039211), (4000, 1000, 2, 5000, 0.302324),
     (4000, 1000, 1, 5000, 0.181269), (4000, 1000, 0.5, 5000, 0.100191),
     (60000, 15000, 2.5, 150000, 0.072798), (120000, 15000, 2.5, 150000, 0.177988),
     (300, 100, 1.7208, 606.528, 0.173662)],
)  # fmt: skip
def test_conditional_chance(now, ahead, shape, scale, stated):
    ours = chance(shape, scale, now, ahead)
    assert ours == pytest.approx(stated, abs=6e-7)
    life = stats.weibull_min(shape, scale=scale)
    assert ours == pytest.approx(1 - life.sf(now + ahead) / life.sf(now), rel=1e-9)


@pytest.mark.parametrize(
    ("shape", "scale", "b10"), [(2.5, 6000, 2439.06), (1.7208, 606.528, 164.022)]
)
def test_one_in_ten_has_failed_at_the_b10_life(shape, scale, b10):
    """B10 = η·(−ln 0.9)^(1/β): 2,439 for 6000 and 2.5 (published example); NIST fit 164.022."""
    assert chance(shape, scale, 0, b10) == pytest.approx(0.10, abs=2e-6)
    assert exact(shape, scale).b10[0, 0] == pytest.approx(b10, rel=1e-5)


@pytest.mark.parametrize(
    ("shape", "scale", "share", "age"),
    [
        (1.7208, 606.528, 0.01, 41.866),  # NIST/SEMATECH 8.4.1.3: B1 and median of its fit
        (1.7208, 606.528, 0.50, 490.174),
        (1.058446, 26296.845, 0.10, 3137.24),  # Nelson 1982, diesel-generator fans
        (2.035319, 11792.178, 0.10, 3903.0),  # AFWAL-TR-83-2079, bearing cages
        (3.160470, 27718.718, 0.10, 13600.03),  # O'Connor 1985, shock absorbers
        (2.101847, 81.8746, 0.10, 28.07),  # Lieblein & Zelen 1956, ball bearings
    ],
)
def test_ages_by_which_a_published_share_has_failed(shape, scale, share, age):
    """The fits agree between scipy, surpyval and lifelines; the ages follow from them."""
    assert chance(shape, scale, 0, age) == pytest.approx(share, rel=4e-4)


def test_the_nist_fit_as_surpyval_finds_it_gives_the_same_chances():
    x, c = [*NIST_FAILED, *[500] * 10], [0] * 10 + [1] * 10
    fit = surpyval.Weibull.fit(x=np.array(x, dtype=float), c=np.array(c))
    scale, shape = fit.params
    assert (shape, scale) == pytest.approx((1.7208, 606.5280), rel=1e-4)
    ages = np.array([50.0, 200.0, 480.0])
    ours = [chance(shape, scale, 0, age) for age in ages]
    assert ours == pytest.approx(fit.ff(ages), rel=1e-9)


def test_the_b10_load_is_minus_the_logarithm_of_nine_tenths():
    """c = 0.105360516 (−ln 0.9), so that F(B10) = 0.1 whatever the shape."""
    assert pytest.approx(0.105360516, abs=6e-10) == B10_LOAD


def test_one_in_63_has_failed_at_the_scale_whatever_the_shape():
    """F(η) = 1 − 1/e."""
    for shape in (0.5, 1.0, 3.4):
        assert chance(shape, 800.0, 0, 800.0) == pytest.approx(0.632121, abs=6e-7)


def test_a_multiplier_acts_on_the_rate():
    """P' = 1 − (1 − P)^m, proportional hazards."""
    base = chance(2.0, 5000, 4000, 1000)
    assert chance(2.0, 5000, 4000, 1000, 3.0) == pytest.approx(1 - (1 - base) ** 3, rel=1e-12)


def test_the_mixture_hazard_is_the_slope_of_scipys_survival():
    shape, scale = 2.2, 900.0
    state = posterior(exact(shape, scale), survived([], (0,), (0,)))
    ages = np.array([10.0, 400.0, 2000.0])
    rate = state.rate(ages.reshape(1, 1, -1, 1), np.ones((1, 1)))[0]
    life = stats.weibull_min(shape, scale=scale)
    assert rate == pytest.approx(life.pdf(ages) / life.sf(ages), rel=1e-9)
