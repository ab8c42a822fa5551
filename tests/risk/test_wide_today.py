"""When today's use is spread over five points, and what the points are, by hand and by scipy."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy import stats

from riskcheck.risk.histories import survived
from riskcheck.risk.history import Lived
from riskcheck.risk.today import Spread, split, spread_today

POINTS = np.array([0.10, 0.30, 0.50, 0.70, 0.90])
Z = stats.norm.ppf(POINTS) / stats.norm.ppf(0.95)


class Use:
    """A clock whose use today is known only as a range."""

    def __init__(self, low, middle, high):
        self.range = tuple(np.array([float(edge)]) for edge in (low, middle, high))

    def now(self, clock):
        return self.range


def record(now, on_file=False):
    def one(value):
        return np.array([[float(value)]])

    none = np.array([np.datetime64("NaT", "s")])
    return Lived(one(0)[:, None], one(0)[:, None], one(0), one(now), one(0), one(0), none, none,
                 np.array([on_file]), one(now))  # fmt: skip


@pytest.mark.parametrize(("half", "wide"), [(0.0796, False), (0.0799, False), (0.0801, True),
                                            (0.0804, True)])  # fmt: skip
def test_a_range_of_eight_percent_of_the_age_is_split(half, wide):
    """Half of the 90 % range, drawn from the 10 and 90 % points of a log-normal about 100,000."""
    reach = np.arcsinh(half / (1.0 / Z[-1])) / Z[-1]
    use = Use(1e5 * np.exp(-reach), 1e5, 1e5 * np.exp(reach))
    assert spread_today(["miles"], use, record(1e5)).wide.tolist() == [wide]


def test_an_odometer_is_off_by_the_same_miles_whatever_came_before():
    """80,000 to 125,000 about 100,000, for a part of 30,000: shifted, not stretched."""
    spread = spread_today(["miles"], Use(8e4, 1e5, 1.25e5), record(3e4))
    sides = np.where(Z < 0.0, np.log(1e5 / 8e4), np.log(1.25))
    assert spread.shift[0, :, 0] == pytest.approx(1e5 * np.exp(sides * Z) - 1e5, rel=1e-12)
    assert (spread.scale == 1.0).all()


@pytest.mark.parametrize("clock", ["engine_hours", "cold_starts", "towing_miles"])
def test_a_habit_stretches_the_whole_past(clock):
    spread = spread_today([clock], Use(50, 100, 400), record(30))
    sides = np.where(Z < 0.0, np.log(2.0), np.log(4.0))
    assert spread.scale[0, :, 0] == pytest.approx(np.exp(sides * Z), rel=1e-12)
    assert (spread.shift == 0.0).all()


@pytest.mark.parametrize("clock", ["years", "winters"])
def test_an_unknown_first_day_shifts_the_whole_past(clock):
    """The time from a look to today is known, however old the vehicle may be."""
    spread = spread_today([clock], Use(50, 100, 400), record(30))
    sides = np.where(Z < 0.0, np.log(2.0), np.log(4.0))
    assert spread.shift[0, :, 0] == pytest.approx(100.0 * np.exp(sides * Z) - 100.0, rel=1e-12)
    assert (spread.scale == 1.0).all()
    assert spread.past.tolist() == [True]


def test_what_is_on_record_shifts_with_an_unknown_first_day():
    """15 less: the look at 70 was at 55, the finding at 65, twenty before today as ever."""
    found = moved([1.0] * 5, [-15.0, -5.0, 0.0, 5.0, 15.0], hidden=True, first_day=True)
    assert found.now[0, :, 0].tolist() == pytest.approx([75.0, 85.0, 90.0, 95.0, 105.0])
    assert found.ok_at[0, :, 0].tolist() == pytest.approx([55.0, 65.0, 70.0, 75.0, 85.0])
    assert found.seen[0, :, 0].tolist() == pytest.approx([65.0, 75.0, 80.0, 85.0, 95.0])
    assert found.lived_to[0, 0, :, 0].tolist() == pytest.approx([45.0, 55.0])
    # A part that was renewed in part at 60 is no younger at the look than that left it.
    young = moved([1.0] * 5, [-55.0, -5.0, 0.0, 5.0, 15.0], hidden=True, first_day=True)
    assert young.ok_at[0, 0, 0] == young.lived_from[0, 0, -1, 0] == 30.0
    # New on the first day, looked at never: nothing on record to shift.
    past = survived([((0.0,), (0.0,))], (0.0,), (90.0,))
    never = split(past, five([1.0] * 5, [-15.0, -5.0, 0.0, 5.0, 15.0], True), True)
    assert never.ok_at[0, :, 0].tolist() == [0.0] * 5


def test_a_job_with_a_date_settles_the_first_day_but_no_habit():
    for clock, moves in (("years", False), ("winters", False), ("cold_starts", True)):
        spread = spread_today([clock], Use(50, 100, 400), record(30, on_file=True))
        assert spread.wide.tolist() == [moves], clock


def test_a_range_from_zero_is_straight_below_its_middle():
    """Low 0: no logarithm; 100 less 100·|z|/1.645 below, log-wise nowhere."""
    spread = spread_today(["miles"], Use(0, 100, 300), record(100))
    straight = np.where(Z < 0.0, 100.0 * Z, 200.0 * Z)
    assert spread.shift[0, :, 0] == pytest.approx(straight, rel=1e-12)


def five(scale, shift, first_day):
    sides = (np.array(one).reshape(1, 5, 1) for one in (scale, shift))
    return Spread(*sides, np.array([first_day]), np.ones(1))


def moved(scale, shift, hidden, *, first_day=False, **changes):
    past = survived([((0.0,), (60.0,)), ((30.0,), (70.0,))], (70.0,), (90.0,))
    past = replace(past, seen=np.array([[[80.0]]]), pace=np.array([[12.0]]), **changes)
    return split(past, five(scale, shift, first_day), hidden)


def test_a_stretched_past_is_stretched_everywhere():
    """Scale 0.8: (0 to 48), (24 to 56), looked good at 56, seen at 64, today 72, pace 9.6."""
    found = moved([0.8, 0.9, 1.0, 1.1, 1.2], [0.0] * 5, hidden=True)
    assert found.prior[0].tolist() == pytest.approx([0.2] * 5)
    assert found.lived_to[0, 0, :, 0].tolist() == pytest.approx([48.0, 56.0])
    assert found.lived_from[0, 0, :, 0].tolist() == pytest.approx([0.0, 24.0])
    assert found.ok_at[0, :, 0].tolist() == pytest.approx([56.0, 63.0, 70.0, 77.0, 84.0])
    assert found.now[0, :, 0].tolist() == pytest.approx([72.0, 81.0, 90.0, 99.0, 108.0])
    assert found.seen[0, :, 0].tolist() == pytest.approx([64.0, 72.0, 80.0, 88.0, 96.0])
    assert found.pace[0].tolist() == pytest.approx([9.6, 10.8, 12.0, 13.2, 14.4])


def test_a_shifted_today_moves_today_alone():
    """15 less today: the look and the finding keep their day, but never lie beyond today."""
    found = moved([1.0] * 5, [-15.0, -5.0, 0.0, 5.0, 15.0], hidden=True)
    assert found.now[0, :, 0].tolist() == pytest.approx([75.0, 85.0, 90.0, 95.0, 105.0])
    assert found.ok_at[0, :, 0].tolist() == pytest.approx([70.0] * 5)
    assert found.seen[0, :, 0].tolist() == pytest.approx([75.0, 80.0, 80.0, 80.0, 80.0])


def test_what_shows_itself_is_survived_until_today_wherever_today_is():
    found = moved([1.0] * 5, [-15.0, -5.0, 0.0, 5.0, 15.0], hidden=False)
    assert found.ok_at[0, :, 0].tolist() == found.now[0, :, 0].tolist()
    assert found.lived_to[0, :, -1, 0].tolist() == found.now[0, :, 0].tolist()


def test_a_finding_of_today_moves_with_today():
    found = moved([1.0] * 5, [-15.0, -5.0, 0.0, 5.0, 15.0], True)
    today = moved([1.0] * 5, [-15.0, -5.0, 0.0, 5.0, 15.0], True, now=np.array([[[80.0]]]))
    assert today.seen[0, :, 0].tolist() == today.now[0, :, 0].tolist()
    assert found.seen[0, -1, 0] == 80.0
