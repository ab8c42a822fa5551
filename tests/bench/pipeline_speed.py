"""Time of each stage of an assessment beside pandas reading the same workbook with openpyxl.

    python tests/bench/pipeline_speed.py [VEHICLES] [HAZARD,HAZARD]

The fleet is the sample, repeated under new unit numbers until it has VEHICLES vehicles
(default 20,000).  Prints seconds by the clock and of this process's processors (the engine's
process is not among them); nothing is asserted.
"""

from __future__ import annotations

import datetime as dt
import itertools
import sys
import tempfile
import time
from pathlib import Path

import pandas as pd

from riskcheck.assessment import assess, write

SAMPLE = Path(__file__).parents[2] / "sample_data" / "fleet.xlsx"
AS_OF = dt.date(2026, 10, 1)


def enlarged(vehicles: int, folder: Path) -> Path:
    """The sample workbook repeated until it holds ``vehicles`` vehicles."""
    sheets = pd.read_excel(SAMPLE, sheet_name=None, engine="calamine", dtype=object)
    copies = -(-vehicles // len(sheets["Vehicles"]))
    path = folder / "large.xlsx"
    with pd.ExcelWriter(path, engine="openpyxl") as writer:
        for name in ("Vehicles", "Service", "Measurements", "Fault codes", "Customers"):
            parts = [_renamed(sheets[name], copy) for copy in range(copies)]
            pd.concat(parts).to_excel(writer, sheet_name=name, index=False)
    return path


def _renamed(frame: pd.DataFrame, copy: int) -> pd.DataFrame:
    """One copy of a sheet under unit, customer and invoice numbers of its own."""
    fresh = frame.copy()
    for column in ("Unit #", "Cust #", "RO #"):
        if column in fresh:
            fresh[column] = [None if pd.isna(v) else f"{v}-{copy}" for v in fresh[column]]
    for column in ("VIN", "Plate"):
        if column in fresh:
            fresh[column] = None
    return fresh


def now() -> tuple[float, float]:
    """Seconds by the clock, and those of all processors spent in this process."""
    return time.perf_counter(), time.process_time()


def shown(stage: str, begun: tuple[float, float], ended: tuple[float, float]) -> None:
    wall, busy = (after - before for before, after in zip(begun, ended, strict=True))
    print(f"{stage:<36}{wall:9.2f} s{busy:12.2f} s")


def main() -> None:
    vehicles = int(sys.argv[1]) if len(sys.argv) > 1 else 20_000
    only = sys.argv[2].split(",") if len(sys.argv) > 2 else []
    with tempfile.TemporaryDirectory() as folder:
        path = enlarged(vehicles, Path(folder))
        print(f"{'':<36}{'clock':>11}{'processor':>14}")
        start = now()
        pd.read_excel(path, sheet_name=None, engine="openpyxl")
        shown("pandas with openpyxl, reading only", start, now())
        marks: list[tuple[str, tuple[float, float]]] = []
        result = assess(
            path, as_of=AS_OF, only=only, progress=lambda stage: marks.append((stage, now()))
        )
        marks.append(("writing", now()))
        write(result, Path(folder) / "out")
        marks.append(("", now()))
        for (stage, begun), (_, ended) in itertools.pairwise(marks):
            shown(stage, begun, ended)
        shown("whole assessment", marks[0][1], marks[-1][1])
        priced = int(result.exposures["probability"].notna().sum())
        spent = next(after[1] - at[1] for (name, at), (_, after) in itertools.pairwise(marks)
                     if name == "pricing")  # fmt: skip
        print(f"{len(result.fleet.vehicles):,} vehicles, {len(result.fleet.service):,} lines")
        print(
            f"{priced:,} priced exposures: {1000 * spent / max(priced, 1):.3f} ms of processor each"
        )


if __name__ == "__main__":
    main()
