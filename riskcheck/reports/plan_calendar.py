"""The plan as a calendar file (RFC 5545): one all-day event a visit."""

from __future__ import annotations

import datetime as dt
import hashlib

import icalendar
import pandas as pd

from riskcheck.actions.plan import Plan
from riskcheck.reports import plan_words, words

PRODUCT = "-//riskcheck//maintenance plan//EN"


def calendar(plan: Plan) -> bytes:
    """One event per visit.  A vehicle keeps its event's UID from plan to plan within a week, so
    that a calendar moves it rather than doubles it; the same plan gives the same bytes."""
    book = icalendar.Calendar()
    book.add("prodid", PRODUCT)
    book.add("version", "2.0")
    book.add("method", "PUBLISH")
    stamp = dt.datetime.combine(plan.asked.as_of, dt.time(), tzinfo=dt.UTC)
    names = plan_words.vehicle_names(plan)
    jobs = {row["job_id"]: row for row in plan.jobs.to_dict("records")}
    for visit in plan.visits.to_dict("records"):
        own = [jobs[one] for one in visit["jobs"].split("; ")]
        work = [plan_words.job_words(job, plan.asked.book) for job in own]
        first = pd.Timestamp(visit["date"]).date()
        event = icalendar.Event()
        event.add("uid", f"{_uid(visit['vehicle_id'], visit['jobs'])}@riskcheck.invalid")
        event.add("dtstamp", stamp)
        event.add("dtstart", first)
        event.add("dtend", first + dt.timedelta(days=int(visit["days"])))
        event.add("summary", f"{visit['bay']}: {names[visit['vehicle_id']]}, "
                             f"{visit['hours']:.1f} h")  # fmt: skip
        late = [text for job in own if (text := plan_words.late_words(job, plan))]
        grave = [job for job in own if plan_words.keeps_off_road(job)]
        lines = [
            *(["Not to be driven until this is done"] if grave else []),
            *work,
            *(f"Late by {text}" for text in late[:1]),
            *([f"Customer {plan_words.NO_CALL}"] if own[0]["no_call"] else []),
            words.CAUTIONS[1],
        ]
        event.add("description", "\n".join(lines))
        event.add("location", str(visit["bay"]))
        event.add("transp", "TRANSPARENT")
        book.add_component(event)
    return bytes(book.to_ical())


def _uid(vehicle_id: str, jobs: str) -> str:
    return "visit-" + hashlib.sha256(f"{vehicle_id}|{jobs}".encode()).hexdigest()[:20]
