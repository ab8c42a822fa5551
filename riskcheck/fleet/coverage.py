"""For which span the record of a vehicle can be trusted to be complete."""

from __future__ import annotations

import pandas as pd


def coverage_of(service: pd.DataFrame, vehicles: pd.DataFrame) -> pd.DataFrame:
    """vehicle_id, from_date, to_date: first to last closed visit (NaT where there is none).

    A visit of uncertain date counts from the latest day it can have been on.

    One row a vehicle in the order of ``vehicles``.  Lines of estimates and open orders are no
    visits; a line that says nothing of its status counts as closed.
    """
    visits = service[service["line_status"].isin(["closed", ""])]
    grouped = visits.groupby("vehicle_id", sort=False)
    first = grouped["date_hi"].min().reindex(vehicles["vehicle_id"]).array
    last = grouped["date_hi"].max().reindex(vehicles["vehicle_id"]).array
    return pd.DataFrame(
        {
            "vehicle_id": vehicles["vehicle_id"],
            "from_date": pd.Series(first, dtype="datetime64[s]"),
            "to_date": pd.Series(last, dtype="datetime64[s]"),
        }
    )
