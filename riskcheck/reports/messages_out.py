"""Messages as files: phone scripts to read from, letters to print, merge tables, e-mail drafts."""

from __future__ import annotations

import datetime as dt
import re
import textwrap
from collections.abc import Iterable
from email.message import EmailMessage
from email.policy import SMTP
from email.utils import format_datetime
from pathlib import Path

import pandas as pd
import phonenumbers
from phonenumbers import timezone as zones

from riskcheck.reports.messages import Letter, Messages, number_of
from riskcheck.reports.run import Run
from riskcheck.rulebook.etiquette_policy import Shop
from riskcheck.sheets import one_line, replace_file, write_csv

PAGE_BREAK = "\f\n"
PAGE_WIDTH = 78
_LABEL = re.compile(r"(?:\s*- |[A-Z]{3,}\s{2,})")
# Field names that every mail merge takes: a letter first, at most 40 letters, digits and "_".
MERGE_COLUMNS = [
    "call", "row_key", "name", "address", "consent_source", "consent_date", "vehicle", "question",
    "sentence", "offer", "no_later_than", "subject", "message",
]  # fmt: skip
TEXT_COLUMNS = [
    "call", "row_key", "name", "phone", "message", "letters", "consent_source", "consent_date",
    "not_before", "not_after", "time_zone",
]  # fmt: skip


def write_messages(made: Messages, run: Run, folder: Path) -> dict[str, Path]:
    """Write every message into ``folder``; returns name -> path of what was written.

    phone-scripts.txt and letters.txt have a page each; texts.csv, emails.csv and letters.csv are
    merge tables (UTF-8 with a mark, one line a customer); emails/ holds drafts (.eml); what was
    left out and why is in not-written.csv.
    """
    shop, hours = run.rulebook.policy.shop, run.rulebook.policy.etiquette.hours
    files: dict[str, Path] = {}
    for channel, name in (("call", "phone-scripts.txt"), ("letter", "letters.txt")):
        pages = [folded(letter.text) for letter in made.by(channel)]
        if pages:
            text = PAGE_BREAK.join(pages)
            files[name] = replace_file(folder / name, text.encode())
    for channel, name in (("email", "emails.csv"), ("letter", "letters.csv")):
        table = merge_table(made.by(channel))
        if len(table):
            files[name] = write_csv(folder / name, table, for_spreadsheet=True)
    texts = text_table(made.by("text"), hours.earliest, hours.latest)
    if len(texts):
        files["texts.csv"] = write_csv(folder / "texts.csv", texts, for_spreadsheet=True)
    drafts = folder / "emails"
    for letter in made.by("email"):
        name = f"emails/{letter.call:03d}-{letter.row_key}.eml"
        files[name] = replace_file(drafts / Path(name).name, draft(letter, shop, run.as_of))
    if len(made.left_out):
        target = folder / "not-written.csv"
        files["not-written.csv"] = write_csv(target, made.left_out, for_spreadsheet=True)
    return files


def folded(text: str) -> str:
    """The text in lines of at most 78 letters; what follows a label or dash stays indented."""
    lines = []
    for line in text.split("\n"):
        start = _LABEL.match(line)
        indent = " " * len(start.group(0)) if start else ""
        lines += textwrap.wrap(
            line, PAGE_WIDTH, subsequent_indent=indent, drop_whitespace=True
        ) or [""]
    return "\n".join(lines)


def merge_table(letters: Iterable[Letter]) -> pd.DataFrame:
    """One row a message (``MERGE_COLUMNS``), for a mail merge."""
    rows = [
        {
            "call": letter.call,
            "row_key": letter.row_key,
            "name": letter.name,
            "address": letter.address,
            "consent_source": letter.consent_source,
            "consent_date": letter.consent_date,
            **letter.fields,
            "subject": letter.subject,
            "message": letter.text.strip(),
        }
        for letter in letters
    ]
    return pd.DataFrame(rows, columns=MERGE_COLUMNS)


def text_table(letters: Iterable[Letter], earliest: str, latest: str) -> pd.DataFrame:
    """One row a text (``TEXT_COLUMNS``): number in E.164, consent, hours where they live."""
    rows = []
    for letter in letters:
        number = number_of(letter.address)
        if number is None:
            continue
        text = one_line(letter.text.strip())
        rows.append(
            {
                "call": letter.call,
                "row_key": letter.row_key,
                "name": letter.name,
                "phone": phonenumbers.format_number(number, phonenumbers.PhoneNumberFormat.E164),
                "message": text,
                "letters": len(text),
                "consent_source": letter.consent_source,
                "consent_date": letter.consent_date,
                "not_before": earliest,
                "not_after": latest,
                "time_zone": " or ".join(zones.time_zones_for_number(number)),
            }
        )
    return pd.DataFrame(rows, columns=TEXT_COLUMNS)


def draft(letter: Letter, shop: Shop, as_of: dt.date) -> bytes:
    """One e-mail as a draft (RFC 5322), with a way out that works by reply (RFC 2369)."""
    mail = EmailMessage(policy=SMTP)
    mail["From"] = f"{one_line(shop.name)} <{one_line(shop.email)}>"
    mail["To"] = letter.address
    mail["Subject"] = letter.subject
    mail["Date"] = format_datetime(dt.datetime.combine(as_of, dt.time(12), tzinfo=dt.UTC))
    mail["Message-ID"] = f"<{letter.row_key}.{as_of.isoformat()}@riskcheck.invalid>"
    mail["List-Unsubscribe"] = f"<mailto:{one_line(shop.email)}?subject=STOP>"
    mail.set_content(letter.text, cte="quoted-printable")
    return mail.as_bytes()
