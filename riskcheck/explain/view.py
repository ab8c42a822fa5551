"""The one structure that page, terminal and JSON are written from: figures, codes, rule text.

Nothing here is worded and nothing is looked up later: whoever shows it only words it.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Hashable, Mapping
from dataclasses import dataclass
from typing import Any, Literal

from riskcheck.figures import Figure
from riskcheck.reasoning import Trace
from riskcheck.rulebook.model import Hazard
from riskcheck.vocabulary import Fact

Row = Mapping[Hashable, Any]
ChoiceKind = Literal["leave", "ask", "look", "job", "other_remedy", "second_opinion"]


@dataclass(frozen=True)
class Source:
    """Where words stand: file, sheet and cell ("" where there is none), and the day (ISO)."""

    file: str
    sheet: str
    cell: str
    date: str


@dataclass(frozen=True)
class Evidence:
    """One fact as read for this vehicle, with one of the places that say so.

    ``how``: sheet, platform (known of the design), correction or stated.  ``words`` are the
    cell's own.
    """

    fact: Fact
    value: str
    words: str
    how: str
    source: Source


@dataclass(frozen=True)
class RecordLine:
    """One line of the record about this hazard and what it was read as.

    ``words``: the whole line as written; ``piece``: the part of it that was read so.
    ``settles``: names of the facts that this very line decided.
    """

    words: str
    piece: str
    topic: str
    mark: str
    odometer_mi: float
    settles: tuple[str, ...]
    source: Source


@dataclass(frozen=True)
class Held:
    """A finding that holds in every world, in the rule file's words."""

    finding: str
    says: str


@dataclass(frozen=True)
class Chance:
    """Chance ``months`` from now (0: today) with its 5 and 95 % points."""

    months: int
    p: float
    low: float
    high: float


@dataclass(frozen=True)
class Curve:
    """How many of such vehicles have had the event by a use: share with 5 and 95 % points.

    ``usage``, ``share``, ``low``, ``high`` (t,) on the hazard's first clock, in ``unit``.
    ``now``: this vehicle's use today, ``now_share`` the share of such vehicles by then.
    """

    unit: str
    usage: tuple[float, ...]
    share: tuple[float, ...]
    low: tuple[float, ...]
    high: tuple[float, ...]
    now: float
    now_share: float


@dataclass(frozen=True)
class Wait:
    """Net expected cost of waiting so many months, USD; below zero where waiting is cheaper."""

    months: int
    usd: float


@dataclass(frozen=True)
class Price:
    """USD with low and high; NaN where there is no figure."""

    value: float
    low: float
    high: float


@dataclass(frozen=True)
class Choice:
    """One thing the owner may choose, with what it takes and what it leaves.

    ``leaves``: for a look the share of faults it misses, for a remedy the share of age it keeps.
    """

    kind: ChoiceKind
    title: str
    price: Price
    hours: float
    leaves: float
    effect: str = ""
    hides: str = ""


@dataclass(frozen=True)
class Change:
    """What would lead to another status: facts and the values (any of them) they would need."""

    facts: tuple[tuple[Fact, str, tuple[str, ...]], ...]
    status: str


@dataclass(frozen=True)
class Limit:
    """What one remedy does not cover, its proof, and the hazards (id, title) it opens."""

    title: str
    proof: str
    hides: str
    opens: tuple[tuple[str, str], ...]


@dataclass(frozen=True)
class NamedFigure:
    """A figure that entered the result: ``role`` is a code, ``of`` what it belongs to."""

    role: str
    of: str
    figure: Figure


@dataclass(frozen=True)
class Driver:
    """One thing that moves the chance: a code, what it is of, and how many times it makes the load.

    use (further through its life than the tenth part that fails first) | factor (``of``: finding)
    | elsewhere (factors that do not act here) | capped | looked (last good look) | renewed
    (perhaps, before the record) | silent (hidden and not turned costly so far) |
    applies (perhaps not).
    """

    code: str
    of: str
    times: float


@dataclass(frozen=True)
class Unknown:
    """One thing that makes the range wide: its 90 % range, unit, and the spread it gives.

    life (how long such parts last) | share (of day-one faults) | use (of this vehicle, up to today)
    | renewed (whether it was, before the record; the range is the weight) | factor (how much the
    finding ``of`` does).  ``spread``: standard
    deviation of the logarithm of the load.
    """

    code: str
    range: tuple[float, float]
    unit: str
    spread: float
    of: str = ""


@dataclass(frozen=True)
class HazardView:
    """One hazard on this vehicle.

    ``row`` holds the exposure's columns by name; ``trace`` comes from a session of the rule engine
    run for this view, None where the engine gave none.  ``sooner``: findings that do not act today
    and would bring the event on.  ``shares_with``: other pressing hazards
    (id, title) behind the same teardown.  ``if_it_applies``: the chance by the horizon over the
    vehicles that it applies to; ``by_look``: the chance that a look today would find it.
    ``drivers``, ``unknowns``: what moves the chance and what makes its range wide, largest first.
    """

    hazard: Hazard
    row: Row
    as_of: dt.date
    pressing: bool
    held: tuple[Held, ...]
    sooner: tuple[Held, ...]
    evidence: tuple[Evidence, ...]
    lines: tuple[RecordLine, ...]
    trace: Trace | None
    questions: tuple[Fact, ...]
    chances: tuple[Chance, ...]
    if_it_applies: Chance | None
    by_look: Chance | None
    drivers: tuple[Driver, ...]
    unknowns: tuple[Unknown, ...]
    curve: Curve | None
    waits: tuple[Wait, ...]
    choices: tuple[Choice, ...]
    changes: tuple[Change, ...]
    limits: tuple[Limit, ...]
    shares_with: tuple[tuple[str, str], ...]
    figures: tuple[NamedFigure, ...]


@dataclass(frozen=True)
class CombinedLook:
    """One look at several hidden hazards (id, title) in one visit: hours and USD together."""

    hazards: tuple[tuple[str, str], ...]
    hours: float
    usd: float


@dataclass(frozen=True)
class Correction:
    """A fact that a person set right: what, why, who, when (ISO)."""

    fact: str
    meaning: str
    value: str
    because: str
    by: str
    at: str


@dataclass(frozen=True)
class Repair:
    """A cell of this vehicle's rows that was not used as written."""

    action: str
    was: str
    now: str
    reason: str
    source: Source


@dataclass(frozen=True)
class VehicleView:
    """One vehicle: its row of the vehicle sheet and its hazards, most pressing first.

    ``reading``: where its latest odometer stands; ``in_service``: the words that say since when.
    """

    vehicle: Row
    as_of: dt.date
    horizon_months: int
    reading: Source | None
    in_service: tuple[str, Source] | None
    hazards: tuple[HazardView, ...]
    combined_look: CombinedLook | None
    not_applicable: tuple[Hazard, ...]
    no_answer: tuple[Hazard, ...]
    corrections: tuple[Correction, ...]
    repairs: tuple[Repair, ...]
    policy: tuple[NamedFigure, ...]
    digests: Mapping[str, str]

    @property
    def pressing(self) -> tuple[HazardView, ...]:
        """Hazards that ask for something now, or have a sign or a find on file."""
        return tuple(hazard for hazard in self.hazards if hazard.pressing)

    @property
    def quiet(self) -> tuple[HazardView, ...]:
        """Hazards on the books that ask for nothing today."""
        return tuple(hazard for hazard in self.hazards if not hazard.pressing)
