"""All commands; each parses, calls one function of riskcheck and prints what it returns."""

from __future__ import annotations

import json
import sys
from typing import Annotated

import typer

from riskcheck import errors
from riskcheck.cli.ground import ground
from riskcheck.cli.options import (
    OUT_DEFAULT,
    AsOfOption,
    FleetArgument,
    HorizonOption,
    JsonOption,
    MapOption,
    OutOption,
    QuietOption,
    RulesOption,
    StrictOption,
    judged_day,
)
from riskcheck.cli.progress import stages
from riskcheck.cli.read import read
from riskcheck.cli.rules import rules_app

app = typer.Typer(
    no_args_is_help=True,
    add_completion=True,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
    help="From a fleet workbook to a list of customers to call, each with its reason.",
)


app.command()(ground)
app.command()(read)
app.add_typer(rules_app, name="rules")


@app.command()
def assess(
    fleet: FleetArgument,
    out: OutOption = OUT_DEFAULT,
    rules: RulesOption = None,
    only: Annotated[
        str, typer.Option("--only", help="Hazard ids to look at, separated by commas.")
    ] = "",
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
    from riskcheck import assessment
    from riskcheck.reports import machine, terminal

    wanted = [hazard_id.strip() for hazard_id in only.split(",") if hazard_id.strip()]
    with stages(quiet) as progress:
        result = assessment.assess(
            fleet,
            as_of=judged_day(as_of),
            horizon_months=horizon,
            rules=rules or [],
            only=wanted,
            mapping=map_ or (),
            progress=progress,
        )
        progress("writing")
        written = assessment.write(result, out)
    if as_json:
        sys.stdout.write(json.dumps(machine.summary(result, written), indent=2) + "\n")
    elif not quiet:
        sys.stdout.write(terminal.joined(terminal.summary(result, written)))
    if result.unanswered or result.reasoning.unaudited:
        return errors.EXIT_NO_ANSWER
    attention = result.fleet.problems["action"].isin(["repaired", "set_aside"]).any()
    return errors.EXIT_NEEDS_ATTENTION if strict and attention else errors.EXIT_DONE


@app.command()
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
