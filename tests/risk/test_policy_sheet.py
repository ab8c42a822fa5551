"""The policy sheet: what it says is applied or set aside with its cell, never silently."""

from __future__ import annotations

import datetime as dt

import pandas as pd
import pytest

from riskcheck import rulebook
from riskcheck.risk import policy_sheet
from riskcheck.risk.policy_sheet import COLUMNS, applied, month_day, number, six


@pytest.fixture(scope="module")
def policy():
    return rulebook.load(rulebook.shipped_dir()).policy


def sheet(*rows):
    """Rows of (figure, value[, unit[, where from]]) in cells B2, B3, ..."""
    full = [
        (*row, *[""] * (4 - len(row)), "fleet.xlsx", "Policy", f"B{place}")
        for place, row in enumerate(rows, start=2)
    ]
    return pd.DataFrame(full, columns=COLUMNS)


def test_the_six_are_those_an_owner_sets(policy):
    """The list is the project's own: labour, hours, floor, tolerance, frost, calls."""
    table = six(policy)
    assert table["field"].tolist() == [
        "labour_rate", "bay_hours_per_week", "floor_per_bay_hour", "tolerance_p_harm",
        "frost_date", "calls_per_day",
    ]  # fmt: skip
    assert table["value"].tolist() == [150.0, 110.0, 150.0, 1e-5, "10-15", 8.0]
    assert set(table["source"]) == {"from_memory", "invented", "common_practice"}
    assert table.set_index("field").loc["tolerance_p_harm", "where_from"].startswith("invented")


def test_the_sheet_as_printed_changes_nothing(policy):
    printed = six(policy).drop(columns=["field", "source"])
    result = applied(policy, printed.assign(file="f.xlsx", sheet="Policy", cell="B2"))
    assert result.policy == policy
    assert result.problems.empty
    assert result.changes.empty
    for nothing in (None, sheet()):
        assert applied(policy, nothing).policy == policy


def test_every_figure_can_be_set(policy):
    result = applied(policy, sheet(
        ("Labour rate", "$165"), ("bay hours per week", "95 h"), ("floor_per_bay_hour", "120"),
        ("Chance of harm a year that is tolerated", "1 in 1,000,000"),
        ("FROST DATE", "Nov 1"), ("Calls a day", "9"),
    ))  # fmt: skip
    assert result.problems.empty
    assert six(result.policy)["value"].tolist() == [165.0, 95.0, 120.0, 1e-6, "11-01", 9.0]
    assert set(six(result.policy)["source"]) == {"shop_data"}
    assert result.policy.labour_rate.range == (165.0, 165.0)
    assert result.policy.labour_rate.citation == "set by the owner, sheet Policy, cell B2"
    assert result.changes.iloc[0].tolist() == [
        "labour_rate", "150 [from_memory]", "165 [shop_data]", "fleet.xlsx", "Policy", "B2",
    ]  # fmt: skip
    assert policy.seasons["before_frost"] == "10-15"
    assert result.policy.seasons["tyre_change"] == policy.seasons["tyre_change"]


def test_an_owner_may_stand_by_a_figure_as_it_is(policy):
    result = applied(policy, sheet(("Calls a day", "12", "calls", "counted in September")))
    assert result.policy.calls_per_day.source == "shop_data"
    assert result.policy.calls_per_day.citation.endswith("cell B2: counted in September")
    assert result.changes["now"].tolist() == ["12 [shop_data]"]


@pytest.mark.parametrize(
    ("row", "reason"),
    [
        (("Labor of love", "3"), "is none of: Labour rate"),
        (("Labour rate", "plenty"), "'plenty' is no number"),
        (("Labour rate", "-20"), "no number"),
        (("Labour rate", "#DIV/0!"), "no number"),
        (("Labour rate", ""), "no number"),
        (("Labour rate", "150000"), "not believable"),
        (("Labour rate", "150", "EUR/h"), "the unit must be USD/h"),
        (("Labour rate", "150 h"), "the unit must be USD/h, not h"),
        (("Chance of harm a year that is tolerated", "1"), "not believable"),
        (("Chance of harm a year that is tolerated", "0"), "not believable"),
        (("Frost date", "02-30"), "no day of the year"),
        (("Frost date", "10/15"), "no day of the year"),
        (("Frost date", "soon"), "no day of the year"),
        (("", "150"), "is none of"),
    ],
)
def test_nonsense_is_set_aside_with_its_cell(policy, row, reason):
    result = applied(policy, sheet(row, ("Calls a day", "9")))
    assert result.policy.calls_per_day.value == 9.0
    assert result.policy.model_copy(update={"calls_per_day": policy.calls_per_day}) == policy
    assert len(result.problems) == 1
    problem = result.problems.iloc[0]
    assert (problem["file"], problem["sheet"], problem["cell"]) == ("fleet.xlsx", "Policy", "B2")
    assert (problem["action"], problem["was"]) == ("set_aside", row[1])
    assert reason in problem["reason"]


def test_a_figure_given_twice_counts_once(policy):
    result = applied(policy, sheet(("Calls a day", "9"), ("Calls a day", "19")))
    assert result.policy.calls_per_day.value == 9.0
    assert "already stands in cell B2" in result.problems["reason"].iloc[0]


@pytest.mark.parametrize(
    ("written", "day"),
    [
        ("10-15", "10-15"), ("1-5", "01-05"), ("Oct 15", "10-15"), ("15 October", "10-15"),
        ("2026-10-15", "10-15"), ("2026-10-15 00:00:00", "10-15"), (dt.date(2026, 2, 29 - 1),
        "02-28"), (pd.Timestamp("2026-10-15"), "10-15"),
    ],
)  # fmt: skip
def test_days_of_the_year(written, day):
    assert month_day(written) == day


@pytest.mark.parametrize(
    ("written", "value"),
    [("1,500", 1500.0), ("1e-5", 1e-5), ("1 in 100,000", 1e-5), (150, 150.0), ("150.", 150.0)],
)
def test_numbers(written, value):
    assert number(written) == value


def test_the_bounds_are_wider_than_any_shop():
    """Tolerance: HSE (2001) calls 1e-3 a year the limit for workers (from memory)."""
    bounds = {one.field: (one.least, one.most) for one in policy_sheet.SIX}
    assert bounds["tolerance_p_harm"] == (1e-9, 1e-3)
