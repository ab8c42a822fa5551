"""The normalised tables that outsiders rely on."""

from __future__ import annotations

from pathlib import Path

from riskcheck.fleet.model import Fleet
from riskcheck.sheets import write_csv


def to_contract_csvs(fleet: Fleet, out_dir: Path | str) -> list[Path]:
    """Write vehicles.csv, service.csv, events.csv, problems.csv and rows.csv; returns the paths.

    rows.csv has one line for every row of every sheet that holds anything: file, sheet, row,
    and what became of it (used, repaired, set_aside).  Its counts are the tallies.
    """
    folder = Path(out_dir)
    frames = {
        "vehicles.csv": fleet.vehicles,
        "service.csv": fleet.service,
        "events.csv": fleet.events,
        "problems.csv": fleet.problems,
        "rows.csv": fleet.rows,
    }
    return [write_csv(folder / name, frame) for name, frame in frames.items()]
