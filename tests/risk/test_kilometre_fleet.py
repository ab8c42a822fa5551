"""One fleet written in miles and in kilometres: the same answers through the whole run."""

from __future__ import annotations

import datetime as dt

import openpyxl
import pandas as pd
import pytest

import riskcheck
from riskcheck.risk import COLUMNS

KM_A_MILE = 1.609344  # exact: NIST SP 811, international mile
VISITS = [
    ("T1", "2019-05-02", 61_000, "timing belt kit, water pump"), ("T1", "2022-06-10", 101_000,
     "brake hoses lock to lock ok"), ("T1", "2026-03-01", 150_000, "oil change"),
    ("T2", "2023-02-01", 80_000, "wheels off for brake pads"), ("T2", "2026-05-05", 140_000, "LOF"),
    ("T3", "2026-08-20", 33_000, "new battery"),
]  # fmt: skip


HAZARDS = [
    "battery-age-parasitic", "brake-hose-ageing", "cv-prop-boot-split", "oil-dilution",
    "timing-belt-overdue", "trans-fluid-towing", "wheel-retorque-missed",
]  # fmt: skip


def assessed(path, per_mile, unit):
    book = openpyxl.Workbook()
    cars = book.active
    cars.title = "Vehicles"
    cars.append(["Unit", "Make", "Model", "Year", "In service", f"Odometer ({unit})"])
    for car, miles in (("T1", 158_000), ("T2", 147_000), ("T3", 34_000)):
        started = dt.date(2012 if car != "T3" else 2021, 3, 1)
        cars.append([car, "Tovask", "Carrier", started.year, started, miles * per_mile])
    jobs = book.create_sheet("Service history")
    jobs.append(["Unit", "Date", f"Odometer ({unit})", "Description"])
    for car, day, miles, text in VISITS:
        jobs.append([car, dt.date.fromisoformat(day), miles * per_mile, text])
    book.save(path)
    return riskcheck.assess(path, as_of=dt.date(2026, 10, 1), only=HAZARDS).exposures


@pytest.fixture(scope="module")
def pair(tmp_path_factory):
    folder = tmp_path_factory.mktemp("units")
    return (assessed(folder / "miles.xlsx", 1.0, "mi"),
            assessed(folder / "km.xlsx", KM_A_MILE, "km"))  # fmt: skip


def test_a_kilometre_fleet_gets_the_answers_of_a_mile_fleet(pair):
    """Odometers are kept to a tenth of a mile, hence a few parts in a million."""
    miles, km = pair
    assert miles["probability"].notna().sum() > 6
    for name in miles.columns:
        if pd.api.types.is_float_dtype(miles[name]):
            assert km[name].tolist() == pytest.approx(
                miles[name].tolist(), rel=1e-4, abs=1e-9, nan_ok=True
            ), name
    same = [name for name in COLUMNS if not pd.api.types.is_float_dtype(miles[name])]
    for name in [*same, "x_tier_reason", "x_look_with"]:
        assert km[name].astype(str).tolist() == miles[name].astype(str).tolist(), name
