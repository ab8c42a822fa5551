"""A too-thin heater strap is found from the spreadsheet alone.  The vehicles are invented.

Expected answers: the trade asks for 6 AWG at 50 to 55 A and 25 mm² or more at 150 to 200 A
(common practice, no source)."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import pandas as pd

from riskcheck import fleet, reasoning, rulebook, usage
from riskcheck.fleet import lexicon

AS_OF = dt.date(2026, 10, 1)
STRAPS = {
    "T1": ("10 AWG", "55A", "exposed"),
    "T2": (6, 55, "not_applicable"),
    "T3": ("25 mm2", 190, "not_applicable"),
    "T4": ("8 AWG", "55 A", "exposed"),
    "T5": ("#8", 190, "exposed"),
    "T6": ("", "", "unknown"),
}


def write_workbook(path: Path) -> None:
    vehicles = [
        {
            "Vehicle ID": name,
            "Make": "Nowheremake",
            "Model Year": 2015,
            "In service": "2015-06-01",
            "Odometer": 120_000,
            "Strap gauge": gauge,
            "Heater rated amps": amps,
            "Strap crimp": "tool",
            "intake heater as built": "exposed_stud",
        }
        for name, (gauge, amps, _) in STRAPS.items()
    ]
    history = [
        {
            "Vehicle ID": name,
            "Date": "2024-11-01",
            "Odometer": 100_000,
            "Description": "installed ground strap htr plate to block",
        }
        for name in STRAPS
    ]
    with pd.ExcelWriter(path) as book:
        pd.DataFrame(vehicles).to_excel(book, sheet_name="Vehicles", index=False)
        pd.DataFrame(history).to_excel(book, sheet_name="Service history", index=False)


def test_thin_strap_is_found_and_a_stout_one_is_not(tmp_path: Path) -> None:
    write_workbook(tmp_path / "fleet.xlsx")
    rules = rulebook.load(rulebook.shipped_dir())
    words = lexicon.load(list(rules.wording_dirs))
    read = fleet.read_fleet(
        tmp_path / "fleet.xlsx", vocabulary=rules.vocabulary, lexicon=words, as_of=AS_OF
    )
    clocks = usage.clocks(read.vehicles, read.readings, read.events, rules.policy, AS_OF)
    concluded = reasoning.reason_all(read, clocks, rules, AS_OF, tmp_path / "tables")
    statuses = concluded.hazards["heater-ground-strap-hot"].status
    found = dict(zip(read.vehicles["vehicle_id"], statuses, strict=True))
    assert found == {name: expected for name, (_, _, expected) in STRAPS.items()}
