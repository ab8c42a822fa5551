"""From statements to events: parts and what is said of them become topics and marks."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from riskcheck.fleet.lexicon_attach import Occurrence, attach
from riskcheck.fleet.lexicon_model import Outcomes, Subject, Wording, outcomes, topics_of
from riskcheck.fleet.lexicon_verdicts import Statement, Verdict
from riskcheck.vocabulary import MARK_ORDER

_STRENGTH: dict[str, int] = {mark: place for place, mark in enumerate(MARK_ORDER)}
_WEIGHT = {
    "done": 80, "finding": 75, "opens": 70, "partial": 65, "recommended": 60, "absent": 55,
    "not_done": 50, "checked_good": 45, "proof": 44, "ambiguous": 40, "complaint": 30, "": 0,
}  # fmt: skip
_DECLINED, _VALUE = 95, 90
_KEYS = {
    "cancelled": ("not_done", "not_done"),
    "check": ("check", "checked_good"),
    "good": ("good", "checked_good"),
    "bad": ("bad", "finding"),
    "noun_check": ("noun_check", "ambiguous"),
    "lacking": ("lacking", "not_done"),
    "quoted": ("declined", "recommended"),
    "bare": ("bare", "ambiguous"),
}  # what is said: the entry of ``does`` it reads, and the mark where there is none

_DOUBT = frozenset({"before", "sale", "prose"})  # history, sales, talk about a job
_BEFORE_REFIT = ("clean", "flush", "repair")  # what is done to a part that goes back on

_Pairs = tuple[tuple[str, str], ...]
_Table = dict[str, _Pairs]


@dataclass(frozen=True, slots=True)
class Row:
    """One event of a line; ``clause`` is the clause that decided, ``weight`` ranks it.

    ``value`` is the place of its value among the values of the line, -1 without one.
    """

    topic: str
    mark: str
    clause: int
    weight: int
    attention: bool = False
    value: int = -1


@dataclass(frozen=True, slots=True)
class Judged:
    """A value in a clause as the reader sees it: "good", "act" or "" (says nothing)."""

    quantity: str
    topic: str
    clause: int
    judgement: str


@dataclass(frozen=True, slots=True)
class Reading:
    """What a line means: events, and the hazards for which it names only a look-alike."""

    rows: tuple[Row, ...]
    look_alikes: tuple[str, ...]


class EventReader:
    """Turns the statements of a line into its events, by the subjects of one wording."""

    def __init__(self, wording: Wording) -> None:
        self._subjects = {name: _Meaning(each) for name, each in wording.subjects.items()}
        self._hazards = {name: frozenset(each.hazards) for name, each in wording.topics.items()}
        self._memo: dict[tuple[object, ...], tuple[Row, ...]] = {}

    def read(self, statements: Sequence[Statement], values: Sequence[Judged]) -> Reading:
        """Events of one line from its statements and the values found in it."""
        occurrences = attach(
            statements, {each.clause for each in values if each.judgement == "act"}
        )
        named = frozenset(
            each.subject
            for each in occurrences
            if each.verdict.kind in ("did", "bare", "")
            and each.other_part != "own"
            and not {"reuse", "reinstall"}.intersection(each.verdict.actions)
        )
        rows: list[Row] = []
        look_alikes: dict[str, None] = {}
        measured = {(each.clause, each.topic) for each in values}
        elsewhere = any(each.elsewhere for each in statements)
        for each in occurrences:
            meaning = self._subjects[each.subject]
            if elsewhere and each.bare:  # "wheelchair lift - replaced both hoses"
                rows.extend(meaning.asked(each.clause))
                continue
            reading = any((each.clause, topic) in measured for topic in meaning.topics)
            if reading and not each.verdict.kind and not meaning.fault:
                continue  # a part named beside its reading and nothing else was measured, no more
            look_alikes.update(dict.fromkeys(meaning.look_alikes(each.other_part, self._hazards)))
            rows.extend(self._rows(meaning, each, named & meaning.partners))
        rows.extend(_value_rows(values, rows))
        return Reading(self._settle(rows), tuple(look_alikes))

    def main_mark(self, reading: Reading, hazard_id: str) -> str:
        """The one mark that a line has for one hazard; "" where the line does not speak of it."""
        mine = [row for row in reading.rows if hazard_id in self._hazards[row.topic]]
        if mine:
            best = max(mine, key=lambda row: row.weight)
            if not (best.mark == "ambiguous" and hazard_id in reading.look_alikes):
                return "checked_good" if best.mark == "proof" else best.mark
        return "not_done" if hazard_id in reading.look_alikes else ""

    def _rows(
        self, meaning: _Meaning, occurrence: Occurrence, partners: frozenset[str]
    ) -> Iterable[Row]:
        key = (
            occurrence.subject, occurrence.verdict, occurrence.inherited, occurrence.other_part,
            occurrence.several, partners, occurrence.clause,
        )  # fmt: skip
        rows = self._memo.get(key)
        if rows is None:
            rows = self._memo[key] = tuple(
                replace(row, clause=occurrence.clause) for row in meaning.rows(occurrence, partners)
            )
        return rows

    def _settle(self, rows: Sequence[Row]) -> tuple[Row, ...]:
        """Drop doubt that the line itself removes, and doubles; keep the order of the line."""
        if len(rows) < 2:
            return tuple(rows)
        told = {
            hazard
            for row in rows
            if row.mark not in ("ambiguous", "")
            for hazard in self._hazards[row.topic]
        }
        contradicted = {row.topic for row in rows if row.mark == "finding" and row.value >= 0}
        kept: dict[tuple[str, str, int], Row] = {}
        for row in rows:
            if row.mark == "ambiguous" and self._hazards[row.topic] <= told:
                continue
            verdict_only = row.value < 0 and row.mark in ("checked_good", "finding")
            if verdict_only and row.topic in contradicted:
                continue
            kept.setdefault((row.topic, row.mark, row.value), row)
        return tuple(sorted(kept.values(), key=lambda row: row.clause))


class _Meaning:
    """What everything that can be said of one subject means."""

    def __init__(self, subject: Subject) -> None:
        self.topics = topics_of(subject)
        self._in_pairs = subject.in_pairs
        self.sounds_like = subject.sounds_like
        self._does = _table(subject.does)
        self._only = _table(subject.only)
        self._one = _table(subject.one)
        self._together = [(frozenset(e.parts), _table(e.does)) for e in subject.together]
        marks = {mark for _, mark in self._does.get("bare", ())}
        self.fault = marks == {"finding"}  # its words describe a fault, wherever it sits
        self.partners = frozenset().union(*(parts for parts, _ in self._together))

    def look_alikes(self, other_part: str, hazards: dict[str, frozenset[str]]) -> Sequence[str]:
        """Hazards for which the words are only a look-alike: a part of the part is one too."""
        if other_part != "own":
            return self.sounds_like
        own = {hazard for topic in self.topics for hazard in hazards[topic]}
        return [*self.sounds_like, *sorted(own)]

    def asked(self, clause: int) -> Iterable[Row]:
        """Events where the words may be about another machine's part: only a question."""
        for topic in self.topics:
            yield Row(topic, "ambiguous", clause, _WEIGHT["ambiguous"], True)

    def rows(self, occurrence: Occurrence, partners: frozenset[str]) -> Iterable[Row]:
        """Events of one occurrence; their clause is left at 0."""
        verdict = occurrence.verdict
        kind = verdict.kind or "bare"
        part_of_it = occurrence.other_part == "own" and (kind == "did" or not self.fault)
        if part_of_it and kind not in ("bad", "complaint"):
            return  # work on, or a look at, a part of it says nothing about the part itself
        if kind == "did":
            yield from self._work_rows(occurrence, partners)
            return
        for topic, mark in self._said(kind, verdict, partners):
            weight = _DECLINED if kind in ("declined", "quoted") else _WEIGHT[mark]
            attention = mark == "ambiguous"
            if kind == "bare" and mark in ("done", "partial"):
                doubtful = "before" in verdict.circumstances or (
                    mark == "done" and occurrence.other_part
                )
                mark = "ambiguous" if doubtful else mark
            if part_of_it:
                mark, weight, attention = "ambiguous", _WEIGHT["ambiguous"], True
            yield Row(topic, mark, 0, weight, attention)
        if verdict.also_bad and kind in ("declined", "quoted", "not_done"):
            for topic, mark in self._pairs("bad", "finding"):
                yield Row(topic, mark, 0, _WEIGHT["not_done"] - 1)

    def _said(self, kind: str, verdict: Verdict, partners: frozenset[str]) -> _Pairs:
        if kind == "lacking":  # "timing chain - no belt": what is there instead is named
            instead = self._with_partners(("lacking",), partners)
            if instead:
                return instead
        if kind == "bare":
            if "only" in verdict.circumstances and "bare" in self._only:
                return self._only["bare"]
            together = self._with_partners(("bare",), partners)
            if together:
                return together
        if kind in ("declined", "quoted") and "declined" not in self._does:
            return self._pairs("recommended", "recommended")
        key, mark = _KEYS.get(kind, (kind, kind))
        if "not_due" in verdict.circumstances:  # nobody looked; the shop's own plan says so
            return self._pairs("", mark)
        if kind == "check" and "check" not in self._does:
            key = "good"
        return self._pairs(key, mark)

    def _pairs(self, key: str, mark: str) -> _Pairs:
        known = self._does.get(key)
        return tuple((topic, mark) for topic in self.topics) if known is None else known

    def _work_rows(self, occurrence: Occurrence, partners: frozenset[str]) -> Iterable[Row]:
        said = occurrence.verdict.circumstances
        for topic, mark in self._work(occurrence, partners):
            attention = mark == "ambiguous"
            doubtful = occurrence.other_part or not said.isdisjoint(_DOUBT)
            if mark in ("done", "partial") and doubtful:
                mark, attention = "ambiguous", True
            elif mark == "done" and ("customer_part" in said or "used" in said):
                mark, attention = "partial", True
            yield Row(topic, mark, 0, _WEIGHT[mark], attention)

    def _work(self, occurrence: Occurrence, partners: frozenset[str]) -> _Pairs:
        said = occurrence.verdict.circumstances
        actions = occurrence.verdict.actions
        if "reinstall" in actions:  # the same part went back on, whatever was off or new beside it
            kept = tuple(each for each in actions if each in _BEFORE_REFIT and each in self._does)
            actions = kept or ("reinstall",)
        if "reuse" in actions:  # something old was put back: never the complete job
            partners = frozenset()
            rest = tuple(each for each in actions if each != "reuse")
            actions = ("reuse",) if "reuse" in self._does or not rest else rest
        pairs = self._with_partners(actions, partners)
        if "customer_part" in said and "customer_part" in self._does:
            pairs = self._does["customer_part"]
        if not pairs and "only" in said:
            pairs = _strongest(self._only, actions)
        single = "one" in said or (self._in_pairs and not occurrence.several)
        if not pairs and single and "all" not in said:
            pairs = _strongest(self._one, actions)
        pairs = pairs or _strongest(self._does, actions)
        return pairs or self._pairs("bare" if occurrence.inherited else "", "ambiguous")

    def _with_partners(self, actions: tuple[str, ...], partners: frozenset[str]) -> _Pairs:
        for parts, does in self._together:
            pairs = _strongest(does, actions) if parts & partners else ()
            if pairs:
                return pairs
        return ()


def _table(does: dict[str, Outcomes]) -> _Table:
    return {kind: outcomes(value) for kind, value in does.items()}


def _strongest(table: _Table, actions: tuple[str, ...]) -> _Pairs:
    """The strongest outcome that any of the actions has in ``table``."""
    choices = [table[action] for action in actions if action in table]
    if len(choices) == 1:
        return choices[0]
    return max(choices, key=lambda pairs: max(_STRENGTH[mark] for _, mark in pairs), default=())


def _value_rows(values: Sequence[Judged], rows: Sequence[Row]) -> Iterable[Row]:
    work = [row.clause for row in rows if row.mark in ("done", "partial")]
    for place, each in enumerate(values):
        if each.judgement == "act":
            mended = any(clause > each.clause for clause in work)
            weight = _WEIGHT["finding"] if mended else _VALUE
            yield Row(each.topic, "finding", each.clause, weight, value=place)
        elif each.judgement == "good":
            yield Row(each.topic, "proof", each.clause, _WEIGHT["proof"], value=place)
        else:
            yield Row(each.topic, "", each.clause, 0, value=place)
