"""Clocks of whole vehicles: worked examples and properties."""

from __future__ import annotations

import datetime as dt

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import gamma, norm
from usage_frames import AS_OF, dates, usage, vehicles

NAN = float("nan")
STEADY = [("v0", f"{year}-10-01", 12_000.0 * (year - 2018), NAN) for year in range(2020, 2027)]
Z90 = 1.6448536


def steady_fleet():
    return vehicles(in_service_lo=["2018-10-01"], in_service_hi=["2018-10-01"])


def test_a_vehicle_of_which_nothing_is_known_gets_the_class_figure_back():
    """12,000 (6,000 to 18,000): the 10 % point of that two-piece log-normal, by hand."""
    rates = usage(vehicles(model_year=[2020])).rates("miles")[0]
    assert rates[2] == pytest.approx(12_000)
    assert rates[0] == pytest.approx(12_000 * 0.5 ** (norm.ppf(0.9) / Z90))
    assert rates[4] == pytest.approx(12_000 * 1.5 ** (norm.ppf(0.9) / Z90))


def test_miles_now_are_the_last_reading_when_it_is_today():
    low, middle, high = usage(steady_fleet(), STEADY).now("miles")
    assert (low[0], middle[0], high[0]) == pytest.approx((96_000, 96_000, 96_000))


@pytest.mark.parametrize("every", [365, 91, 30])
def test_long_fresh_readings_outweigh_the_class(every):
    """A van habit in a retail class: 30,000 a year for six years stays within 5 % of 30,000."""
    last, first = np.datetime64(AS_OF), np.datetime64("2018-10-01")
    days = last - np.arange(0, 6 * 365 + 2, every)
    rows = [("v0", str(day), 30_000 / 365.2425 * (day - first).astype(int), NAN) for day in days]
    rates = usage(steady_fleet(), rows).rates("miles")[0]
    assert 28_500 < rates[2] < 30_000
    assert rates[0] < 27_000 < 32_000 < rates[4]


def test_a_changed_pace_outweighs_what_was_driven_before():
    """10,000 a year for four years, 20,000 since: four more years of it all but settle the pace.

    Taken for one steady life it would be 14,000; the last four years lie well within the range.
    """
    days = np.datetime64(AS_OF) - np.arange(0, 8 * 365, 91)
    years = (days - np.datetime64("2018-10-01")).astype(int) / 365.2425
    miles = 10_000 * np.minimum(years, 4) + 20_000 * np.maximum(years - 4, 0)
    rows = [("v0", str(day), mile, NAN) for day, mile in zip(days, miles, strict=True)]
    rates = usage(steady_fleet(), rows).rates("miles")[0]
    assert 18_000 < rates[2] < 20_000
    assert rates[3] > 20_000


def test_few_readings_are_shrunk_more_than_many():
    short = [("v0", "2026-07-01", 50_000.0, NAN), ("v0", "2026-10-01", 57_500.0, NAN)]
    long = [("v0", "2023-10-01", -32_500.0 + 90_000, NAN), ("v0", "2026-10-01", 147_500.0, NAN)]
    unknown_age = vehicles(duty=["retail"])
    few = usage(unknown_age, short).rates("miles")[0, 2]
    many = usage(unknown_age, long).rates("miles")[0, 2]
    assert 12_000 < few < many < 30_000


def test_old_readings_are_shrunk_more_than_fresh_ones():
    fleet = vehicles(duty=["retail"])
    fresh = [("v0", "2024-10-01", 10_000.0, NAN), ("v0", "2026-10-01", 70_000.0, NAN)]
    stale = [("v0", "2016-10-01", 10_000.0, NAN), ("v0", "2018-10-01", 70_000.0, NAN)]
    new, old = usage(fleet, fresh).rates("miles")[0], usage(fleet, stale).rates("miles")[0]
    assert 12_000 < old[2] < new[2] < 30_000
    assert old[4] / old[0] > new[4] / new[0]


def test_a_silent_vehicle_learns_from_its_likes():
    """Nine vans that all run 36,000 a year teach the tenth; a retail car learns nothing."""
    fleet = vehicles(duty=["van"] * 10 + ["retail"], model_year=[2018] * 11)
    read = [
        (f"v{i}", f"{y}-10-01", 36_000.0 * (y - 2018), NAN) for i in range(9) for y in (2022, 2026)
    ]
    rates = usage(fleet, read).rates("miles")
    assert 22_000 < rates[9, 2] < 36_000
    assert rates[10, 2] == pytest.approx(12_000)


def test_use_between_two_readings_is_interpolated_and_stays_between_them():
    """Half way from 24,000 to 36,000 is 30,000."""
    known = usage(steady_fleet(), STEADY)
    low, middle, high = known.at("miles", np.array([0]), dates("2021-04-01"), dates("2021-04-01"))
    assert middle[0] == pytest.approx(24_000 + 12_000 * 182 / 365)
    assert 24_000 <= low[0] < middle[0] < high[0] <= 36_000


def test_before_the_first_reading_use_starts_at_zero_on_the_first_day():
    known = usage(steady_fleet(), STEADY)
    day = dates("2018-10-01", "2018-01-01", "2019-10-01")
    low, middle, high = known.at("miles", np.array([0, 0, 0]), day, day)
    assert (middle[0], middle[1]) == (0.0, 0.0)
    assert middle[2] == pytest.approx(24_000 * 365 / 731)
    assert low[2] < middle[2] < high[2]


def test_a_vague_date_widens_the_range():
    known = usage(steady_fleet(), STEADY)
    where = np.array([0])
    narrow = known.at("miles", where, dates("2021-07-01"), dates("2021-07-01"))
    wide = known.at("miles", where, dates("2021-01-01"), dates("2021-12-31"))
    assert wide[0][0] < narrow[0][0]
    assert narrow[2][0] < wide[2][0]


def test_after_the_last_reading_use_is_projected():
    """72,000 two years ago at 12,000 a year: 96,000 today, by hand."""
    read = [row for row in STEADY if row[1] < "2025"]
    low, middle, high = usage(steady_fleet(), read).now("miles")
    assert middle[0] == pytest.approx(72_000 + 24_000, rel=0.01)
    assert 72_000 < low[0] < middle[0] < high[0]


def test_readings_after_the_as_of_date_are_not_looked_at():
    future = [*STEADY, ("v0", "2027-10-01", 900_000.0, NAN)]
    np.testing.assert_array_equal(
        usage(steady_fleet(), future).rates("miles"), usage(steady_fleet(), STEADY).rates("miles")
    )


def test_age_counts_from_the_in_service_date():
    low, middle, high = usage(steady_fleet(), STEADY).now("years")
    assert (low[0], middle[0], high[0]) == pytest.approx((8.0, 8.0, 8.0))


def test_age_from_a_model_year_is_a_range_of_two_years():
    low, middle, high = usage(vehicles(model_year=[2016])).now("years")
    assert high[0] == pytest.approx(11.25)
    assert low[0] == pytest.approx(9.25, abs=0.01)
    assert low[0] < middle[0] < high[0]


def test_age_from_the_odometer_alone():
    """96,000 miles at 12,000 (6,000 to 18,000) a year: 8 years (5.3 to 16), by hand."""
    low, middle, high = usage(vehicles(odometer_mi=[96_000.0])).now("years")
    assert middle[0] == pytest.approx(8.0, abs=0.02)
    assert low[0] == pytest.approx(96 / 18, abs=0.02)
    assert high[0] == pytest.approx(16.0, abs=0.02)


def test_nothing_known_is_not_known():
    known = usage(vehicles(duty=["retail"]))
    for clock in ("miles", "years", "winters", "cold_starts", "engine_hours", "towing_miles"):
        assert np.isnan(known.now(clock)[1][0]), clock


def test_winters_gather_by_month():
    """1 January 2020 to 1 October 2026: six whole winters and January to March (0.60), by hand."""
    fleet = vehicles(in_service_lo=["2020-01-01"], in_service_hi=["2020-01-01"])
    assert usage(fleet).now("winters")[1][0] == pytest.approx(6.60)


def test_cold_starts_follow_the_policy_and_the_season():
    """100 (50 to 200) a year; October alone is 5 % of it, October to December 40 %."""
    known = usage(steady_fleet(), STEADY)
    ahead = known.ahead("cold_starts", np.array([1.0, 3.0, 12.0]))
    np.testing.assert_allclose(ahead[0, 2], [5.0, 40.0, 100.0])
    assert ahead[0, 4, 2] == pytest.approx(100 * 2 ** (norm.ppf(0.9) / Z90))


def test_dates_are_found_by_walking_months():
    """From 1 October: 5 starts by 31 October, 15 by 30 November, the hundredth by March."""
    known = usage(steady_fleet(), STEADY)
    found = known.date_of("cold_starts", np.array([0, 0, 0]), np.array([5.0, 15.0, 100.0]))
    assert [str(day) for day in found] == ["2026-11-01", "2026-12-01", "2027-04-01"]


def test_a_gain_of_a_year_s_miles_is_a_year_away():
    known = usage(steady_fleet(), STEADY)
    rate = known.rates("miles")[0, 2]
    found = known.date_of("miles", np.array([0, 0, 0]), np.array([rate, 0.0, rate * 1e6]))
    assert [str(day) for day in found] == ["2027-10-01", "2026-10-01", "NaT"]


def test_engine_hours_are_read_or_follow_the_miles():
    """No hour meter: 96,000 miles at 12,000 miles for 400 hours is 3,200 hours, by hand."""
    by_miles = usage(steady_fleet(), STEADY).now("engine_hours")
    assert by_miles[1][0] == pytest.approx(3_200)
    assert by_miles[0][0] < 3_200 < by_miles[2][0]
    read = [(v, d, m, 700.0 * (int(d[:4]) - 2018)) for v, d, m, _ in STEADY]
    metered = usage(steady_fleet(), read)
    assert metered.now("engine_hours")[1][0] == pytest.approx(5_600)
    assert 600 < metered.rates("engine_hours")[0, 2] < 720


def test_towing_miles_are_a_share_of_the_miles():
    fleet = steady_fleet()
    often = usage(fleet.assign(tows_often="yes"), STEADY).now("towing_miles")
    never = usage(fleet.assign(tows_often="no"), STEADY).now("towing_miles")
    assert often[1][0] == pytest.approx(0.20 * 96_000)
    assert never[1][0] == pytest.approx(0.01 * 96_000)


def test_deep_water_is_counted_and_its_rate_is_a_gamma_posterior():
    """Conjugate gamma-Poisson (any textbook): shape 0.5 + 2, exposure 10 + 8 years."""
    wet = [
        ("v0", "2021-05-01", "water_crossing", "finding"),
        ("v0", "2024-05-01", "water_crossing", "complaint"),
        ("v0", "2024-06-01", "axle_oil", "done"),
    ]
    known = usage(steady_fleet(), STEADY, wet)
    day = dates("2023-01-01")
    assert known.at("water_events", np.array([0]), day, day)[1][0] == 1.0
    assert known.now("water_events")[1][0] == 2.0
    expected = gamma.ppf([0.1, 0.3, 0.5, 0.7, 0.9], 2.5, scale=1 / 18)
    np.testing.assert_allclose(known.rates("water_events")[0], expected, rtol=1e-4)


READ = st.lists(
    st.tuples(
        st.sampled_from(["v0", "v1", "v2"]),
        st.dates(dt.date(2016, 1, 1), AS_OF).map(str),
        st.integers(0, 250_000).map(float),
        st.just(NAN),
    ),
    max_size=20,
)


@settings(max_examples=60, deadline=None)
@given(READ, st.randoms(use_true_random=False))
def test_shuffling_the_readings_changes_nothing(rows, random):
    fleet = vehicles(model_year=[2016, 2012, 2020])
    mixed = list(rows)
    random.shuffle(mixed)
    np.testing.assert_array_equal(
        usage(fleet, rows).rates("miles"), usage(fleet, mixed).rates("miles")
    )
    np.testing.assert_array_equal(usage(fleet, rows).now("miles"), usage(fleet, mixed).now("miles"))


@settings(max_examples=60, deadline=None)
@given(READ)
def test_a_kilometre_fleet_equals_a_mile_fleet(rows):
    """1 mile is 1.609344 km exactly (international yard and pound agreement, 1959)."""
    km = 1.609344
    fleet = vehicles(model_year=[2016, 2012, 2020])
    in_km = [(v, d, odometer * km, h) for v, d, odometer, h in rows]
    miles, kilometres = usage(fleet, rows), usage(fleet, in_km, scale=km)
    np.testing.assert_allclose(kilometres.rates("miles"), miles.rates("miles") * km, rtol=1e-9)
    np.testing.assert_allclose(
        kilometres.now("miles"), np.array(miles.now("miles")) * km, rtol=1e-9, atol=1e-6
    )
    np.testing.assert_allclose(kilometres.now("years"), miles.now("years"), rtol=1e-9)


@settings(max_examples=60, deadline=None)
@given(READ)
def test_ranges_are_in_order_and_rates_positive(rows):
    known = usage(vehicles(model_year=[2016, 2012, 2020]), rows)
    for clock in ("miles", "years", "winters", "cold_starts", "engine_hours", "towing_miles"):
        low, middle, high = known.now(clock)
        assert (low <= middle).all(), clock
        assert (middle <= high).all(), clock
        rates = known.rates(clock)
        assert (rates > 0).all(), clock
        assert (np.diff(rates, axis=1) >= 0).all(), clock


def test_years_between_two_dates_are_exact_however_vague_the_first_day_in_service():
    """Five years and 16 days, counted on a calendar: 5 + 16/366 of a month-wise year."""
    fleet = vehicles(model_year=[2011, None], duty=["retail", "retail"])
    day = dates("2021-09-15", "2021-09-15")
    low, middle, high = usage(fleet).since("years", np.array([0, 1]), day, day)
    assert low == pytest.approx(high)
    assert middle == pytest.approx([5 + 16 / 30 / 12] * 2, abs=0.002)


def test_a_doubtful_date_gives_both_ends():
    fleet = vehicles(model_year=[2011])
    low, _, high = usage(fleet).since(
        "years", np.array([0]), dates("2021-10-01"), dates("2024-10-01")
    )
    assert (low[0], high[0]) == pytest.approx((2.0, 5.0))


def test_winters_since_a_date_gather_by_month():
    """From 1 January to 1 October the profile gives January, February and March: 0.6."""
    day = dates("2026-01-01")
    _, middle, _ = usage(vehicles(model_year=[2011])).since("winters", np.array([0]), day, day)
    assert middle[0] == pytest.approx(0.6)


def test_nothing_was_used_longer_than_the_vehicle_itself():
    fleet = vehicles(in_service_lo=["2024-10-01"], in_service_hi=["2024-10-01"])
    day = dates("2020-01-01")
    _, _, high = usage(fleet).since("years", np.array([0]), day, day)
    assert high[0] == pytest.approx(2.0)
