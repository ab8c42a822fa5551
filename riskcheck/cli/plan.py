"""`riskcheck plan`: which job in which week, bay and day."""

from __future__ import annotations

import datetime as dt
import json
import sys
from pathlib import Path
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
    NoLedgerOption,
    OutOption,
    QuietOption,
    RulesOption,
    judged_day,
)
from riskcheck.cli.progress import stages

WeeksOption = Annotated[int, typer.Option("--weeks", help="How many weeks to plan (1 to 26).")]
FromOption = Annotated[
    dt.datetime | None,
    typer.Option("--from", formats=["%Y-%m-%d"], help="First day (default: the as-of day)."),
]
FleetOption = Annotated[
    list[str] | None,
    typer.Option("--fleet", help="Only this fleet or customer (name or id); may be repeated."),
]
SecondsOption = Annotated[
    float, typer.Option("--seconds", min=1, help="Safety net: stop searching after so long.")
]
ValueOption = Annotated[
    bool, typer.Option("--value", help="Also: what one more bay-day, technician-day, spare saves.")
]
LastOption = Annotated[
    Path | None,
    typer.Option("--last", help="The last plan's workbook (default: plan.xlsx in --out)."),
]
AfreshOption = Annotated[bool, typer.Option("--afresh", help="Plan as if there were no last plan.")]


def plan(
    fleet: FleetArgument,
    out: OutOption = OUT_DEFAULT,
    weeks: WeeksOption = 13,
    start: FromOption = None,
    customer: FleetOption = None,
    seconds: SecondsOption = 60.0,
    value: ValueOption = False,
    last: LastOption = None,
    afresh: AfreshOption = False,
    ledger: LedgerOption = None,
    no_ledger: NoLedgerOption = False,
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
    from riskcheck.cli.ledger_place import ledger_if_any
    from riskcheck.reports import plan_json, plan_text, wrapping

    wanted = planning.Wanted(
        weeks=weeks,
        start=None if start is None else start.date(),
        customers=customer or (),
        last=None if afresh else last_plan(last, out),
        price_more=value,
        effort=Effort(seconds=seconds),
    )
    with stages(quiet) as progress, ledger_if_any(ledger, fleet, no_ledger) as kept:
        planned = planning.plan(
            fleet,
            as_of=judged_day(as_of),
            wanted=wanted,
            ledger=kept,
            horizon_months=horizon,
            rules=rules or (),
            mapping=map_ or (),
            progress=progress,
        )
        progress("writing")
        written = planning.write(planned, out)
    if as_json:
        sys.stdout.write(
            json.dumps(plan_json.summary(planned.plan, written, planned.odd), indent=2) + "\n"
        )
    elif not quiet:
        lines = plan_text.summary(planned.plan, fleet, written, planned.odd)
        sys.stdout.write(wrapping.joined(lines))
    return errors.EXIT_NO_ANSWER if planned.assessment.unsure else errors.EXIT_DONE


def last_plan(last: Path | None, out: Path) -> Path | None:
    """The workbook of the plan before: as named, else the one in ``out``, else none.

    Raises UsageError where the one that was named is not there.
    """
    if last is not None and not last.is_file():
        raise errors.UsageError(f"--last {last}: there is no such file.")
    there = out / "plan.xlsx"
    return last or (there if there.is_file() else None)
