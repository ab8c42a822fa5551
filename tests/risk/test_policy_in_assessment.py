"""A policy sheet in the owner's own workbook reaches the figures, and its nonsense the problems."""

from __future__ import annotations

import datetime as dt

import openpyxl
import pytest

import riskcheck
from riskcheck.risk import policy_sheet


@pytest.fixture(scope="module")
def assess(tmp_path_factory):
    folder = tmp_path_factory.mktemp("policy")

    def run(name, *policy):
        book = openpyxl.Workbook()
        sheet = book.active
        sheet.title = "Trucks"
        sheet.append(["Unit", "Make", "Model", "Year", "Odometer", "In service",
                      ])  # fmt: skip
        sheet.append(["T1", "Tovask", "Carrier", 2012, 150000, dt.date(2012, 3, 1)])
        own = book.create_sheet("What we charge")
        own.append(list(policy_sheet.HEADINGS))
        for row in policy:
            own.append(list(row))
        book.save(folder / name)
        return riskcheck.assess(folder / name, as_of=dt.date(2026, 10, 1), only=["coolant-age"])

    return run


def test_a_dearer_hour_makes_the_job_dearer_by_just_that(assess):
    plain = assess("plain.xlsx", ("Labour rate", 150, "USD/h", ""))
    dear = assess(
        "dear.xlsx", ("Labour rate", 200, "USD/h", "our door rate"), ("Calls a day", "many", "", "")
    )
    hours = plain.exposures["hours"].iloc[0]
    rise = dear.exposures["cost_to_prevent"] - plain.exposures["cost_to_prevent"]
    assert rise.iloc[0] == pytest.approx(50.0 * hours)
    assert dear.rulebook.policy.labour_rate.source == "shop_data"
    problem = dear.fleet.problems[
        dear.fleet.problems["reason"].str.contains("policy figure not applied")
    ]
    assert problem[["sheet", "cell", "action", "was"]].values.tolist() == [
        ["What we charge", "B3", "set_aside", "many"]
    ]
    assert plain.fleet.problems["reason"].str.contains("policy").sum() == 0
