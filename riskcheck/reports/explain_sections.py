"""The sections of an explanation and who gets which: one choice of words for every output.

Every line can name where its figure stands in the JSON of the view (``at``, relative to the
hazard), so that what is shown can be held against what was worked out.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

import pandas as pd

from riskcheck.explain import HazardView, VehicleView
from riskcheck.explain.view import Correction
from riskcheck.reports import chances, owner, words
from riskcheck.reports import explain_advice as advice
from riskcheck.reports import explain_grounds as grounds
from riskcheck.reports import explain_moves as moves
from riskcheck.reports.explain_terms import (
    LATER_WORDS,
    PLAIN_STATUS_WORDS,
    Line,
    denominator,
    shown,
    where,
)


@dataclass(frozen=True)
class Section:
    """A heading with its lines; ``key`` names it for layouts and audiences."""

    key: str
    title: str
    lines: tuple[Line, ...]


Maker = Callable[[HazardView, int], list[Line]]
SECTIONS: Mapping[str, tuple[str, Maker]] = {
    "say": ("In plain words", advice.say_lines),
    "ask": ("To ask the owner", advice.ask_lines),
    "chance": ("Chance", advice.chance_lines),
    "moves": ("What moves the chance, most first", moves.moves_lines),
    "people": ("What it can mean", advice.people_lines),
    "wait": ("If we wait", advice.wait_lines),
    "cost": ("Cost", advice.cost_lines),
    "why": ("Why this vehicle", grounds.why_lines),
    "evidence": ("What the record says", grounds.evidence_lines),
    "record": ("Every line about it, and what it was read as", grounds.record_lines),
    "questions": ("Not known, and what settles it", grounds.question_lines),
    "choices": ("Choices", advice.choice_lines),
    "job": ("The job", advice.job_lines),
    "proof": ("Proof to take", advice.proof_lines),
    "limits": ("Does not cover, and opens", advice.limit_lines),
    "changes": ("What would change this conclusion", grounds.change_lines),
    "place": ("Place in the list", advice.place_lines),
    "rules": ("Rules that fired, in order", grounds.rule_lines),
    "figures": ("Figures and their sources", grounds.figure_lines),
    "care": ("Care, for whoever works on it", advice.caution_lines),
}
AUDIENCES: Mapping[str, tuple[str, ...]] = {
    "counter": tuple(SECTIONS),
    "owner": (
        "say", "chance", "moves", "people", "wait", "cost", "why", "evidence", "questions",
        "choices", "limits", "care",
    ),
    "technician": (
        "care", "why", "evidence", "record", "questions", "chance", "moves", "people", "wait",
        "job", "proof", "limits", "changes", "rules", "figures",
    ),
}  # fmt: skip


# Where an audience is told a section in other words.
INSTEAD: Mapping[tuple[str, str], Maker] = {
    ("owner", "people"): advice.people_owner_lines,
    ("owner", "chance"): advice.chance_owner_lines,
    ("owner", "moves"): moves.moves_owner_lines,
}


def sections(view: HazardView, months: int, audience: str = "counter") -> list[Section]:
    """The sections of one hazard for an audience (a key of AUDIENCES), empty ones left out."""
    told = []
    for key in AUDIENCES[audience]:
        title, usual = SECTIONS[key]
        maker = INSTEAD.get((audience, key), usual)
        told.append(Section(key, title, tuple(maker(view, months))))
    return [section for section in told if section.lines]


def headline(view: HazardView, audience: str = "counter") -> str:
    """Risk level, status and evidence in one line."""
    row = view.row
    level = f"risk level {row['risk_level']}, " if row["risk_level"] else ""
    status = (PLAIN_STATUS_WORDS if audience == "owner" else words.STATUS_WORDS)[row["status"]]
    if row["evidence"] == "confirmed":
        return f"{level}{words.EVIDENCE_WORDS['confirmed']}"
    return f"{level}{status}, {words.EVIDENCE_WORDS[row['evidence']]}"


def short(view: HazardView, months: int, *, later: bool = False, audience: str = "counter") -> str:
    """One line for a list: chance or find, then the date, or why it can wait if ``later``.

    An owner is not told the shop's own reckoning of what is worth a bay.
    """
    row = view.row
    if row["evidence"] == "confirmed":
        return f"found on this vehicle. {owner.urgency(row, view.hazard)}"
    told = chances.chance(row, view.hazard, months, denominator(view), look=not later)
    if chances.form(row) == "none":
        return words.STATUS_WORDS[row["status"]]
    if later:
        code = row["x_tier_reason"]
        plain = audience == "owner" and code not in LATER_WORDS
        return f"{told}; {'can wait' if plain else advice.reason_words(code)}"
    latest = owner.no_later_than(row, view.as_of)
    return f"{told}; no later than {latest}" if latest else told


def waiting(view: VehicleView) -> list[HazardView]:
    """Hazards on the books that ask for nothing today and are not closed."""
    return [hazard for hazard in view.quiet if hazard.row["status"] != "closed"]


def combined_look(view: VehicleView) -> str:
    """The one look that settles several hidden hazards in one visit; "" without one."""
    look = view.combined_look
    if look is None:
        return ""
    titles = "; ".join(title for _, title in look.hazards)
    return f"about {look.hours:.1f} h, {words.money(look.usd)}, looks for: {titles}."


def name(view: VehicleView) -> str:
    """ "2014 Sturven Shuttle D5.9"."""
    vehicle = view.vehicle
    year: str = "" if pd.isna(vehicle["model_year"]) else f"{int(vehicle['model_year'])} "
    told = shown(f"{year}{vehicle['make']} {vehicle['model']} {vehicle['engine']}".strip(), 120)
    return told if here(view) else f"{told}, {vehicle['state']}"


def here(view: VehicleView) -> bool:
    """Whether the vehicle is still its owner's: neither sold nor scrapped on file."""
    return view.vehicle["state"] not in ("sold", "scrapped")


def reading(view: VehicleView) -> str:
    """ "last read 156,616 mi (Service D2242, 2026-07-28)"."""
    odometer = view.vehicle["odometer_mi"]
    if pd.isna(odometer):
        return "no odometer on file"
    told = f" ({where(view.reading)})" if view.reading else ""
    return f"last read {odometer:,.0f} mi{told}"


def correction(told: Correction) -> str:
    """ "the stud's style: captive, by Ana on 2026-09-30: seen on the bench"."""
    by = f", by {told.by}" if told.by else ""
    at = f" on {told.at}" if told.at else ""
    because = f": {told.because}" if told.because else ""
    return f"{told.meaning}: {told.value}{by}{at}{because}"


def silent(view: VehicleView) -> list[str]:
    """Hazards closed on file, of other designs, and those without an answer of the engine."""
    closed = tuple(h.hazard for h in view.quiet if h.row["status"] == "closed")
    told = (
        ("Closed on file", closed),
        ("Does not apply to this design", view.not_applicable),
        ("No answer from the rule engine, so nothing is concluded", view.no_answer),
    )
    return [
        f"{label}: {'; '.join(hazard.title for hazard in hazards)}."
        for label, hazards in told
        if hazards
    ]
