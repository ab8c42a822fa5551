"""The spares sheet says how many of one type a fleet can do without; counts are set by hand."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Any

import pytest

from riskcheck.actions.plan import make_plan
from riskcheck.actions.plan.spares import spares_of
from riskcheck.fleet import model

sys.path.insert(0, str(Path(__file__).parent))
import made_up


def out_at_once(rows: list[dict[str, Any]]) -> dict[str, int]:
    """May be out at once, by type, in the made-up fleet with these rows on the sheet."""
    asked = made_up.asked(3, 24, 4)
    asked.fleet.spares = made_up.shaped(model.SPARE_COLUMNS, rows)
    cars = asked.fleet.vehicles.set_index("vehicle_id")
    _, names = spares_of(cars, asked.fleet, made_up.BOOK.policy)
    return {kind: count for _, kind, count in names}


def test_the_policy_speaks_where_the_sheet_is_silent() -> None:
    plain = out_at_once([])
    assert plain
    assert out_at_once([{"fleet": "somebody else", "spares": 7.0}]) == plain
    assert out_at_once([{"fleet": "Parcel runs", "spares": 0.0}]) == plain


@pytest.mark.parametrize("who", [{"fleet": "parcel RUNS"}, {"customer_id": "C1"}, {}])
def test_a_fleet_is_named_by_name_or_number_or_not_at_all(who: dict[str, str]) -> None:
    assert set(out_at_once([{**who, "spares": 7.0}]).values()) == {7}


def test_the_more_particular_row_wins() -> None:
    one = next(iter(out_at_once([])))
    rows = [{"fleet": "Parcel runs", "spares": 7.0}, {"type": one.lower(), "fleet": "Parcel runs",
                                                     "spares": 2.0}]  # fmt: skip
    told = out_at_once(rows)
    assert told.pop(one) == 2
    assert set(told.values()) <= {7}


def test_no_more_are_out_in_a_week_than_the_sheet_allows() -> None:
    asked = made_up.asked(3, 24, 5)
    asked.fleet.spares = made_up.shaped(
        model.SPARE_COLUMNS, [{"fleet": "Parcel runs", "spares": 1.0}]
    )
    visits = make_plan(asked).visits
    cars = asked.fleet.vehicles.set_index("vehicle_id")
    own = visits[visits["vehicle_id"].map(cars["customer_id"]).eq("C1")]
    kind = own["vehicle_id"].map(cars["make"] + " " + cars["model"])
    assert len(own)
    assert own.groupby([own["date"], kind])["vehicle_id"].nunique().max() == 1
