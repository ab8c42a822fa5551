"""The assessment at the terminal: plain text that fits 80 columns and pipes cleanly."""

from __future__ import annotations

from collections.abc import Hashable, Mapping
from pathlib import Path
from typing import Any

import pandas as pd

from riskcheck.reports import words
from riskcheck.reports.outreach_book import call_frame, grouped_reasons
from riskcheck.reports.run import Run
from riskcheck.reports.wrapping import labelled, shortened, wrapped
from riskcheck.sheets import one_line

FIRST_CALLS = 10
REASONS_PER_CALL = 2
OVERRIDES_SHOWN = 6
DOUBTED_SHOWN = 4
LEVELS = ("High", "Serious", "Medium", "Low")
SHOWN_STATUSES = ("exposed", "unproven", "unknown")


def summary(run: Run, written: Mapping[str, Path], doubted: pd.DataFrame) -> list[str]:
    """What was read, what the rules could speak for, exposures by level, the first calls, files.

    ``doubted``: exposures whose place hangs on a doubtful odometer (``doubting.moved_by_doubt``).
    """
    return [
        *wrapped(
            f"{run.path.name}, as of {run.as_of.isoformat()}, looking ahead "
            f"{words.plural(run.horizon_months, 'month')}"
        ),
        "",
        *_read(run),
        *_spoken(run),
        *_replaced(run),
        *_doubted(doubted),
        "",
        *_levels(run.exposures),
        "",
        *_calls(run),
        "",
        *_files(written),
        "",
        *wrapped(words.CAUTIONS[0]),
        *wrapped(words.CAUTIONS[1]),
    ]


def _read(run: Run) -> list[str]:
    fleet = run.fleet
    actions = fleet.problems["action"].value_counts()
    return _unused_headings(run) + labelled(
        "Read",
        f"{words.plural(len(fleet.vehicles), 'vehicle')}, "
        f"{words.plural(len(fleet.service), 'service line')}, "
        f"{words.plural(len(fleet.customers), 'customer')}; "
        f"{words.plural(int(actions.get('repaired', 0)), 'cell')} repaired, "
        f"{words.plural(int(actions.get('set_aside', 0)), 'row')} set aside",
    )


def _unused_headings(run: Run) -> list[str]:
    """Headings that were not understood: what stands under them was not used."""
    reports = run.fleet.reports
    lost = reports[reports["heading"].ne("") & reports["field"].eq("")]
    if lost.empty:
        return []
    names = ", ".join(f"'{one_line(str(name))}'" for name in lost["heading"].drop_duplicates())
    return labelled(
        "Unused",
        f"headings {names}: nothing under them was read. Say what they are with "
        '--map "Their heading=field" (fields: see the headings of riskcheck read --blank)',
    )


def _doubted(doubted: pd.DataFrame) -> list[str]:
    """Which cells would move the list if they meant what would fit."""
    if doubted.empty:
        return []
    vehicles = doubted.drop_duplicates("vehicle_id")
    named = [
        f"{one_line(str(row['vehicle_id']))} ({one_line(str(row['cells']))})"
        for row in vehicles.head(DOUBTED_SHOWN).to_dict("records")
    ]
    more = len(vehicles) - len(named)
    return labelled(
        "Doubt",
        f"doubtful odometer readings decide the place of {words.plural(len(doubted), 'exposure')}: "
        f"look at {', '.join(named)}{f' and {more} more' if more else ''}; what would fit is in "
        "problems.csv (riskcheck read)",
    )


def _spoken(run: Run) -> list[str]:
    statuses = run.exposures["status"].value_counts()
    silent = int(statuses.get("not_applicable", 0))
    failed = int(statuses.get("no_answer", 0))
    total = len(run.exposures)
    text = (
        f"{words.plural(len(run.rulebook.hazards), 'hazard')}; they speak for "
        f"{total - silent - failed:,} of {total:,} vehicle-hazard pairs "
        f"({silent:,} do not apply"
    )
    return labelled("Rules", text + (f", {failed:,} have no answer)" if failed else ")"))


def _replaced(run: Run) -> list[str]:
    """Which shipped entries a shop's own folder replaced: an override is never silent."""
    names = [words_of.split(":")[0] for words_of in run.rulebook.overrides]
    if not names:
        return []
    shown = ", ".join(names[:OVERRIDES_SHOWN])
    more = f" and {len(names) - OVERRIDES_SHOWN:,} more" if len(names) > OVERRIDES_SHOWN else ""
    return labelled(
        "Yours",
        f"{words.plural(len(names), 'entry', 'entries')} of your own rules in force instead of "
        f"the shipped: {shown}{more}",
    )


def _levels(exposures: pd.DataFrame) -> list[str]:
    """A small table: status by risk level, and how many have a sign or were found."""
    lines = [f"{'':<22}{''.join(f'{level:>9}' for level in LEVELS)}{'sign':>9}{'found':>9}"]
    for status in SHOWN_STATUSES:
        own = exposures[exposures["status"] == status]
        counts = [int((own["risk_level"] == level).sum()) for level in LEVELS]
        counts += [int((own["evidence"] == evidence).sum()) for evidence in ("sign", "confirmed")]
        lines.append(f"{words.STATUS_WORDS[status]:<22}" + "".join(f"{n:>9,}" for n in counts))
    closed = int((exposures["status"] == "closed").sum())
    return [*lines, f"{words.STATUS_WORDS['closed']:<22}{closed:>9,}"]


def _calls(run: Run) -> list[str]:
    calls = run.outreach.calls
    flat = call_frame(run)
    lines = [
        f"First calls ({min(FIRST_CALLS, len(calls))} of {len(calls):,}; "
        f"{len(run.outreach.find_out):,} questions to ask are in the workbook)"
    ]
    for contact in calls.head(FIRST_CALLS).to_dict("records"):
        name = one_line(str(contact["name"] or contact["contact"]))
        head = f"{contact['call']:>3}. {name}, {way_to(contact)}"
        lines.append(shortened(head))
        lines += _reasons(flat[flat["call"] == contact["call"]])
    return lines


def way_to(contact: Mapping[Hashable, Any]) -> str:
    """How to reach a contact: "+1406...", "by text to ...", "by e-mail", "by letter"."""
    phone = str(contact["phone"])
    ways = {"call": phone, "text": f"by text to {phone}", "email": "by e-mail"}
    ways |= {"letter": "by letter", "none": "nothing on file"}
    return ways[str(contact["channel"])]


def _reasons(own: pd.DataFrame) -> list[str]:
    first = own.iloc[0]
    soon = first["how_soon"]
    reasons = grouped_reasons(own)
    when = f"{soon}." if soon else _dated(first["no_later_than"])
    lines = wrapped(f"{reasons[0]} {when}".rstrip(), " " * 5)
    for reason in reasons[1:REASONS_PER_CALL]:
        lines += wrapped(reason, " " * 5)
    if len(reasons) > REASONS_PER_CALL:
        rest = words.plural(len(reasons) - REASONS_PER_CALL, "more reason")
        lines.append(f"     and {rest}, see outreach.xlsx")
    return lines


def _dated(no_later_than: str) -> str:
    return f"No later than {no_later_than}." if no_later_than else ""


def _files(written: Mapping[str, Path]) -> list[str]:
    said = {
        "outreach.xlsx": "the call list to work in",
        "outreach.csv": "the same as plain rows",
        "exposures.csv": "every vehicle and hazard with its figures",
    }
    lines = [f"{path}  {said[name]}" for name, path in sorted(written.items(), reverse=True)]
    for name, path in written.items():
        if path.name != name:
            lines += wrapped(
                f"Note: {path.parent / name} was left alone, since it holds notes or is open: "
                f"riskcheck record {path.parent / name} keeps them."
            )
    return lines
