"""One vehicle judged at the counter from what was typed in, at the terminal."""

from __future__ import annotations

from collections.abc import Hashable, Iterable, Mapping, Sequence
from typing import Any

import pandas as pd

from riskcheck.reports import chances, owner, words
from riskcheck.reports.run import Run
from riskcheck.reports.wrapping import wrapped
from riskcheck.rulebook.model import Hazard
from riskcheck.sheets import one_line

PRESSING_TIERS = (1, 2, 3, 4, 5, 6)
# Fields without which figures lean on averages of the duty class: (column, how to type it).
LEANT_ON = (
    ("odometer_mi", "the odometer (odometer=): miles are guessed from age and class"),
    ("in_service_lo", "the first day in service (in_service=2014-05-01): age is taken from the "
     "model year, or not known"),
    ("make", "the make and model: no design feature is known from them"),
)  # fmt: skip

Row = Mapping[Hashable, Any]


def page(run: Run, everything: bool = False) -> list[str]:
    """Hazards that apply, most pressing first; questions; what is unknown; cautions.

    Those that can wait are listed in a line each, unless ``everything``.
    """
    rows = run.exposures.sort_values(["rank", "hazard_id"], na_position="last", kind="stable")
    live = rows[rows["tier"].notna()].to_dict("records")
    pressing = [
        row
        for row in live
        if everything or row["tier"] in PRESSING_TIERS or row["evidence"] != "none"
    ]
    quiet = [row for row in live if row not in pressing]
    lines = [*_heading(run), *_history(run)]
    for place, row in enumerate(pressing, start=1):
        lines += ["", *_hazard(row, run, place)]
    if quiet:
        lines += ["", "Applies, nothing to do today"]
        lines += [line for row in quiet for line in _quiet(row, run)]
    lines += _questions(live, run)
    lines += ["", "Not known", *_bullets(_unknown(run))]
    lines += _titles("Closed by what was said", rows[rows["status"] == "closed"], run)
    lines += _titles("Does not apply to this design", rows[rows["status"] == "not_applicable"], run)
    lines += _titles("No answer from the rules engine", rows[rows["status"] == "no_answer"], run)
    return [*lines, "", "Cautions", *_bullets(words.CAUTIONS)]


def _heading(run: Run) -> list[str]:
    vehicle = run.fleet.vehicles.iloc[0]
    year = "" if pd.isna(vehicle["model_year"]) else str(int(vehicle["model_year"]))
    name = " ".join(filter(None, [year, vehicle["make"], vehicle["model"], vehicle["engine"]]))
    miles = vehicle["odometer_mi"]
    read = "" if pd.isna(miles) else f", {miles:,.0f} mi"
    return wrapped(
        f"{name or 'A vehicle'}{read}, as of {run.as_of.isoformat()}, looking ahead "
        f"{words.period(run.horizon_months)}, from what was typed in and nothing else"
    )


def _history(run: Run) -> list[str]:
    """What each typed line was read as; one read as nothing is said to be so."""
    lines = []
    for line in run.fleet.service.to_dict("records"):
        events = run.fleet.events
        own = events[events["service_id"] == line["service_id"]]
        said = [
            f"{event['topic'].replace('_', ' ')}: {event['mark'].replace('_', ' ')}"
            for event in own.to_dict("records")
        ]
        day = line["date_hi"].date().isoformat()
        read = "; ".join(said) or "nothing that a hazard asks about"
        lines += wrapped(f'"{one_line(line["line"])}" ({day}) was read as {read}', "  ", "    ")
    return ["", "History", *lines] if lines else []


def _hazard(row: Row, run: Run, place: int) -> list[str]:
    hazard = run.rulebook.hazards[str(row["hazard_id"])]
    code = str(row["x_tier_reason"])
    reason = words.TIER_REASONS.get(code) or words.ACT_BY_REASONS.get(code, code)
    level = f", risk level {row['risk_level']}" if row["risk_level"] else ""
    prevent, fail = owner.prices(row)
    latest = owner.no_later_than(row, run.as_of)
    told = [
        f"{words.TIER_WORDS[int(row['tier'])]}: {reason}",
        f"{words.STATUS_WORDS[row['status']]}, {words.EVIDENCE_WORDS[row['evidence']]}{level}",
        _found(row, hazard),
        chances.chance(row, hazard, run.horizon_months),
        owner.offer(row, hazard),
        f"the job {prevent}; if it fails {fail}" if prevent and fail else "",
        owner.urgency(row, hazard),
        f"no later than {latest}" if latest else "",
        *(f"find out: {_words_of(name, run)}" for name in _asked(row)),
    ]
    return [*wrapped(f"{place}. {hazard.title}", "", "   "), *_bullets(told, "   - ", "     ")]


def _found(row: Row, hazard: Hazard) -> str:
    said = owner.finding(row, hazard)
    return "" if said == hazard.title else said


def _asked(row: Row) -> list[str]:
    return [name for name in str(row["questions"] or "").split("; ") if name]


def _words_of(name: str, run: Run) -> str:
    fact = run.rulebook.vocabulary[name]
    return fact.ask or fact.meaning


def _quiet(row: Row, run: Run) -> list[str]:
    hazard = run.rulebook.hazards[str(row["hazard_id"])]
    status = words.STATUS_WORDS[row["status"]]
    chance = chances.chance(row, hazard, run.horizon_months)
    return wrapped(f"{hazard.title}: {status}; {chance}", "  ", "    ")


def _questions(live: Sequence[Row], run: Run) -> list[str]:
    """Every open question once, the one that is worth most first, with how to type its answer."""
    worth: dict[str, float] = {}
    settles: dict[str, int] = {}
    for row in live:
        for name in _asked(row):
            value = row["x_worth_asking"]
            worth[name] = worth.get(name, 0.0) + (0.0 if pd.isna(value) else float(value))
            settles[name] = settles.get(name, 0) + 1
    lines = []
    for name in sorted(worth, key=lambda name: (-worth[name], -settles[name], name)):
        fact = run.rulebook.vocabulary[name]
        how = f" How to tell: {fact.how_to_tell}." if fact.how_to_tell else ""
        text = f"{_words_of(name, run)}{how.replace('..', '.')} ({name})"
        lines.append(f"{text}, for {words.plural(settles[name], 'hazard')}")
    return ["", "Ask, most telling first", *_bullets(lines)] if lines else []


def _unknown(run: Run) -> list[str]:
    vehicle = run.fleet.vehicles.iloc[0]
    told = [text for column, text in LEANT_ON if _blank(vehicle[column])]
    if run.fleet.service.empty:
        told.append(
            'its history (--did "2024-05-01 replaced brake hoses"): what was not said counts '
            "neither as done nor as never done"
        )
    return [*told, "what no hazard of the rulebook speaks of"]


def _blank(value: Any) -> bool:
    return value == "" or bool(pd.isna(value))


def _titles(heading: str, rows: pd.DataFrame, run: Run) -> list[str]:
    titles = [run.rulebook.hazards[str(name)].title for name in rows["hazard_id"]]
    return ["", *wrapped(f"{heading}: {'; '.join(titles)}.")] if titles else []


def _bullets(texts: Iterable[str], first: str = "  - ", rest: str = "    ") -> list[str]:
    return [line for text in texts if text for line in wrapped(text, first, rest)]
