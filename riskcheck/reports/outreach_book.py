"""The outreach workbook: call sheets made to be worked in, and what stands behind them."""

from __future__ import annotations

import os
from collections.abc import Hashable, Mapping
from pathlib import Path
from typing import Any

import pandas as pd

from riskcheck.actions.returned_sheets import FLEET_AT
from riskcheck.actions.row_keys import HEADING, row_key
from riskcheck.reports import about, outreach_lists, outreach_words, words
from riskcheck.reports.layout import fitted, ruled
from riskcheck.reports.outreach_rows import call_frame, grouped_reasons, vehicle_names
from riskcheck.reports.outreach_sheets import contact_sheets, vehicle_sheet
from riskcheck.reports.run import Run
from riskcheck.sheets import Column, Sheet, Style, Workbook

__all__ = ["call_frame", "grouped_reasons", "vehicle_names", "workbook"]

STYLES = {
    "stop": Style(fill="F3D9D2", border=True),
    "duty": Style(fill="E4E0EC", border=True),
    "plain": Style(border=True),
}
KEY_COLUMNS = (HEADING, "Contact", "Customer", "Vehicle id", "Hazard", "Sheet kind", "Channel")


def workbook(
    run: Run, flat: pd.DataFrame, run_id: str = "", places: Mapping[str, str] | None = None
) -> Workbook:
    """The workbook of one run; ``flat``: its ``call_frame``; ``run_id``: as the ledger names it.

    ``places``: where fleet file and ledger lie as seen from the workbook (FLEET_AT, LEDGER_AT), so
    that a returned copy leads back to them; default: the fleet file from the working folder.
    """
    listed = [
        sheet
        for sheet in (
            outreach_lists.find_out(run),
            outreach_lists.coming_in(run),
            outreach_lists.next_visit(run),
            outreach_lists.unproven(run),
            outreach_lists.not_contacted(run),
            outreach_lists.not_now(run),
            outreach_lists.set_aside(run),
            outreach_lists.policy(run),
        )
        if sheet.rows
    ]
    called = contact_sheets(run, flat)
    return Workbook(
        sheets=[
            _start(run, called, listed),
            *called,
            ruled(vehicle_sheet(flat)),
            *(ruled(fitted(sheet)) for sheet in listed),
            fitted(about.sheet(run)),
            _hidden_about(run, run_id, places or {FLEET_AT: seen_from(Path.cwd(), run.path)}),
            _keys(run, flat),
        ],
        title=f"Customers to contact, as of {run.as_of.isoformat()}",
        styles=STYLES,
    )


def _start(run: Run, called: list[Sheet], listed: list[Sheet]) -> Sheet:
    """The first page: which sheet is for what, how many rows it has, how to give it back."""
    calls = run.outreach.calls
    hours = calls.groupby("need")["hours"].sum()
    rows: list[list[object]] = []
    for need, named in outreach_words.NEEDS.items():
        if need in hours.index:
            own = calls[calls["need"] == need]
            ways = own["channel"].value_counts()
            by = ", ".join(
                f"{ways[code]} by {said}" if code != "none" else f"{ways[code]} with no way on file"
                for code, said in outreach_words.CHANNELS.items()
                if code in ways
            )
            rows.append([named.sheet, len(own), round(float(hours[need]), 1), f"{named.purpose} "
                         f"({by}.)"])  # fmt: skip
    rows += [
        [sheet.name, len(sheet.rows), None, sheet.title[1] if len(sheet.title) > 1 else ""]
        for sheet in listed
    ]
    etiquette = run.rulebook.policy.etiquette
    between = f"Call and text between {etiquette.hours.earliest} and {etiquette.hours.latest}, "
    notes = (
        outreach_lists.silence(run.outreach.not_called),
        "Work the sheets from left to right, each from the top. In the yellow cells put result, "
        "date, note and next step; sort, filter or move rows as you like.",
        "Give it back with: riskcheck record outreach.xlsx. Nothing typed here is overwritten.",
        f"{between}their own time. {etiquette.counsel}",
        *words.CAUTIONS,
    )
    rows += [[None, None, None, note] for note in notes if note]
    columns = [
        Column("Sheet", 24, wrap=True),
        Column("Rows", 8, "#,##0", align="center"),
        Column("Hours", 9, "0.0", align="center"),
        Column("What it is for", 100, wrap=True),
    ]
    return ruled(
        fitted(
            Sheet(
                "Start here",
                columns,
                rows,
                title=(
                    f"Customers to contact, as of {run.as_of.isoformat()}",
                    f"{words.plural(len(calls), 'contact')} for the coming two weeks.",
                ),
                filters=False,
                tab_colour="3B4A54",
            )
        )
    )


def seen_from(folder: Path, file: Path) -> str:
    """The way from a folder to a file, with forward slashes; the whole path on another drive."""
    try:
        return Path(os.path.relpath(file.resolve(), folder.resolve())).as_posix()
    except ValueError:
        return file.resolve().as_posix()


def _hidden_about(run: Run, run_id: str, places: Mapping[str, str]) -> Sheet:
    """What a returned copy needs to say where it came from."""
    rows = [
        ["Run", run_id],
        ["As of", run.as_of.isoformat()],
        ["Fleet file", run.path.name],
        ["Digest of the fleet file", run.digests["fleet"]],
        ["Digest of the rules", run.digests["rules"]],
        *([what, place] for what, place in places.items()),
    ]
    columns = [Column("What", 30), Column("Value", 70)]
    return Sheet("About", columns, rows, filters=False, hidden=True)


def _keys(run: Run, flat: pd.DataFrame) -> Sheet:
    """Every key with what it stands for, so that a returned copy can be read without the ledger."""
    rows = key_frame(run, flat)
    columns = [Column(name, 20) for name in KEY_COLUMNS]
    return Sheet("Row keys", columns, rows.values.tolist(), filters=False, hidden=True)


def key_frame(run: Run, flat: pd.DataFrame) -> pd.DataFrame:
    """Every row key of the workbook (``KEY_COLUMNS``), in the order of its sheets."""
    outreach = run.outreach
    rows = [
        (str(row["contact"]), str(row["customer_id"]), "", "", str(row["kind"]), _way(row))
        for frame in (
            outreach.calls.assign(kind=outreach.calls["need"]),
            outreach.not_called.assign(kind="quiet"),
        )
        for row in frame.to_dict("records")
    ]
    listed = (
        (flat[flat["offered"]], "vehicle"),
        (outreach.find_out, "ask"),
        (outreach.coming_in, "coming_in"),
        (_vehicles_once(outreach.not_now), "next_visit"),
        (outreach.unproven, "unproven"),
    )
    rows += [
        (str(row["contact"]), str(row["customer_id"] or ""), str(row["vehicle_id"]),
         str(row["hazard_id"]), kind, str(row.get("channel", "")))
        for frame, kind in listed
        for row in frame.to_dict("records")
    ]  # fmt: skip
    keyed = [
        (row_key(contact, vehicle, hazard, kind), contact, customer, vehicle, hazard, kind, way)
        for contact, customer, vehicle, hazard, kind, way in rows
    ]
    return pd.DataFrame(keyed, columns=list(KEY_COLUMNS))


def _way(row: Mapping[Hashable, Any]) -> str:
    """The channel by which a contact is made; nothing where none is made."""
    return "" if row["reason"] or row["channel"] == "none" else str(row["channel"])


def _vehicles_once(not_now: pd.DataFrame) -> pd.DataFrame:
    """One row a vehicle of what waits for its next visit, without a hazard."""
    own = not_now[not_now["why_later"] == "next_visit"]
    return own.drop_duplicates("vehicle_id").assign(hazard_id="")
