"""Parts done side by side: same bytes for any number of processors, errors raised, no idle thread.

That order must not matter is checked by doing the parts in another order, and by brute force on
prices of random histories.
"""

from __future__ import annotations

import dataclasses
import threading
import time

import numpy as np
import pytest

from riskcheck.figures import Figure
from riskcheck.risk import figures_of, side_by_side
from riskcheck.risk.beliefs import life_belief
from riskcheck.risk.figures_of import Answer, Question, answer, month_points
from riskcheck.risk.histories import Histories
from riskcheck.risk.side_by_side import in_order


@pytest.fixture
def given(monkeypatch):
    """Pretend that this process may use so many processors."""

    def pretend(count: int) -> None:
        monkeypatch.setattr(side_by_side, "processors", lambda: count)

    return pretend


def priced(*, hidden: bool) -> Answer:
    """500 invented exposures with three alternative histories each: a dozen chunks or more."""
    rng, rows, alternatives = np.random.default_rng(3), 500, 3
    months = month_points(12.0)
    now = rng.uniform(1.0, 200.0, (rows, alternatives, 1))
    ok = now * rng.uniform(0.0, 1.0, now.shape) if hidden else now
    prior = rng.dirichlet(np.ones(alternatives + 1), rows)
    pace = rng.uniform(5.0, 20.0, rows)
    rates = pace[:, None] * np.array([0.7, 0.9, 1.0, 1.1, 1.3])
    m = rng.choice([0.7, 1.0, 1.5], rows)
    one = np.ones(rows)
    question = Question(
        histories=Histories(
            prior=prior[:, 1:],
            absent=prior[:, 0],
            lived_from=np.zeros((rows, alternatives, 1, 1)),
            lived_to=ok[:, :, None],
            ok_at=ok,
            now=now,
            m_past=m,
            m_ahead=m,
            pace=pace[:, None],
        ),
        months=months,
        gain=rates[:, :, None, None] * (months / 12.0)[:, None],
        pace=one[:, None],
        a_year=pace,
        loss=5000.0 * one,
        saved_rate=13.0 * one,
        look_cost=60.0 * one,
        loss_a_year=250.0 * one,
        harm_a_year=2e-4,
        tolerance=1e-5,
        horizon=12.0,
        hidden=hidden,
        costly_a_year=0.3,
    )
    belief = life_belief(
        Figure(4.0, "1", "invented", 3.0, 6.0), [Figure(110.0, "mi", "invented", 85.0, 140.0)]
    )
    return answer(belief, question)


@pytest.mark.parametrize("hidden", [False, True])
def test_prices_are_the_same_bytes_for_any_number_of_processors(given, hidden, monkeypatch):
    chunks: list[str] = []
    work = figures_of._life_answer

    def watched(*asked):
        chunks.append(threading.current_thread().name)
        return work(*asked)

    monkeypatch.setattr(figures_of, "_life_answer", watched)
    given(1)
    alone = priced(hidden=hidden)
    assert len(chunks) > 5
    assert set(chunks) == {threading.current_thread().name}
    for count in (2, 5):
        chunks.clear()
        given(count)
        together = priced(hidden=hidden)
        assert threading.current_thread().name not in chunks
        for field in dataclasses.fields(Answer):
            one, many = getattr(alone, field.name), getattr(together, field.name)
            assert one.tobytes() == many.tobytes(), field.name


def test_results_keep_the_order_of_the_parts_whichever_is_done_first(given):
    given(4)

    def work(part: int) -> int:
        time.sleep(0.02 if part == 0 else 0.0)
        return part * part

    assert in_order(work, range(20)) == [part * part for part in range(20)]


@pytest.mark.parametrize("count", [1, 4])
def test_the_first_error_in_order_is_raised_and_the_rest_is_dropped(given, count):
    given(count)
    begun: list[int] = []

    def work(part: int) -> int:
        begun.append(part)
        if part >= 2:
            raise ValueError(f"part {part}")
        time.sleep(0.001)
        return part

    with pytest.raises(ValueError, match="part 2"):
        in_order(work, range(10_000))
    assert len(begun) < 10_000


def test_one_part_or_one_processor_starts_no_thread(given):
    def where(_part: int) -> str:
        return threading.current_thread().name

    here = threading.current_thread().name
    given(8)
    assert in_order(where, [1]) == [here]
    assert in_order(where, []) == []
    given(1)
    assert set(in_order(where, range(5))) == {here}


def test_this_machine_has_a_processor():
    assert side_by_side.processors() >= 1
