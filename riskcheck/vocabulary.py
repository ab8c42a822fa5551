"""Every fact a rule may name, and how it comes from the record.

One table (``rules/facts.yaml``, parsed into these classes by the rulebook) serves the reader,
the rulebook check, the reasoner and the documentation.  A fact is a *set of possible values*
per vehicle: a value, an interval, two readings and "missing" are all the same thing.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any, Literal

Kind = Literal["flag", "category", "number"]
Silence = Literal["on_file", "coverage", "at_random"]
ClockName = Literal[
    "miles", "years", "engine_hours", "cold_starts", "winters", "towing_miles", "water_events"
]
Mark = Literal[
    "complaint",
    "absent",
    "ambiguous",
    "finding",
    "recommended",
    "not_done",
    "checked_good",
    "opens",
    "partial",
    "done",
    "proof",
]

# Order within one day: a later mark outranks an earlier one; only equal marks tie, and a tie is
# "before".
MARK_ORDER: tuple[Mark, ...] = (
    "complaint",
    "absent",
    "ambiguous",
    "finding",
    "recommended",
    "not_done",
    "checked_good",
    "opens",
    "partial",
    "done",
    "proof",
)

CLOCK_UNITS: dict[str, str] = {
    "miles": "mi",
    "years": "y",
    "engine_hours": "h",
    "cold_starts": "cold starts",
    "winters": "winters",
    "towing_miles": "towing mi",
    "water_events": "deep-water events",
}

# The closed list of ways a fact is derived from tidy frames.
DERIVATIONS: dict[str, str] = {
    "column": "a column of the vehicle sheet, a platform entry or a recorded correction",
    "ever": "some event of these topics and marks is on file",
    "open": "such an event has no later closing event; a complaint lapses after 12 months",
    "after": "the last event of one kind is later than the last event of another",
    "since": "usage on a clock since the last event of these topics and marks",
    "count": "how many events of these topics and marks in the last so many months",
    "latest_value": "latest measured value of a quantity, optionally only after an event",
    "difference": "latest value of one quantity minus that of another at the same visit",
    "code": "one of these fault codes is on file, optionally only after an event",
    "age": "usage on a clock since the vehicle was new",
    "physics": "computed from other columns by a named function of riskcheck.physics",
}


@dataclass(frozen=True)
class Derivation:
    """How one fact is found: ``kind`` is a key of DERIVATIONS, ``params`` its arguments."""

    kind: str
    params: Mapping[str, Any] = field(default_factory=dict)


@dataclass(frozen=True)
class Reporting:
    """Reporting model of a fact that may be true without a line on file.

    ``base``: share of such vehicles for which it is true; ``seen_if_true`` (r1) and
    ``seen_if_false`` (r0): chance that the record says so in either case.
    """

    base: float
    seen_if_true: float
    seen_if_false: float = 0.0

    def true_if_silent(self) -> float:
        """P(true | record silent) = base(1-r1) / (base(1-r1) + (1-base)(1-r0))."""
        true = self.base * (1.0 - self.seen_if_true)
        false = (1.0 - self.base) * (1.0 - self.seen_if_false)
        return true / (true + false)


@dataclass(frozen=True)
class Fact:
    """One fact: its type, unit, range, meaning, origin and the meaning of silence.

    ``silence``:
      on_file    what is not written is not on file (findings, readings, codes): silence is "no",
                 and a number without a reading is absent, so that no comparison on it holds;
      coverage   silence is "no" inside the vehicle's coverage interval, else either is possible,
                 weighted by ``reporting``;
      at_random  a feature: any value is possible, weighted by ``base`` and platform frequency.

    ``also_written``: what a cell may say instead of a value ("gas" for petrol).

    Numbers are held as integers in units of ``resolution`` between ``low`` and ``high``.
    """

    name: str
    kind: Kind
    meaning: str
    derivation: Derivation
    silence: Silence
    unit: str = ""
    resolution: float = 1.0
    low: float = 0.0
    high: float = 0.0
    values: tuple[str, ...] = ()
    base: Mapping[str, float] = field(default_factory=dict)
    typical: tuple[float, float] | None = None
    reporting: Reporting | None = None
    headings: tuple[str, ...] = ()
    also_written: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    ask: str = ""
    how_to_tell: str = ""
    source: str = "from_memory"

    @property
    def codes(self) -> tuple[str, ...]:
        """Category codes in order; a flag is the category ("no", "yes")."""
        return ("no", "yes") if self.kind == "flag" else self.values

    def steps(self, value: float) -> int:
        """``value`` in whole steps of the fact's resolution, as the engine sees it."""
        return round(value / self.resolution)


class Vocabulary(Mapping[str, Fact]):
    """All facts by name, in file order."""

    def __init__(self, facts: Mapping[str, Fact]) -> None:
        self._facts = dict(facts)

    def __getitem__(self, name: str) -> Fact:
        return self._facts[name]

    def __iter__(self) -> Iterator[str]:
        return iter(self._facts)

    def __len__(self) -> int:
        return len(self._facts)

    def derived_by(self, kind: str) -> list[Fact]:
        """Facts that come from one kind of derivation."""
        return [fact for fact in self._facts.values() if fact.derivation.kind == kind]
