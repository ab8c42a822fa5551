"""The six figures an owner sets on one sheet: what they are, and the sheet read back.

Labour rate, bay-hours a week, floor, tolerance, frost date, calls a day.  Nothing is applied
silently and nothing is ignored silently: every row of the sheet ends as applied, unchanged or set
aside with the cell and the reason.
"""

from __future__ import annotations

import re
from collections.abc import Hashable, Mapping
from dataclasses import dataclass, replace
from datetime import date, datetime
from typing import Any, NamedTuple

import pandas as pd

from riskcheck.figures import SOURCE_WORDS, Figure
from riskcheck.rulebook.model import Policy

HEADINGS = ("Policy figure", "Value", "Unit", "Where from")
COLUMNS = ["figure", "value", "unit", "where_from", "file", "sheet", "cell"]
PROBLEM_COLUMNS = ["file", "sheet", "cell", "action", "was", "now", "reason"]
FROST = "frost_date"
FROST_SEASON = "before_frost"
OWNERS_WORD = "set by the owner"
MONTHS = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")
LAST_DAY = (31, 29, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)


class Settable(NamedTuple):
    """One figure of the sheet: policy field, words, unit as shown, and what is plausible."""

    field: str
    words: str
    unit: str
    least: float
    most: float


SIX = (
    Settable("labour_rate", "Labour rate", "USD/h", 10.0, 1_000.0),
    Settable("bay_hours_per_week", "Bay hours a week", "h", 1.0, 5_000.0),
    Settable("floor_per_bay_hour", "Least worth of a bay hour before we call", "USD/h", 0.0, 5e3),
    Settable("tolerance_p_harm", "Chance of harm a year that is tolerated", "1/y", 1e-9, 1e-3),
    Settable(FROST, "Frost date", "month-day", 0.0, 0.0),
    Settable("calls_per_day", "Calls a day", "calls", 0.0, 1_000.0),
)


@dataclass(frozen=True)
class Applied:
    """The policy after the sheet, and what became of each row of it.

    ``problems``: file, sheet, cell, action (set_aside), was, now, reason for rows that could not
    be applied; ``changes``: figure, was, now, file, sheet, cell for those that were.
    """

    policy: Policy
    problems: pd.DataFrame
    changes: pd.DataFrame


def six(policy: Policy) -> pd.DataFrame:
    """The six figures as they stand: field, figure (words), value, unit, where_from, source.

    ``value`` is a number, for the frost date text such as "10-15"; ``where_from`` is for people,
    ``source`` the tag (invented, common_practice, ...).
    """
    rows = []
    for one in SIX:
        if one.field == FROST:
            value: float | str = policy.seasons.get(FROST_SEASON, "")
            source, cited = policy.seasons_source, ""
        else:
            figure: Figure = getattr(policy, one.field)
            value, source, cited = figure.value, figure.source, figure.citation
        words = SOURCE_WORDS[source] + (f": {cited}" if cited else "")
        rows.append((one.field, one.words, value, one.unit, words, source))
    return pd.DataFrame(
        rows, columns=["field", "figure", "value", "unit", "where_from", "source"]
    ).astype({"value": object})


def applied(policy: Policy, sheet: pd.DataFrame | None) -> Applied:
    """Apply a policy sheet to a policy.

    ``sheet``: text columns figure, value, unit, where_from, file, sheet, cell (``cell`` is that of
    the value); None or an empty frame changes nothing.  A row is named by its words or its field
    name.  An applied figure counts as the shop's own (``shop_data``) and has no range.  A row that
    repeats the figure as it stands changes nothing, unless its "where from" says something new:
    then the owner has made the figure his own.
    """
    problems: list[tuple[str, ...]] = []
    changes: list[tuple[str, ...]] = []
    seen: dict[str, str] = {}
    for row in (sheet if sheet is not None else pd.DataFrame(columns=COLUMNS)).to_dict("records"):
        place = tuple(_text(row.get(name)) for name in ("file", "sheet", "cell"))
        was, said = _text(row.get("value")), _text(row.get("figure"))
        if not was and not said:
            continue
        try:
            one = _named(said)
            if one.field in seen:
                raise ValueError(f"this figure already stands in cell {seen[one.field]}; keep one")
            seen[one.field] = place[2]
            before = _shown(policy, one)
            policy = _with(policy, one, row, place)
        except ValueError as error:
            problems.append((*place, "set_aside", was, "", f"policy figure not applied: {error}"))
            continue
        now = _shown(policy, one)
        if now != before:
            changes.append((one.field, before, now, *place))
    return Applied(
        policy,
        pd.DataFrame(problems, columns=PROBLEM_COLUMNS),
        pd.DataFrame(changes, columns=["figure", "was", "now", "file", "sheet", "cell"]),
    )


def _named(said: str) -> Settable:
    """The figure that a row names; ValueError if it is none of the six."""
    plain = said.strip().casefold()
    for one in SIX:
        if plain in (one.words.casefold(), one.field, one.field.replace("_", " ")):
            return one
    raise ValueError(f"{said!r} is none of: {', '.join(one.words for one in SIX)}")


def _with(
    policy: Policy, one: Settable, row: Mapping[Hashable, Any], place: tuple[str, ...]
) -> Policy:
    """The policy with one figure set; ValueError says why it cannot be."""
    listed = six(policy).set_index("field").loc[one.field]
    unit, origin = _text(row.get("unit")), _text(row.get("where_from"))
    if unit and _unit(unit) != _unit(one.unit):
        raise ValueError(f"the unit must be {one.unit}, not {unit}")
    own = origin != "" and origin.casefold() != str(listed["where_from"]).casefold()
    cited = f"{OWNERS_WORD}, sheet {place[1]}, cell {place[2]}" + (f": {origin}" if own else "")
    if one.field == FROST:
        day = month_day(row.get("value"))
        if day == listed["value"] and not own:
            return policy
        return policy.model_copy(
            update={
                "seasons": {**policy.seasons, FROST_SEASON: day},
                "seasons_source": "shop_data",
            }
        )
    value = number(row.get("value"), one.unit)
    if not one.least <= value <= one.most:
        raise ValueError(
            f"{value:g} {one.unit} is not believable; between {one.least:g} and {one.most:g} is"
        )
    old: Figure = getattr(policy, one.field)
    if value == old.value and not own:
        return policy
    new = replace(old, value=value, low=value, high=value, source="shop_data", citation=cited)
    return policy.model_copy(update={one.field: new})


def number(written: object, unit: str = "") -> float:
    """A number as people write one: 150, $150, 150 USD/h, 0.00001, 1e-5, 1 in 100,000.

    Raises ValueError, with what would be right, for anything else and for another unit.
    """
    text = _text(written).replace("$", "").strip()
    plain = re.sub(r"(?<=\d),(?=\d{3}(\D|$))", "", text)
    ratio = re.fullmatch(r"1 (?:in|of|:) ?(\d+(?:\.\d+)?)", plain, re.IGNORECASE)
    if ratio and float(ratio[1]) > 0.0:
        return 1.0 / float(ratio[1])
    found = re.fullmatch(r"(\d+(?:\.\d*)?(?:[eE][-+]?\d+)?)\s*([A-Za-z/ ]*)", plain)
    if not found:
        raise ValueError(f"{text!r} is no number; write it as 150 or 0.00001")
    if found[2].strip() and _unit(found[2]) != _unit(unit):
        raise ValueError(f"the unit must be {unit}, not {found[2].strip()}")
    return float(found[1])


def month_day(written: object) -> str:
    """A day of the year as "MM-DD" from 10-15, Oct 15, 15 October, 2026-10-15 or a date cell.

    Raises ValueError, with what would be right, for anything else.
    """
    if isinstance(written, date | datetime):
        return f"{written.month:02d}-{written.day:02d}"
    text = _text(written).casefold()
    word = re.search(r"[a-z]{3,}", text)
    digits = re.findall(r"\d+", text.split("t00:00")[0].split(" 00:00")[0])
    month, day = 0, 0
    if word and word[0][:3] in MONTHS and digits:
        month, day = MONTHS.index(word[0][:3]) + 1, int(digits[0])
    elif not word and re.fullmatch(r"(\d{4}-)?\d{1,2}-\d{1,2}( 00:00:00)?", text):
        month, day = int(digits[-2]), int(digits[-1])
    if not 1 <= month <= 12 or not 1 <= day <= LAST_DAY[month - 1]:
        raise ValueError(f"{_text(written)!r} is no day of the year; write it as 10-15 or Oct 15")
    return f"{month:02d}-{day:02d}"


def _shown(policy: Policy, one: Settable) -> str:
    row = six(policy).set_index("field").loc[one.field]
    value = row["value"]
    return f"{value if isinstance(value, str) else f'{value:g}'} [{row['source']}]"


def _unit(text: str) -> str:
    return re.sub(r"[\s$]|usd", "", text.casefold().replace("per", "/").replace("hour", "h"))


def _text(value: object) -> str:
    missing = value is None or value is pd.NaT or (isinstance(value, float) and value != value)
    return "" if missing or value is pd.NA else str(value).strip()
