"""The campaign at the terminal: what to do these two weeks, in 80 columns."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import Any

import pandas as pd

from riskcheck.reports import outreach_words, words
from riskcheck.reports.machine import SCHEMA, records
from riskcheck.reports.outreach_lists import silence
from riskcheck.reports.outreach_rows import grouped_reasons
from riskcheck.reports.run import Run
from riskcheck.reports.wrapping import joined, shortened, wrapped
from riskcheck.sheets import one_line

FIRST_CONTACTS = 8
FILE_WORDS = {
    "outreach.xlsx": "the call sheets to work in",
    "outreach.csv": "the same as plain rows",
    "follow-ups": "last days and promises for a calendar",
    "phone-scripts.txt": "what to say, a page a call",
    "letters.txt": "letters, a page each",
    "letters.csv": "the letters as a merge table",
    "texts.csv": "text messages with consent, ready to check and send",
    "emails.csv": "e-mails with consent as a merge table",
    "not-written.csv": "messages left out, and why",
    "outreach-redacted.xlsx": "the list without people",
    "outreach-redacted.csv": "the same as plain rows",
}


def summary(
    run: Run,
    flat: pd.DataFrame,
    files: Mapping[str, Path],
    notes: Iterable[str],
    compared_with: tuple[str, str],
    moved: Mapping[str, int],
) -> str:
    """Counts by need and channel, the first contacts, who is left alone and why, files, notes."""
    calls = run.outreach.calls
    lines = [
        *wrapped(f"{run.path.name}, as of {run.as_of.isoformat()}: "
                  f"{words.plural(len(calls), 'contact')} for the coming two weeks"),
        *_moved(moved, compared_with),
        "",
        *_needs(calls),
        "",
        *wrapped(silence(run.outreach.not_called) or "Everyone on the list is contacted."),
        "",
        *_first(calls, flat),
        "",
        *(f"{path}  {FILE_WORDS[name]}" for name, path in files.items() if name in FILE_WORDS),
    ]  # fmt: skip
    drafts = [path for name, path in files.items() if name.startswith("emails/")]
    if drafts:
        lines.append(f"{drafts[0].parent}  {words.plural(len(drafts), 'e-mail draft')}")
    for note in notes:
        lines += ["", *wrapped(f"Note: {note}")]
    lines += ["", *wrapped(run.rulebook.policy.etiquette.counsel), *wrapped(words.CAUTIONS[0])]
    return joined(lines)


def machine(
    run: Run, flat: pd.DataFrame, files: Mapping[str, Path], notes: Iterable[str], run_id: str
) -> dict[str, Any]:
    """The same for machines: contacts, rows, who is left alone and why, files, notes."""
    return {
        "schema": SCHEMA,
        "fleet": run.path.name,
        "as_of": run.as_of.isoformat(),
        "run": run_id,
        "contacts": records(run.outreach.calls),
        "rows": records(flat),
        "not_contacted": records(run.outreach.not_called),
        "digests": dict(run.digests),
        "files": {name: str(path) for name, path in files.items()},
        "notes": list(notes),
    }


def _moved(moved: Mapping[str, int], compared_with: tuple[str, str]) -> list[str]:
    if not compared_with[0]:
        return ["First run on this ledger: nothing to compare with yet."]
    counts = ", ".join(f"{count:,} {code}" for code, count in moved.items())
    return wrapped(f"Since the list of {compared_with[1]}: {counts}; riskcheck changes says why.")


def _needs(calls: pd.DataFrame) -> list[str]:
    """A small table: contacts by need and channel, and the hours offered."""
    heads = {"call": "call", "text": "text", "email": "e-mail", "letter": "letter", "none": "none"}
    lines = [
        f"{'':<18}{'contacts':>9}"
        + "".join(f"{head:>8}" for head in heads.values())
        + f"{'hours':>8}"
    ]
    for need, named in outreach_words.NEEDS.items():
        own = calls[calls["need"] == need]
        if own.empty:
            continue
        by = own["channel"].value_counts()
        counts = "".join(f"{int(by.get(code, 0)):>8}" for code in heads)
        lines.append(f"{named.sheet:<18}{len(own):>9}{counts}{own['hours'].sum():>8.1f}")
    return lines


def _first(calls: pd.DataFrame, flat: pd.DataFrame) -> list[str]:
    shown = calls.head(FIRST_CONTACTS)
    lines = [f"First contacts ({len(shown)} of {len(calls)})"]
    for contact in shown.to_dict("records"):
        name = one_line(str(contact["name"] or contact["contact"]))
        way = outreach_words.CHANNELS[contact["channel"]]
        number = f" {contact['phone']}" if contact["channel"] in ("call", "text") else ""
        sheet = outreach_words.NEEDS[contact["need"]].sheet
        head = f"{contact['call']:>3}. {name}, {way}{number}  [{sheet}]"
        lines.append(shortened(head))
        lines += wrapped(grouped_reasons(flat[flat["call"] == contact["call"]])[0], " " * 5)
    return lines
