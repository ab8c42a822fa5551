"""One vehicle explained at the terminal, for the advisor with the owner at the counter."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable

import pandas as pd

from riskcheck.explain import HazardView, VehicleView
from riskcheck.reports import owner, words
from riskcheck.rulebook.model import Remedy
from riskcheck.sheets import one_line

WIDTH = 80
AUTOMATIC = "status that follows from the findings above"
PRESSING_TIERS = (1, 2, 3, 4, 5, 6)


def page(view: VehicleView, horizon_months: int, everything: bool = False) -> list[str]:
    """The whole explanation as lines of at most 80 columns.

    Hazards that ask for nothing now are listed in a line each, unless ``everything``.
    """
    pressing = [
        hazard
        for hazard in view.hazards
        if everything or hazard.row["tier"] in PRESSING_TIERS or hazard.row["evidence"] != "none"
    ]
    quiet = [hazard for hazard in view.hazards if hazard not in pressing]
    lines = _heading(view)
    for place, hazard in enumerate(pressing, start=1):
        lines += ["", *_hazard(hazard, place, horizon_months)]
    if quiet:
        lines += ["", "On the books, nothing to do today"]
        lines += [line for hazard in quiet for line in _quiet(hazard, horizon_months)]
    if view.not_applicable:
        lines += ["", *_wrap("", f"Does not apply to this design: {_titles(view)}")]
    lines += ["", "Cautions"]
    lines += [line for caution in words.CAUTIONS for line in _wrap("  ", caution)]
    return lines


def _heading(view: VehicleView) -> list[str]:
    vehicle = view.vehicle
    year = "" if pd.isna(vehicle["model_year"]) else f"{int(vehicle['model_year'])} "
    name = f"{year}{vehicle['make']} {vehicle['model']} {vehicle['engine']}".strip()
    odometer = vehicle["odometer_mi"]
    read = "no odometer on file" if pd.isna(odometer) else f"last read {odometer:,.0f} mi"
    unit = f", unit {vehicle['unit']}" if vehicle["unit"] else ""
    head = f"{vehicle['vehicle_id']}{unit}: {name}, {read}"
    where = f"Vehicle sheet {vehicle['sheet']!r}, row {vehicle['row']}"
    return [*_wrap("", head), *_wrap("", where)]


def _titles(view: VehicleView) -> str:
    return "; ".join(hazard.title for hazard in view.not_applicable) + "."


def _hazard(view: HazardView, place: int, months: int) -> list[str]:
    row, hazard = view.row, view.hazard
    head = f"{place}. {hazard.title}"
    level = f"risk level {row['risk_level']}, " if row["risk_level"] else ""
    status = f"{words.STATUS_WORDS[row['status']]}, {words.EVIDENCE_WORDS[row['evidence']]}"
    return [
        *_wrap("", head),
        "-" * min(WIDTH, len(head)),
        *_wrap("  ", f"{level}{status}"),
        *_section("Why this vehicle", _held(view)),
        *_section("What the record says", _evidence(view)),
        *_section("Rules that fired, in order", _fired(view)),
        *_section("Not known, and what settles it", _questions(view)),
        *_section("Chance", _chance(view, months)),
        *_section("Place in the list", _place(view)),
        *_section("If we wait", _waiting(view)),
        *_section("Cost", _costs(view)),
        *_section("The job", _job(view)),
        *_section("Proof to take", [f"{r.title}: {r.proof}" for r in hazard.remedies[:2]]),
        *_section("Does not cover, and opens", _limits(hazard.remedies)),
        *_section("Say", [owner.sentence(row, hazard, months)] if _priced(view) else []),
        *_section("Ask", [hazard.words.ask]),
        *_section("Care", hazard.words.cautions),
    ]


def _priced(view: HazardView) -> bool:
    return bool(view.row["evidence"] == "confirmed" or pd.notna(view.row["probability"]))


def _held(view: HazardView) -> list[str]:
    held = [name for name in str(view.row["findings"] or "").split("; ") if name]
    findings = view.hazard.findings
    return [findings[name].says for name in held if name in findings]


def _evidence(view: HazardView) -> list[str]:
    lines = []
    for item in view.evidence:
        place = ", ".join(part for part in (item.sheet, item.cell, item.date) if part)
        quoted = f' "{one_line(item.words)}"' if item.words else ""
        where = f" ({place})" if place else ""
        lines.append(f"{item.fact.meaning}: {item.value}.{quoted}{where}")
    return lines or ["nothing on file beyond the vehicle itself"]


def _fired(view: HazardView) -> list[str]:
    findings = view.hazard.findings
    said = [
        f"{step.finding}: {findings[step.finding].says if step.finding in findings else AUTOMATIC}"
        f" (because {step.because})"
        for step in view.trace.fired
    ]
    if view.trace.assumed:
        said.append("assumed, because the record is silent: " + "; ".join(view.trace.assumed))
    return said


def _questions(view: HazardView) -> list[str]:
    lines = []
    for fact in view.questions:
        how = f" How to tell: {fact.how_to_tell}" if fact.how_to_tell else ""
        lines.append(f"{fact.ask or fact.meaning}{how}")
    return lines


def _chance(view: HazardView, months: int) -> list[str]:
    row = view.row
    if row["evidence"] == "confirmed":
        return ["found: not a matter of chance"]
    if not _priced(view):
        return ["no figure: closed on file"]
    lines = [owner.chance(row, view.hazard, months)]
    if view.hazard.reveals == "by_looking":
        lines.append(f"{words.frequency(row['probability_now'], *_now_range(view))} have it today")
    for ahead in (3, 6, 12):
        if ahead != months:
            figures = (row[f"x_p{ahead}"], row[f"x_p{ahead}_low"], row[f"x_p{ahead}_high"])
            lines.append(f"within {words.plural(ahead, 'month')}: {words.frequency(*figures)}")
    return lines


def _now_range(view: HazardView) -> tuple[float, float]:
    row = view.row
    return row["x_now_low"], row["x_now_high"]


def _place(view: HazardView) -> list[str]:
    """The group it is called in, and why; whether a call is made depends on room and consent."""
    row = view.row
    if pd.isna(row["tier"]):
        return []
    code = row["x_tier_reason"]
    reason = words.TIER_REASONS.get(code) or words.ACT_BY_REASONS.get(code, code)
    return [f"{words.TIER_WORDS[int(row['tier'])]}: {reason} ({row['x_key']})"]


def _waiting(view: HazardView) -> list[str]:
    row, lines = view.row, []
    if pd.notna(row["wait_month"]) and row["evidence"] != "confirmed":
        cost = row["wait_month"]
        lines.append(
            f"each month of waiting costs about {words.money(cost)} in expectation"
            if cost > 0
            else f"waiting a month is cheaper by about {words.money(-cost)} in expectation"
        )
    latest = owner.no_later_than(row)
    if latest:
        reason = words.ACT_BY_REASONS.get(row["act_by_reason"], row["act_by_reason"])
        lines.append(f"no later than {latest}: {reason}")
    soon = owner.urgency(row, view.hazard)
    return [*lines, soon] if soon else lines


def _costs(view: HazardView) -> list[str]:
    prevent, fail = owner.prices(view.row)
    if not prevent:
        return []
    return [f"now: {prevent}", f"if it fails: {fail}, estimate before any find at the bench"]


def _job(view: HazardView) -> list[str]:
    job = view.hazard.job
    low, high = job.hours.range
    return [
        f"{job.title}: {job.hours.value:g} h ({low:g} to {high:g}), skill {job.skill}, "
        f"shares its teardown with other work under {job.teardown}"
    ]


def _limits(remedies: Iterable[Remedy]) -> list[str]:
    lines = []
    for remedy in remedies:
        opens = f" Opens: {words.listing(remedy.opens)}." if remedy.opens else ""
        if remedy.hides or opens:
            lines.append(f"{remedy.title}: {remedy.hides or 'nothing hidden'}.{opens}")
    return lines


def _quiet(view: HazardView, months: int) -> list[str]:
    status = words.STATUS_WORDS[view.row["status"]]
    chance = owner.chance(view.row, view.hazard, months) if _priced(view) else "no figure"
    return _wrap("  ", f"{view.hazard.title}: {status}; {chance}", hang=4)


def _section(title: str, items: Iterable[str]) -> list[str]:
    shown = [item for item in items if item]
    if not shown:
        return []
    return [f"  {title}", *(line for item in shown for line in _wrap("    - ", item, hang=6))]


def _wrap(first: str, text: str, hang: int | None = None) -> list[str]:
    indent = " " * (len(first) if hang is None else hang)
    return textwrap.wrap(one_line(text), WIDTH, initial_indent=first, subsequent_indent=indent) or [
        first
    ]
