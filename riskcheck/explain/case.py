"""What explanations of one assessment stand on, and what its vehicles share."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

import pandas as pd

from riskcheck import reasoning as reasonings
from riskcheck.explain import record
from riskcheck.explain.view import Change
from riskcheck.fleet import Fleet
from riskcheck.reasoning import Reasoning
from riskcheck.risk.beliefs import Floats, LifeBelief
from riskcheck.risk.hazard_figures import belief_of
from riskcheck.risk.history import Lived, lived, unseen_renewals
from riskcheck.rulebook import Rulebook
from riskcheck.rulebook.model import Hazard
from riskcheck.usage import Usage
from riskcheck.vocabulary import Fact


@dataclass
class Case:
    """One assessment as explanations need it, with what several vehicles share kept at hand."""

    exposures: pd.DataFrame
    fleet: Fleet
    usage: Usage
    book: Rulebook
    reasoning: Reasoning
    as_of: dt.date
    horizon_months: int
    digests: Mapping[str, str]
    corrections: pd.DataFrame | None = None
    _kept: dict[tuple[str, ...], Any] = field(default_factory=dict)

    def lived(self, hazard: Hazard) -> Lived:
        """Virtual ages of all vehicles for one hazard."""
        key = ("lived", hazard.id)
        if key not in self._kept:
            self._kept[key] = lived(hazard, self.fleet.events, self.usage)
        found: Lived = self._kept[key]
        return found

    def renewed_before(self, hazard: Hazard) -> Floats:
        """Use (n, s) on the first clock at which an unseen renewal may have been made."""
        key = ("renewed", hazard.id)
        if key not in self._kept:
            past = self.lived(hazard)
            self._kept[key] = unseen_renewals(hazard, self.fleet.coverage, self.usage, past)[0]
        found: Floats = self._kept[key]
        return found

    def belief(self, hazard: Hazard) -> LifeBelief | None:
        """The belief about a life; None where the fault is there from day one or never."""
        key = ("belief", hazard.id)
        if key not in self._kept:
            self._kept[key] = belief_of(hazard)
        found = self._kept[key]
        return found if isinstance(found, LifeBelief) else None

    def topics(self, hazard: Hazard) -> frozenset[str]:
        """Topics whose lines speak of one hazard."""
        key = ("topics", hazard.id)
        if key not in self._kept:
            facts = [self.book.vocabulary[name] for name in sorted(self.facts(hazard))]
            self._kept[key] = record.topics_of(hazard, facts)
        found: frozenset[str] = self._kept[key]
        return found

    def facts(self, hazard: Hazard) -> frozenset[str]:
        """Facts that one hazard reads."""
        key = ("facts", hazard.id)
        if key not in self._kept:
            self._kept[key] = frozenset(self.reasoning.compiled[hazard.id].facts)
        found: frozenset[str] = self._kept[key]
        return found

    def changes(self, hazard: Hazard, vehicle_id: str, case_id: str) -> tuple[Change, ...]:
        """What would change the conclusion; vehicles of one case share the answer."""
        key = ("changes", hazard.id, case_id)
        if key not in self._kept:
            found = reasonings.what_would_change(self.reasoning, hazard.id, vehicle_id)
            self._kept[key] = _joined(found, self.book.vocabulary)
        place = self.reasoning.place(vehicle_id)
        evidence = self.reasoning.evidence
        return tuple(
            replace(
                change,
                facts=tuple(
                    (fact, evidence.words_of(fact.name, place), words)
                    for fact, _, words in change.facts
                ),
            )
            for change in self._kept[key]
        )


def _joined(found: Sequence[reasonings.Change], vocabulary: Mapping[str, Fact]) -> list[Change]:
    """Changes of one fact to one status as one entry with every value that would do."""
    values: dict[tuple[tuple[str, ...], str], list[tuple[str, ...]]] = {}
    for change in found:
        key = (tuple(change.facts), change.status)
        values.setdefault(key, []).append(tuple(change.facts.values()))
    joined: list[Change] = []
    for (names, status), rows in values.items():
        columns = list(zip(*rows, strict=True))
        if len(names) > 1 and math.prod(len(set(column)) for column in columns) != len(rows):
            joined += [
                _change(names, [(value,) for value in row], status, vocabulary) for row in rows
            ]
        else:
            columns = [tuple(dict.fromkeys(column)) for column in columns]
            joined.append(_change(names, columns, status, vocabulary))
    return joined


def _change(
    names: Sequence[str],
    columns: Sequence[tuple[str, ...]],
    status: str,
    vocabulary: Mapping[str, Fact],
) -> Change:
    facts = tuple(
        (vocabulary[name], "", column) for name, column in zip(names, columns, strict=True)
    )
    return Change(facts, status)
