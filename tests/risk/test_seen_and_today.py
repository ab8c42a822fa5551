"""Findings act from the day they were seen, and use today is a range: against sums done by hand."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pandas as pd
import pytest
from scipy import stats

from riskcheck.figures import Figure
from riskcheck.risk.beliefs import life_belief
from riskcheck.risk.histories import survived
from riskcheck.risk.history import Lived
from riskcheck.risk.life import posterior
from riskcheck.risk.seen import first_seen
from riskcheck.risk.today import POINTS, split, spread_today
from riskcheck.vocabulary import Derivation, Fact

# Shape 3.5 (2.5 to 4.5), B10 10 (7 to 14) years.
HOSE = life_belief(
    Figure(3.5, "1", "invented", 2.5, 4.5), [Figure(10.0, "y", "invented", 7.0, 14.0)]
)


def load(age):
    return HOSE.load(np.array([age], dtype=float))


@pytest.mark.parametrize(("ok", "seen"), [(12.0, 9.0), (5.0, 9.0), (9.0, 5.0), (7.0, 7.0)])
def test_a_finding_multiplies_from_the_day_it_was_seen(ok, seen):
    """Direct sum over the nodes: m = 1 up to ``seen``, 3 from there; looked good at ``ok``."""
    past = survived([((0,), (ok,))], (ok,), (12.0,))
    past = replace(past, m_ahead=np.array([3.0]), seen=np.array([[[seen]]]))

    def gathered(start, end):
        first = load(min(end, seen)) - load(min(start, seen))
        return first + 3.0 * (load(max(end, seen)) - load(max(start, seen)))

    weight = HOSE.flat_weight * np.exp(-gathered(0.0, ok))
    weight /= weight.sum()
    state = posterior(HOSE, past)
    for age in (11.0, 12.0, 13.0):
        if age >= ok:
            direct = float((weight * -np.expm1(-gathered(ok, age))).sum())
            found = state.chance(np.array([[[[age]]]]))[0, 0]
            assert found == pytest.approx(direct, rel=1e-9), age
    today = float((weight * -np.expm1(-gathered(ok, 12.0))).sum())
    assert state.chance_now()[0] == pytest.approx(today, rel=1e-9, abs=1e-12)


def test_seen_today_is_as_before_and_seen_earlier_weighs_more_in_what_is_hidden():
    past = survived([((0,), (6.0,))], (6.0,), (12.0,))
    past = replace(past, m_ahead=np.array([3.0]))
    today = replace(past, seen=past.now)
    earlier = replace(past, seen=np.array([[[8.0]]]))
    chances = [posterior(HOSE, one).chance(np.array([[[[13.0]]]]))[0, 0]
               for one in (past, today, earlier)]  # fmt: skip
    assert chances[0] == pytest.approx(chances[1], rel=1e-12)
    assert chances[2] > chances[1]


def fact(name, kind, **params):
    return Fact(name, "flag", "m", Derivation(kind, params), "on_file")


def test_the_day_comes_from_events_codes_and_readings(shop):
    """Seen in March, put right in May, seen again in July and August: it counts from July."""
    ids = ["V0", "V1", "V2", "V3"]
    happened = shop.events(
        ("V0", "2025-03-01", "drag", "finding"), ("V0", "2025-05-01", "hose", "done"),
        ("V0", "2025-08-01", "drag", "finding"), ("V0", "2025-07-01", "drag", "finding"),
        ("V1", "2025-05-01", "hose", "done"),
    )  # fmt: skip
    fleet = shop.fleet(ids, happened, "2010-01-01")
    fleet.codes = pd.DataFrame({"vehicle_id": ["V1", "V1"], "code": ["P0001", "P0001"],
                                "date": pd.to_datetime(["2025-04-01", "2025-06-01"])})  # fmt: skip
    fleet.measurements = pd.DataFrame({
        "vehicle_id": ["V2", "V2"], "quantity": ["drop", "drop"],
        "date": pd.to_datetime(["2024-01-01", "2025-02-01"]),
    })  # fmt: skip
    one = {"value": 3.0, "unit": "1", "source": "invented"}
    hazard = shop.hazard(
        findings={
            "applies": {"says": "x", "when": [{"belt": True}]},
            "pulls": {"says": "x", "when": [{"drags": True}, {"coded": True}, {"below": True}]},
            "below": {"says": "x", "when": [{"drop_v": {"above": 1}}]},
        },
        factors=[{"finding": "pulls", "group": "g", "multiplier": one, "share": {**one, "value": 0},
                  "acts": "from_seen"}],
    )  # fmt: skip
    right = {"topics": ["hose"], "marks": ["done"]}
    vocabulary = {
        "drags": fact("drags", "open", topics=["drag"], marks=["finding"], closed_by=right),
        "coded": fact("coded", "code", codes=["p0001"], since_last=right),
        "drop_v": fact("drop_v", "latest_value", quantity="drop"),
    }
    concluded = shop.reasoned("belt", ["exposed"] * 4)
    concluded.factors["pulls"] = np.array([1, 1, 1, 1], dtype=np.int8)
    days = first_seen(hazard, concluded, fleet, vocabulary)
    assert [str(day)[:10] for day in days] == ["2025-07-01", "2025-06-01", "2025-02-01", "NaT"]
    concluded.factors["pulls"] = np.array([0, -1, 1, 1], dtype=np.int8)
    days = first_seen(hazard, concluded, fleet, vocabulary)
    assert np.isnat(days).tolist() == [True, True, False, True]


class Use:
    """A clock whose use today is known only as a range."""

    def __init__(self, low, middle, high):
        self.range = tuple(np.array([edge]) for edge in (low, middle, high))

    def now(self, clock):
        return self.range


def record(now, on_file=False, ok_at=0.0):
    def one(value):
        return np.array([[float(value)]])

    none = np.array([np.datetime64("NaT", "s")])
    return Lived(one(0)[:, None], one(0)[:, None], one(0), one(now), one(ok_at), one(0), none, none,
                 np.array([on_file]), one(now))  # fmt: skip


def test_the_five_points_are_those_of_the_stated_range():
    """A log-normal with 5 and 95 % points 50 and 200 and median 100, by scipy."""
    spread = spread_today(["towing_miles"], Use(50.0, 100.0, 200.0), record(100.0))
    sigma = np.log(2.0) / stats.norm.ppf(0.95)
    expected = stats.lognorm.ppf(POINTS, sigma, scale=100.0) / 100.0
    assert spread.scale[0, :, 0] == pytest.approx(expected, rel=1e-12)
    assert spread.wide.tolist() == [True]


@pytest.mark.parametrize(
    ("clock", "use", "on_file", "wide"),
    [
        ("miles", (99e3, 100e3, 101e3), False, False),
        ("miles", (80e3, 100e3, 125e3), False, True),
        ("years", (8.0, 10.0, 12.0), False, True),
        ("years", (8.0, 10.0, 12.0), True, False),  # counted from a job with a date
        ("cold_starts", (500.0, 1000.0, 1600.0), True, True),
        ("miles", (0.0, 0.0, 0.0), False, False),
    ],
)
def test_which_ranges_matter(clock, use, on_file, wide):
    spread = spread_today([clock], Use(*use), record(use[1], on_file))
    assert spread.wide.tolist() == [wide]


@pytest.mark.parametrize("hidden", [False, True])
def test_splitting_today_is_the_average_over_the_five_ages_weighted_by_survival(hidden):
    """Five separate vehicles, one at each age, mixed by how well each explains the record."""
    now, ok = 12.0, 6.0 if hidden else 12.0
    past = survived([((0,), (ok,))], (ok,), (now,))
    past = replace(past, seen=past.now)
    spread = spread_today(["cold_starts"], Use(8.0, 12.0, 18.0), record(now))
    mixed = posterior(HOSE, split(past, spread, hidden))
    ages = now * spread.scale[0, :, 0]
    looks = ok * spread.scale[0, :, 0] if hidden else ages
    apart = [posterior(HOSE, survived([((0,), (look,))], (look,), (age,)))
             for look, age in zip(looks, ages, strict=True)]  # fmt: skip
    share = np.array([one.survival[0] for one in apart])
    p = [one.chance(np.array([[[[age + 1.0]]]]))[0, 0]
         for one, age in zip(apart, ages, strict=True)]  # fmt: skip
    found = mixed.chance((ages + 1.0)[None, :, None, None])[0, 0]
    assert found == pytest.approx(float((share * p).sum() / share.sum()), rel=1e-12)
    assert mixed.survival[0] == pytest.approx(share.mean(), rel=1e-12)
