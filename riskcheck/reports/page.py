"""One vehicle as one self-contained page: no network, no script, readable on paper and screen."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any

import jinja2
from markupsafe import Markup

from riskcheck.explain import HazardView, VehicleView
from riskcheck.reports import chances, owner, words
from riskcheck.reports import explain_sections as said
from riskcheck.reports.explain_grounds import figure_words
from riskcheck.reports.explain_terms import denominator, shown, where
from riskcheck.reports.page_curve import draw
from riskcheck.reports.page_icons import icons
from riskcheck.sheets import one_line, replace_file

TEMPLATES = Path(__file__).with_name("templates") / "page"
LONGEST_NAME = 160
# Lines of a section that go on paper (others: 6), so that a vehicle fits on two sheets.
ON_PAPER = {"changes": 2, "record": 3, "limits": 2, "proof": 2, "rules": 2, "figures": 3,
            "evidence": 5, "choices": 9, "moves": 4}  # fmt: skip


@dataclass(frozen=True)
class Card:
    """One hazard laid out; ``open`` ones show everything, the others a line until opened."""

    title: str
    headline: str
    mark: str
    short: str
    at: str
    open: bool
    sections: tuple[said.Section, ...]
    icons: Markup
    icons_words: str
    curve: Markup
    curve_words: str


def html(
    view: VehicleView, audience: str = "counter", *, paper: bool = False, index: str = ""
) -> str:
    """The page.  ``audience``: counter, owner or technician.

    ``paper`` leaves out what paper cannot open, for renderers that know no closed sections;
    ``index``: address of the list of all vehicles, relative to this page.
    """
    places = {id(hazard): place for place, hazard in enumerate(view.hazards)}
    cards = [
        _card(hazard, f"hazards/{places[id(hazard)]}", view, audience, (place == 0, paper))
        for place, hazard in enumerate(view.pressing)
    ]
    return environment().get_template("vehicle.html").render(
        page=_page(view, audience, places), cards=cards, paper=paper, index=index,
        on_paper=ON_PAPER,
        style=Markup(template_text("style.css")), print_style=Markup(template_text("print.css")),
    )  # fmt: skip


@lru_cache(maxsize=1)
def environment() -> jinja2.Environment:
    """Templates with escaping always on; a name that is missing is an error, not a blank."""
    return jinja2.Environment(
        loader=jinja2.FileSystemLoader(TEMPLATES),
        autoescape=True,
        undefined=jinja2.StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        finalize=_clean,
    )


def _clean(value: Any) -> Any:
    """Text of the input without control and direction-changing characters."""
    if isinstance(value, Markup):
        return value
    return one_line(value) if isinstance(value, str) else value


@lru_cache(maxsize=8)
def template_text(name: str) -> str:
    """A style or script of the pages, as it is."""
    return (TEMPLATES / name).read_text(encoding="utf-8")


def _card(
    view: HazardView, at: str, vehicle: VehicleView, audience: str, shape: tuple[bool, bool]
) -> Card:
    opened, paper = shape
    months = vehicle.horizon_months
    found = view.row["evidence"] == "confirmed"
    drawn, drawn_words = _icons(view, months)
    curve = Markup("")
    curve_words = ""
    if view.curve is not None and (opened or not paper):
        of = denominator(view)
        curve = draw(view.curve, of, paper=paper)
        curve_words = _curve_words(view, of)
    return Card(
        title=view.hazard.title,
        headline=said.headline(view, audience),
        mark="found" if found else str(view.row["risk_level"] or ""),
        short=said.short(view, months),
        at=at,
        open=opened,
        sections=tuple(said.sections(view, months, audience)),
        icons=drawn,
        icons_words=drawn_words,
        curve=curve,
        curve_words=curve_words,
    )


def _icons(view: HazardView, months: int) -> tuple[Markup, str]:
    chance = chances.stated(view.row)
    if chance is None:
        return Markup(""), ""
    of = denominator(view)
    which = " that it applies to" if chances.form(view.row) == "if_it_applies" else ""
    told = (
        f"Each square is one of {of:,} vehicles like this one{which}. Filled: those we expect to "
        "have it "
        f"within {words.period(months)}. Outlined: further ones that our range allows."
    )
    return icons(chance.p, chance.high, of), told


def _curve_words(view: HazardView, of: int) -> str:
    curve = view.curve
    assert curve is not None
    now = f"{curve.now:,.0f}" if curve.now >= 20 else f"{curve.now:,.1f}"
    return (
        f"How many of {of:,} such vehicles have had it by a given use; the shaded band is our "
        f"range. This one stands at {now} {curve.unit}, where "
        f"{words.count_of(curve.now_share, of)} of {of:,} have had it. Drawn as if the part were "
        "never renewed off our record; what this vehicle came through is counted in its chance, "
        "not in the curve."
    )


def _page(view: VehicleView, audience: str, places: Mapping[int, int]) -> dict[str, Any]:
    vehicle, months = view.vehicle, view.horizon_months
    unit = f", unit {vehicle['unit']}" if vehicle["unit"] not in ("", vehicle["vehicle_id"]) else ""
    plate = f", plate {vehicle['plate']}" if vehicle["plate"] else ""
    return {
        "vehicle_id": shown(str(vehicle["vehicle_id"]), LONGEST_NAME),
        "heading": shown(f"Vehicle {vehicle['vehicle_id']}{unit}{plate}", LONGEST_NAME),
        "name": said.name(view),
        "reading": said.reading(view),
        "in_service": view.in_service[0] if view.in_service else "",
        "in_service_where": where(view.in_service[1]) if view.in_service else "",
        "as_of": view.as_of.isoformat(),
        "horizon": words.period(months),
        "first": _first(view),
        "corrections": [said.correction(item) for item in view.corrections],
        "quiet": [
            {
                "title": hazard.hazard.title,
                "short": said.short(hazard, months, later=True, audience=audience),
                "at": f"hazards/{places[id(hazard)]}",
            }
            for hazard in said.waiting(view)
        ],
        "look": said.combined_look(view),
        "silent": said.silent(view),
        "repairs": [
            {"where": where(item.source), "was": shown(item.was, 80), "now": shown(item.now, 80),
             "reason": item.reason}
            for item in view.repairs
        ],
        "cautions": words.CAUTIONS,
        "policy": [] if audience == "owner" else [figure_words(named) for named in view.policy],
        "rules_digest": str(view.digests.get("rules", ""))[:12],
        "fleet_digest": str(view.digests.get("fleet", ""))[:12],
    }  # fmt: skip


def _first(view: VehicleView) -> list[str]:
    """The page in three sentences: what stands first, by when, and what else there is."""
    if not view.pressing:
        return ["Nothing in our rules asks for attention on this vehicle today. That is not a "
                "clearance: it only covers the hazards listed here."]  # fmt: skip
    lead, months = view.pressing[0], view.horizon_months
    short = owner.capital(said.short(lead, months))
    told = [f"First: {lead.hazard.title}. {short}."]
    if lead.row["status"] == "unknown":
        told = [f"First to find out: does this apply here? {lead.hazard.title}. {short}."]
    if lead.questions and lead.row["evidence"] != "confirmed":
        asked = lead.questions[0]
        told.append(f"One answer would help most: {asked.ask or asked.meaning}")
    others = len(view.pressing) - 1
    if others:
        few = words.plural(others, "other matter")
        told.append(f"{few} below, in the order in which we would look at them.")
    return told


def write(target: Path, text: str) -> Path:
    """Write a page, whole or not at all; returns the path really written."""
    return replace_file(target, text.encode("utf-8"))
