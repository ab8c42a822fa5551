"""Follow-ups as a calendar file (RFC 5545): days by which to act, and what was promised."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator

import icalendar
import pandas as pd

from riskcheck.actions.etiquette import NEXT_STEPS
from riskcheck.actions.row_keys import row_key
from riskcheck.reports.run import Run

PRODUCT = "-//riskcheck//follow-ups//EN"


def calendar(run: Run, flat: pd.DataFrame, promises: pd.DataFrame | None = None) -> bytes:
    """One all-day event per contact with a last day ahead, and per promise not yet kept.

    ``promises``: contact, vehicle_id, hazard_id, kind, date, next_step (code), due.  The same run
    gives the same bytes: an event keeps its UID, so that a calendar replaces rather than doubles.
    """
    book = icalendar.Calendar()
    book.add("prodid", PRODUCT)
    book.add("version", "2.0")
    book.add("method", "PUBLISH")
    names = dict(zip(run.outreach.calls["contact"], run.outreach.calls["name"], strict=True))
    stamp = dt.datetime.combine(run.as_of, dt.time(), tzinfo=dt.UTC)
    for uid, day, title, text in [*_last_days(run, flat), *_promised(run, promises, names)]:
        event = icalendar.Event()
        event.add("uid", f"{uid}@riskcheck.invalid")
        event.add("dtstamp", stamp)
        event.add("dtstart", day)
        event.add("dtend", day + dt.timedelta(days=1))
        event.add("summary", title)
        event.add("description", text)
        event.add("transp", "TRANSPARENT")
        book.add_component(event)
    return bytes(book.to_ical())


def _last_days(run: Run, flat: pd.DataFrame) -> Iterator[tuple[str, dt.date, str, str]]:
    first = flat.drop_duplicates("call").set_index("call")
    for contact in run.outreach.calls.to_dict("records"):
        if not contact["act_by_date"]:
            continue
        day = max(dt.date.fromisoformat(str(contact["act_by_date"])[:10]), run.as_of)
        row = first.loc[contact["call"]]
        key = row_key(str(contact["contact"]), "", "", str(contact["need"]))
        title = f"Last day, call {contact['call']}: {contact['name'] or contact['contact']}"
        yield f"by-{key}", day, title, f"{row['vehicle']}: {row['hazard']}."


def _promised(
    run: Run, promises: pd.DataFrame | None, names: dict[str, str]
) -> Iterator[tuple[str, dt.date, str, str]]:
    if promises is None:
        return
    for row in promises.to_dict("records"):
        due = pd.to_datetime(row["due"], errors="coerce")
        day = run.as_of if pd.isna(due) else max(due.date(), run.as_of)
        contact = str(row["contact"])
        step = NEXT_STEPS.get(str(row["next_step"]), str(row["next_step"]))
        about = " ".join(part for part in (row["vehicle_id"], row["hazard_id"]) if part)
        key = row_key(contact, str(row["vehicle_id"]), str(row["hazard_id"]), str(row["kind"]))
        yield f"promise-{key}", day, f"{step}: {names.get(contact) or contact}", about
