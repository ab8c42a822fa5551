"""The list of all vehicles with a page each: plain rows; search and sort where scripts run."""

from __future__ import annotations

import base64
import hashlib
import re
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from markupsafe import Markup

from riskcheck.explain import VehicleView
from riskcheck.reports import explain_sections as said
from riskcheck.reports import owner, words
from riskcheck.reports.explain_terms import shown
from riskcheck.reports.page import LONGEST_NAME, environment, template_text

INDEX, PLAN = "index.html", "plan.svg"


@dataclass(frozen=True)
class Entry:
    """One row of the list; ``rank`` is the best rank among the vehicle's matters."""

    rank: float
    file: str
    vehicle: str
    name: str
    first: str
    headline: str
    latest: str
    matters: int


def entry(view: VehicleView, file: str) -> Entry:
    """What the list says of one vehicle."""
    here = said.here(view)
    lead = view.pressing[0] if view.pressing and here else None
    rank = float("inf") if lead is None else float(lead.row["rank"])
    return Entry(
        rank=rank,
        file=file,
        vehicle=shown(str(view.vehicle["vehicle_id"]), LONGEST_NAME),
        name=said.name(view),
        first=lead.hazard.title if lead else ("nothing to do today" if here else "no longer here"),
        headline=said.headline(lead) if lead else "",
        latest=owner.no_later_than(lead.row, view.as_of) if lead else "",
        matters=len(view.pressing) if here else 0,
    )


def file_name(vehicle_id: str) -> str:
    """A file name that any system takes, different for different vehicles."""
    plain = re.sub(r"[^A-Za-z0-9]+", "-", vehicle_id).strip("-").lower()[:40]
    mark = hashlib.sha256(vehicle_id.encode("utf-8", "surrogatepass")).hexdigest()[:6]
    return f"{plain or 'vehicle'}-{mark}.html"


def html(entries: Sequence[Entry], fleet: str, as_of: str, folder: Path) -> str:
    """The list; it points to the plan's picture where one lies in ``folder``."""
    script = template_text("index.js")
    digest = base64.b64encode(hashlib.sha256(script.encode()).digest()).decode()
    return environment().get_template("index.html").render(
        rows=sorted(entries, key=lambda one: (one.rank, one.file)),
        fleet=fleet,
        as_of=as_of,
        plan=PLAN if (folder / PLAN).is_file() else "",
        cautions=words.CAUTIONS,
        script=Markup(script),
        script_hash=f"sha256-{digest}",
        style=Markup(template_text("style.css")),
        print_style=Markup(template_text("print.css")),
    )  # fmt: skip
