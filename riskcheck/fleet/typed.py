"""One vehicle told at the counter, as the sheets a workbook would have held.

What was typed goes through the ordinary reader cell by cell, so that "85k", "10 AWG" or a VIN
mean the same at the counter as in a workbook.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import pandas as pd

from riskcheck.fleet.fields import VEHICLE_FIELDS
from riskcheck.fleet.headings import HeadingBook, normalise
from riskcheck.sheets import Grid
from riskcheck.vocabulary import Vocabulary

TYPED_IN = "typed in"
THIS_VEHICLE = "this vehicle"
_NAMES = ("vehicle_id", "unit", "vin", "plate")
_DONE = re.compile(
    r"(?P<date>\d{4}-\d{2}-\d{2})[\s,:;]+"
    r"(?:(?P<odometer>\d[\d,. ]*k?\s*(?:mi|miles|km)\b|\d{4,7}|\d{1,3},\d{3})[\s,:;]+)?"
    r"(?P<line>\S.*)",
    re.I,
)


@dataclass(frozen=True)
class Done:
    """One line of the vehicle's history: ISO date, odometer as typed ("" if none), words."""

    date: str
    odometer: str
    line: str


def done(text: str) -> Done:
    """ "2024-05-01 98,000 mi replaced brake hoses" in its parts; ValueError without a date.

    A bare number of four to seven digits right after the date is the odometer, in miles.
    """
    found = _DONE.fullmatch(text.strip())
    if found is None:
        raise ValueError(f"{text!r} does not start with a date and words after it")
    return Done(found["date"], (found["odometer"] or "").strip(), found["line"].strip())


def column_of(name: str, vocabulary: Vocabulary) -> str:
    """The field of the vehicle sheet that ``name`` means, "" where it is none.

    Names are those a heading may have, matched exactly; a fact found in a column counts.
    """
    words = {field.name: (field.name, *field.words) for field in VEHICLE_FIELDS}
    facts = {fact.name: (fact.name, *fact.headings) for fact in vocabulary.derived_by("column")}
    return HeadingBook({**facts, **words}).exact(normalise(name))


def sheets_of(details: Mapping[str, str], history: Sequence[Done]) -> list[Grid]:
    """A vehicle sheet of one row, and a service sheet if there is any history.

    ``details``: heading to cell, both as typed; without a name the vehicle is THIS_VEHICLE.
    """
    named = [name for name in details if normalise(name) in {normalise(n) for n in _NAMES}]
    vehicle = {**({} if named else {"vehicle_id": THIS_VEHICLE}), **details}
    key = named[0] if named else "vehicle_id"
    grids = [_grid("Vehicle", [list(vehicle), list(vehicle.values())])]
    if history:
        rows = [[vehicle[key], line.date, line.odometer, line.line] for line in history]
        grids.append(_grid("History", [[key, "date", "odometer", "description"], *rows]))
    return grids


def _grid(sheet: str, rows: Sequence[Sequence[str]]) -> Grid:
    return Grid(TYPED_IN, sheet, pd.DataFrame([list(row) for row in rows], dtype=object))
