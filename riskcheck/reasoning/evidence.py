"""Evidence: for every vehicle and fact the set of values that the record leaves possible."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import Any

import numpy as np
import pandas as pd

from riskcheck.errors import UsageError
from riskcheck.fleet.model import Fleet
from riskcheck.reasoning import derive_columns, derive_events, derive_values
from riskcheck.reasoning.corrected import corrected, none_expired
from riskcheck.reasoning.derived import PROVENANCE_COLUMNS, Derived
from riskcheck.reasoning.record import Record
from riskcheck.reasoning.sets import CategorySet, FactSet
from riskcheck.reasoning.silence import set_of_values
from riskcheck.rulebook.book import Rulebook
from riskcheck.usage import Usage
from riskcheck.vocabulary import Fact, Vocabulary

_SOURCE_COLUMNS = ("words", "file", "sheet", "cell", "date")


@dataclass(frozen=True)
class Evidence:
    """Sets of n vehicles for every fact that some hazard reads.

    ``provenance``: vehicle_id, fact, value_words, words, file, sheet, cell, date; one row for each
    source of each fact that the record speaks of; a correction has the file "ledger".
    ``expired``: corrections that newer lines contradict (corrected.EXPIRED_COLUMNS).
    """

    vehicle_ids: tuple[str, ...]
    vocabulary: Vocabulary
    sets: Mapping[str, FactSet]
    provenance: pd.DataFrame
    expired: pd.DataFrame = field(default_factory=none_expired)

    def words_of(self, fact_name: str, vehicle: int) -> str:
        """The set of one vehicle in words."""
        return set_words(self.vocabulary[fact_name], self.sets[fact_name], vehicle)


def build(
    fleet: Fleet,
    usage: Usage,
    rulebook: Rulebook,
    as_of: date,
    *,
    facts: Sequence[str] | None = None,
    corrections: pd.DataFrame | None = None,
) -> Evidence:
    """Read every fact (default: the whole vocabulary) out of the record.

    ``corrections``: vehicle_id, fact, value, words, at (ISO), recorded by a person; they outrank
    the record (see ``corrected``).
    """
    record = Record(fleet, usage, rulebook.vocabulary, rulebook.platforms, as_of)
    sets: dict[str, FactSet] = {}
    rows: list[pd.DataFrame] = []
    expired: list[pd.DataFrame] = []
    stated_better = {} if corrections is None else dict(list(corrections.groupby("fact")))
    for name in _in_reading_order(rulebook.vocabulary, facts):
        fact = rulebook.vocabulary[name]
        derived = _derive(fact, record, sets)
        sets[name] = derived.sets
        rows.append(_provenance(fact, record, derived))
        if name in stated_better:
            # At once, so that facts computed from this one see what the person said.
            better = corrected(fact, derived, record, stated_better[name])
            sets[name] = better.sets
            rows.append(better.provenance)
            expired.append(better.expired)
    filled = [frame for frame in rows if len(frame)]
    provenance = pd.concat(filled, ignore_index=True) if filled else _no_provenance()
    lapsed = [frame for frame in expired if len(frame)]
    return Evidence(
        record.vehicle_ids,
        rulebook.vocabulary,
        sets,
        provenance,
        pd.concat(lapsed, ignore_index=True) if lapsed else none_expired(),
    )


def stated(
    vocabulary: Vocabulary, vehicles: Mapping[str, Mapping[str, Any]], facts: Sequence[str]
) -> Evidence:
    """Evidence from facts typed in, by vehicle name; what is not named is silent.

    Raises UsageError for an unknown fact or a value that does not fit.
    """
    for values in vehicles.values():
        for name in values:
            if name not in vocabulary:
                raise UsageError(f"there is no fact called {name!r}: see the rulebook's facts")
    try:
        sets = {
            name: set_of_values(vocabulary[name], [v.get(name) for v in vehicles.values()])
            for name in facts
        }
        for name in dict.fromkeys(name for values in vehicles.values() for name in values):
            set_of_values(vocabulary[name], [v.get(name) for v in vehicles.values()])
    except ValueError as error:
        raise UsageError(str(error)) from error
    rows = [
        (vehicle, name, str(value), "as stated", "", "", "", "")
        for vehicle, values in vehicles.items()
        for name, value in values.items()
        if value is not None
    ]
    provenance = pd.DataFrame(rows, columns=PROVENANCE_COLUMNS)
    return Evidence(tuple(vehicles), vocabulary, sets, provenance)


def set_words(fact: Fact, facts: FactSet, vehicle: int) -> str:
    """The possible values of one vehicle in words, with the unit."""
    if isinstance(facts, CategorySet):
        possible = np.flatnonzero(facts.rows.possible[facts.rows.row[vehicle]])
        names = [*fact.codes, "not on file"]
        return " or ".join(names[code] for code in possible)
    start, end = np.searchsorted(facts.vehicle, [vehicle, vehicle + 1])
    unit = f" {fact.unit}" if fact.unit and fact.unit != "1" else ""
    parts: list[str] = []
    if end > start:
        low, high = np.min(facts.low[start:end]), np.max(facts.high[start:end])
        low_words, high_words = (f"{edge * fact.resolution:.12g}" for edge in (low, high))
        parts.append(low_words + unit if low == high else f"{low_words} to {high_words}{unit}")
    if not np.isnan(facts.absent[vehicle]):
        parts.append("not on file")
    return " or ".join(parts)


def _in_reading_order(vocabulary: Vocabulary, facts: Sequence[str] | None) -> list[str]:
    """Facts with those they are computed from before them."""
    order: list[str] = []
    for name in facts if facts is not None else vocabulary:
        if vocabulary[name].derivation.kind == "physics":
            order += list(vocabulary[name].derivation.params["inputs"])
        order.append(name)
    return list(dict.fromkeys(order))


def _derive(fact: Fact, record: Record, sets: Mapping[str, FactSet]) -> Derived:
    match fact.derivation.kind:
        case "column":
            return derive_columns.column(fact, record)
        case "age":
            return derive_columns.age(fact, record)
        case "physics":
            return derive_columns.physics(fact, record, sets)
        case "ever":
            return derive_events.ever(fact, record)
        case "open":
            return derive_events.later_than(fact, record, "closed_by")
        case "after":
            return derive_events.later_than(fact, record, "than")
        case "since":
            return derive_events.since(fact, record)
        case "count":
            return derive_events.count(fact, record)
        case "latest_value":
            return derive_values.latest_value(fact, record)
        case "difference":
            return derive_values.difference(fact, record)
        case _:
            return derive_values.code(fact, record)


def _provenance(fact: Fact, record: Record, derived: Derived) -> pd.DataFrame:
    if derived.event is not None:
        place = np.flatnonzero(derived.event >= 0)
        frame = record.events.frame.iloc[derived.event[place]]
        sources = frame[["file", "sheet", "cell"]].assign(
            # The whole line: half of it can leave out the very reason ("... - part on order").
            words=frame["line"].where(frame["line"].fillna("").ne(""), frame["words"]),
            place=place,
            date=frame["date_hi"].dt.strftime("%Y-%m-%d").fillna(""),
        )
    elif derived.sources is not None:
        sources = derived.sources
    else:
        return _no_provenance()
    places = sources["place"].to_numpy(dtype=np.int64)
    words: dict[int, str] = {}
    for place in dict.fromkeys(places.tolist()):
        words[place] = set_words(fact, derived.sets, place)
    return pd.DataFrame(
        {
            "vehicle_id": [record.vehicle_ids[place] for place in places],
            "fact": fact.name,
            "value_words": [words[place] for place in places.tolist()],
            **{name: sources[name].to_list() for name in _SOURCE_COLUMNS},
        },
        columns=PROVENANCE_COLUMNS,
    )


def _no_provenance() -> pd.DataFrame:
    return pd.DataFrame({name: pd.Series(dtype=object) for name in PROVENANCE_COLUMNS})
