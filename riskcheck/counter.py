"""One vehicle at the counter, in no workbook: judged from what is typed in, by the ordinary run."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

import pandas as pd

from riskcheck import assessment, fleet
from riskcheck.errors import InputError, UsageError
from riskcheck.fleet import lexicon
from riskcheck.fleet.typed import TYPED_IN, Done, column_of, done, sheets_of
from riskcheck.rulebook import Rulebook
from riskcheck.rulebook.validate import suggestion
from riskcheck.rulebook.worksheet import typed_value
from riskcheck.vocabulary import Fact

TOLD_FIELDS = (
    "make", "model", "engine", "model_year", "in_service", "odometer", "engine_hours", "duty",
    "gvwr", "value", "annual_miles", "vin", "unit", "plate", "warranty_end", "inspection_due",
)  # fmt: skip
# Facts that are counted or computed: what they are counted from has to be told instead.
_COUNTED = ("since", "count", "age", "physics", "difference")


def assess_vehicle(
    details: Mapping[str, str],
    history: Sequence[str] = (),
    *,
    as_of: dt.date,
    horizon_months: int = 12,
    rules: Sequence[str | Path] = (),
    only: Sequence[str] = (),
    progress: assessment.Progress = lambda stage: None,
) -> assessment.Assessment:
    """Judge one vehicle that is in no workbook, over all hazards, with prices.

    ``details``: fields of the vehicle sheet (make, model_year, odometer, ...) and facts of the
    rulebook by name, as text; several possible values of a fact with "|" between them.
    ``history``: lines like "2024-05-01 98,000 mi replaced brake hoses", read by the wordings.
    The result has one vehicle and is what a workbook with the same cells would give; facts that
    are read from no column (a symptom, a reading) count as corrections to the record.

    Raises UsageError for a name nobody knows or a value that does not fit; RulebookError and
    InternalError as ``assessment.assess``.
    """
    progress("reading the rules")
    book = assessment.limited(assessment.load_rules(rules), only)
    cells, facts = _sorted_out(details, book)
    lines = [_done(text) for text in history]
    progress("reading what was typed")
    try:
        read = fleet.fleet_of(
            sheets_of(cells, lines),
            "What was typed",
            vocabulary=book.vocabulary,
            lexicon=lexicon.load(book.wording_dirs),
            as_of=as_of,
        )
    except InputError as error:
        raise UsageError(
            "A vehicle needs at least one of make=, model=, engine=, model_year=, in_service=, "
            "odometer=, gvwr= or duty=."
        ) from error
    _refuse_lost(read)
    (vehicle_id,) = read.vehicles["vehicle_id"]
    return assessment.judge(
        read,
        book,
        source=Path(TYPED_IN),
        as_of=as_of,
        horizon_months=horizon_months,
        corrections=_corrections(str(vehicle_id), facts),
        progress=progress,
    )


def tellable(book: Rulebook) -> list[tuple[str, str]]:
    """Every name that may be told of a vehicle, with its meaning and what it may be."""
    fields = [(name, "field of the vehicle sheet") for name in TOLD_FIELDS]
    facts = [
        (fact.name, f"{fact.meaning} ({_kind(fact)})")
        for fact in book.vocabulary.values()
        if fact.derivation.kind not in _COUNTED and fact.name not in TOLD_FIELDS
    ]
    return [*fields, *facts]


def _kind(fact: Fact) -> str:
    if fact.kind == "number":
        return f"{fact.low:g} to {fact.high:g} {fact.unit}".rstrip()
    return " or ".join(fact.codes)


def _sorted_out(
    details: Mapping[str, str], book: Rulebook
) -> tuple[dict[str, str], dict[str, tuple[str, Any]]]:
    """(cells of the vehicle sheet, other facts with (text, value or values))."""
    cells: dict[str, str] = {}
    facts: dict[str, tuple[str, Any]] = {}
    for name, text in details.items():
        fact = book.vocabulary.get(name)
        is_column = bool(column_of(name, book.vocabulary))
        if is_column and "|" not in text:
            if fact is not None and fact.kind != "number":
                _value(fact, text)
            cells[name] = text
        elif fact is not None:
            facts[name] = (text, _values(fact, text))
        else:
            known = [name for name, _ in tellable(book)]
            near = suggestion(name, known, "names: riskcheck counter --names")
            raise UsageError(f"nothing is called {name!r}; {near}")
    return cells, facts


def _values(fact: Fact, text: str) -> Any:
    if fact.derivation.kind in _COUNTED:
        raise UsageError(
            f"{fact.name} is counted from the record, not told: give what it is counted from, "
            'the odometer or a line of history such as --did "2024-05-01 replaced brake hoses".'
        )
    values = [_value(fact, word.strip()) for word in text.split("|")]
    return values if len(values) > 1 else values[0]


def _value(fact: Fact, text: str) -> Any:
    value, fault = typed_value(fact, text)
    if fault:
        raise UsageError(f"{fact.name}={text}: {fault}")
    return value


def _done(text: str) -> Done:
    try:
        return done(text)
    except ValueError as error:
        raise UsageError(
            f'{error}: write it like "2024-05-01 replaced brake hoses" or '
            '"2024-05-01 98,000 mi replaced brake hoses".'
        ) from error


def _corrections(vehicle_id: str, facts: Mapping[str, tuple[str, Any]]) -> pd.DataFrame | None:
    if not facts:
        return None
    values = pd.Series([value for _, value in facts.values()], dtype=object)
    return pd.DataFrame(
        {
            "vehicle_id": vehicle_id,
            "fact": list(facts),
            "value": values,
            "words": [f"{name}={text}" for name, (text, _) in facts.items()],
        }
    )


def _refuse_lost(read: fleet.Fleet) -> None:
    """A workbook's odd cell is set aside and reported; a person at the counter can retype it."""
    problems = read.problems
    emptied = problems["cell"].ne("") & problems["was"].ne("") & problems["now"].eq("")
    lost = problems[problems["action"].eq("set_aside") | emptied]
    if len(lost):
        told = [
            f"{row['was']!r}: {str(row['reason']).replace(', read as missing', '')}"
            for row in lost.to_dict("records")
        ]
        raise UsageError("Not understood as typed. " + "; ".join(dict.fromkeys(told)) + ".")
