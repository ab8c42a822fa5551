"""Measured values in the words of a line: "94 amps both legs", ".04v drop", "nitrite 300"."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

from riskcheck.fleet.lexicon_events import Judged
from riskcheck.fleet.lexicon_model import Form, Quantity, Wording
from riskcheck.fleet.lexicon_verdicts import Clause

_NUMBER = "#"


@dataclass(frozen=True, slots=True)
class Spot:
    """Where a value stands: quantity, clause, and the places of its number(s) in the line."""

    quantity: str
    form: int
    clause: int
    spans: tuple[tuple[int, int], ...]

    def moved(self, places: int, clauses: int) -> Spot:
        """The same spot in a line in which its piece begins further on."""
        spans = tuple((low + places, high + places) for low, high in self.spans)
        return Spot(self.quantity, self.form, self.clause + clauses, spans)


@dataclass(frozen=True, slots=True)
class Value:
    """A value in the unit of its quantity."""

    quantity: str
    value: float
    unit: str


class ValueReader:
    """Finds and judges values by the quantities of one wording."""

    def __init__(self, wording: Wording) -> None:
        self._quantities = wording.quantities
        self._forms = [
            (name, index, _pattern(form, wording), frozenset(wording.spelled(quantity.near)))
            for name, quantity in wording.quantities.items()
            for index, form in enumerate(quantity.forms)
        ]
        self.near = frozenset().union(*(near for _, _, _, near in self._forms))
        self._possible: dict[frozenset[str], list[tuple[str, int, re.Pattern[str]]]] = {}

    def spots(self, clauses: Sequence[Clause], said: frozenset[str]) -> tuple[Spot, ...]:
        """Places of values in clauses of a line that somewhere says ``said`` (words of ``near``).

        Earlier quantities win a number that two could claim.
        """
        forms = self._possible.get(said)
        if forms is None:
            forms = self._possible[said] = [
                (name, index, pattern)
                for name, index, pattern, near in self._forms
                if not near or near & said
            ]
        found: list[Spot] = []
        taken: set[tuple[int, int]] = set()
        for index, clause in enumerate(clauses):
            text, starts = _text(clause)
            if _NUMBER not in text:
                continue
            for name, form, pattern in forms:
                for match in pattern.finditer(text):
                    spans = _spans(match, clause, starts)
                    if not taken.intersection(spans):
                        taken.update(spans)
                        found.append(Spot(name, form, index, spans))
        return tuple(sorted(found, key=lambda spot: spot.spans))

    def read(self, line: str, spots: Sequence[Spot]) -> tuple[list[Value], tuple[Judged, ...]]:
        """Values at ``spots`` of this line, in range only, and what each says.

        ``line`` has the same length as the text from which the spots were taken.
        """
        values: list[Value] = []
        clauses: list[int] = []
        for spot in spots:
            quantity = self._quantities[spot.quantity]
            form = quantity.forms[spot.form]
            number = _number(line, spot, quantity, form)
            low, high = quantity.range
            if number is None or not low <= number <= high:
                continue
            if quantity.percent_of and len(spot.spans) > 1:
                base = _number(line, spot, self._quantities[quantity.percent_of], form)
                if base is not None:
                    name = quantity.percent_of
                    values.append(Value(name, base, self._quantities[name].unit))
                    clauses.append(spot.clause)
            for name in (spot.quantity, *form.also):
                values.append(Value(name, number, self._quantities[name].unit))
                clauses.append(spot.clause)
        by_name = {value.quantity: value.value for value in values}
        judged = tuple(
            self._judge(value, clause, by_name)
            for value, clause in zip(values, clauses, strict=True)
        )
        return values, judged

    def _judge(self, value: Value, clause: int, by_name: dict[str, float]) -> Judged:
        quantity = self._quantities[value.quantity]
        number: float | None = value.value
        if quantity.percent_of:
            base = by_name.get(quantity.percent_of)
            number = 100.0 * value.value / base if base else None
        says = ""
        if number is not None and quantity.act is not None and quantity.act.holds(number):
            says = "act"
        elif number is not None and quantity.good is not None and quantity.good.holds(number):
            says = "good"
        return Judged(value.quantity, quantity.topic, clause, says)


def _pattern(form: Form, wording: Wording) -> re.Pattern[str]:
    """Words in order, up to two other words between them, ``word?`` may be missing."""
    parts: list[str] = []
    for word in form.text.lower().split():
        if word == _NUMBER:
            parts.append(r"(#) ")
        elif word.endswith("?"):
            parts.append(rf"(?:{_choice(word[:-1], wording)} )?")
        elif word == "~":
            parts.append(r"(?:[^#\s]+ ){0,2}")
        else:
            parts.append(rf"{_choice(word, wording)} ")
    return re.compile(r"(?<!\S)" + "".join(parts))


def _choice(word: str, wording: Wording) -> str:
    return "(?:" + "|".join(re.escape(each) for each in wording.spelled(word.split("|"))) + ")"


def _text(clause: Clause) -> tuple[str, list[int]]:
    starts: list[int] = []
    at = 0
    for token in clause.tokens:
        starts.append(at)
        at += len(token.word) + 1
    return " ".join(token.word for token in clause.tokens) + " ", starts


def _spans(match: re.Match[str], clause: Clause, starts: list[int]) -> tuple[tuple[int, int], ...]:
    spans = []
    for group in range(1, (match.re.groups or 0) + 1):
        token = clause.tokens[starts.index(match.start(group))]
        spans.append((token.start, token.end))
    return tuple(spans)


def _number(line: str, spot: Spot, quantity: Quantity, form: Form) -> float | None:
    numbers = []
    for low, high in spot.spans:
        try:
            numbers.append(float(line[low:high].replace(",", "")))
        except ValueError:
            return None
    if form.over is not None:
        if numbers[-1] != form.over:
            return None
        numbers = numbers[:-1]
    picked = {"first": numbers[0], "lowest": min(numbers), "last": numbers[-1]}[quantity.pick]
    return round(picked * form.times + form.plus, 6)
