"""Beliefs with a closed-form posterior, and published worked examples on them.

With the shape known and λ = η^(−β) gamma distributed (a, rate b), surviving ages t_i multiplies b:
survival is (b/(b + Σtᵝ))^a, and a unit of age T fails by T + t with chance
1 − ((b + Tᵝ)/(b + (T+t)ᵝ))^a (standard conjugacy, from memory; for shape 1 NIST/SEMATECH e-Handbook
8.4.6 and 8.3.1.5).  The grid is replaced here by Gauss-Laguerre nodes of that gamma, so that the
same code must give the closed form to many digits.
"""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import special, stats

from riskcheck.figures import Figure
from riskcheck.risk.beliefs import B10_LOAD, LifeBelief, ShareBelief, life_belief
from riskcheck.risk.histories import survived
from riskcheck.risk.life import posterior
from riskcheck.risk.percentiles import percentiles


def of_rates(rates, weight, shape):
    """A belief of one shape and these λ with these weights; B10 = (c/λ)^(1/β)."""
    b10 = (B10_LOAD / rates) ** (1.0 / shape)
    zeros = np.zeros(len(b10))
    return LifeBelief(shape=np.array([shape]), b10=b10[None], weight=weight[:, None], z=zeros)


def gamma_belief(a, b, shape, nodes=48):
    at, weight = special.roots_genlaguerre(nodes, a - 1.0)
    return of_rates(at / b, weight / weight.sum(), shape)


def midpoints(a, b, shape, nodes=20_001):
    """Equal weights at the middles of equally likely slices: made for percentiles."""
    rates = stats.gamma.ppf((np.arange(nodes) + 0.5) / nodes, a, scale=1.0 / b)
    return of_rates(rates, np.full(nodes, 1.0 / nodes), shape)


def by(state, age):
    return float(state.chance(np.array([[[[float(age)]]]]))[0, 0])


def test_the_weibull_example():
    """Prior a 2, b 2·500², NIST's 20 units: a 12, b 3,872,973 (worked out apart from this code).

    R(300) 0.759067; 300 to 400: 0.189506 for a unit that has lived 300 h outside those data,
    0.193419 with no credit for having lived them.
    """
    failed = [54, 187, 216, 240, 244, 335, 361, 373, 375, 386]
    b = 2 * 500.0**2 + sum(t**2 for t in failed) + 10 * 500.0**2
    assert b == 3_872_973.0
    belief = gamma_belief(12.0, b, 2.0)
    lived = posterior(belief, survived([((0.0,), (300.0,))], (300.0,), (300.0,)))
    assert lived.survival[0] == pytest.approx(0.759067, abs=6e-7)
    assert by(lived, 400.0) == pytest.approx(0.189506, abs=6e-7)
    uncredited = posterior(belief, survived([], (300.0,), (300.0,)))
    assert by(uncredited, 400.0) == pytest.approx(0.193419, abs=6e-7)


def test_the_weibull_example_by_percentiles():
    """The same posterior's scale: median 576.126, 90 % between 461.208 and 747.889."""
    belief = midpoints(12.0, 3_872_973.0, 2.0)
    state = posterior(belief, survived([], (0.0,), (0.0,)))
    values = 1.0 - state.clear(np.array([[[[400.0]]]]))[:, 0, 0]
    low, middle, high = percentiles(
        values, state.weight[:, 0], np.zeros(1), (0.05, 0.5, 0.95)
    )[0]  # fmt: skip
    scales = [400.0 / np.sqrt(-np.log1p(-p)) for p in (high, middle, low)]
    assert scales == pytest.approx([461.208, 576.126, 747.889], rel=2e-5)


def test_the_exponential_example_of_nist():
    """e-Handbook 8.4.6 (from memory, reproduced): prior a 2, b 1,400; 2 failures in 1,909 h.

    Gamma(4, 3,309): median MTBF 901.1, 80 % lower bound 600.0, 90 % interval 426.8 to 2,421.8;
    the mean rate's reciprocal is 827.25 h.
    """
    state = posterior(midpoints(4.0, 3309.0, 1.0), survived([], (0.0,), (0.0,)))
    day = np.array([[[[500.0]]]])
    _, (low, high) = (out[0] for out in state.chance_with_range(day))
    assert -500.0 / np.log1p(-high) == pytest.approx(426.8, abs=0.06)
    assert -500.0 / np.log1p(-low) == pytest.approx(2421.8, abs=0.3)
    values = 1.0 - state.clear(day)[:, 0, 0]
    half, four_fifths = percentiles(values, state.weight[:, 0], np.zeros(1), (0.5, 0.8))[0]
    assert -500.0 / np.log1p(-half) == pytest.approx(901.1, abs=0.06)
    assert -500.0 / np.log1p(-four_fifths) == pytest.approx(600.0, abs=0.06)
    rate = state.rate(np.array([[[[1e-6]]]]), np.ones((1, 1)))[0, 0]
    assert 1.0 / rate == pytest.approx(827.25, abs=0.01)


@settings(max_examples=60, deadline=None)
@given(
    st.floats(1.0, 12.0), st.floats(0.5, 4.0), st.lists(st.floats(0.05, 2.0), max_size=5),
    st.floats(0.0, 1.5), st.floats(0.05, 1.0), st.floats(0.3, 4.0),
)  # fmt: skip
def test_survived_stretches_are_the_conjugate_update(a, shape, others, age, ahead, m):
    """λ counts m times; other parts' lives and one's own all go into b."""
    spans = [*others, age]
    growth = m * ((age + ahead) ** shape - age**shape)
    gone = m * sum(t**shape for t in spans)
    prior = gone + growth  # loads no larger than b keep the nodes exact
    past = survived([((0.0,), (t,)) for t in spans], (age,), (age,), m)
    state = posterior(gamma_belief(a, prior, shape), past)
    b = prior + gone
    assert state.survival[0] == pytest.approx((prior / b) ** a, rel=1e-6)
    assert by(state, age + ahead) == pytest.approx(1.0 - (b / (b + growth)) ** a, rel=1e-6)


@settings(max_examples=60, deadline=None)
@given(st.floats(1.0, 12.0), st.floats(0.5, 4.0), st.floats(0.05, 2.0), st.floats(0.3, 4.0))
def test_the_mixture_hazard_is_that_of_the_closed_form(a, shape, age, m):
    """h̄(t) = a·m·β·t^(β−1)/(b + m·tᵝ): a Weibull mixed over a gamma is a Burr XII (Lomax for β 1).

    The decreasing tail of that hazard is why no claim on signs is made beyond the act-by age.
    """
    b = 0.5 * m * age**shape
    state = posterior(gamma_belief(a, b, shape), survived([], (0.0,), (0.0,), m))
    ours = state.rate(np.array([[[[age]]]]), np.ones((1, 1)))[0, 0]
    closed = a * m * shape * age ** (shape - 1.0) / (b + m * age**shape)
    assert ours == pytest.approx(closed, rel=1e-6)
    burr = stats.burr12(shape, a, scale=(b / m) ** (1.0 / shape))
    assert ours == pytest.approx(burr.pdf(age) / burr.sf(age), rel=1e-6)


@settings(max_examples=60, deadline=None)
@given(st.floats(1.2, 9.0), st.floats(2.0, 40.0), st.integers(1, 8))
def test_a_share_over_several_jobs_is_beta_binomial(a, b, jobs):
    """1 − E[(1−s)^m] is the chance of at least one fault in m jobs (scipy.stats.betabinom)."""
    one = np.ones(1)
    share = ShareBelief(a, b)
    expected = 1.0 - stats.betabinom(jobs, a, b).pmf(0)
    assert share.chance(jobs * one, one)[0] == pytest.approx(expected, rel=1e-9)
    p, spread, _ = share.after_silence(jobs * one, one, one)
    assert p[0] == pytest.approx(expected, rel=1e-9)
    ends = stats.beta.ppf([0.05, 0.95], a, b)
    assert spread[0] == pytest.approx(1.0 - (1.0 - ends) ** jobs, rel=1e-7, abs=1e-12)


@settings(max_examples=40, deadline=None)
@given(st.floats(1.2, 9.0), st.floats(2.0, 40.0), st.floats(0.02, 0.98), st.floats(0.1, 1.0))
def test_silence_of_a_day_one_fault_is_bayes_rule(a, b, fade, exposed):
    """P(there | silent) = s·fade/(1 − s·(1 − fade)), s of mean a/(a+b), of the exposed."""
    one = np.ones(1)
    p, spread, given_exposed = ShareBelief(a, b).after_silence(one, exposed * one, fade * one)
    s = a / (a + b)
    assert p[0] == pytest.approx(exposed * s * fade / (1.0 - s * (1.0 - fade)), rel=1e-9)
    assert spread[0, 0] <= p[0] <= spread[0, 1] * (1.0 + 1e-9)
    # The exposed worlds' own points: a share counts 1 − s·(1 − fade) times (numerically here).
    s_at = (np.arange(50_000) + 0.5) / 50_000
    density = stats.beta.pdf(s_at, a, b) * (1.0 - s_at * (1.0 - fade))
    mass = np.cumsum(density) - 0.5 * density
    at = np.interp([0.05, 0.95], mass / density.sum(), s_at)
    expected = at * fade / (1.0 - at * (1.0 - fade))
    assert given_exposed[0] == pytest.approx(expected, rel=1e-3, abs=1e-6)


# Worked examples of textbooks, all from memory and reproduced by the formula.
WORKED = [
    # NIST/SEMATECH e-Handbook 8.1.6.2: shape 1.5, scale 5,000, CDF(1000) = 0.08556.
    (1.5, 5000.0, 0.0, 1000.0, 0.08556, 6e-6),
    # The same, 8.1.6.1: exponential of rate 0.01, CDF(100) = 0.6321.
    (1.0, 100.0, 0.0, 100.0, 0.6321, 6e-5),
    # Ebeling, Reliability and Maintainability Engineering: hazard 2t/1000², the life by which 5 of
    # 100 have failed is 226.48 h.
    (2.0, 1000.0, 0.0, 226.48, 0.05, 2e-6),
]


@pytest.mark.parametrize(("shape", "scale", "age", "end", "chance", "digits"), WORKED)
def test_textbook_examples(shape, scale, age, end, chance, digits):
    def sure(value):
        return Figure(value, "1", "published", citation="see above")

    belief = life_belief(sure(shape), [sure(scale * B10_LOAD ** (1.0 / shape))])
    state = posterior(belief, survived([], (age,), (age,)))
    assert by(state, end) == pytest.approx(chance, abs=digits)
    if shape == 1.5:
        # The same page prints the density there: 0.000123.
        rate = state.rate(np.array([[[[end]]]]), np.ones((1, 1)))[0, 0]
        assert rate * (1.0 - by(state, end)) == pytest.approx(0.000123, abs=6e-7)


@settings(max_examples=60, deadline=None)
@given(st.floats(0.4, 5.0), st.floats(0.0, 3.0), st.floats(0.01, 1.0), st.floats(0.2, 6.0))
def test_one_certain_life_is_scipys_weibull(shape, age, ahead, m):
    """scipy.stats.weibull_min and exponweib (exponent 1); the rate m-fold is η·m^(−1/β)."""

    def sure(value):
        return Figure(value, "1", "published", citation="scipy")

    scale = 1.3
    belief = life_belief(sure(shape), [sure(scale * B10_LOAD ** (1.0 / shape))])
    state = posterior(belief, survived([((0.0,), (age,))], (age,), (age,), m))
    for life in (
        stats.weibull_min(shape, scale=scale * m ** (-1.0 / shape)),
        stats.exponweib(1.0, shape, scale=scale * m ** (-1.0 / shape)),
    ):
        conditional = -np.expm1(life.logsf(age + ahead) - life.logsf(age))
        assert by(state, age + ahead) == pytest.approx(conditional, rel=1e-7, abs=1e-12)
        assert state.survival[0] == pytest.approx(life.sf(age), rel=1e-9)


@settings(max_examples=40, deadline=None)
@given(st.floats(0.0, 5.0), st.floats(0.0, 5.0), st.floats(0.05, 1.0))
def test_a_constant_hazard_forgets_its_age(age, other, ahead):
    """Shape 1: the chance of the next stretch does not depend on what was lived (e.g. NIST)."""

    def sure(value):
        return Figure(value, "1", "published", citation="exponential")

    belief = life_belief(sure(1.0), [sure(1.0)])
    chances = [
        by(posterior(belief, survived([((0.0,), (t,))], (t,), (t,))), t + ahead)
        for t in (age, other)
    ]
    assert chances[0] == pytest.approx(chances[1], rel=1e-9)
    assert chances[0] == pytest.approx(1.0 - 0.9**ahead, rel=1e-9)
