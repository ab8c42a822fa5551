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


_Placed = tuple[tuple[tuple[int, int], ...], int, Value]  # places, clause, value


@dataclass(frozen=True, slots=True)
class _Form:
    """One way to write a quantity; ``required``: of each of these sets a word must be there."""

    quantity: str
    index: int
    pattern: re.Pattern[str]
    required: tuple[frozenset[str], ...]
    near: frozenset[str]

    def spot(self, clause: int, spans: tuple[tuple[int, int], ...]) -> Spot:
        """A place at which it stands."""
        return Spot(self.quantity, self.index, clause, spans)


class ValueReader:
    """Finds and judges values by the quantities of one wording."""

    def __init__(self, wording: Wording) -> None:
        self._quantities = wording.quantities
        self._forms = [
            _Form(
                name,
                index,
                _pattern(form, wording),
                _required(form, wording),
                frozenset(wording.spelled(quantity.near)),
            )
            for name, quantity in wording.quantities.items()
            for index, form in enumerate(quantity.forms)
        ]
        self._under: dict[str, list[int]] = {}  # places of forms, by a word that they require
        for rank, form in enumerate(self._forms):
            for word in min(form.required, key=len, default=frozenset((_NUMBER,))):
                self._under.setdefault(word, []).append(rank)
        self.near = frozenset().union(*(form.near for form in self._forms))

    def spots(self, clauses: Sequence[Clause]) -> tuple[tuple[Spot, frozenset[str]], ...]:
        """Places where values may stand, each with the words one of which the line must say.

        In the order in which they claim their numbers: whose value is out of range yields.
        """
        found: list[tuple[int, Spot, frozenset[str]]] = []
        for index, clause in enumerate(clauses):
            said = {token.word for token in clause.tokens}
            if _NUMBER not in said or (clause.statement.elsewhere and not clause.named):
                continue  # without a number, or of another machine ("lift battery 11.2v")
            text, starts = _text(clause)
            for rank in {rank for word in said for rank in self._under.get(word, ())}:
                form = self._forms[rank]
                if not any(said.isdisjoint(choice) for choice in form.required):
                    found += [
                        (rank, form.spot(index, _spans(match, clause, starts)), form.near)
                        for match in form.pattern.finditer(text)
                    ]
        found.sort(key=lambda each: (each[0], each[1].spans))
        return tuple((spot, near) for _, spot, near in found)

    def read(self, line: str, spots: Sequence[Spot]) -> tuple[list[Value], tuple[Judged, ...]]:
        """Values at ``spots`` of this line, in range only, and what each says.

        ``line`` has the same length as the text from which the spots were taken.
        """
        found: list[_Placed] = []
        taken: set[tuple[int, int]] = set()
        for spot in spots:
            if taken.isdisjoint(spot.spans):
                values = self._values(line, spot)
                taken.update(spot.spans if values else ())
                found += [(spot.spans, spot.clause, value) for value in values]
        found = self._picked(sorted(found, key=lambda each: each[0]))
        by_name = {value.quantity: value.value for _, _, value in found}
        judged = tuple(self._judge(value, clause, by_name) for _, clause, value in found)
        return [value for _, _, value in found], judged

    def _values(self, line: str, spot: Spot) -> list[Value]:
        """What the numbers at ``spot`` are, in its quantity and those that share them."""
        quantity = self._quantities[spot.quantity]
        form = quantity.forms[spot.form]
        number = _number(line, spot, quantity, form)
        low, high = quantity.range
        if number is None or not low <= number <= high:
            return []
        values = [
            Value(name, number, self._quantities[name].unit) for name in (spot.quantity, *form.also)
        ]
        if quantity.percent_of and len(spot.spans) > 1:
            base = _number(line, spot, self._quantities[quantity.percent_of], form)
            if base is not None:
                unit = self._quantities[quantity.percent_of].unit
                values.insert(0, Value(quantity.percent_of, base, unit))
        return values

    def _picked(self, found: list[_Placed]) -> list[_Placed]:
        """Of a quantity whose lowest counts, only the lowest: the worst tyre, the thinnest pad."""
        lowest: dict[str, float] = {}
        for _, _, value in found:
            if self._quantities[value.quantity].pick == "lowest":
                known = lowest.get(value.quantity, value.value)
                lowest[value.quantity] = min(known, value.value)
        kept: list[_Placed] = []
        for each in found:
            name, number = each[2].quantity, each[2].value
            if name not in lowest:
                kept.append(each)
            elif lowest[name] == number:
                kept.append(each)
                lowest[name] = float("-inf")  # one of several equal ones is enough
        return kept

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


def _required(form: Form, wording: Wording) -> tuple[frozenset[str], ...]:
    words = [each for each in form.text.lower().split() if each not in ("#", "~")]
    return tuple(
        frozenset(wording.spelled(each.split("|"))) for each in words if not each.endswith("?")
    )


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
    if form.week_year:
        year = _made_in(line, spot.spans[0])
        return None if year is None else float(year)
    picked = {"first": numbers[0], "lowest": min(numbers), "last": numbers[-1]}[quantity.pick]
    return round(picked * form.times + form.plus, 6)


def _made_in(line: str, span: tuple[int, int]) -> int | None:
    """Year of a date code of week and year; None where it is none."""
    digits = line[span[0] : span[1]]
    if len(digits) != 4 or not digits.isdigit() or not 1 <= int(digits[:2]) <= 53:
        return None
    return 2000 + int(digits[2:])  # codes have four digits since 2000, had three before
