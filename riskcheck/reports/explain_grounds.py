"""Why it was concluded: findings, words as written, what is not known, rules, figures."""

from __future__ import annotations

import math

import pandas as pd

from riskcheck.explain import HazardView
from riskcheck.explain.view import NamedFigure
from riskcheck.figures import Figure
from riskcheck.reports import words
from riskcheck.reports.explain_terms import (
    AUTOMATIC,
    COUNTED,
    HOW_WORDS,
    MARK_WORDS,
    ROLE_WORDS,
    Line,
    denominator,
    shown,
    where,
)
from riskcheck.rulebook.model import WeibullLife
from riskcheck.vocabulary import Fact


def why_lines(view: HazardView, months: int) -> list[Line]:
    """Findings that hold, then how far the vehicle is along its clock."""
    lines = [Line(held.says) for held in view.held]
    row, life = view.row, view.hazard.life
    if pd.notna(row["usage"]):
        since = "since new" if row["x_started"] == "new" else f"since {row['x_started']}"
        use = f"{plain_number(float(row['usage']))} {row['usage_unit']} {since}"
        lines.append(Line(use, "On its clock", "exposure/usage"))
    if isinstance(life, WeibullLife):
        of = denominator(view)
        for clock in life.clocks:
            low, high = (plain_number(edge) for edge in clock.b10.range)
            lines.append(
                Line(
                    f"{words.count_of(0.1, of)} of {of:,} such vehicles have had it by "
                    f"{amount(clock.b10.value, clock.b10.unit)} ({low} to {high})",
                    "For comparison",
                )
            )
    return lines


def amount(value: float, unit: str) -> str:
    """ "12.2 y", "7.5 winters", "1 winter"."""
    return f"{plain_number(value)} {unit.removesuffix('s') if value == 1.0 else unit}"


def plain_number(value: float) -> str:
    """ "156,616", "12.2", "0.5"."""
    return f"{value:,.0f}" if value >= 20 else f"{value:.1f}".removesuffix(".0")


def evidence_lines(view: HazardView, months: int) -> list[Line]:
    """Facts as read, with the words as written and their cell."""
    lines = []
    for place, item in enumerate(view.evidence):
        how = f" ({HOW_WORDS[item.how]})" if HOW_WORDS[item.how] else ""
        quote = shown(item.words) if item.how == "sheet" else ""
        told = where(item.source) if item.how == "sheet" else ""
        value = f"{item.fact.meaning}: {item.value.replace('_', ' ')}{how}"
        lines.append(Line(value, at=f"evidence/{place}", quote=quote, where=told))
    return lines or [Line("nothing on file beyond the vehicle itself")]


def record_lines(view: HazardView, months: int) -> list[Line]:
    """Lines of the history about this hazard with what each was read as, work or not."""
    lines = []
    for place, line in enumerate(view.lines):
        miles = "" if math.isnan(line.odometer_mi) else f", {line.odometer_mi:,.0f} mi"
        part = "" if line.piece == line.words else f", by the words '{shown(line.piece)}'"
        lines.append(
            Line(
                f"read as: {MARK_WORDS[line.mark]} ({line.topic.replace('_', ' ')}){part}",
                at=f"record/{place}",
                quote=shown(line.words),
                where=where(line.source) + miles,
            )
        )
    return lines


def question_lines(view: HazardView, months: int) -> list[Line]:
    """What is not known and the question or look that settles it."""
    return [
        Line(_asked(fact), at=f"questions/{place}") for place, fact in enumerate(view.questions)
    ]


def _asked(fact: Fact) -> str:
    how = f" How to tell: {fact.how_to_tell}." if fact.how_to_tell else ""
    return f"{fact.ask or fact.meaning}{how}"


def change_lines(view: HazardView, months: int) -> list[Line]:
    """What would change the conclusion: facts that would have to read otherwise."""
    lines = []
    for place, change in enumerate(view.changes):
        parts = [
            f"{fact.meaning}: {' or '.join(values)} (now: {now})".replace("_", " ")
            for fact, now, values in change.facts
        ]
        text = f"{' and '.join(parts)}. Then: {words.STATUS_WORDS[change.status]}"
        lines.append(Line(text, at=f"changes/{place}"))
    return lines


def rule_lines(view: HazardView, months: int) -> list[Line]:
    """Rules in the order in which the live session fired them."""
    if view.trace is None:
        return [
            Line("the rule engine gave no live answer just now; the conclusion is its earlier one")
        ]
    findings = view.hazard.findings
    lines = [
        Line(
            f"{findings[step.finding].says if step.finding in findings else AUTOMATIC}"
            f" (because {step.because})",
            step.finding,
            f"chain/{place}",
        )
        for place, step in enumerate(view.trace.fired)
    ]
    if view.trace.assumed:
        told = "; ".join(view.trace.assumed).replace("_", " ").replace(" = ", ": ")
        lines.append(Line(told, "Assumed, because the record is silent"))
    return lines


def figure_lines(view: HazardView, months: int) -> list[Line]:
    """Figures that entered the result, with source; invented ones say so."""
    return [
        Line(figure_words(named), at=f"figures/{place}") for place, named in enumerate(view.figures)
    ] + [Line(source, "Source") for source in view.hazard.sources]


def figure_words(named: NamedFigure) -> str:
    """ "price of a tow: 220 (120 to 450) USD [from memory]"; shares and rates as counts."""
    of = f" ({named.of.replace('_', ' ')})" if named.of else ""
    figure = named.figure
    told = figure.words()
    if named.role in COUNTED and 0.0 < figure.value < 1.0:
        told = f"{_count(figure)} [{told.split('[', 1)[1]}"
    return f"{ROLE_WORDS[named.role]}{of}: {told}"


def _count(figure: Figure) -> str:
    """ "4 of 100,000 a year (0.5 to 30)"."""
    low, high = figure.range
    of = max(100, 10 ** math.ceil(-math.log10(figure.value) - 1e-9))
    span = "" if low == high else f" ({low * of:.3g} to {high * of:.3g})"
    return f"{figure.value * of:.3g} of {of:,}{' a year' if figure.unit == '1/y' else ''}{span}"
