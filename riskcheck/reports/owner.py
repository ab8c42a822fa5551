"""What is said to an owner about one exposure: reason, sentence, question and offer."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Hashable, Mapping
from typing import Any

from riskcheck.explain.view import Chance
from riskcheck.reports import chances, words
from riskcheck.rulebook.model import URGENCY_DAYS, Hazard

Row = Mapping[Hashable, Any]
NOT_NOW_TIER = 7
LOOK_REASONS = ("look_due", "people")  # of an act-by date that a look answers
VISIT_REASONS = ("look_at_next_visit", "small_job_next_visit", "already_coming_in")
NEXT_VISIT = "at the next visit"


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
    of = of or chances.denominator([row], hazard)
    if chances.form(row) == "if_it_applies":
        return _sentence_if(row, hazard, months, of)
    told = chances.stated(row)
    if told is None:
        why, tells = chances.why_wide(row, hazard), chances.what_tells(hazard)
        return f"{hazard.title}: how likely it is on your vehicle is not known ({why}); {tells}."
    return _say(hazard, told, months, of)


def _sentence_if(row: Row, hazard: Hazard, months: int, of: int) -> str:
    """The same where it is not known whether the hazard applies to this vehicle at all."""
    told, alike = chances.stated(row), chances.applies_to(row, of)
    if chances.most_likely_applies(row):
        known = f"{hazard.title}: this most likely applies to your vehicle, as to {alike}"
    else:
        known = f"{hazard.title}: we do not know yet whether this applies to your vehicle"
        known += f"; it does to {alike}" if told else ""
    if told is None:
        return f"{known}; {chances.what_tells(hazard)}."
    return f"{known}. If yours is one of them: {_say(hazard, told, months, of)}"


def _say(hazard: Hazard, told: Chance, months: int, of: int) -> str:
    many, low, high = (words.count_of(figure, of) for figure in (told.p, told.low, told.high))
    # "About 7 of 100 a year" would be a rate; the figure is a chance within the time ahead.
    said = hazard.words.say.replace("within {period}", "{period}")
    within = f"within {words.period(months)}"
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
        return f"{hazard.title}; {chances.chance(row, hazard, months)}."
    return f"{hazard.title}. {capital(held)}; {chances.chance(row, hazard, months)}."


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


def no_later_than(row: Row, as_of: dt.date) -> str:
    """The act-by date and, where miles set it, the odometer; "" where there is none.

    What can wait has no last day that is over: it is listed as not worth a call now.
    """
    return _ahead(row, as_of) if waits(row) else _last_day(row)


def when(row: Row, as_of: dt.date) -> str:
    """When something that can wait is due: its last day if that lies ahead, or when it is here."""
    looked = row["act_by_reason"] in LOOK_REASONS or row["x_tier_reason"] in VISIT_REASONS
    return _ahead(row, as_of) or (NEXT_VISIT if looked else "")


def waits(row: Row) -> bool:
    """Whether it is listed as not worth a call now."""
    return known(row["tier"]) and int(row["tier"]) == NOT_NOW_TIER


def _ahead(row: Row, as_of: dt.date) -> str:
    return _last_day(row) if str(row["act_by_date"])[:10] > as_of.isoformat() else ""


def _last_day(row: Row) -> str:
    if not known(row["act_by_date"]):
        return ""
    odometer = row["act_by_odometer_mi"]
    return f"{row['act_by_date']}" + (f" or {odometer:,.0f} mi" if known(odometer) else "")


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
