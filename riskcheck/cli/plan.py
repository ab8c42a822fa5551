"""`riskcheck plan`: which job in which week, bay and day."""

from __future__ import annotations

import datetime as dt
import sys
from typing import Annotated

import typer

from riskcheck import errors
from riskcheck.cli.options import (
    OUT_DEFAULT,
    AsOfOption,
    FleetArgument,
    HorizonOption,
    JsonOption,
    LedgerOption,
    MapOption,
    OutOption,
    QuietOption,
    RulesOption,
    judged_day,
)
from riskcheck.cli.progress import stages


def plan(
    fleet: FleetArgument,
    out: OutOption = OUT_DEFAULT,
    weeks: Annotated[int, typer.Option("--weeks", help="How many weeks to plan (1 to 26).")] = 13,
    start: Annotated[
        dt.datetime | None,
        typer.Option("--from", formats=["%Y-%m-%d"], help="First day (default: the as-of day)."),
    ] = None,
    customer: Annotated[
        list[str] | None,
        typer.Option("--fleet", help="Only this fleet or customer (name or id); may be repeated."),
    ] = None,
    seconds: Annotated[
        float, typer.Option("--seconds", min=1, help="Safety net: stop searching after so long.")
    ] = 120.0,
    ledger: LedgerOption = None,
    rules: RulesOption = None,
    as_of: AsOfOption = None,
    horizon: HorizonOption = 12,
    map_: MapOption = None,
    as_json: JsonOption = False,
    quiet: QuietOption = False,
) -> int:
    """Put jobs into weeks, bays and days so that the least is lost.

    Example: riskcheck plan sample_data/fleet.xlsx --as-of 2026-10-01
    """
    from riskcheck import planning
    from riskcheck.actions.plan import Effort
    from riskcheck.reports import plan_text, terminal

    wanted = planning.Wanted(
        weeks=weeks,
        start=None if start is None else start.date(),
        customers=customer or (),
        effort=Effort(seconds=seconds),
    )
    with stages(quiet) as progress:
        planned = planning.plan(
            fleet,
            as_of=judged_day(as_of),
            wanted=wanted,
            horizon_months=horizon,
            rules=rules or (),
            mapping=map_ or (),
            progress=progress,
        )
        progress("writing")
        written = planning.write(planned, out)
    if not quiet:
        lines = plan_text.summary(planned.plan, fleet, written)
        sys.stdout.write(terminal.joined(lines))
    unsure = planned.assessment.unanswered or planned.assessment.reasoning.unaudited
    return errors.EXIT_NO_ANSWER if unsure else errors.EXIT_DONE
