"""A flat export: vehicle fields repeated on every visit, no vehicle sheet."""

from __future__ import annotations

import pandas as pd

from riskcheck.fleet.columns import Context
from riskcheck.fleet.notebook import Notebook
from riskcheck.fleet.tables import Table
from riskcheck.fleet.vehicles import vehicle_rows
from riskcheck.vocabulary import Vocabulary


def vehicles_of_flat(context: Context, table: Table, vocabulary: Vocabulary) -> pd.DataFrame:
    """One row a vehicle: per field the last filled cell (rows in file order).

    The rows themselves are accounted for as service lines; what the vehicle cells needed is
    noted there too.
    """
    quiet = Context(Notebook([table.grid]), context.as_of, context.orders)
    frame = vehicle_rows(quiet, table, vocabulary)
    frame = frame[frame["vehicle_id"] != ""]
    blanks = frame.mask(frame.map(lambda cell: isinstance(cell, str) and cell == ""))
    last = blanks.groupby(frame["vehicle_id"].to_numpy(), sort=False).last()
    last["vehicle_id"] = last.index
    first = frame.drop_duplicates("vehicle_id").set_index("vehicle_id")
    last["row"] = first["row"]
    context.notebook.note_sheet(
        table.grid, "", f"no vehicle sheet: {len(last)} vehicles taken from the service lines"
    )
    return pd.DataFrame(last.reset_index(drop=True))
