"""Odometers and dates across rows: every defect on a small fleet written out by hand.

Signatures and cures: common practice, no source; 1.609344 km a mile (NIST SP 811, Appendix B).
"""

import datetime as dt

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from riskcheck.fleet import believed
from riskcheck.fleet.history import check_odometers
from riskcheck.fleet.patterns import import_days, on_a_line, shared_values, unit_switches

NAN = float("nan")


def readings(miles, vehicle="V", days=180, start="2020-01-10"):
    first = pd.Timestamp(start)
    dates = [first + pd.Timedelta(days=days * n) for n in range(len(miles))]
    return pd.DataFrame(
        {
            "vehicle_id": vehicle,
            "date": pd.to_datetime(dates).astype("datetime64[s]"),
            "odometer_mi": np.array(miles, dtype=float),
            "engine_hours": np.nan,
            "file": "f.csv",
            "sheet": "",
            "cell": [f"C{n + 2}" for n in range(len(miles))],
        }
    )


STEADY = [50_000, 56_100, 61_800, 68_300, 73_900]


@pytest.mark.parametrize(
    ("miles", "left", "proposed", "words"),
    [
        ([*STEADY, 800_050], [*STEADY, NAN], {5: 80_005}, "tenfold"),
        ([*STEADY, 8_005], [*STEADY, NAN], {5: 80_050}, "a tenth"),
        ([50_000, 56_100, 16_800, 68_300], [50_000, 56_100, NAN, 68_300], {2: 61_800}, "swapped"),
        ([50_000, 56_100, 611_800, 68_300], [50_000, 56_100, NAN, 68_300], {}, "does not fit"),
        ([50_000, 560_000], [NAN, NAN], {1: 56_000}, "none of them settles"),
        (
            [*STEADY, 1_200, 7_300, 13_500],
            [*STEADY, NAN, NAN, NAN],
            {5: 80_050, 6: 86_150, 7: 92_350},  # 73,900 + 180 days of 12,300 in 360
            "instrument may have been replaced",
        ),
    ],
)
def test_doubtful_readings_are_left_out_with_the_value_that_would_fit(miles, left, proposed, words):
    sense = check_odometers(readings(miles))
    assert sense.readings["odometer_mi"].tolist() == pytest.approx(left, nan_ok=True)
    told = sense.findings.set_index("at")
    assert set(told["action"]) == {"noted"}
    assert told["proposed"].dropna().round().to_dict() == pytest.approx(proposed, abs=20)
    assert words in " ".join(told["reason"])


def test_three_readings_that_fit_as_hours_become_hours():
    """2,000 to 2,300 hours among 60,000 to 70,000 miles: 30 miles an hour."""
    miles = [58_000, 60_000, 2_060, 64_000, 2_190, 68_000, 2_330, 72_000]
    sense = check_odometers(readings(miles))
    assert sense.readings["engine_hours"].dropna().to_dict() == {2: 2060, 4: 2190, 6: 2330}
    assert sense.readings["odometer_mi"].isna().tolist() == [n in (2, 4, 6) for n in range(8)]
    assert set(sense.findings["action"]) == {"repaired"}
    two = check_odometers(readings([58_000, 60_000, 2_060, 64_000, 2_190, 68_000]))
    assert two.readings["engine_hours"].isna().all()
    assert set(two.findings["action"]) == {"noted"}


def test_a_switch_to_kilometres_that_stays_is_proposed_not_applied():
    usual = [50_000, 56_000, 62_500, 68_000, 74_200]
    later = [80_000 * 1.609344, 86_500 * 1.609344]
    found = unit_switches(readings([*usual, *later]))
    assert found.to_dict() == pytest.approx({5: 80_000.0, 6: 86_500.0})
    assert check_odometers(readings([*usual, *later])).findings.empty


@pytest.mark.parametrize(
    "miles",
    [
        [10_000, 60_000, 110_500, 159_000, 211_000, 260_000],  # 280 miles a day, every day
        [10_000, 12_000, 14_100, 16_000, 18_050, 61_000, 104_000],  # became a courier
        [10_000, 10_100, 10_150, 10_300, 10_350],  # hardly driven
    ],
)
def test_the_merely_unusual_is_left_alone(miles):
    frame = readings(miles)
    assert check_odometers(frame).findings.empty
    assert unit_switches(frame).empty
    assert shared_values(frame).empty


@given(
    st.lists(st.integers(0, 699), min_size=2, max_size=30),
    st.lists(st.integers(1, 400), min_size=30, max_size=30),
)
def test_any_history_a_vehicle_can_have_is_left_alone(paces, gaps):
    """Forward readings below 700 miles a day contradict nothing (copied ones aside)."""
    days = np.cumsum([0, *gaps[: len(paces)]])
    miles = 5_000 + np.cumsum([0, *(max(p, 1) * g for p, g in zip(paces, gaps, strict=False))])
    frame = readings(miles).assign(
        date=pd.Timestamp("2015-01-01").as_unit("s") + pd.to_timedelta(days, unit="D")
    )
    assert check_odometers(frame).findings.empty


def test_readings_on_one_exact_line_are_named():
    days = np.array([0, 31, 75, 180, 300, 333])
    drawn = readings(30_000 + days * 41.0)
    drawn["date"] = (pd.Timestamp("2020-01-01") + pd.to_timedelta(days, unit="D")).as_unit("s")
    assert on_a_line(drawn).to_dict() == {5: 6}
    drawn.loc[3, "odometer_mi"] += 40
    assert on_a_line(drawn).empty
    assert on_a_line(readings([1000] * 6)).empty


def test_one_value_that_many_vehicles_carry_is_a_placeholder():
    frame = pd.concat(
        [readings([40_000 + 900 * n, 100_000], vehicle=f"V{n}") for n in range(6)],
        ignore_index=True,
    )
    assert shared_values(frame).to_dict() == dict.fromkeys((1, 3, 5, 7, 9, 11), 6)
    assert shared_values(frame[frame["vehicle_id"] < "V4"]).empty


HEADINGS = ["Unit", "Date", "Mileage", "Work done"]


def fleet_rows(readings_of):
    vehicles = [["Unit", "Make", "In service"]]
    vehicles += [[unit, "Brackmoor", dt.date(2015, 3, 1)] for unit in readings_of]
    work = [HEADINGS]
    work += [[unit, *row, "oil"] for unit, rows in readings_of.items() for row in rows]
    return {"V": vehicles, "W": work}


def test_a_doubt_and_the_fleet_as_it_would_be(book, read):
    rows = [("2023-01-10", "50000"), ("2023-07-10", "56,000"), ("2024-01-10", "619000 mi")]
    fleet = read(book(**fleet_rows({"7": rows})))
    doubt = fleet.doubts.drop(columns=["file", "reason"]).to_dict("records")
    assert doubt == [
        {
            "vehicle_id": "7", "date": pd.Timestamp("2024-01-10"), "written": "619000 mi",
            "read_mi": 619000.0, "used_mi": pytest.approx(NAN, nan_ok=True),
            "proposed_mi": 61900.0, "sheet": "W", "cell": "C4",
        }
    ]  # fmt: skip
    assert fleet.vehicles["odometer_mi"].tolist() == [56000.0]
    assert believed(fleet, fleet.doubts).vehicles["odometer_mi"].tolist() == [61900.0]
    assert believed(fleet, fleet.doubts, "read").vehicles["odometer_mi"].tolist() == [619000.0]
    assert believed(fleet, fleet.doubts[:0]).readings.equals(fleet.readings)


def test_an_import_day_makes_dates_uncertain_and_drops_nothing(book, read, told):
    """40 vehicles, one line each on one day, beside two or three lines on ordinary days."""
    readings_of = {
        f"U{n}": [("2019-03-04", 30_000 + n), (f"2021-0{1 + n % 9}-1{n % 7}", 60_000 + 11 * n)]
        for n in range(40)
    }
    fleet = read(book(**fleet_rows(readings_of)))
    lines = fleet.service[fleet.service["date_hi"] == pd.Timestamp("2019-03-04")]
    assert len(fleet.service) == 80
    assert len(lines) == 40
    assert set(lines["date_lo"]) == {pd.Timestamp("2015-03-01")}
    assert len(fleet.readings) == 40  # an odometer without a day says nothing of use
    assert "40 lines of 40 vehicles stand on this one day" in told(fleet, "noted")
    moved = fleet.problems[fleet.problems["reason"] == "a day of import, not of work"]
    assert set(moved["now"]) == {"2015-03-01 to 2019-03-04"}
    assert fleet.coverage["from_date"].min() == pd.Timestamp("2019-03-04")


def test_a_busy_day_of_a_busy_shop_is_no_import():
    days = pd.Series(pd.to_datetime(["2024-01-01"] * 60 + ["2024-01-02"] * 20 + ["2024-01-03"] * 9))
    vehicles = pd.Series([f"V{n}" for n in range(len(days))])
    assert import_days(days, vehicles) == []
    one = pd.Series(["V"] * len(days))
    assert import_days(days[:60], one[:60]) == []
