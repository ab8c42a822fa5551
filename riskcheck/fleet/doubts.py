"""Odometer readings in doubt: what was done about each, and the fleet as it would be otherwise."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Literal

import numpy as np
import pandas as pd

from riskcheck.fleet.history import FINDING_COLUMNS, check_odometers
from riskcheck.fleet.identity import plain_text
from riskcheck.fleet.model import DOUBT_COLUMNS, Fleet, shaped
from riskcheck.fleet.patterns import on_a_line, shared_values, unit_switches
from riskcheck.sheets import Grid, column_number

Belief = Literal["proposed", "read"]


def judged(readings: pd.DataFrame) -> tuple[pd.DataFrame, pd.DataFrame]:
    """(readings with certain cures applied and contradictions left out, findings about them).

    Findings as in ``history.FINDING_COLUMNS``; action "kept" marks a reading that is used as it
    is although something about it is odd.
    """
    shared = shared_values(readings)
    common = _findings(
        readings, shared.index, np.nan,
        [f"{count} vehicles carry this very reading: read as a placeholder" for count in shared],
    )  # fmt: skip
    readings = readings.assign(odometer_mi=readings["odometer_mi"].drop(shared.index))
    sense = check_odometers(readings)
    kept = sense.readings
    jumps = unit_switches(kept)
    switched = _findings(
        kept, jumps.index, jumps.to_numpy(),
        ["from here on the readings fit as kilometres: used as written; look at the instrument"]
        * len(jumps),
    )  # fmt: skip
    drawn = on_a_line(kept)
    lines = _findings(
        kept, drawn.index, np.nan,
        [f"{count} readings of this vehicle lie on one exact line: filled in by a program, it "
         "seems, not read off" for count in drawn],
    )  # fmt: skip
    for frame, action in ((common, "noted"), (switched, "kept"), (lines, "line")):
        frame["action"] = action
    return kept, pd.concat([common, sense.findings, switched, lines], ignore_index=True)


def _findings(
    readings: pd.DataFrame, at: pd.Index, proposed: object, reasons: Sequence[str]
) -> pd.DataFrame:
    was = readings["odometer_mi"].loc[at].to_numpy()
    return pd.DataFrame(
        {"at": at, "was": was, "now": np.nan, "hours": np.nan, "proposed": proposed,
         "action": "", "reason": reasons},
        columns=FINDING_COLUMNS,
    )  # fmt: skip


def doubts_of(
    readings: pd.DataFrame, findings: pd.DataFrame, grids: Sequence[Grid]
) -> pd.DataFrame:
    """DOUBT_COLUMNS: every reading left out or odd, with the cell's own words.

    ``read_mi`` is what the cell says in miles, ``used_mi`` what counts (NaN: left out),
    ``proposed_mi`` the one value that would fit (NaN: none).
    """
    open_ = findings[findings["action"].isin(["noted", "kept"])]
    at = readings.loc[open_["at"]]
    frame = pd.DataFrame(
        {
            "vehicle_id": at["vehicle_id"].to_numpy(dtype=object),
            "date": at["date"].to_numpy(),
            "written": _written(at, grids),
            "read_mi": open_["was"].to_numpy(dtype=np.float64),
            "used_mi": np.where(open_["action"] == "kept", open_["was"], np.nan),
            "proposed_mi": open_["proposed"].to_numpy(dtype=np.float64),
            "reason": open_["reason"].to_numpy(dtype=object),
            **{name: at[name].to_numpy(dtype=object) for name in ("file", "sheet", "cell")},
        }
    )
    return shaped([frame], DOUBT_COLUMNS)


def _written(places: pd.DataFrame, grids: Sequence[Grid]) -> list[str]:
    known = {(grid.file, grid.sheet): grid for grid in grids}
    words = []
    for file, sheet, cell in zip(places["file"], places["sheet"], places["cell"], strict=True):
        grid = known[file, sheet]
        letters = str(cell).rstrip("0123456789")
        row = int(str(cell)[len(letters) :]) - 1 - grid.first_row
        column = column_number(letters) - grid.first_column if letters else -1
        words.append(plain_text(grid.cells.iat[row, column]) if column >= 0 else "")
    return words


def believed(fleet: Fleet, doubts: pd.DataFrame, belief: Belief = "proposed") -> Fleet:
    """The fleet as it would be if these rows of ``fleet.doubts`` were settled the other way.

    "proposed" takes the value that would fit (rows without one change nothing), "read" what the
    cell says.  Only ``readings`` and the latest readings of ``vehicles`` differ, so that use and
    everything after it can be worked out again and the two lists compared.
    """
    value = doubts["proposed_mi" if belief == "proposed" else "read_mi"]
    keys = ["file", "sheet", "cell"]
    told = doubts.assign(_value=value)[value.notna().to_numpy(dtype=bool)]
    values = told.drop_duplicates(keys).set_index(keys)["_value"]
    here = pd.MultiIndex.from_frame(fleet.readings[keys])
    new = values.reindex(here).to_numpy(dtype=np.float64)
    miles = np.where(np.isnan(new), fleet.readings["odometer_mi"].to_numpy(), new)
    readings = fleet.readings.assign(odometer_mi=miles)
    return replace(fleet, readings=readings, vehicles=with_latest(fleet.vehicles, readings))


def with_latest(vehicles: pd.DataFrame, readings: pd.DataFrame) -> pd.DataFrame:
    """Vehicles with the latest reading on file as ``odometer_mi`` and ``engine_hours``.

    ``readings`` in order of vehicle and date.
    """
    for field in ("odometer_mi", "engine_hours"):
        found = readings.dropna(subset=[field]).drop_duplicates("vehicle_id", keep="last")
        latest = vehicles["vehicle_id"].map(found.set_index("vehicle_id")[field])
        vehicles = vehicles.assign(**{field: latest.fillna(vehicles[field]).astype("float64")})
    return vehicles
