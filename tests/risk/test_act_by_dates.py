"""Dates to act by, each worked out beside its test: windows, words, looks, the harm line, seasons.

Days are counted from 1 October 2025, the made-up shop's day; its vehicles run 12,000 miles a year.
"""

from __future__ import annotations

from datetime import date
from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest

from riskcheck.risk import price
from riskcheck.risk.dates import days_to_season
from riskcheck.risk.hazard_figures import belief_of
from riskcheck.risk.histories import survived
from riskcheck.risk.life import posterior

ONE = {"value": 1.0, "unit": "1", "source": "invented"}


def hose(shop, **changes):
    return shop.hazard(
        **{
            "id": "hose", "reveals": "by_looking",
            "harm": {"per_year_present": {**ONE, "value": 1e-4}},
            "becomes_costly_per_year": {**ONE, "value": 1e-9},
            "severity": {"people": "I", "money": "III"},
            "life": {
                "model": "weibull", "shape": {**ONE, "value": 3.5, "low": 2.5, "high": 4.5},
                "clocks": [{"clock": "years", "b10": {**ONE, "value": 10, "low": 7, "high": 14}}],
            },
            "look": {
                "title": "look", "recorded_as": [{"topics": ["hose"], "marks": ["checked_good"]}],
                "minutes": {**ONE, "value": 20}, "cost": {**ONE, "value": 60}, "finds": ONE,
            },
            **changes,
        }
    )  # fmt: skip


def rows(shop, hazard, years, happened=None, status=None, **reasons):
    ids = tuple(f"V{at}" for at in range(len(years)))
    book = SimpleNamespace(hazards={hazard.id: hazard}, policy=shop.policy(), vocabulary={})
    given = shop.reasoned(hazard.id, status or ["exposed"] * len(ids), **reasons)
    use = shop.use(ids, np.array(years, dtype=float))
    events = shop.events() if happened is None else happened
    fleet = shop.fleet(list(ids), events, "1930-01-01")
    return price(book, {hazard.id: given}, fleet, use, shop.as_of, 12).exposures


def day(shop, days):
    return str(pd.Timestamp(shop.as_of) + pd.Timedelta(days=days))[:10]


@pytest.mark.parametrize(("word", "days"), [("stop", 0), ("days", 3), ("week", 7),
                                            ("fortnight", 14), ("month", 30)])  # fmt: skip
def test_a_sign_is_acted_on_within_its_word(shop, word, days):
    hazard = shop.hazard(urgency={"sign": word, "confirmed": "stop"})
    row = rows(shop, hazard, [1.0], evidence=["sign"]).iloc[0]
    assert (row["act_by_date"], row["act_by_reason"]) == (day(shop, days), "sign")
    assert np.isnan(row["act_by_odometer_mi"])


@pytest.mark.parametrize(("season", "days"), [("any", 90), ("before_frost", 14)])
def test_before_its_season_means_the_seasons_day_or_ninety_days(shop, season, days):
    """15 October is 14 days off; a hazard without a season waits 90 (from memory)."""
    hazard = shop.hazard(urgency={"sign": "season", "confirmed": "stop"}, season=season)
    row = rows(shop, hazard, [1.0], evidence=["sign"]).iloc[0]
    assert row["act_by_date"] == day(shop, days)


def test_a_found_fault_goes_by_its_own_word_whatever_else_is_due(shop):
    """The look of a hose of 14 years is due today; the crack found in it within the month."""
    found = hose(shop, urgency={"sign": "days", "confirmed": "month"})
    row = rows(shop, found, [14.0], evidence=["confirmed"]).iloc[0]
    assert (row["act_by_date"], row["act_by_reason"]) == (day(shop, 30), "confirmed")


@pytest.mark.parametrize(("since", "left"), [(100.0, 400.0), (250.0, 250.0)])
def test_a_watch_window_ends_where_its_miles_are_driven(shop, since, left):
    """400 of 500 miles left at 12,000 a year: 12.2 days, so on the twelfth."""
    base = shop.hazard().model_dump()["life"]
    starts = [{"topics": ["wheel_off"], "marks": ["done"]}]
    watch = {"clock": "miles", "length": {**ONE, "value": 500.0, "unit": "mi"}}
    wheel = shop.hazard(life={**base, "starts": starts}, watch_window=watch)
    happened = shop.events(("V0", str(shop.as_of), "wheel_off", "done"))
    row = rows(shop, wheel, [7.5], happened.assign(odometer_mi=90_000.0 - since)).iloc[0]
    assert row["act_by_reason"] == "window"
    assert row["act_by_date"] == day(shop, int(left / 12_000.0 * 365.25))


def due_day(shop, looked, level, harm_or_loss):
    """Days until ∫(chance of being there) reaches ``level``/``harm_or_loss`` since the look."""
    state = posterior(belief_of(hose(shop)), survived([((0.0,), (looked,))], (looked,), (looked,)))
    years = np.linspace(0.0, 9.0, 9001)
    present = np.concatenate([
        state.chance((looked + part).reshape(1, 1, -1, 1))[0] for part in np.array_split(years, 40)
    ])  # fmt: skip
    gone = np.concatenate(([0.0], np.cumsum(0.0005 * (present[1:] + present[:-1]))))
    return 365.25 * float(np.interp(level / harm_or_loss, gone, years))


@pytest.mark.parametrize(("age", "within"), [(3.0, 0.02), (6.0, 0.008), (9.0, 0.006),
                                             (12.0, 0.004)])  # fmt: skip
def test_the_harm_line_is_reached_when_the_chance_gathered_reaches_it(shop, age, within):
    """Looked good today; 1e-4 a year present against the line of 1e-5: a tenth of a year.

    Days years ahead lie between points a year apart and are told less sharply.
    """
    happened = shop.events(("V0", str(shop.as_of), "hose", "checked_good"))
    row = rows(shop, hose(shop), [age], happened).iloc[0]
    days = due_day(shop, age, 1e-5, 1e-4)
    assert row["x_people_due_date"] is not None
    found = (pd.Timestamp(row["x_people_due_date"]) - pd.Timestamp(shop.as_of)).days
    assert found == pytest.approx(days, rel=within)


@pytest.mark.parametrize(("looked", "since"), [(6.0, 3.0), (9.0, 2.05), (12.0, 1.5)])
def test_what_has_gathered_since_the_last_look_counts(shop, looked, since):
    """Most of the tenth of a year is behind: some weeks are left.

    Seven Gauss points integrate the past.
    """
    back = pd.Timestamp(shop.as_of) - pd.Timedelta(days=round(365.25 * since))
    happened = shop.events(("V0", str(back)[:10], "hose", "checked_good"))
    row = rows(shop, hose(shop), [looked + since], happened).iloc[0]
    left = due_day(shop, looked, 1e-5, 1e-4) - 365.25 * since
    assert 20.0 < left < 100.0
    found = (pd.Timestamp(row["x_people_due_date"]) - pd.Timestamp(shop.as_of)).days
    assert left - 1.2 <= found <= left + 0.2


@pytest.mark.parametrize("age", [6.0, 9.0, 12.0])
def test_a_look_is_due_when_what_it_would_have_saved_equals_its_price(shop, age):
    """Costly at 0.01 a year (hardly fading) at 6,000: 60 $ a year against a look of 60 $."""
    happened = shop.events(("V0", str(shop.as_of), "hose", "checked_good"))
    costly = hose(shop, becomes_costly_per_year={**ONE, "value": 0.01}, harm={})
    row = rows(shop, costly, [age], happened).iloc[0]
    days = due_day(shop, age, 60.0 * 1.01, 60.0)  # what turned costly is a hundredth a year less
    found = (pd.Timestamp(row["x_look_due_date"]) - pd.Timestamp(shop.as_of)).days
    assert found == pytest.approx(days, rel=0.006)


def test_money_and_harm_date_only_what_is_known_to_be_there(shop):
    """An unknown design is asked about; its vehicle gets no date from age."""
    known, unknown = (
        rows(shop, hose(shop), [12.0], status=[status]).iloc[0] for status in ("exposed", "unknown")
    )
    assert known["act_by_reason"] == "people"
    assert unknown["act_by_reason"] == ""
    assert unknown["act_by_date"] is None


def test_the_odometer_on_the_day_is_todays_and_the_use_until_then(shop):
    row = rows(shop, shop.hazard(), [5.0]).iloc[0]
    assert row["act_by_reason"] == "money"
    days = (pd.Timestamp(row["act_by_date"]) - pd.Timestamp(shop.as_of)).days
    assert 30 < days < 3000
    assert row["act_by_odometer_mi"] == pytest.approx(60_000.0 + 12_000.0 * days / 365.25, abs=1.0)


def test_a_renewing_job_is_due_at_its_best_age(shop):
    """Belt at 900 against 6,000: the hazard of a belt at 90,500 mi is what its best age asks for.

    A survivor of 60,000 mi reaches that hazard a little later than a new one would: it is likelier
    to be a strong belt.  Worked out here: h̄(v | alive at 60,000)·5,100 = 13.264 $ a 1,000 mi.
    """
    row = rows(shop, shop.hazard(), [5.0]).iloc[0]
    belief = belief_of(shop.hazard())
    past = survived([((0.0,), (60_000.0,))], (60_000.0,), (60_000.0,))
    miles = np.linspace(60_000.0, 120_000.0, 1201)
    rate = posterior(belief, past).rate(miles.reshape(1, 1, -1, 1), np.ones((1, 1)))[0]
    at = float(np.interp(13.264e-3 / 5_100.0, rate, miles))
    assert row["act_by_odometer_mi"] == pytest.approx(at, rel=0.01)


@pytest.mark.parametrize(
    ("written", "as_of", "days"),
    [
        ("10-15", date(2025, 10, 1), 14),
        ("by 10-15 at the latest", date(2025, 10, 1), 14),
        ("10-15", date(2025, 10, 15), 0),
        ("02-30", date(2025, 10, 1), 150),  # the last day of February
        ("02-30", date(2028, 2, 1), 28),  # 29 February 2028
        ("01-05", date(2025, 12, 31), 5),
        ("none", date(2025, 10, 1), None),
    ],
)
def test_days_to_a_season(written, as_of, days):
    policy = SimpleNamespace(seasons={"before_frost": written})
    found = days_to_season("before_frost", policy, as_of)
    assert np.isnan(found) if days is None else found == days
    assert np.isnan(days_to_season("any", policy, as_of))


def test_a_doubtful_exposure_waits_by_its_weight(shop):
    """W of a revealed event is linear in the weight of the worlds that have it."""
    sure, rare = (
        rows(shop, shop.hazard(), [9.0], status=[status], weight=0.4).iloc[0]
        for status in ("exposed", "unknown")
    )
    for name in ("net_benefit", "wait_month", "x_wait_6", "probability", "x_p3"):
        assert rare[name] == pytest.approx(rare["exposed_weight"] * sure[name], rel=1e-9), name
    assert 0.3 < rare["exposed_weight"] < 0.4


def test_the_horizons_w_knows_the_spread_of_the_pace(shop):
    """(C_f − C_p)·p with the printed p: five paces from 0.7 to 1.3 times the usual.

    A one-off job, so that only its interest (0.08·900 a year, less what p cuts off) is saved.
    """
    jobs = shop.hazard().model_dump()["remedies"]
    row = rows(shop, shop.hazard(remedies=[{**jobs[0], "effect": "eliminates"}]), [9.0]).iloc[0]
    path = np.array([0.0, row["x_p1"], row["x_p3"], row["x_p6"], row["probability"]])
    years = np.array([0.0, 1.0, 3.0, 6.0, 12.0]) / 12.0
    alive = 1.0 - path
    used = float((np.diff(years) * (alive[1:] + alive[:-1]) / 2).sum())
    expected = 5_100.0 * row["probability"] - 72.0 * used
    assert row["net_benefit"] == pytest.approx(expected, abs=0.25)


def test_a_record_is_doubted_below_one_in_a_hundred(shop):
    """The chance of having got this far, as printed, against 0.01 (the project's own rule)."""
    table = rows(shop, shop.hazard(harm={}), np.linspace(23.0, 31.0, 1601).tolist())
    odd = table["x_surprise_chance"] < 0.01
    assert (table["findings"].str.contains("record_conflict") == odd).all()
    near = table["x_surprise_chance"]
    assert near.between(0.00995, 0.01, inclusive="left").any()
    assert near.between(0.01, 0.01005).any()
