"""The planted stories come out of the whole run as the shop would expect.

The expected answers are ours: each story was written by hand in ``sample_data/shop_stories.py``
with its answer in mind, before any run.
"""

from __future__ import annotations

import datetime as dt

import pandas as pd
import pytest
from sample_paths import WORKBOOK, script

import riskcheck

AS_OF = dt.date(2026, 10, 1)
FIRST_TEN = [
    "heater-stud-drop",
    "replacement-heater-no-ground",
    "heater-ground-strap-hot",
    "timing-belt-overdue",
    "coolant-age",
    "brake-hose-ageing",
    "wheel-retorque-missed",
    "tyre-age-tread",
    "battery-age-parasitic",
    "exhaust-fuel-line-corrosion",
]


@pytest.fixture(scope="module")
def assessment():
    return riskcheck.assess(WORKBOOK, as_of=AS_OF, only=FIRST_TEN)


@pytest.fixture(scope="module")
def rows(assessment) -> pd.DataFrame:
    named = assessment.fleet.vehicles.set_index("vehicle_id")["unit"].astype(str)
    table = assessment.exposures.copy()
    unit = table["vehicle_id"].map(named)
    table["unit"] = unit.where(unit != "", table["vehicle_id"])
    return table.set_index(["unit", "hazard_id"])


def test_a_heater_upgraded_in_may_and_never_measured_is_not_proven(rows):
    assert rows.loc[("1201", "heater-stud-drop"), "status"] == "unproven"
    ground = rows.loc[("1201", "replacement-heater-no-ground")]
    assert (ground["status"], ground["evidence"], ground["tier"]) == ("exposed", "none", 2)


def test_the_bus_with_bulging_hoses_is_called_first(rows, assessment):
    first = rows.sort_values("rank").iloc[0]
    assert first.name == ("B31", "brake-hose-ageing")
    assert (first["evidence"], first["tier"]) == ("confirmed", 1)
    assert first["customer_id"] == "C001"


def test_its_twin_is_not_called(rows, assessment):
    """Same platform, first day and miles; the hoses were replaced with the date on file."""
    cars = assessment.fleet.vehicles.set_index("unit")
    alike = ["make", "model", "engine", "model_year", "in_service_lo", "odometer_mi", "duty"]
    assert list(cars.loc["B31", alike]) == list(cars.loc["B32", alike])
    assert rows.loc[("B32", "brake-hose-ageing"), "status"] == "closed"
    tiers = rows.loc["B32", "tier"].dropna()
    assert (tiers >= 6).all()
    other = rows.loc["B31"].drop(index="brake-hose-ageing")["status"]
    assert other.equals(rows.loc["B32"].drop(index="brake-hose-ageing")["status"])


def test_a_proven_heater_can_still_have_a_thin_strap(rows):
    assert rows.loc[("1202", "heater-stud-drop"), "status"] == "closed"
    assert rows.loc[("1202", "replacement-heater-no-ground"), "status"] == "closed"
    assert rows.loc[("1202", "heater-ground-strap-hot"), "status"] == "exposed"


def test_last_week_s_wheel_job_is_our_own_duty(rows):
    wheels = rows.loc[("1203", "wheel-retorque-missed")]
    assert (wheels["status"], wheels["tier"]) == ("exposed", 2)


def test_many_miles_are_merely_unusual(assessment):
    """The van's odometer is used as written, and today's miles are its true ones within 3 %."""
    problems = assessment.fleet.problems
    fleet = assessment.fleet
    van = fleet.vehicles.reset_index(drop=True).query("unit == 'V31'")
    index = van.index[0]
    mine = fleet.readings[fleet.readings["vehicle_id"] == van["vehicle_id"].iloc[0]]
    cells = set(mine["cell"])
    touched = problems[problems["cell"].isin(cells) & (problems["action"] == "repaired")]
    touched = touched[~touched["reason"].str.startswith("number written")]
    assert touched.empty
    vehicle = script("shop_stories").planted([f"x{i}" for i in range(10)])[5]
    assert vehicle.unit == "V31"
    true_miles = vehicle.odometer(AS_OF)
    low, middle, high = (use[index] for use in assessment.usage.now("miles"))
    assert middle == pytest.approx(true_miles, rel=0.03)
    assert low <= true_miles <= high
    assert true_miles > 300_000


def test_a_stud_found_loose_is_confirmed_and_a_code_is_a_sign(rows):
    assert rows.loc[("1204", "heater-stud-drop"), "evidence"] == "confirmed"
    assert rows.loc[("1205", "heater-stud-drop"), "evidence"] == "sign"


def test_an_upgrade_measured_on_the_day_is_closed(rows):
    for hazard in ("heater-stud-drop", "replacement-heater-no-ground"):
        assert rows.loc[("1206", hazard), "status"] == "closed"


def test_hoses_declined_twice_come_right_after(rows):
    declined = rows.loc[("1207", "brake-hose-ageing")]
    assert (declined["evidence"], declined["tier"]) == ("confirmed", 1)


def test_a_strap_found_hot_is_confirmed(rows):
    assert rows.loc[("1208", "heater-ground-strap-hot"), "evidence"] == "confirmed"


def test_nobody_knows_the_heater_of_the_farm_truck(rows):
    farm = rows.loc[("F31", "heater-stud-drop")]
    assert farm["status"] == "unknown"
    assert "intake_heater_as_built" in farm["questions"]


def test_every_status_and_evidence_level_occurs(rows):
    assert set(rows["status"]) == {"not_applicable", "closed", "exposed", "unproven", "unknown"}
    assert set(rows["evidence"]) == {"none", "sign", "confirmed"}


def test_the_mess_costs_no_vehicle(assessment):
    fleet = assessment.fleet
    assert len(fleet.vehicles) == 230
    set_aside = fleet.problems[fleet.problems["action"] == "set_aside"]
    for reason in ("dated after", "B99", "void"):
        assert set_aside["reason"].str.contains(reason).any(), reason
