"""How riskcheck speaks of risk, money and dates: one place, so that every output agrees.

Risk is told in natural frequencies with one denominator per message ("about 4 of 100"), since
lay readers understand frequencies with a fixed denominator better than percentages or "1 in X"
(Gigerenzer & Edwards, BMJ 2003;327:741-744).
"""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Iterable

STATUS_WORDS = {
    "exposed": "exposed",
    "unproven": "done but not proven",
    "closed": "closed on file",
    "unknown": "not known",
    "not_applicable": "does not apply",
    "no_answer": "no answer",
}
EVIDENCE_WORDS = {"none": "no sign on file", "sign": "a sign on file", "confirmed": "found"}
TIER_WORDS = {
    1: "Stop and call now",
    2: "Our own work to re-check",
    3: "People could be hurt",
    4: "A date is near",
    5: "Worth doing",
    6: "Find out",
    7: "Not now",
}
TIER_REASONS = {
    "found": "written down as found and not repaired on file",
    "sign_of_harm": "a sign on file that people could be hurt",
    "opened_by_our_job": "opened by our own job, and its watch window is not over",
    "harm_over_line": "chance of harm is above the shop's tolerance line",
    "look_harm_over_line": "not known, and if it applies the chance of harm is above the line",
    "already_coming_in": "already coming in: put it on the ticket",
    "season": "its season is near and the job is worth doing",
    "money": "worth more per bay hour than the shop's floor",
    "record_conflict": "the record and the figures disagree: ask before anything else",
    "find_out": "not known on file: ask first",
    "job_over_vehicle_value": "the job costs more than the vehicle is worth",
    "waiting_is_cheaper": "waiting is cheaper for now",
    "look_at_next_visit": "a look at the next visit is soon enough",
    "small_job_next_visit": "a small job: do it at the next visit",
    "in_combined_look": "part of one look at the vehicle",
    "look_not_due": "the next look is not due yet",
    "under_floor": "saves less per bay hour than the shop's floor",
}
ACT_BY_REASONS = {
    "money": "from then on waiting costs more than doing it",
    "look_due": "the next look is due",
    "people": "the risk to people gathered since the last look reaches the shop's yearly line",
    "confirmed": "it was found and is not repaired on file",
    "sign": "there is a sign on file",
    "window": "the watch window of our own job ends",
    "season": "the season begins",
    "warranty": "the warranty ends",
    "goodwill": "the goodwill ends",
    "inspection": "the inspection is due",
}
CAUTIONS = (
    "These are estimates for vehicles like these, not a prediction for one vehicle. riskcheck "
    "never says that a vehicle is safe; a vehicle that is not listed has not been cleared.",
    "Before any work: manufacturer procedure first, local codes and licensed practice apply. "
    "Stored energy, hot parts, high-pressure fuel and brake systems, batteries and lifting can "
    "kill; disconnect, relieve, cool, support and block before touching.",
    "If a driver reports smoke, fuel smell, soft brakes, knocking or loose wheels: stop the "
    "vehicle and have it looked at before it moves again.",
)


def denominator(probabilities: Iterable[float]) -> int:
    """100, or 1,000 if any positive figure of the message is under 1 of 100."""
    return 1000 if any(0.0 < p < 0.01 for p in probabilities) else 100


def count_of(probability: float, of: int) -> str:
    """A probability as a count of ``of``: "4", "fewer than 1", "more than 99"."""
    if probability <= 0.0:
        return "0"
    if probability >= 1.0:
        return f"{of:,}"
    scaled = probability * of
    if scaled < 0.5:
        return "fewer than 1"
    if scaled >= of - 0.5:
        return f"more than {of - 1:,}"
    return f"{math.floor(scaled + 0.5):,}"


def about(probability: float, of: int) -> str:
    """ "about 4", "fewer than 1", "more than 99": a count that is an estimate."""
    counted = count_of(probability, of)
    return counted if counted.startswith(("fewer", "more")) else f"about {counted}"


def frequency(
    probability: float, low: float, high: float, of: int | None = None, whom: str = ""
) -> str:
    """ "about 4 of 100 (1 to 9)": value and 90 % range with one denominator.

    ``of``: the denominator of the whole message, where it holds further figures; ``whom``: of what
    that many are ("about 4 of 100 like it (1 to 9)").
    """
    of = of or denominator((probability, low, high))
    span = f"({count_of(low, of)} to {count_of(high, of)})"
    return " ".join(part for part in (about(probability, of), f"of {of:,}", whom, span) if part)


def money(usd: float) -> str:
    """Whole dollars: "$1,250", "-$80"; nothing where there is no figure."""
    if math.isnan(usd):
        return ""
    rounded = round(usd)
    return f"-${-rounded:,}" if rounded < 0 else f"${rounded:,}"


def day(date: dt.date | None) -> str:
    """ISO date, the one form that cannot be misread across the ocean."""
    return "" if date is None else date.isoformat()


def plural(count: int, one: str, many: str | None = None) -> str:
    """ "1 vehicle", "2 vehicles"."""
    return f"{count:,} {one if count == 1 else many or one + 's'}"


def listing(items: Iterable[str]) -> str:
    """ "a", "a and b", "a, b and c"."""
    parts = list(items)
    if len(parts) < 2:
        return "".join(parts)
    return f"{', '.join(parts[:-1])} and {parts[-1]}"


def period(months: int) -> str:
    """ "a year", "6 months", "2 years"."""
    if months == 12:
        return "a year"
    return f"{months // 12} years" if months % 12 == 0 else plural(months, "month")
