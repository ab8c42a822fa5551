"""``riskcheck outreach``: the call list with a memory, and the messages that go with it."""

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
    FleetArgument,
    HorizonOption,
    JsonOption,
    LedgerOption,
    MapOption,
    OutOption,
    QuietOption,
    RulesOption,
    judged_day,
    judged_moment,
)
from riskcheck.cli.progress import stages


def outreach(
    fleet: FleetArgument,
    out: OutOption = OUT_DEFAULT,
    ledger: LedgerOption = None,
    messages: Annotated[
        Path | None,
        typer.Option("--messages", help="Folder for scripts, texts, e-mails and letters."),
    ] = None,
    templates: Annotated[
        list[Path] | None,
        typer.Option("--templates", help="A folder of your own message templates."),
    ] = None,
    caller: Annotated[str, typer.Option("--caller", help="Who calls: stands in the scripts.")] = "",
    ics: Annotated[
        Path | None, typer.Option("--ics", help="Calendar file for last days and promises.")
    ] = None,
    redact: Annotated[
        bool, typer.Option("--redact", help="Also write a list without people, fit to show.")
    ] = False,
    rules: RulesOption = None,
    only: Annotated[
        str, typer.Option("--only", help="Hazard ids to look at, separated by commas.")
    ] = "",
    as_of: AsOfOption = None,
    horizon: HorizonOption = 12,
    map_: MapOption = None,
    as_json: JsonOption = False,
    quiet: QuietOption = False,
) -> int:
    """Plan whom to contact in the coming two weeks, remembering what came of earlier talk.

    Example: riskcheck outreach fleet.xlsx --messages out/messages --caller Dana
    """
    from riskcheck import ledger as ledgers
    from riskcheck import outreaching
    from riskcheck.reports import message_templates, outreach_text

    folders = [*(folder / "messages" for folder in rules or []), *(templates or [])]
    wanted = outreaching.Wanted(
        messages=messages,
        calendar=ics,
        templates=[folder for folder in folders if folder.is_dir()],
        redact=redact,
        caller=caller,
    )
    for folder in templates or []:
        if not folder.is_dir():
            raise errors.UsageError(f"--templates {folder}: there is no such folder.")
    if messages:
        # A template at fault is told at once, not after the assessment.
        message_templates.Templates(wanted.templates)
    with stages(quiet) as progress, ledgers.open_ledger(ledger or ledgers.beside(fleet)) as kept:
        campaign = outreaching.outreach(
            fleet,
            as_of=judged_day(as_of),
            ledger=kept,
            horizon_months=horizon,
            rules=rules or [],
            only=[hazard_id.strip() for hazard_id in only.split(",") if hazard_id.strip()],
            mapping=map_ or (),
            progress=progress,
        )
        progress("writing")
        written = outreaching.write(
            campaign, out, ledger=kept, at=judged_moment(as_of), wanted=wanted
        )
    run = campaign.run
    if as_json:
        said = outreach_text.machine(
            run, campaign.flat, written.files, written.notes, campaign.run_id
        )
        sys.stdout.write(json.dumps(said, indent=2) + "\n")
    elif not quiet:
        text = outreach_text.summary(
            run, campaign.flat, written.files, written.notes, campaign.compared_with
        )
        sys.stdout.write(text)
    if run.unanswered or run.reasoning.unaudited:
        return errors.EXIT_NO_ANSWER
    return errors.EXIT_DONE
