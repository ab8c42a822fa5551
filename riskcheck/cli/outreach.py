"""``riskcheck outreach``: the call list with a memory, and the messages that go with it."""

from __future__ import annotations

import json
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

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
    OnlyOption,
    OutOption,
    QuietOption,
    RulesOption,
    hazard_ids,
    judged_day,
    judged_moment,
)
from riskcheck.cli.progress import stages

if TYPE_CHECKING:
    from riskcheck.outreaching import Campaign, Written

MessagesOption = Annotated[
    Path | None, typer.Option("--messages", help="Folder for scripts, texts, e-mails and letters.")
]
TemplatesOption = Annotated[
    list[Path] | None, typer.Option("--templates", help="A folder of your own message templates.")
]
CallerOption = Annotated[str, typer.Option("--caller", help="Who calls: stands in the scripts.")]
CalendarOption = Annotated[
    Path | None, typer.Option("--ics", help="Calendar file for last days and promises.")
]
RedactOption = Annotated[
    bool, typer.Option("--redact", help="Also write a list without people, fit to show.")
]


def outreach(
    fleet: FleetArgument,
    out: OutOption = OUT_DEFAULT,
    ledger: LedgerOption = None,
    messages: MessagesOption = None,
    templates: TemplatesOption = None,
    caller: CallerOption = "",
    ics: CalendarOption = None,
    redact: RedactOption = False,
    rules: RulesOption = None,
    only: OnlyOption = "",
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

    folders = _template_folders(rules or [], templates or [], checked=messages is not None)
    wanted = outreaching.Wanted(messages, ics, folders, redact, caller)
    with stages(quiet) as progress, ledgers.open_ledger(ledger or ledgers.beside(fleet)) as kept:
        campaign = outreaching.outreach(
            fleet,
            as_of=judged_day(as_of),
            ledger=kept,
            horizon_months=horizon,
            rules=rules or [],
            only=hazard_ids(only),
            mapping=map_ or (),
            progress=progress,
        )
        progress("writing")
        moment = judged_moment(as_of)
        written = outreaching.write(campaign, out, ledger=kept, at=moment, wanted=wanted)
    if as_json or not quiet:
        sys.stdout.write(_said(campaign, written, as_json))
    return errors.EXIT_NO_ANSWER if campaign.run.unsure else errors.EXIT_DONE


def _template_folders(
    rules: Sequence[Path], templates: Sequence[Path], *, checked: bool
) -> list[Path]:
    """The shop's own folders of templates; a template at fault is told at once, not at the end."""
    from riskcheck.reports.message_templates import Templates

    for folder in templates:
        if not folder.is_dir():
            raise errors.UsageError(f"--templates {folder}: there is no such folder.")
    own = [*(folder / "messages" for folder in rules), *templates]
    folders = [folder for folder in own if folder.is_dir()]
    if checked:
        Templates(folders)
    return folders


def _said(campaign: Campaign, written: Written, as_json: bool) -> str:
    from riskcheck.reports import outreach_text

    run, flat = campaign.run, campaign.flat
    if as_json:
        told = outreach_text.machine(run, flat, written.files, written.notes, campaign.run_id)
        return json.dumps(told, indent=2) + "\n"
    return outreach_text.summary(
        run, flat, written.files, written.notes, campaign.compared_with, campaign.moved
    )
