"""`riskcheck changes`: what is new, gone or moved since a run, why, and what came of the calls."""

from __future__ import annotations

import json
import sys
from pathlib import Path
from typing import Annotated

import typer

from riskcheck import errors
from riskcheck.cli.options import (
    AsOfOption,
    FleetArgument,
    HorizonOption,
    JsonOption,
    LedgerOption,
    MapOption,
    RulesOption,
    judged_day,
)
from riskcheck.cli.progress import stages


def changes(
    fleet: FleetArgument,
    since: Annotated[
        str, typer.Option("--since", help="A day or a run id (default: the last run).")
    ] = "",
    ledger: LedgerOption = None,
    rules: RulesOption = None,
    as_of: AsOfOption = None,
    horizon: HorizonOption = 12,
    map_: MapOption = None,
    out: Annotated[
        Path | None, typer.Option("--out", help="Folder for the drafted withdrawals.")
    ] = None,
    every: Annotated[
        bool, typer.Option("--all", help="Show every change, not the first 20.")
    ] = False,
    as_json: JsonOption = False,
) -> int:
    """Say what is new, gone or moved since a run and why, and what came of the calls.

    Example: riskcheck changes sample_data/fleet.xlsx --since 2026-09-01
    """
    from riskcheck import assessment, remembering, sheets
    from riskcheck.cli.ledger_place import named_ledger
    from riskcheck.reports import changes_text, withdrawal, wrapping

    day = judged_day(as_of)
    with named_ledger(ledger, fleet, create=False) as memory:
        remembering.earlier_run(
            memory, since, as_of=day
        )  # a wrong --since is told before the long part
        with stages(quiet=as_json) as progress:
            run = assessment.assess(
                fleet,
                as_of=day,
                horizon_months=horizon,
                rules=rules or [],
                mapping=map_ or (),
                corrections=memory.corrections(day),
                progress=progress,
            )
        found = remembering.changes(memory, run, since)
        since_day = found.before["as_of"].date()
        came_of = remembering.tally(memory, since_day, day, run.rulebook.hazards)
    letters = withdrawal.drafts(found, run)
    if out is not None and letters:
        text = withdrawal.as_text(letters).encode("utf-8")
        sheets.replace_file(out / "withdrawals.txt", text)
    if as_json:
        data = changes_text.changes_data(found, came_of, letters)
        sys.stdout.write(json.dumps(data, indent=2, ensure_ascii=False) + "\n")
    else:
        lines = changes_text.changed(found, run, every=every)
        lines += [*withdrawal.lines(letters), *changes_text.came_of(came_of)]
        sys.stdout.write(wrapping.joined(lines))
    return errors.EXIT_NO_ANSWER if run.unsure else errors.EXIT_DONE
