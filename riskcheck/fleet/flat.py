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
    last = frame.drop_duplicates("vehicle_id").reset_index(drop=True)
    for name in frame.columns.difference(["vehicle_id", "row"]):
        filled = frame[["vehicle_id", name]][frame[name].notna() & frame[name].ne("").fillna(False)]
        newest = filled.drop_duplicates("vehicle_id", keep="last").set_index("vehicle_id")[name]
        if len(newest):
            last[name] = newest.reindex(last["vehicle_id"]).array
    context.notebook.note_sheet(
        table.grid, "", f"no vehicle sheet: {len(last)} vehicles taken from the service lines"
    )
    return last
