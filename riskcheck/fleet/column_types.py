"""Whether what stands in a column can be what a heading that is only near a known one suggests."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace

import numpy as np
import pandas as pd

from riskcheck.fleet.columns import plain_number
from riskcheck.fleet.dates import is_date
from riskcheck.fleet.distances import is_distance
from riskcheck.fleet.distinct import distinct
from riskcheck.fleet.headings import NEAR, HeadingMatch
from riskcheck.fleet.identity import plain_text
from riskcheck.fleet.tables import Table

_LOOKED_AT = 200
_ENOUGH = 0.5  # share of the filled cells that must fit (choice, no source)
_DATES = {
    "date", "date_opened", "date_promised", "date_posted", "in_service", "build_date", "state_date",
    "owner_since", "warranty_end", "goodwill_end", "inspection_due", "odometer_date", "appointment",
    "from_date", "to_date", "fixed_date", "due_date", "to",
}  # fmt: skip
_DISTANCES = {"odometer", "odometer_out", "due_odometer"}
_NUMBERS = {
    "engine_hours", "model_year", "gvwr", "annual_miles", "part_quantity", "amount",
    "labour_hours", "spn", "fmi", "on_hand", "lead_days", "unit_cost", "bay_hours", "bays",
    "hours_per_day", "max_weight", "tolerance_days", "hours",
}  # fmt: skip
_WORDS = {"line", "complaint", "cause", "remarks", "note", "notes", "name", "make", "address"}


def fits(field: str, cells: pd.Series) -> bool:
    """Whether at least half of the filled cells can be read as ``field`` wants them.

    Fields of free form (identifiers, facts) fit anything; a blank column fits everything.
    """
    _, found = distinct(cells.iloc[:_LOOKED_AT])
    filled = [value for value in found if plain_text(value)]
    if not filled:
        return True
    if field in _DATES:
        good = [is_date(value) for value in filled]
    elif field in _DISTANCES:
        good = [is_distance(value) for value in filled]
    elif field in _NUMBERS:
        good = [not np.isnan(plain_number(value)[0]) for value in filled]
    elif field in _WORDS:
        good = [_is_wording(value) for value in filled]
    else:
        return True
    return sum(good) >= _ENOUGH * len(good)


def believable(table: Table) -> Table:
    """The table without near matches, and hints at them, that its cells speak against."""
    columns = []
    for column in table.columns:
        match, cells = column.match, table.cells(column.index)
        if match.how == NEAR and not fits(match.field, cells):
            match = HeadingMatch(
                "", match.confidence, "not understood: its cells are no such thing"
            )
        elif match.instead:
            instead = tuple(field for field in match.instead if fits(field, cells))
            how = match.how if instead else "not understood"
            match = replace(match, instead=instead, how=how)
        columns.append(replace(column, match=match))
    return replace(table, columns=tuple(columns))


def _is_wording(value: object) -> bool:
    if isinstance(value, int | float | dt.date | dt.time):
        return False
    return not is_date(value) and np.isnan(plain_number(value)[0])
