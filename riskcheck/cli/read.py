"""``riskcheck read``: what was read, how, and what was set aside."""

from __future__ import annotations

import json
import sys
from pathlib import Path
from typing import Annotated

import typer

from riskcheck import errors
from riskcheck.cli.options import (
    OUT_DEFAULT,
    AsOfOption,
    JsonOption,
    MapOption,
    OutOption,
    QuietOption,
    RulesOption,
    StrictOption,
    judged_day,
)
from riskcheck.cli.progress import stages


def read(
    fleet: Annotated[Path | None, typer.Argument(help="Fleet workbook or folder of CSVs.")] = None,
    out: OutOption = OUT_DEFAULT,
    rules: RulesOption = None,
    as_of: AsOfOption = None,
    map_: MapOption = None,
    blank: Annotated[
        Path | None, typer.Option("--blank", help="Write an empty workbook to start from, here.")
    ] = None,
    as_json: JsonOption = False,
    quiet: QuietOption = False,
    strict: StrictOption = False,
) -> int:
    """Read a fleet and say what became of every row; write it out clean.

    Example: riskcheck read sample_data/fleet.xlsx --as-of 2026-10-01
    """
    from riskcheck import assessment
    from riskcheck import fleet as fleets
    from riskcheck.reports import read_text, terminal

    book = assessment.load_rules(rules or [])
    if blank is not None:
        path = fleets.write_blank_workbook(blank, book.vocabulary)
        sys.stdout.write(f"{path}  an empty workbook; delete its example rows\n")
        return errors.EXIT_DONE
    if fleet is None:
        raise errors.UsageError("Say which fleet to read, or --blank FILE.xlsx for an empty one.")
    with stages(quiet) as progress:
        progress("reading the fleet")
        found = assessment.read(fleet, book, judged_day(as_of), map_ or ())
        out.mkdir(parents=True, exist_ok=True)
        written = [
            *fleets.to_contract_csvs(found, out),
            fleets.write_mapping(found, out / "mapping.csv"),
        ]
    if as_json:
        sys.stdout.write(json.dumps(read_text.answer(found, written), indent=2) + "\n")
    elif not quiet:
        sys.stdout.write(terminal.joined(read_text.report(found, written)))
    attention = found.problems["action"].isin(["repaired", "set_aside"]).any()
    return errors.EXIT_NEEDS_ATTENTION if strict and attention else errors.EXIT_DONE
