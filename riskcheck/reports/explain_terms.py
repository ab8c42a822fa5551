"""Words for the codes of an explanation, and how its pieces are put: quotes, places, prices."""

from __future__ import annotations

import math
from dataclasses import dataclass

from riskcheck.explain import HazardView
from riskcheck.explain.view import Price, Source
from riskcheck.reports import chances, words

LONGEST_QUOTE = 300
AUTOMATIC = "status that follows from the findings above"
MARK_WORDS = {
    "complaint": "the driver's complaint",
    "absent": "says the part is not there",
    "ambiguous": "unclear: counts neither as done nor as not done",
    "finding": "something was found",
    "recommended": "recommended or declined, not done",
    "not_done": "not done",
    "checked_good": "checked and found good",
    "opens": "work that starts this clock",
    "partial": "done in part",
    "done": "done",
    "proof": "measured: proves the job",
}
# Why something asks for nothing today; what is not named here stands in ``words.TIER_REASONS``.
LATER_WORDS = {
    "in_combined_look": "looked for in that one visit",
    "look_at_next_visit": "to be looked for at the next visit",
    "small_job_next_visit": "a small job for the next visit",
    "look_not_due": "the next look is not due yet",
}
# What an owner reads instead of the codes that technicians know.
PLAIN_STATUS_WORDS = {
    "exposed": "can happen on this vehicle",
    "unproven": "work was done, and nothing on file proves it",
    "closed": "closed on file",
    "unknown": "we do not know whether it applies to this vehicle",
}
HOW_WORDS = {
    "platform": "known of this design, not seen on this vehicle",
    "correction": "set right by a person",
    "stated": "as stated",
    "sheet": "",
}
EFFECT_WORDS = {
    "eliminates": "takes the cause away",
    "renews": "starts the clock again",
    "lessens": "only lessens it",
    "settles": "settles the question",
}
ROLE_WORDS = {
    "b10": "use by which one in ten has had it",
    "shape": "how steeply it rises with use (Weibull shape)",
    "share": "share of jobs with the fault from day one",
    "factor": "acts faster here, times",
    "harm_per_event": "events in which somebody is hurt",
    "harm_per_year": "somebody is hurt, per year while the fault is there",
    "costly_per_year": "faults that become costly, per year",
    "look_cost": "price of the look",
    "look_finds": "share of faults that the look finds",
    "job_hours": "hours of the job",
    "job_parts": "parts of the job",
    "outcome_share": "share of events that end so",
    "outcome_cost": "cost if it ends so",
    "labour_rate": "labour rate",
    "tolerance": "the shop's line for harm to people",
    "deferral": "what a year of putting off is worth",
    "floor": "least gain per bay hour worth a call",
    "tow": "price of a tow",
    "vehicle_value": "value of such a vehicle",
    "day_cost": "cost of a day without it",
    "yearly_miles": "use a year where the record is silent",
}
# Figures that are shares or rates, told as counts of a round number.
COUNTED = ("share", "harm_per_event", "harm_per_year", "costly_per_year", "look_finds",
           "outcome_share", "tolerance", "deferral")  # fmt: skip
SEVERITY_WORDS = {
    "I": "death or lasting injury cannot be ruled out",
    "II": "a severe injury cannot be ruled out",
    "III": "a lesser injury cannot be ruled out",
    "IV": "no more than a scratch is expected",
}


@dataclass(frozen=True)
class Line:
    """One thing said: text, an optional label before it, and where its figure stands."""

    text: str
    label: str = ""
    at: str = ""
    quote: str = ""
    where: str = ""


def denominator(view: HazardView) -> int:
    """The one denominator of everything said about this hazard: 100, or 1,000."""
    told = chances.figures(view.row, view.hazard)
    if chances.form(view.row) in ("plain", "wide"):
        told += [p for chance in view.chances for p in (chance.p, chance.low, chance.high)]
    return words.denominator(told)


def shown(text: str, longest: int = LONGEST_QUOTE) -> str:
    """Words of the record at a length that can be read; the cell holds the rest."""
    if len(text) <= longest:
        return text
    return f"{text[: longest - 1]}… ({len(text):,} characters)"


def where(source: Source) -> str:
    """ "Service F2242, 2026-07-28"."""
    place = " ".join(part for part in (source.sheet, source.cell) if part) or source.file
    return ", ".join(part for part in (place, source.date) if part)


def period(months: int) -> str:
    """ "Today", "Within 3 months"."""
    return f"Within {words.period(months)}" if months else "There today"


def price(told: Price) -> str:
    """ "$700 ($400 to $1,000)", "free" or nothing."""
    if math.isnan(told.value):
        return ""
    if told.value == 0.0 == told.high:
        return "free"
    return f"{words.money(told.value)} ({words.money(told.low)} to {words.money(told.high)})"
