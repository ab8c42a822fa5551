"""Dates and odometers to act by: edges of sixty and ten days, seasons, and which clock binds.

The rules are the shop's own (common practice, no source); ratios are worked by hand.
"""

from __future__ import annotations

import datetime as dt
from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest

from riskcheck.risk import price
from riskcheck.risk.dates import days_to_season
from riskcheck.risk.setting import setting_of, vehicle_dates


def on(shop, days, hours=0):
    return pd.Timestamp(shop.as_of) + pd.Timedelta(days=days, hours=hours)


def small_fleet(shop, ids, **columns):
    fleet = shop.fleet(ids, shop.events(), "2000-01-01")
    fleet.vehicles = fleet.vehicles.assign(**columns)
    return fleet


def test_passed_rights_are_gone_and_a_passed_inspection_is_late(shop):
    days = [-400, -1, 0, 60, 61]
    ends = [on(shop, day) for day in days]
    fleet = small_fleet(
        shop, [f"V{i}" for i in range(5)], warranty_end=ends, goodwill_end=ends,
        inspection_due=ends,
    )  # fmt: skip
    ahead = vehicle_dates(fleet, shop.as_of).ahead
    assert ahead["inspection"].tolist() == days
    for right in ("warranty", "goodwill"):
        assert ahead[right][2:].tolist() == [0.0, 60.0, 61.0]
        assert np.isnan(ahead[right][:2]).all()


@pytest.mark.parametrize(
    ("days", "hours", "soon"),
    [(-1, 0, False), (0, 0, True), (0, 9, True), (10, 0, True), (10, 14, True), (11, 0, False)],
)
def test_a_booking_counts_by_its_day_up_to_ten_days(shop, days, hours, soon):
    fleet = small_fleet(shop, ["V0", "V1"])
    fleet.appointments = pd.DataFrame({"vehicle_id": ["V0"], "date": [on(shop, days, hours)]})
    book = SimpleNamespace(policy=shop.policy(), vocabulary={})
    use = shop.use(("V0", "V1"), np.array([5.0, 5.0]))
    setting = setting_of(book, fleet, use, shop.as_of, 12.0)
    assert setting.coming_in.tolist() == [soon, False]


@pytest.mark.parametrize(
    ("as_of", "days"),
    [
        ("2026-08-15", 61.0),
        ("2026-10-14", 1.0),
        ("2026-10-15", 0.0),
        ("2026-10-16", 0.0),  # begun: late, not a year away
        ("2026-12-14", 0.0),  # sixty days into it
        ("2026-12-15", 304.0),
        ("2027-01-05", 283.0),
    ],
)
def test_a_season_that_began_is_due_for_sixty_days(shop, as_of, days):
    policy = shop.policy(seasons={"before_frost": "by 10-15"})
    assert days_to_season("before_frost", policy, dt.date.fromisoformat(as_of)) == days


def test_a_season_at_the_turn_of_the_year_is_late_in_january(shop):
    policy = shop.policy(seasons={"after_salt": "12-20", "any": ""})
    assert days_to_season("after_salt", policy, dt.date(2027, 1, 10)) == 0.0
    assert np.isnan(days_to_season("any", policy, dt.date(2027, 1, 10)))
    leap = shop.policy(seasons={"after_salt": "02-29"})
    assert days_to_season("after_salt", leap, dt.date(2027, 2, 1)) == 27.0


def belt_on_both(shop, miles, years):
    """A belt that comes due by miles or years, whichever is further through."""
    life = shop.hazard().life.model_dump()
    clock = {"unit": "mi", "source": "invented"}
    life["clocks"] = [
        {"clock": "miles", "b10": {**clock, "value": miles, "low": 0.8 * miles, "high": miles}},
        {"clock": "years", "b10": {**clock, "unit": "y", "value": years, "low": 0.8 * years,
                                   "high": years}},
    ]  # fmt: skip
    return shop.hazard(life=life)


def priced(shop, hazard, years, **status):
    ids = tuple(f"V{at}" for at in range(len(years)))
    book = SimpleNamespace(hazards={hazard.id: hazard}, policy=shop.policy(), vocabulary={})
    told = {hazard.id: shop.reasoned(hazard.id, ["exposed"] * len(ids), **status)}
    use = shop.use(ids, np.array(years, dtype=float))
    fleet = small_fleet(shop, list(ids))
    return price(book, told, fleet, use, shop.as_of, 12).exposures


def test_an_odometer_is_named_only_where_the_miles_bind(shop):
    """12,000 mi a year: 1/9 y a year beats 12/115, and 12/85 beats 1/9 (in thousands of miles)."""
    by_years = priced(shop, belt_on_both(shop, 115_000.0, 9.0), [7.0, 12.0])
    by_miles = priced(shop, belt_on_both(shop, 85_000.0, 9.0), [7.0, 12.0])
    assert set(by_years["act_by_reason"]) == set(by_miles["act_by_reason"]) == {"money"}
    assert by_years["act_by_odometer_mi"].isna().all()
    assert by_miles["act_by_odometer_mi"].notna().all()
    # Due today: the odometer as it stands.
    assert by_miles["act_by_odometer_mi"].iloc[1] == pytest.approx(144_000.0, rel=1e-6)


def test_the_clock_that_binds_is_that_of_the_day_not_of_today(shop):
    """A belt renewed by years is on file no more: the miles overtake on the way to the date.

    Today 3.0 y of 9 (0.333) stand against 20,000 mi of 85,000 (0.235): years lead.  At 40,000 mi a
    year they meet in 0.27 years; the date lies beyond that.
    """

    class Faster(shop.use):
        def now(self, clock):
            value = np.full(1, {"miles": 20_000.0, "years": 3.0}[clock])
            return value, value, value

        def rates(self, clock):
            return np.full((1, 5), {"miles": 40_000.0, "years": 1.0}[clock])

    hazard = belt_on_both(shop, 85_000.0, 9.0)
    book = SimpleNamespace(hazards={"belt": hazard}, policy=shop.policy(), vocabulary={})
    told = {"belt": shop.reasoned("belt", ["exposed"])}
    use = Faster(("V0",), np.array([3.0]))
    row = price(book, told, small_fleet(shop, ["V0"]), use, shop.as_of, 12).exposures.iloc[0]
    assert row["act_by_reason"] == "money"
    assert row["act_by_date"] > "2026-01-15"
    days = (dt.date.fromisoformat(row["act_by_date"]) - shop.as_of).days
    assert row["act_by_odometer_mi"] == pytest.approx(20_000 + 40_000 * days / 365.25, abs=1.0)


def test_a_found_fault_has_a_day_and_no_odometer(shop):
    found = priced(shop, belt_on_both(shop, 85_000.0, 9.0), [7.0], evidence=["confirmed"]).iloc[0]
    assert found["act_by_reason"] == "confirmed"
    assert np.isnan(found["act_by_odometer_mi"])


def test_a_date_beside_an_inspection_that_is_late_is_today(shop):
    """Act-by dates are never before the day of the list, however late a thing is."""
    one = {"value": 1.0, "unit": "1", "source": "invented"}
    hose = shop.hazard(
        id="hose", reveals="by_looking", harm={"per_year_present": {**one, "value": 1e-9}},
        becomes_costly_per_year={**one, "value": 0.01},
        look={"title": "look", "recorded_as": [], "minutes": {**one, "value": 20},
              "cost": {**one, "value": 10}, "finds": one},
    )  # fmt: skip
    book = SimpleNamespace(hazards={"hose": hose}, policy=shop.policy(), vocabulary={})
    told = {"hose": shop.reasoned("hose", ["exposed"])}
    fleet = small_fleet(shop, ["V0"], inspection_due=[on(shop, -30)])
    use = shop.use(("V0",), np.array([14.0]))
    row = price(book, told, fleet, use, shop.as_of, 12).exposures.iloc[0]
    assert (row["act_by_reason"], row["act_by_date"]) == ("inspection", str(shop.as_of))
    assert row["x_key"] == "30 days over"
    assert np.isnan(row["act_by_odometer_mi"])
