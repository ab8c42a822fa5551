"""`riskcheck assess`: read a fleet, price every exposure, write the call list."""

from __future__ import annotations

import json
import sys

from riskcheck import errors
from riskcheck.cli.options import (
    OUT_DEFAULT,
    AsOfOption,
    FleetArgument,
    HorizonOption,
    JsonOption,
    MapOption,
    OnlyOption,
    OutOption,
    QuietOption,
    RulesOption,
    StrictOption,
    hazard_ids,
    judged_day,
)
from riskcheck.cli.progress import stages


def assess(
    fleet: FleetArgument,
    out: OutOption = OUT_DEFAULT,
    rules: RulesOption = None,
    only: OnlyOption = "",
    as_of: AsOfOption = None,
    horizon: HorizonOption = 12,
    map_: MapOption = None,
    as_json: JsonOption = False,
    quiet: QuietOption = False,
    strict: StrictOption = False,
) -> int:
    """Read a fleet, price every exposure, write the call list.

    Example: riskcheck assess sample_data/fleet.xlsx --as-of 2026-10-01
    """
    from riskcheck import assessment, doubting
    from riskcheck.reports import machine, terminal, wrapping

    with stages(quiet) as progress:
        result = assessment.assess(
            fleet,
            as_of=judged_day(as_of),
            horizon_months=horizon,
            rules=rules or [],
            only=hazard_ids(only),
            mapping=map_ or (),
            progress=progress,
        )
        doubted = doubting.moved_by_doubt(result, progress)
        progress("writing")
        written = assessment.write(result, out)
    if as_json:
        sys.stdout.write(json.dumps(machine.summary(result, written, doubted), indent=2) + "\n")
    elif not quiet:
        sys.stdout.write(wrapping.joined(terminal.summary(result, written, doubted)))
    if result.unsure:
        return errors.EXIT_NO_ANSWER
    attention = result.fleet.problems["action"].isin(["repaired", "set_aside"]).any()
    return errors.EXIT_NEEDS_ATTENTION if strict and attention else errors.EXIT_DONE
