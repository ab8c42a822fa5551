"""Wilson's interval against every published row at hand.

R's prop.test as held in scipy's own tests (3/10, 0/10, 10/10, 99 % and one-sided rows), R DescTools
in those of statsmodels (100/200), Newcombe, Statistics in Medicine 17 (1998) 857-872 (four rows;
digits from memory, reproduced), and two rows on which statsmodels and scipy agree.
"""

from __future__ import annotations

import pytest

from riskcheck import remembering

ROWS = [
    (3, 10, 0.95, 0.1077913, 0.6032219), (0, 10, 0.95, 0.0, 0.2775328),
    (10, 10, 0.95, 0.7224672, 1.0), (3, 10, 0.99, 0.07956632, 0.6799753),
    (3, 10, 0.90, 0.1268766, 0.5583002), (100, 200, 0.95, 0.4313609, 0.5686391),
    (81, 263, 0.95, 0.255289, 0.366210), (15, 148, 0.95, 0.062386, 0.160487),
    (0, 20, 0.95, 0.0, 0.161125), (1, 29, 0.95, 0.006113, 0.171755),
    (2, 20, 0.95, 0.027866, 0.301034), (5, 50, 0.95, 0.043476, 0.213602),
]  # fmt: skip


@pytest.mark.parametrize(("found", "looks", "level", "low", "high"), ROWS)
def test_the_published_rows(found: int, looks: int, level: float, low: float, high: float) -> None:
    """A one-sided 95 % bound is the end of a two-sided 90 % interval."""
    assert remembering.wilson(found, looks, level) == pytest.approx((low, high), abs=6e-7)


@pytest.mark.parametrize("looks", [1, 3, 10, 1000])
def test_nothing_found_starts_at_exactly_zero_and_everything_ends_at_one(looks: int) -> None:
    """Naive arithmetic gives -1e-17 there."""
    assert remembering.wilson(0, looks)[0] == 0.0
    assert remembering.wilson(looks, looks)[1] == pytest.approx(1.0, abs=1e-15)


def test_nothing_found_is_not_nothing_there() -> None:
    """0 of n never bounds the rate at zero: no letter F (MIL-STD-882E) comes from silence."""
    assert 0.0 < remembering.wilson(0, 1000)[1] < 0.003
