"""From clauses to events: verdicts find their parts, parts and work become topics and marks."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from riskcheck.fleet.lexicon_model import Outcomes, Subject, Wording, outcomes, topics_of
from riskcheck.fleet.lexicon_verdicts import Clause, Verdict
from riskcheck.vocabulary import MARK_ORDER

_STRENGTH = {mark: place for place, mark in enumerate(MARK_ORDER)}
_NO_TURNING_BACK = ("declined", "quoted", "not_done", "cancelled")
_WEIGHT = {
    "done": 80, "finding": 75, "opens": 70, "partial": 65, "recommended": 60, "absent": 55,
    "not_done": 50, "checked_good": 45, "proof": 44, "ambiguous": 40, "complaint": 30,
}  # fmt: skip
_DECLINED, _VALUE, _LOOK_ALIKE = 95, 90, 35


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


@dataclass(slots=True)
class _Occurrence:
    subject: str
    clause: int
    verdict: Verdict
    inherited: bool = False
    on_other_part: bool = False


@dataclass(frozen=True, slots=True)
class Reading:
    """What a line means: events, and the hazards for which it names only a look-alike."""

    rows: tuple[Row, ...]
    look_alikes: tuple[str, ...]


def read_clauses(clauses: Sequence[Clause], values: Sequence[Judged], wording: Wording) -> Reading:
    """Events of one line from its clauses and the values found in it."""
    occurrences = _attach(clauses, {each.clause for each in values if each.judgement == "act"})
    named = {
        each.subject for each in occurrences if each.verdict.kind in ("did", "bare", "", "good")
    }
    rows: list[Row] = []
    look_alikes: dict[str, None] = {}
    for each in occurrences:
        subject = wording.subjects[each.subject]
        look_alikes.update(dict.fromkeys(subject.sounds_like))
        rows.extend(_rows(subject, each, named))
    rows.extend(_value_rows(values, rows))
    return Reading(_settle(rows, wording), tuple(look_alikes))


def main_mark(reading: Reading, hazard_id: str, wording: Wording) -> str:
    """The one mark that a line has for one hazard; "" where the line does not speak of it."""
    mine = [row for row in reading.rows if hazard_id in wording.topics[row.topic].hazards]
    if mine:
        best = max(mine, key=lambda row: row.weight)
        if not (best.mark == "ambiguous" and hazard_id in reading.look_alikes):
            return "checked_good" if best.mark == "proof" else best.mark
    return "not_done" if hazard_id in reading.look_alikes else ""


def _attach(clauses: Sequence[Clause], overruled: set[int]) -> list[_Occurrence]:
    """Give every named part its verdict: its own, its list's, or one that trails behind."""
    found: list[_Occurrence] = []
    waiting: list[_Occurrence] = []
    group: list[_Occurrence] = []
    carried: Verdict | None = None
    header: Verdict | None = None
    complaining = False
    for index, clause in enumerate(clauses):
        verdict = clause.verdict
        complaining = _still_complaining(complaining, verdict)
        if complaining and verdict.kind in ("", "bad", "good", "lacking") and not _clears(verdict):
            verdict = replace(verdict, kind="complaint")
        if index in overruled and verdict.kind in ("good", "check", "noun_check", ""):
            verdict = replace(verdict, kind="bad")
        fresh = [
            _Occurrence(name, index, verdict, on_other_part=bool(verdict.other_parts - places))
            for name, places in {each.subject: each.places for each in clause.named}.items()
        ]
        found.extend(fresh)
        if not fresh:
            if waiting or group:
                _follow(waiting or group, verdict)
            else:
                header = verdict
            if waiting and verdict.kind and not verdict.other_parts:
                group, waiting = waiting, []
            continue
        if verdict.kind:
            group = fresh
            if waiting and not verdict.prefix:
                for each in waiting:
                    each.verdict = verdict
                group = waiting + fresh
            waiting, header = [], None
            carried = verdict
        elif header is not None and header.kind and not group:
            for each in fresh:
                each.verdict = header
            group = fresh
        elif (
            carried is not None
            and carried.kind in ("did", "declined", "quoted", "not_done")
            and (carried.prefix and group)
        ):
            for each in fresh:
                each.verdict, each.inherited = (
                    replace(carried, circumstances=verdict.circumstances),
                    True,
                )
            group = group + fresh
        else:
            waiting = waiting + fresh
            group = []
    return found


def _still_complaining(complaining: bool, verdict: Verdict) -> bool:
    if verdict.kind == "complaint":
        return True
    ends = ("did", "check", "declined", "recommended", "not_done", "absent", "cancelled")
    if _clears(verdict) or "found" in verdict.circumstances:
        return False
    return complaining and verdict.kind not in ends


def _clears(verdict: Verdict) -> bool:
    """ "NPF", "could not duplicate": the technician's answer to the owner's words."""
    return verdict.kind == "good" and "no_fault" in verdict.circumstances


def _follow(group: list[_Occurrence], verdict: Verdict) -> None:
    """A clause without a part speaks about the parts before it."""
    for each in group:
        each.verdict = _merge(each.verdict, verdict)


def _merge(old: Verdict, new: Verdict) -> Verdict:
    old = replace(old, circumstances=old.circumstances | new.circumstances)
    if new.kind in ("", "complaint", "lacking", "noun_check"):
        return old
    if new.kind == "did" and new.other_parts:
        return old
    if old.kind in ("", "complaint"):
        return replace(new, circumstances=old.circumstances)
    bad = old.also_bad or old.kind == "bad"
    if new.kind in _NO_TURNING_BACK:
        if (old.kind, new.kind) in (
            ("declined", "not_done"), ("not_done", "quoted"), ("quoted", "not_done"),
        ):  # fmt: skip
            return old
        return replace(new, circumstances=old.circumstances, also_bad=bad)
    if new.kind == "absent" and old.kind == "did":
        return replace(old, kind="not_done")
    if old.kind in _NO_TURNING_BACK:
        return replace(old, kind="absent") if new.kind == "absent" else old
    if new.kind == "bad":
        if old.kind == "did" and "still" not in new.circumstances:
            return old
        return old if old.kind == "recommended" else replace(old, kind="bad")
    if new.kind == "recommended":
        if old.kind == "bad" or (old.kind == "did" and new.rechecks):
            return old
        return replace(old, kind="recommended")
    if new.kind == "did" and old.kind != "recommended":
        return replace(old, kind="did", actions=tuple(dict.fromkeys(old.actions + new.actions)))
    if new.kind == "good" and (
        old.kind in ("check", "noun_check")
        or (old.kind == "bad" and "no_fault" in new.circumstances)
    ):
        return replace(old, kind="good")
    return old


def _rows(subject: Subject, occurrence: _Occurrence, named: set[str]) -> Iterable[Row]:
    verdict = occurrence.verdict
    kind = verdict.kind or "bare"
    if kind == "did":
        yield from _work_rows(subject, occurrence, named)
        return
    pairs = _plain_pairs(subject, kind, occurrence, named)
    for topic, mark in pairs:
        weight = _DECLINED if kind in ("declined", "quoted") else _WEIGHT[mark]
        attention = mark == "ambiguous"
        if kind == "bare" and mark in ("done", "partial"):
            mark = "ambiguous" if "before" in verdict.circumstances else mark
        yield Row(topic, mark, occurrence.clause, weight, attention)
    if verdict.also_bad and kind in ("declined", "quoted", "not_done"):
        for topic, mark in _pairs(subject, "bad", "finding"):
            yield Row(topic, mark, occurrence.clause, _WEIGHT["not_done"] - 1)


def _plain_pairs(
    subject: Subject, kind: str, occurrence: _Occurrence, named: set[str]
) -> tuple[tuple[str, str], ...]:
    if kind == "bare":
        together = _together(subject, ("bare",), named)
        if "only" in occurrence.verdict.circumstances and "bare" in subject.only:
            return outcomes(subject.only["bare"])
        return together or _pairs(subject, "bare", "ambiguous")
    if kind in ("declined", "quoted") and "declined" not in subject.does:
        return _pairs(subject, "recommended", "recommended")
    marks = {
        "cancelled": ("not_done", "not_done"),
        "check": ("check" if "check" in subject.does else "good", "checked_good"),
        "good": ("good", "checked_good"),
        "bad": ("bad", "finding"),
        "noun_check": ("noun_check", "ambiguous"),
        "lacking": ("lacking", "not_done"),
        "quoted": ("declined", "recommended"),
    }
    key, mark = marks.get(kind, (kind, kind))
    return _pairs(subject, key, mark)


def _pairs(subject: Subject, key: str, mark: str) -> tuple[tuple[str, str], ...]:
    value: Outcomes | None = subject.does.get(key)
    if value is not None:
        return outcomes(value)
    return tuple((topic, mark) for topic in topics_of(subject))


def _work_rows(subject: Subject, occurrence: _Occurrence, named: set[str]) -> Iterable[Row]:
    verdict = occurrence.verdict
    said = verdict.circumstances
    actions = verdict.actions
    if "reinstall" in actions:  # whatever else was done, the same part went back on
        actions = ("reinstall",)
    if "reuse" in actions:  # something old was put back: never the complete job
        named = set()
        rest = tuple(each for each in actions if each != "reuse")
        actions = ("reuse",) if "reuse" in subject.does or not rest else rest
    pairs = _together(subject, actions, named)
    if "customer_part" in said and "customer_part" in subject.does:
        pairs = outcomes(subject.does["customer_part"])
    if not pairs and "only" in said:
        pairs = _first(subject.only, actions)
    if not pairs and "one" in said and "all" not in said:
        pairs = _first(subject.one, actions)
    pairs = pairs or _first(subject.does, actions)
    if not pairs:
        key = "bare" if occurrence.inherited else ""
        pairs = _pairs(subject, key, "ambiguous")
    for topic, mark in pairs:
        attention = mark == "ambiguous"
        doubtful = "before" in said or "sale" in said
        if (mark in ("done", "partial") and doubtful) or (
            mark == "done" and occurrence.on_other_part
        ):
            mark, attention = "ambiguous", True
        elif mark == "done" and ("customer_part" in said or "used" in said):
            mark, attention = "partial", True
        yield Row(topic, mark, occurrence.clause, _WEIGHT[mark], attention)


def _together(
    subject: Subject, actions: tuple[str, ...], named: set[str]
) -> tuple[tuple[str, str], ...]:
    for each in subject.together:
        if named.intersection(each.parts):
            pairs = _first(each.does, actions)
            if pairs:
                return pairs
    return ()


def _first(table: dict[str, Outcomes], actions: tuple[str, ...]) -> tuple[tuple[str, str], ...]:
    """The strongest outcome that any of the actions has in ``table``."""
    choices = [outcomes(table[action]) for action in actions if action in table]
    return max(choices, key=lambda pairs: max(_STRENGTH[mark] for _, mark in pairs), default=())  # type: ignore[index]


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


def _settle(rows: Sequence[Row], wording: Wording) -> tuple[Row, ...]:
    """Drop doubt that the line itself removes, and doubles; keep the order of the line."""
    told = {
        hazard
        for row in rows
        if row.mark not in ("ambiguous", "")
        for hazard in wording.topics[row.topic].hazards
    }
    contradicted = {row.topic for row in rows if row.mark == "finding" and row.value >= 0}
    kept: dict[tuple[str, str, int], Row] = {}
    for row in rows:
        hazards = wording.topics[row.topic].hazards
        if row.mark == "ambiguous" and all(hazard in told for hazard in hazards):
            continue
        verdict_only = row.value < 0 and row.mark in ("checked_good", "finding")
        if verdict_only and row.topic in contradicted:
            continue
        kept.setdefault((row.topic, row.mark, row.value), row)
    return tuple(sorted(kept.values(), key=lambda row: row.clause))
