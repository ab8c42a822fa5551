"""Outreach that remembers: an assessment, what the ledger knows of earlier talk, and a campaign."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path

import pandas as pd

from riskcheck import remembering, risk, sheets
from riskcheck.actions.kept_typing import free_target
from riskcheck.actions.known import Known, Memory, known_of
from riskcheck.actions.outreach import plan_outreach
from riskcheck.actions.returned_sheets import FLEET_AT, LEDGER_AT
from riskcheck.assessment import Assessment, Progress, assess
from riskcheck.ledger import Ledger, beside
from riskcheck.reports import outreach_book, outreach_calendar, outreach_redact
from riskcheck.reports.message_templates import Templates
from riskcheck.reports.messages import Letters, messages
from riskcheck.reports.messages_out import write_messages

WORKBOOK, TABLE = "outreach.xlsx", "outreach.csv"


@dataclass(frozen=True)
class Campaign:
    """A finished run with its memory: what to send out, and against which run it was compared.

    ``run``: the assessment with exposures in their settled order (x_change, x_change_because) and
    the outreach planned from them.  ``compared_with``: run id and day of the run before, or "";
    ``moved``: how many reasons are new, gone, up and down since, as ``riskcheck changes`` counts.
    """

    run: Assessment
    run_id: str
    known: Known
    flat: pd.DataFrame
    compared_with: tuple[str, str]
    moved: dict[str, int] = field(default_factory=dict)


def outreach(
    path: str | Path,
    *,
    as_of: dt.date,
    ledger: Ledger,
    horizon_months: int = 12,
    rules: Sequence[str | Path] = (),
    only: Sequence[str] = (),
    mapping: Sequence[str] = (),
    progress: Progress = lambda stage: None,
) -> Campaign:
    """Assess a fleet with the corrections on file and plan the contacts of the coming two weeks.

    Contacts, consents, corrections and the order of the last run come from ``ledger``; nothing is
    written.  Raises as ``riskcheck.assess`` does.
    """
    run = assess(
        path,
        as_of=as_of,
        horizon_months=horizon_months,
        rules=rules,
        only=only,
        mapping=mapping,
        corrections=ledger.corrections(as_of),
        progress=progress,
    )
    progress("planning the contacts")
    run_id = remembering.run_id_of(run, ledger.digest())
    before = remembering.run_before(ledger.runs(), run_id, as_of)
    exposures, compared_with, moved = run.exposures, ("", ""), {}
    if before is not None:
        day = before["as_of"].date()
        compared_with = (str(before["run_id"]), day.isoformat())
        moved = remembering.changes(ledger, run, compared_with[0]).counts
        exposures = risk.re_ranked(
            exposures, ledger.snapshot(compared_with[0]), as_of=as_of, before_as_of=day
        )
    memory = Memory(contacts=ledger.contacts(), consents=ledger.consents())
    known = known_of(run.fleet, run.usage, run.rulebook, as_of, memory)
    planned = plan_outreach(exposures, known, run.rulebook)
    run = replace(run, exposures=exposures, outreach=planned)
    return Campaign(run, run_id, known, outreach_book.call_frame(run), compared_with, moved)


@dataclass(frozen=True)
class Wanted:
    """What ``write`` is to write beside the workbook: folders and files, or None.

    ``templates``: folders with the shop's own message templates, each layered over the one before.
    ``redact``: also a list without people, fit to show around.
    """

    messages: Path | None = None
    calendar: Path | None = None
    templates: Sequence[Path] = ()
    redact: bool = False
    caller: str = ""


@dataclass(frozen=True)
class Written:
    """Files written, by name, and what a person should know about them."""

    files: dict[str, Path]
    notes: tuple[str, ...]


def write(
    campaign: Campaign, out: Path, *, ledger: Ledger, at: dt.datetime, wanted: Wanted | None = None
) -> Written:
    """Remember the run, write the call list and what else is wanted, and remember what was sent.

    A workbook with typing that was not recorded is never overwritten: the new one gets the as-of
    date in its name and a note says to record first.  A message that claims too much is not
    written, and a note names its template and line.
    """
    wanted = wanted or Wanted()
    run = campaign.run
    letters = Templates(wanted.templates) if wanted.messages else None
    out.mkdir(parents=True, exist_ok=True)
    listed = run.outreach.rows.loc[run.outreach.rows["offered"], ["vehicle_id", "hazard_id"]]
    remembering.note_run(ledger, run, at=at, listed=listed)
    ledger.record_holdout(campaign.run_id, _held_out(campaign))
    target, notes = _target(out, run.as_of, ledger)
    places = _places(run.path, target.parent, ledger)
    book = outreach_book.workbook(run, campaign.flat, campaign.run_id, places)
    files = {WORKBOOK: sheets.write_workbook(target, book)}
    if files[WORKBOOK] != target:
        notes.append(
            f"{target} is open in another program and was left alone. The new list is "
            f"{files[WORKBOOK]}; close the old one, and record it first if you wrote in it."
        )
    remembering.note_issue(ledger, files[WORKBOOK])
    files[TABLE] = sheets.write_csv(out / TABLE, campaign.flat, decimals={"hours": 2})
    if wanted.calendar:
        text = outreach_calendar.calendar(run, campaign.flat, ledger.promises())
        files["follow-ups"] = sheets.replace_file(wanted.calendar, text)
    if letters and wanted.messages:
        made = messages(run, campaign.flat, Letters(letters, wanted.caller))
        files |= write_messages(made, run, wanted.messages)
        notes += made.notes
    if wanted.redact:
        files |= outreach_redact.write_redacted(run, out)
    return Written(files, tuple(notes))


def _places(fleet: Path, folder: Path, ledger: Ledger) -> dict[str, str]:
    """Where a returned copy finds its fleet file and, if that lies elsewhere, its ledger."""
    places = {FLEET_AT: outreach_book.seen_from(folder, fleet)}
    if ledger.path is not None and ledger.path != beside(fleet).resolve():
        places[LEDGER_AT] = outreach_book.seen_from(folder, ledger.path)
    return places


def _target(out: Path, as_of: dt.date, ledger: Ledger) -> tuple[Path, list[str]]:
    """Where the workbook goes, and what to say if it does not go where one is."""
    usual = out / WORKBOOK
    place = free_target(
        usual, as_of, lambda path: remembering.holds_unrecorded(ledger, path, as_of)
    )
    if place == usual:
        return place, []
    return place, [
        f"{usual} holds notes that are not recorded yet and was left alone: "
        f"riskcheck record {usual}. The new list is {place}."
    ]


def _held_out(campaign: Campaign) -> pd.DataFrame:
    """(vehicle_id, hazard_id) of the contacts left alone this quarter to learn from."""
    quiet = campaign.run.outreach.not_called
    contacts = quiet.loc[quiet["reason"].eq("holdout"), "customer_id"]
    exposures = campaign.run.exposures
    own = exposures["customer_id"].isin(contacts) & exposures["tier"].between(4, 5)
    return exposures.loc[own, ["vehicle_id", "hazard_id"]].reset_index(drop=True)
