"""Days as people type them; each expected day is told by the calendar of that autumn."""

from __future__ import annotations

import datetime as dt

import pytest

from riskcheck.actions.returned_days import contact_days
from riskcheck.actions.returned_sheets import ABOUT_HEADINGS, INPUTS, Row, Table

RECORDED = dt.date(2026, 10, 20)


def typed(*days: object) -> Table:
    rows = tuple(Row("Calls", n, {"Date": day}, {}) for n, day in enumerate(days))
    return Table("Calls", tuple(INPUTS), rows)


def about(as_of: str) -> Table:
    row = Row("About", 2, {"What": "As of", "Value": as_of}, {})
    return Table("About", ABOUT_HEADINGS, (row,))


def read(table: Table, *others: Table) -> list[str]:
    return contact_days((table, *others), RECORDED)(table)


@pytest.mark.parametrize(
    ("said", "day"),
    [("10/2/26", "2026-10-02"),  # 10 February is before the list
     ("2/10/26", "2026-10-02"),  # 10 February again, the other way round
     ("10/11/26", "2026-10-11"),  # 10 November is to come
     ("2026-10-03", "2026-10-03"), (dt.datetime(2026, 10, 4), "2026-10-04"),
     ("2027-10-19", "2027-10-19"), ("2028-10-03", ""), ("10/2026", ""), ("soon", ""), (None, "")],
)  # fmt: skip
def test_a_day_has_the_reading_that_can_be(said: object, day: str) -> None:
    assert read(typed(said), about("2026-10-01")) == [day]


def test_two_possible_readings_are_asked_about() -> None:
    assert read(typed("10/2/26"), about("2026-01-01")) == [""]
    assert read(typed("10/2/26")) == [""]


def test_the_other_dates_of_the_workbook_show_the_order() -> None:
    assert read(typed("10/2/26", ""), typed("10/13/26")) == ["2026-10-02", ""]
    assert read(typed("2/10/26"), typed("13/10/26")) == ["2026-10-02"]
