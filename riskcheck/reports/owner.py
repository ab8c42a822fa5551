"""What is said to an owner about one exposure: reason, sentence, question and offer."""

from __future__ import annotations

import math
from collections.abc import Hashable, Mapping
from typing import Any

from riskcheck.reports import words
from riskcheck.rulebook.model import URGENCY_DAYS, Hazard

Row = Mapping[Hashable, Any]
# "0 to 100 of 100" tells nobody anything (common practice, no source).
WIDEST_RANGE = 0.80


def chance(row: Row, hazard: Hazard, months: int) -> str:
    """The chance in natural frequencies with its range, or that the fault was found."""
    if row["evidence"] == "confirmed":
        return "already found, not a matter of chance"
    if says_nothing(row):
        return unknown_chance(hazard)
    said = words.frequency(row["probability"], row["probability_low"], row["probability_high"])
    if hazard.reveals == "by_looking":
        return f"a look would find it on {said} within {period(months)}"
    return f"{said} within {period(months)}"


def says_nothing(row: Row) -> bool:
    """Whether the 90 % range of a chance is so wide that telling it would inform nobody."""
    return bool(row["probability_high"] - row["probability_low"] > WIDEST_RANGE)


def unknown_chance(hazard: Hazard) -> str:
    """What is said in place of such a range: "not known; a look of 20 min tells"."""
    if hazard.look is None:
        return "not known; ask first"
    return f"not known; a look of {hazard.look.minutes.value:g} min tells"


def period(months: int) -> str:
    """ "a year", "6 months", "2 years"."""
    if months == 12:
        return "a year"
    return f"{months // 12} years" if months % 12 == 0 else words.plural(months, "month")


def sentence(row: Row, hazard: Hazard, months: int, of: int | None = None) -> str:
    """The hazard's owner text with this vehicle's own figures filled in.

    ``of``: the denominator of the whole message, where it holds further figures.
    """
    if row["evidence"] == "confirmed":
        return (
            f"Our record says that this was found on your vehicle: {finding(row, hazard)}. "
            f"What it can lead to: {hazard.effect}. Please let us look at it again "
            f"{_before_when(hazard)}."
        )
    if says_nothing(row):
        return f"{hazard.title}: how likely it is on your vehicle is {unknown_chance(hazard)}."
    figures = (row["probability"], row["probability_low"], row["probability_high"])
    of = of or words.denominator(figures)
    many, low, high = (words.count_of(figure, of) for figure in figures)
    # "About 7 of 100 a year" would be a rate; the figure is a chance within the time ahead.
    said = hazard.words.say.replace("within {period}", "{period}")
    within = f"within {period(months)}"
    return said.format(many=many, low=low, high=high, of=f"{of:,}", period=within)


def _before_when(hazard: Hazard) -> str:
    """How soon a find is looked at again; only a find that stops a vehicle says so."""
    word = hazard.urgency.confirmed
    if word in URGENCY_DAYS and word != "stop":
        return f"within {words.plural(URGENCY_DAYS[word], 'day')}"
    return {"season": "before the season", "next_visit": "at the next visit"}.get(
        word, "before it is driven further"
    )


def finding(row: Row, hazard: Hazard) -> str:
    """The strongest finding that holds, in words."""
    held = str(row["findings"]).split("; ")
    if row["evidence"] in hazard.findings:
        return hazard.findings[row["evidence"]].says.rstrip(".")
    for name in ("confirmed", "sign", "unproven", "window_over", "closed", "applies"):
        if name in held and name in hazard.findings:
            return hazard.findings[name].says.rstrip(".")
    return hazard.title


def why(row: Row, hazard: Hazard, months: int) -> str:
    """One line: what is known of this vehicle and how large the chance is."""
    held = finding(row, hazard)
    if row["evidence"] == "confirmed":
        return f"{hazard.title}. Found: {held}."
    if held == hazard.title:
        return f"{hazard.title}; {chance(row, hazard, months)}."
    return f"{hazard.title}. {capital(held)}; {chance(row, hazard, months)}."


def offer(row: Row, hazard: Hazard, *, free: bool = False) -> str:
    """What to offer: the cheapest look first where only a look can tell, else the job.

    ``free``: the look re-checks our own work, so nobody is charged for it.
    """
    look = hazard.look
    if look is None or row["evidence"] == "confirmed" or hazard.reveals == "by_itself":
        return capital(hazard.job.title)
    minutes = f"{look.minutes.value:g} min"
    price = "no charge" if free else words.money(look.cost.value)
    return f"{capital(look.title)} ({minutes}, {price}); only if found: {hazard.job.title}"


def capital(text: str) -> str:
    """The same text with its first letter as at the start of a sentence."""
    return text[:1].upper() + text[1:]


def no_later_than(row: Row) -> str:
    """The act-by date and, on a mileage clock, the odometer."""
    date = row["act_by_date"]
    if not known(date):
        return ""
    odometer = row["act_by_odometer_mi"]
    return f"{date}" + (f" or {odometer:,.0f} mi" if known(odometer) else "")


def prices(row: Row) -> tuple[str, str]:
    """(price of the preventive job, cost if it fails), each with its range."""
    return _range(row, "cost_to_prevent"), _range(row, "cost_if_fails")


def parts(hazard: Hazard, wait_days: float = math.nan) -> str:
    """What the parts of the job cost and how long they take to come, in words."""
    usd = hazard.job.parts.value
    if not usd:
        return "no parts"
    wait = "" if math.isnan(wait_days) else f", {words.plural(round(wait_days), 'day')} to come"
    return f"parts {words.money(usd)}{wait}"


def refusal(row: Row, seasons: Mapping[str, str]) -> str:
    """When the work was declined, in the record's own words, and what has changed since."""
    if not known(row.get("declined_date")):
        return ""
    changed = []
    miles, season = row["declined_miles"], str(row["declined_season"])
    if known(miles) and miles >= 1.0:
        changed.append(f"about {round(miles, -2):,.0f} miles")
    if season:
        changed.append(seasons.get(season, season))
    since = f" Since then: {words.listing(changed)}." if changed else ""
    signed = "signed" if row["declined_signed"] else "not signed"
    line = " ".join(str(row["declined_line"]).split())
    return f'Declined {str(row["declined_date"])[:10]}, {signed}: "{line}".{since}'


def urgency(row: Row, hazard: Hazard) -> str:
    """How soon, once there is a sign or a find; empty otherwise."""
    if row["evidence"] == "none":
        return ""
    word = hazard.urgency.confirmed if row["evidence"] == "confirmed" else hazard.urgency.sign
    if word == "stop":
        found = row["evidence"] == "confirmed"
        return "Not to be driven until it has been looked at" if found else "The same day"
    if word in URGENCY_DAYS:
        return f"Within {words.plural(URGENCY_DAYS[word], 'day')}"
    return {"season": "Before the season", "next_visit": "At the next visit"}[word]


def known(value: object) -> bool:
    """Whether a cell holds anything."""
    if value is None or value == "":
        return False
    return not (isinstance(value, float) and math.isnan(value)) and str(value) not in (
        "NaT",
        "<NA>",
    )


def _range(row: Row, name: str) -> str:
    value = row[name]
    if not known(value):
        return ""
    low, high = row.get(f"x_{name}_low"), row.get(f"x_{name}_high")
    if known(low) and known(high):
        span = f"{words.money(float(low or 0))} to {words.money(float(high or 0))}"
        return f"{words.money(value)} ({span})"
    return words.money(value)
