"""``riskcheck counter``: one vehicle that is in no workbook, from facts typed in."""

from __future__ import annotations

import json
import sys
from typing import Annotated

import typer

from riskcheck import errors
from riskcheck.cli.options import (
    AsOfOption,
    EverythingOption,
    HorizonOption,
    JsonOption,
    OnlyOption,
    RulesOption,
    hazard_ids,
    judged_day,
)
from riskcheck.cli.progress import stages


def counter(
    told: Annotated[
        list[str] | None,
        typer.Argument(
            metavar="NAME=VALUE...", help="make=, model_year=, odometer=, or any fact's name."
        ),
    ] = None,
    did: Annotated[
        list[str] | None,
        typer.Option("--did", help='History: --did "2024-05-01 98,000 mi replaced brake hoses".'),
    ] = None,
    names: Annotated[
        bool, typer.Option("--names", help="List every name that may be typed, and its meaning.")
    ] = False,
    rules: RulesOption = None,
    only: OnlyOption = "",
    as_of: AsOfOption = None,
    horizon: HorizonOption = 12,
    everything: EverythingOption = False,
    as_json: JsonOption = False,
) -> int:
    """Judge one vehicle that is in no workbook from what is typed in.

    Example: riskcheck counter make=Brackmoor model="Trail 15" model_year=2011 odometer=120000
    """
    if names:
        sys.stdout.write("".join(f"{line}\n" for line in _names(rules)))
        return errors.EXIT_DONE
    from riskcheck import counter as counters
    from riskcheck.reports import counter_text, machine, wrapping

    with stages(quiet=as_json) as progress:
        result = counters.assess_vehicle(
            _pairs(told or []),
            did or [],
            as_of=judged_day(as_of),
            horizon_months=horizon,
            rules=rules or [],
            only=hazard_ids(only),
            progress=progress,
        )
    if as_json:
        told_all = {
            "schema": machine.SCHEMA,
            "vehicle": machine.records(result.fleet.vehicles)[0],
            "events": machine.records(result.fleet.events),
            "exposures": machine.records(result.exposures),
        }
        sys.stdout.write(json.dumps(told_all, indent=2) + "\n")
    else:
        sys.stdout.write(wrapping.joined(counter_text.page(result, everything)))
    return errors.EXIT_NO_ANSWER if result.unsure else errors.EXIT_DONE


def _pairs(told: list[str]) -> dict[str, str]:
    pairs: dict[str, str] = {}
    for text in told:
        name, equals, value = (part.strip() for part in text.partition("="))
        if not equals or not name or not value:
            raise errors.UsageError(f"{text!r} is not of the form name=value, such as make=Tovask.")
        if name in pairs:
            raise errors.UsageError(f"{name} is given twice; several values go with | between.")
        pairs[name] = value
    if not pairs:
        raise errors.UsageError(
            "Say what is known, such as: riskcheck counter make=Brackmoor model_year=2011 "
            "odometer=120000. `riskcheck counter --names` lists every name."
        )
    return pairs


def _names(rules: RulesOption) -> list[str]:
    import textwrap

    from riskcheck import assessment
    from riskcheck import counter as counters

    said = counters.tellable(assessment.load_rules(rules or []))
    width = max(len(name) for name, _ in said)
    lines = []
    for name, meaning in said:
        lines += textwrap.wrap(
            f"{name:<{width}}  {meaning}", 80, subsequent_indent=" " * (width + 2)
        )
    return lines
