"""Time and memory of pricing: python tests/bench/pricing_speed.py [exposures]

One call prices that many distinct exposures (default a million), half of a part that reveals its
failure and half of one that only looking finds, each with chance and range at 3, 6 and 12 months,
cost of waiting and act-by; beside it a plain numpy line that evaluates one Weibull per exposure,
without belief, range, cost or date.  Figures are invented.  All processors that this process may
use are used (taskset -c 0 leaves it one); milliseconds are by the clock and of all processors.
"""

from __future__ import annotations

import resource
import sys
import time

import numpy as np

from riskcheck.figures import Figure
from riskcheck.risk.beliefs import life_belief
from riskcheck.risk.figures_of import Question, month_points
from riskcheck.risk.hazard_figures import answer_once
from riskcheck.risk.histories import Histories
from riskcheck.risk.side_by_side import processors


def belief(unit: float):
    shape = Figure(4.0, "1", "invented", 3.0, 6.0)
    return life_belief(shape, [Figure(110.0 * unit, "mi", "invented", 85.0 * unit, 140.0 * unit)])


def question(count: int, *, hidden: bool, seed: int) -> Question:
    """``count`` distinct exposures at random ages, paces and multipliers."""
    rng = np.random.default_rng(seed)
    months = month_points(12.0)
    now = rng.uniform(1e4, 2e5, (count, 1, 1))
    ok = now * rng.uniform(0.2, 1.0, (count, 1, 1)) if hidden else now
    pace = rng.uniform(8e3, 2e4, count)
    rates = pace[:, None] * np.array([0.7, 0.9, 1.0, 1.1, 1.3])
    m = rng.choice([0.7, 1.0, 1.5], count)

    def all_at(value: float):
        return np.full(count, value)

    return Question(
        histories=Histories(
            prior=np.ones((count, 1)),
            absent=np.zeros(count),
            lived_from=np.zeros((count, 1, 1, 1)),
            lived_to=ok[:, :, None],
            ok_at=ok,
            now=now,
            m_past=m,
            m_ahead=m,
            pace=pace[:, None],
        ),
        months=months,
        gain=rates[:, :, None, None] * (months / 12.0)[:, None],
        pace=np.ones((count, 1)),
        a_year=pace,
        loss=all_at(5000.0),
        saved_rate=all_at(0.013),
        look_cost=all_at(60.0),
        loss_a_year=all_at(250.0),
        harm_a_year=2e-4,
        tolerance=1e-5,
        horizon=12.0,
        hidden=hidden,
        costly_a_year=0.3,
    )


def peak_gb() -> float:
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 2**20


def plain(asked: Question) -> float:
    """Seconds for p = 1 − exp(−(H(v1) − H(v0))) with one shape and scale: a million powers."""
    now, end = asked.histories.now[:, 0, 0], asked.histories.now[:, 0, 0] + asked.gain[:, 2, 4, 0]
    start = time.perf_counter()
    p = -np.expm1(-0.105360516 * ((end / 110e3) ** 4.0 - (now / 110e3) ** 4.0))
    assert 0.0 <= p.min() <= p.max() <= 1.0
    return time.perf_counter() - start


def main(count: int) -> None:
    half = count // 2
    for hidden, name in ((False, "reveals itself"), (True, "only looking finds it")):
        asked = question(half, hidden=hidden, seed=7 + hidden)
        start, cpu = time.perf_counter(), time.process_time()
        priced = answer_once(belief(1000.0), asked)
        wall, busy = time.perf_counter() - start, time.process_time() - cpu
        assert len(priced.p) == half
        bare = plain(asked)
        print(
            f"{name}: {half:,} distinct exposures, {wall:.1f} s wall, {busy:.1f} s processor, "
            f"{wall / half * 1e3:.3f} and {busy / half * 1e3:.3f} ms each; "
            f"one bare Weibull each: {bare * 1e3:.1f} ms in all"
        )
        whole_thousands = Question(
            **{**vars(asked), "histories": asked.histories.take(np.arange(half) % 1000),
               **{name: getattr(asked, name)[np.arange(half) % 1000] for name in
                  ("gain", "pace", "a_year", "loss", "saved_rate", "look_cost", "loss_a_year")}}
        )  # fmt: skip
        start = time.process_time()
        again = answer_once(belief(1000.0), whole_thousands)
        busy = time.process_time() - start
        assert np.array_equal(again.p[:1000], priced.p[:1000])
        print(f"  the same number with 1,000 distinct ones: {busy / half * 1e3:.4f} ms each")
    print(f"peak memory {peak_gb():.2f} GB; {processors()} processors")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 1_000_000)
