"""`riskcheck explain`: why one vehicle is on the list."""

from __future__ import annotations

import json
import sys
from typing import Annotated

import typer

from riskcheck import errors
from riskcheck.cli.options import (
    AsOfOption,
    FleetArgument,
    HorizonOption,
    JsonOption,
    MapOption,
    RulesOption,
    judged_day,
)
from riskcheck.cli.progress import stages


def explain(
    fleet: FleetArgument,
    vehicle: Annotated[
        str, typer.Argument(help="Vehicle id, unit number, plate, VIN or its last eight.")
    ],
    rules: RulesOption = None,
    as_of: AsOfOption = None,
    horizon: HorizonOption = 12,
    map_: MapOption = None,
    everything: Annotated[
        bool, typer.Option("--everything", help="Show hazards that ask for nothing today too.")
    ] = False,
    as_json: JsonOption = False,
) -> int:
    """Say why one vehicle is on the list: evidence, rules, chance, cost, proof, cautions.

    Example: riskcheck explain sample_data/fleet.xlsx BUS-07 --as-of 2026-10-01
    """
    from riskcheck import assessment
    from riskcheck.reports import explain_text, machine, terminal

    with stages(quiet=False) as progress:
        result = assessment.assess(
            fleet,
            as_of=judged_day(as_of),
            horizon_months=horizon,
            rules=rules or [],
            mapping=map_ or (),
            progress=progress,
        )
        view = assessment.explain(result, vehicle)
    if as_json:
        sys.stdout.write(json.dumps(machine.vehicle(view), indent=2) + "\n")
    else:
        lines = explain_text.page(view, horizon, everything)
        sys.stdout.write(terminal.joined(lines))
    unsure = result.unanswered or result.reasoning.unaudited
    return errors.EXIT_NO_ANSWER if unsure else errors.EXIT_DONE
