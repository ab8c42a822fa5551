"""``facts.yaml`` becomes the vocabulary: every fact a rule may name and how it is found."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated, Any

from pydantic import Field

from riskcheck.rulebook.model import EventRef, Strict
from riskcheck.vocabulary import ClockName, Derivation, Fact, Kind, Mark, Reporting, Silence

SourceWords = Annotated[
    str, Field(pattern=r"^(published: .+|common_practice|from_memory|shop_data|invented)(: .+)?$")
]
Share = Annotated[float, Field(ge=0.0, le=1.0)]


class FromColumn(Strict):
    """A column of the vehicle sheet; ``name`` defaults to the fact's own name."""

    name: str | None = None


class FromEver(EventRef):
    """Some event of these topics and marks is on file."""


class FromOpen(EventRef):
    """An event of these topics and marks has no later closing event."""

    closed_by: EventRef


class FromAfter(EventRef):
    """The last such event is later than the last event of ``than``."""

    than: EventRef


class FromSince(EventRef):
    """Usage on ``clock`` since the last such event."""

    clock: ClockName


class FromCount(EventRef):
    """How many such events in the last ``months`` months."""

    months: Annotated[int, Field(ge=1, le=600)]


class FromLatestValue(Strict):
    """Latest measured value of a quantity, optionally only on or after an event.

    ``since_last``: if such an event is on file, only later days count, else all do.
    ``years_ago``: the value is a calendar year, the fact is years from then to the as-of date.
    ``percent_of``: the value in percent of the latest value of another quantity.
    """

    quantity: str
    after: EventRef | None = None
    since_last: EventRef | None = None
    years_ago: bool | None = None
    percent_of: str | None = None


class FromDifference(Strict):
    """Latest value of ``minuend`` minus that of ``subtrahend`` at the same visit."""

    minuend: str
    subtrahend: str
    after: EventRef | None = None


class FromCode(Strict):
    """One of these fault codes is on file, optionally only after an event."""

    codes: Annotated[list[str], Field(min_length=1)]
    after: EventRef | None = None
    since_last: EventRef | None = None


class FromAge(Strict):
    """Usage on ``clock`` since the vehicle was new."""

    clock: ClockName


class FromPhysics(Strict):
    """Computed from column facts by a named function of riskcheck.physics."""

    function: str
    inputs: Annotated[list[str], Field(min_length=1)]


class From(Strict):
    """Exactly one way in which the fact is found."""

    column: FromColumn | None = None
    ever: FromEver | None = None
    open: FromOpen | None = None
    after: FromAfter | None = None
    since: FromSince | None = None
    count: FromCount | None = None
    latest_value: FromLatestValue | None = None
    difference: FromDifference | None = None
    code: FromCode | None = None
    age: FromAge | None = None
    physics: FromPhysics | None = None

    def chosen(self) -> list[tuple[str, Strict]]:
        """The (name, parameters) pairs that are written."""
        written = ((name, getattr(self, name)) for name in type(self).model_fields)
        return [(name, params) for name, params in written if params is not None]


class ReportingEntry(Strict):
    """Share that is true, and how often the record says so if it is and if it is not."""

    base: Share
    seen_if_true: Share
    seen_if_false: Share = 0.0


class FactEntry(Strict):
    """One fact as written in ``facts.yaml``; see riskcheck.vocabulary.Fact."""

    kind: Kind
    meaning: str
    found: From = Field(alias="from")
    silence: Silence
    unit: str = ""
    resolution: Annotated[float, Field(gt=0)] = 1.0
    range: Annotated[list[float], Field(min_length=2, max_length=2)] | None = None
    values: list[str] = Field(default_factory=list)
    base: dict[str, Share] = Field(default_factory=dict)
    typical: Annotated[list[float], Field(min_length=2, max_length=2)] | None = None
    reporting: ReportingEntry | None = None
    headings: list[str] = Field(default_factory=list)
    also_written: dict[str, list[str]] = Field(default_factory=dict)
    ask: str = ""
    how_to_tell: str = ""
    source: SourceWords = "from_memory"

    def to_fact(self, name: str) -> Fact:
        """The vocabulary's fact; ``found`` must name exactly one derivation."""
        ((derivation, params),) = self.found.chosen()
        low, high = self.range or (0.0, 0.0)
        return Fact(
            name=name,
            kind=self.kind,
            meaning=self.meaning,
            derivation=Derivation(derivation, _plain(name, derivation, params)),
            silence=self.silence,
            unit=self.unit,
            resolution=self.resolution,
            low=low,
            high=high,
            values=tuple(self.values),
            base=dict(self.base),
            typical=(self.typical[0], self.typical[1]) if self.typical else None,
            reporting=Reporting(**self.reporting.model_dump()) if self.reporting else None,
            headings=tuple(self.headings),
            also_written={value: tuple(words) for value, words in self.also_written.items()},
            ask=self.ask,
            how_to_tell=self.how_to_tell,
            source=self.source,
        )


FactFile = dict[str, FactEntry]


def _plain(name: str, derivation: str, params: Strict) -> dict[str, Any]:
    plain = params.model_dump(exclude_none=True)
    if derivation == "column":
        plain.setdefault("name", name)
    return plain


def topics_and_marks(fact: Fact) -> list[tuple[str, Mark]]:
    """Every (topic, mark) whose events can change this fact."""
    refs = [fact.derivation.params, *_inner_refs(fact)]
    return [
        (topic, mark)
        for ref in refs
        for topic in ref.get("topics", ())
        for mark in ref.get("marks", ())
    ]


def quantities(fact: Fact) -> list[str]:
    """Every measured quantity this fact reads."""
    keys = ("quantity", "minuend", "subtrahend", "percent_of")
    return [fact.derivation.params[key] for key in keys if key in fact.derivation.params]


def _inner_refs(fact: Fact) -> list[Any]:
    keys = ("closed_by", "than", "after", "since_last")
    return [fact.derivation.params[key] for key in keys if key in fact.derivation.params]


def found_words(fact: Fact) -> str:
    """Where a fact is found, in words, with topics and marks as service lines give them."""
    params = fact.derivation.params
    match fact.derivation.kind:
        case "column":
            names = dict.fromkeys([params.get("name", fact.name), *fact.headings])
            return f"column of the vehicle sheet: {', '.join(names)}"
        case "age":
            return f"{params['clock'].replace('_', ' ')} since the vehicle was new"
        case "physics":
            return f"computed from {', '.join(params['inputs'])}"
        case "since":
            return f"{params['clock'].replace('_', ' ')} since the last {_events_words(params)}"
        case "count":
            return f"how often in {params['months']} months: {_events_words(params)}"
        case "open":
            return f"{_events_words(params)}, with no later {_events_words(params['closed_by'])}"
        case "after":
            return f"{_events_words(params)} later than the last {_events_words(params['than'])}"
        case "latest_value":
            return f"latest measured {params['quantity']}"
        case "difference":
            return f"measured {params['minuend']} less {params['subtrahend']}"
        case "code":
            return f"fault code {' or '.join(params['codes'])}"
        case _:
            return _events_words(params)


def _events_words(ref: Mapping[str, Any]) -> str:
    marks = " or ".join(mark.replace("_", " ") for mark in ref["marks"])
    return f"{' or '.join(ref['topics'])} ({marks})"
