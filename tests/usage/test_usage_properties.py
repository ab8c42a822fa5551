"""What must hold of the clocks whatever the readings say."""

from __future__ import annotations

import sys

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from usage_frames import AS_OF, dates, events, policy, readings, usage, vehicles

from riskcheck.usage import clocks
from riskcheck.usage.habit import SILENT

NAN = float("nan")
METERS = ("miles", "engine_hours", "towing_miles")
CLOCKS = (*METERS, "years", "winters", "cold_starts")
FIRST, TODAY = np.datetime64("2018-10-01"), np.datetime64(AS_OF)
# Two pictures of a habit, one that lasted and one that gave way, are weighed by the readings: more
# use may shift the weights and so an edge, hardly.
EDGE = 0.02
DAY = st.integers(0, int((TODAY - FIRST).astype(int)))
GAINS = st.lists(st.tuples(DAY, st.floats(100, 20_000)), min_size=1, max_size=12)


def fleet() -> pd.DataFrame:
    return vehicles(in_service_lo=["2018-10-01"], in_service_hi=["2018-10-01"])


def rising(gains: list[tuple[int, float]]) -> list[tuple[str, str, float, float]]:
    """Readings that rise day by day from the first day in service."""
    total, rows = 0.0, []
    for day, gain in sorted(gains):
        total += gain
        rows.append(("v0", str(FIRST + day), round(total, 1), NAN))
    return rows


@settings(max_examples=30, deadline=None)
@given(GAINS, st.floats(1.01, 3.0))
def test_more_use_never_lowers_a_clock(gains, factor):
    """The same vehicle driven more on every day: today, pace and use since a job are no lower."""
    rows = rising(gains)
    more = [(v, d, miles * factor, h) for v, d, miles, h in rows]
    one, other = usage(fleet(), rows), usage(fleet(), more)
    where, day = np.array([0]), dates("2024-10-01")
    for clock in METERS:
        for edge, higher in zip(one.now(clock), other.now(clock), strict=True):
            assert higher[0] >= edge[0] * (1 - EDGE), clock
        assert (other.rates(clock) >= one.rates(clock) * (1 - EDGE)).all(), clock
        least = one.since(clock, where, day, day)[1] * (1 - EDGE)
        assert other.since(clock, where, day, day)[1] >= least


@settings(max_examples=30, deadline=None)
@given(GAINS, st.floats(1, 20_000))
def test_a_higher_last_reading_never_lowers_miles_or_pace(gains, more):
    rows = rising(gains)
    v, d, miles, h = rows[-1]
    one, other = usage(fleet(), rows), usage(fleet(), [*rows[:-1], (v, d, miles + more, h)])
    assert other.now("miles")[1][0] >= one.now("miles")[1][0] * (1 - EDGE)
    assert other.rates("miles")[0, 2] >= one.rates("miles")[0, 2] * (1 - EDGE)


@settings(max_examples=30, deadline=None)
@given(GAINS)
def test_clocks_never_run_backwards(gains):
    """Later is never less, and a longer horizon never gains less, at any edge of the range."""
    known = usage(fleet(), rising(gains))
    day = np.arange(FIRST, TODAY + 400, 30)
    index = np.zeros(len(day), dtype=np.int64)
    months = np.array([0.0, 0.1, 0.5, 1, 2, 3, 6, 12, 24, 60, 120])
    for clock in CLOCKS:
        for edge in known.at(clock, index, day, day)[1:2]:
            assert (np.diff(edge) >= -1e-6).all(), clock
        assert (np.diff(known.ahead(clock, months), axis=2) >= -1e-9).all(), clock


def test_nothing_is_gained_in_no_time():
    known = usage(fleet(), rising([(400, 9_000.0), (2_900, 80_000.0)]))
    for clock in CLOCKS:
        assert (known.ahead(clock, np.zeros(1)) == 0.0).all(), clock
        today = dates(str(TODAY))
        assert np.array(known.since(clock, np.array([0]), today, today)).max() == 0.0, clock


@settings(max_examples=30, deadline=None)
@given(st.lists(DAY, min_size=2, max_size=9, unique=True), st.data(), st.integers(5, 100))
def test_a_reading_on_the_line_only_narrows(days, data, a_day):
    """Readings on a straight line from new: one more on it leaves the rate and narrows it."""
    extra = data.draw(st.integers(min(days), max(days)))

    def line(on: list[int]) -> list[tuple[str, str, float, float]]:
        return [("v0", str(FIRST + day), float(day * a_day), NAN) for day in sorted(set(on))]

    before, after = usage(fleet(), line(days)), usage(fleet(), line([*days, extra]))
    record = [known.by_name["miles"].meter.belief.habit.own for known in (before, after)]
    for stretch in record[0].latest, record[1].latest, record[0].before, record[1].before:
        rate = a_day * 365.2425
        assert stretch.noise[0] == SILENT or stretch.log_rate[0] == pytest.approx(
            np.log(rate), abs=1e-3
        )
    spread = [
        np.log(known.rates("miles")[0, 4] / known.rates("miles")[0, 0]) for known in (before, after)
    ]
    assert spread[1] <= spread[0] * (1 + EDGE)


@settings(max_examples=30, deadline=None)
@given(GAINS, st.data())
def test_a_reading_copied_adds_nothing(gains, data):
    rows = rising(gains)
    copied = [*rows, data.draw(st.sampled_from(rows))]
    one, other = usage(fleet(), rows), usage(fleet(), copied)
    np.testing.assert_array_equal(one.rates("miles"), other.rates("miles"))
    np.testing.assert_array_equal(one.now("miles"), other.now("miles"))


@settings(max_examples=20, deadline=None)
@given(GAINS, st.lists(st.integers(1, 2_000), min_size=1, max_size=3), st.floats(0, 1e6))
def test_readings_after_the_day_asked_for_are_not_used(gains, later, miles):
    rows = rising(gains)
    future = [*rows, *[("v0", str(TODAY + day), miles, 9.0) for day in later]]
    one, other = usage(fleet(), rows), usage(fleet(), future)
    for clock in CLOCKS:
        np.testing.assert_array_equal(one.rates(clock), other.rates(clock))
        np.testing.assert_array_equal(one.now(clock), other.now(clock))


def test_old_readings_count_less_and_less():
    """Twenty years after its last reading a third of what told a vehicle apart is gone."""
    shares = []
    for age in (0, 1, 3, 6, 10, 20):
        rows = [("v0", str(TODAY - 365 * (age + k)), 20_000.0 * (4 - k), NAN) for k in range(4)]
        known = usage(vehicles(duty=["retail"]), rows)
        shares.append(np.log(known.rates("miles")[0, 2] / 12_000) / np.log(20_000 / 12_000))
    assert (np.diff(shares) < 0).all()
    assert shares[0] > 0.85
    assert shares[-1] < 0.65


def _calls(n: int) -> int:
    """Python function calls while n vehicles of ten readings are measured."""
    rows = [
        (f"v{i}", f"{2016 + k}-10-01", 9_000.0 * k + i, NAN) for i in range(n) for k in range(10)
    ]
    frames = vehicles(duty=["retail"] * n), readings(rows), events([])
    count = 0

    def seen(frame: object, event: str, argument: object) -> None:
        nonlocal count
        count += event in ("call", "c_call")

    sys.setprofile(seen)
    try:
        known = clocks(*frames, policy(), AS_OF)  # type: ignore[arg-type]
        for clock in CLOCKS:
            known.now(clock)
            known.rates(clock)
    finally:
        sys.setprofile(None)
    return count


def test_no_loop_over_vehicles():
    """As many calls for four hundred vehicles as for forty (numpy may take a few more)."""
    _calls(5)
    assert _calls(400) <= 1.05 * _calls(40)
