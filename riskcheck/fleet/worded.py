"""Words to events, and values in words to measurements, through the lexicon."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Protocol

import numpy as np
import pandas as pd

from riskcheck.fleet.events import EVENT_COLUMNS
from riskcheck.fleet.fault_codes import split_codes
from riskcheck.fleet.model import CODE_COLUMNS, MEASUREMENT_COLUMNS

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
    read = lexicon.read(service["reading_text"].reset_index(drop=True))
    source = service.iloc[read["line_no"].to_numpy()].reset_index(drop=True)
    read = read.drop(columns=["line_no"]).reset_index(drop=True)
    joined = pd.concat([read, source.drop(columns=["reading_text", "invoice"])], axis=1)
    joined["cell"] = joined["cell_address"]
    claims = joined["mark"].isin(_DONE_MARKS)
    joined.loc[claims & (joined["line_status"] == "estimate"), "mark"] = "recommended"
    joined.loc[claims & (joined["line_status"] == "open"), "mark"] = "ambiguous"
    valued = joined[(joined["quantity"] != "") & joined["value"].notna()]
    valued = valued.assign(date=valued["date_hi"]).drop_duplicates(
        ["service_id", "quantity", "value"]
    )
    events = joined[joined["mark"] != ""][EVENT_COLUMNS].reset_index(drop=True)
    return events, valued[MEASUREMENT_COLUMNS].reset_index(drop=True)


def codes_of(service: pd.DataFrame) -> pd.DataFrame:
    """Fault codes that stand in service lines."""
    lines = service["line"]
    maybe = lines.str.contains(r"[PCBUpcbu][0-3oO][0-9A-Fa-f]{3}|[Ss][Pp][Nn]", regex=True)
    found = service[maybe.to_numpy(dtype=bool)]
    codes = [split_codes(line, pairs=False) for line in found["line"]]
    listed = pd.Series(codes, index=found.index, dtype=object)
    frame = found.assign(code=listed, date=found["date_hi"], words=found["line"])
    frame["cell"] = frame["cell_address"]
    frame = frame[frame["code"].map(len).astype(bool)].explode("code")
    return frame[CODE_COLUMNS].reset_index(drop=True)


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
