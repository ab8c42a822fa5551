"""What a reading of a fleet did, at the terminal: sheets, headings, rows and their fate."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import pandas as pd

from riskcheck.fleet import Fleet, unsure_headings
from riskcheck.fleet.fault_codes import describe
from riskcheck.reports import words
from riskcheck.reports.wrapping import wrapped
from riskcheck.sheets import one_line

REASONS_SHOWN = 12
WORDINGS_SHOWN = 8
CODES_SHOWN = 6
WORDINGS_LISTED = 1_000


def report(fleet: Fleet, unread: pd.DataFrame, written: Sequence[Path]) -> list[str]:
    """Lines of at most 80 columns: sheets and headings, row counts that add up, reasons, files.

    ``unread``: as from ``Lexicon.unread``.
    """
    lines: list[str] = ["What each sheet was taken for; headings are sure where nothing is said."]
    for key, headings in fleet.reports.groupby(["file", "sheet", "taken_for"], sort=False):
        lines += _sheet(str(key[1] or key[0]), headings)
    lines += ["", f"{'Rows of':<28}{'all':>9}{'used':>9}{'repaired':>10}{'set aside':>11}"]
    for tally in fleet.tallies:
        name = textwrap.shorten(one_line(tally.sheet or tally.file), 27, placeholder="...")
        lines.append(
            f"{name:<28}{tally.rows:>9,}{tally.used:>9,}{tally.repaired:>10,}{tally.set_aside:>11,}"
        )
    lines += ["", *_reasons(fleet.problems), "", *_wordings(fleet, unread)]
    lines += _codes(fleet.codes)
    lost = fleet.reports[fleet.reports["heading"].ne("") & fleet.reports["field"].eq("")]
    for heading in lost["heading"].drop_duplicates():
        lines += wrapped(
            f"Not used: {heading!r}; nothing under it was read. Settle it with --map",
            rest="  ",
        )
    for item in unsure_headings(fleet).to_dict("records"):
        lines += wrapped(f"Not sure of heading {item['heading']!r}: {item['how']}", rest="  ")
    return [*lines, "", *(f"{path}" for path in written)]


def _sheet(name: str, headings: pd.DataFrame) -> list[str]:
    taken = headings["taken_for"].iloc[0]
    rows = int(headings["rows"].iloc[0])
    lines = wrapped(f"{name}: taken for {taken}, {words.plural(rows, 'row')}", rest="  ")
    known = headings[headings["field"] != ""]
    said = [
        f"{one_line(str(row['heading']))} = {row['field']}{_sure(row['confidence'])}"
        for row in known.to_dict("records")
    ]
    return lines + (wrapped("; ".join(said), "    ", "      ") if said else [])


def _sure(confidence: float) -> str:
    return "" if confidence >= 100 else f" ({confidence:.0f} of 100 sure)"


def needs_attention(fleet: Fleet) -> bool:
    """Whether any row was repaired or set aside, or any heading is not sure."""
    touched = fleet.problems["action"].isin(["repaired", "set_aside"]).any()
    return bool(touched) or not unsure_headings(fleet).empty


def _wordings(fleet: Fleet, unread: pd.DataFrame) -> list[str]:
    """How many service lines say nothing known, and the commonest of them."""
    lines = int(unread["count"].sum())
    all_lines = f"{len(fleet.service):,} service lines"
    if not lines:
        return [f"All {all_lines} name something riskcheck knows."]
    told = wrapped(
        f"{lines:,} of {all_lines} name nothing riskcheck knows "
        f"({words.plural(len(unread), 'wording')}). --unread FILE.xlsx lists them all; where one "
        "of them speaks of a hazard, explain it there. The commonest:",
        rest="  ",
    )
    for row in unread.head(WORDINGS_SHOWN).to_dict("records"):
        near = f" (nearest known: {row['nearest']})" if row["nearest"] else ""
        told += wrapped(f"{row['count']:,} x {one_line(str(row['wording']))!r}{near}", "  ", "    ")
    return told


def _codes(codes: pd.DataFrame) -> list[str]:
    """The commonest fault codes on file, each described by its form and standard meaning."""
    if codes.empty:
        return []
    often = codes.groupby("code")["vehicle_id"].agg(["size", "nunique"])
    often = often.sort_values("size", ascending=False, kind="stable").head(CODES_SHOWN)
    told = ["", f"{words.plural(len(codes), 'fault code')} on file, commonest first"]
    for code, (times, vehicles) in often.iterrows():
        where = words.plural(int(vehicles), "vehicle")
        told += wrapped(f"{times:,} x {code} on {where}: {describe(str(code))}", "  ", "    ")
    return told


def _reasons(problems: pd.DataFrame) -> list[str]:
    """The commonest reasons for a repair or a row set aside, with one place each."""
    own = problems[problems["action"].isin(["repaired", "set_aside"])]
    if own.empty:
        return ["Nothing had to be repaired or set aside."]
    counts = own.groupby(["action", "reason"], sort=False).agg(
        count=("cell", "size"), sheet=("sheet", "first"), cell=("cell", "first")
    )
    counts = counts.sort_values("count", ascending=False, kind="stable").reset_index()
    lines = ["What was done, commonest first (all of it is in problems.csv)"]
    for row in counts.head(REASONS_SHOWN).to_dict("records"):
        did = str(row["action"]).replace("_", " ")
        place = f"first at {row['sheet']}!{row['cell']}"
        lines += wrapped(f"{row['count']:,} {did}: {row['reason']} ({place})", "  ", "    ")
    return lines


def answer(fleet: Fleet, unread: pd.DataFrame, written: Sequence[Path]) -> dict[str, Any]:
    """The same for machines; the commonest unread wordings only, with how many there are."""
    return {
        "schema": 1,
        "sheets": [
            {
                "sheet": tally.sheet,
                "rows": tally.rows,
                "used": tally.used,
                "repaired": tally.repaired,
                "set_aside": tally.set_aside,
            }
            for tally in fleet.tallies
        ],
        "headings": fleet.reports[["sheet", "heading", "field", "confidence"]].to_dict("records"),
        "unread": {
            "wordings": len(unread),
            "lines": int(unread["count"].sum()),
            "commonest": unread.head(WORDINGS_LISTED).to_dict("records"),
        },
        "files": [str(path) for path in written],
    }
