"""Words to events, and values in words to measurements, through the lexicon."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Protocol

import numpy as np
import pandas as pd

from riskcheck.fleet.distinct import Codes, distinct
from riskcheck.fleet.events import EVENT_COLUMNS
from riskcheck.fleet.fault_codes import split_codes
from riskcheck.fleet.model import CODE_COLUMNS, MEASUREMENT_COLUMNS, shaped

_LIKE_A_CODE = r"[PCBUpcbu][0-3oO][0-9A-Fa-f]{3}|[Ss][Pp][Nn]"
_FROM_THE_LINE = [
    "vehicle_id", "date_lo", "date_hi", "odometer_mi", "engine_hours", "line", "line_status",
    "file", "sheet", "cell", "service_id",
]  # fmt: skip
_DONE_MARKS = ["done", "partial", "opens", "proof", "checked_good"]


class WordReader(Protocol):
    """What the reader needs of a lexicon."""

    def read(self, lines: Sequence[str] | pd.Series) -> pd.DataFrame:
        """Events of lines: line_no, topic, hazards, mark, quantity, value, unit, words."""
        ...


def events_of(service: pd.DataFrame, lexicon: WordReader) -> tuple[pd.DataFrame, pd.DataFrame]:
    """(events, measurements) read out of service lines.

    A line of an estimate recommends; a line of an open order says nothing certain: neither can
    make anything done.
    """
    codes, lines = distinct(service["reading_text"])
    read = lexicon.read(pd.Series(lines, dtype=object))
    at, take = _unfolded(codes, read["line_no"].to_numpy(), len(lines))
    joined = read.drop(columns=["line_no"]).iloc[take].reset_index(drop=True)
    for name in _FROM_THE_LINE:
        joined[name] = service["cell_address" if name == "cell" else name].array.take(at)
    status = joined.pop("line_status")
    claims = joined["mark"].isin(_DONE_MARKS)
    joined.loc[claims & (status == "estimate"), "mark"] = "recommended"
    joined.loc[claims & (status == "open"), "mark"] = "ambiguous"
    valued = joined[(joined["quantity"] != "") & joined["value"].notna()]
    valued = valued.assign(date=valued["date_hi"]).drop_duplicates(
        ["service_id", "quantity", "value"]
    )
    events = joined[joined["mark"] != ""]
    return shaped([events], EVENT_COLUMNS), shaped([valued], MEASUREMENT_COLUMNS)


def _unfolded(codes: Codes, line_no: Codes, count: int) -> tuple[Codes, Codes]:
    """From results of distinct lines to results of all lines: (place of line, place of result).

    ``codes``: which distinct line each line is; ``line_no``: of which distinct line each result
    is, ascending; ``count``: how many distinct lines there are.
    """
    each = np.bincount(line_no, minlength=count)[codes]
    first = np.searchsorted(line_no, np.arange(count))[codes]
    at = np.repeat(np.arange(len(codes)), each)
    before = np.repeat(np.cumsum(each) - each, each)
    return at, np.repeat(first, each) + np.arange(len(at)) - before


def codes_of(service: pd.DataFrame) -> pd.DataFrame:
    """Fault codes that stand in service lines."""
    places, lines = distinct(service["line"])
    maybe = pd.Series(lines, dtype="str").str.contains(_LIKE_A_CODE, regex=True)
    listed = {
        place: split_codes(lines[place], pairs=False)
        for place in np.flatnonzero(maybe.to_numpy(dtype=bool))
    }
    rows = np.flatnonzero(np.isin(places, [place for place, codes in listed.items() if codes]))
    found = service.iloc[rows]
    codes = pd.Series([listed[place] for place in places[rows]], index=found.index, dtype=object)
    frame = found.assign(
        code=codes, date=found["date_hi"], words=found["line"], cell=found["cell_address"]
    )
    return shaped([frame.explode("code")], CODE_COLUMNS)


def known_quantities(measurements: pd.DataFrame, lexicon: WordReader) -> pd.DataFrame:
    """Measurements with ``quantity`` as the lexicon names it, value and unit with it.

    A quantity the lexicon does not know keeps its words in snake case.  ``words`` come back as the
    value's own cell (``quote``) has them.
    """
    if measurements.empty:
        return measurements[MEASUREMENT_COLUMNS]
    read = lexicon.read(measurements["words"].reset_index(drop=True))
    read = read[(read["quantity"] != "") & read["value"].notna()].drop_duplicates("line_no")
    quantity = measurements["quantity"].str.casefold().str.replace(r"[^a-z0-9]+", "_", regex=True)
    named = np.array(quantity.str.strip("_"), dtype=object)
    value = np.array(measurements["value"], dtype=float)
    unit = np.array(measurements["unit"], dtype=object)
    at = read["line_no"].to_numpy()
    names = {*read["quantity"]}
    fresh = np.array([named[i] not in names for i in at], dtype=bool)
    named[at[fresh]] = read["quantity"].to_numpy(dtype=object)[fresh]
    value[at[fresh]] = read["value"].to_numpy(dtype=float)[fresh]
    unit[at[fresh]] = read["unit"].to_numpy(dtype=object)[fresh]
    quote = measurements["quote"]
    done = measurements.assign(quantity=named, value=value, unit=unit, words=quote)
    return done[MEASUREMENT_COLUMNS]
