"""The normalised tables that outsiders rely on."""

from __future__ import annotations

from pathlib import Path

from riskcheck.fleet.model import Fleet
from riskcheck.sheets import write_csv


def to_contract_csvs(fleet: Fleet, out_dir: Path | str) -> list[Path]:
    """Write vehicles.csv, service.csv, events.csv and problems.csv; returns the paths written."""
    folder = Path(out_dir)
    frames = {
        "vehicles.csv": fleet.vehicles,
        "service.csv": fleet.service,
        "events.csv": fleet.events,
        "problems.csv": fleet.problems,
    }
    return [write_csv(folder / name, frame) for name, frame in frames.items()]
