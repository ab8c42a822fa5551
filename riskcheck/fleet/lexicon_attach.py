"""Verdicts find their parts: a list's, a heading's, or one that trails behind."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from riskcheck.fleet.lexicon_verdicts import Statement, Verdict

_HEADINGS = ("declined", "recommended", "quoted", "not_done", "cancelled")
_NO_TURNING_BACK = ("declined", "quoted", "not_done", "cancelled")


@dataclass(slots=True)
class Occurrence:
    """A part named in a line and what the line says about it; ``clause`` names it.

    ``other_part``: see Mention; ``inherited``: the verdict stood in an earlier clause.
    """

    subject: str
    clause: int
    verdict: Verdict
    inherited: bool = False
    other_part: str = ""


def attach(clauses: Sequence[Statement], overruled: set[int]) -> list[Occurrence]:
    """Give every named part its verdict: its own, its list's, or one that trails behind."""
    found: list[Occurrence] = []
    waiting: list[Occurrence] = []
    group: list[Occurrence] = []
    carried: Verdict | None = None
    header: Verdict | None = None
    complaining = False
    over: Verdict | None = None
    for index, clause in enumerate(clauses):
        verdict = clause.verdict
        complaining = _still_complaining(complaining, verdict)
        if complaining and verdict.kind in ("", "bad", "good", "lacking") and not _clears(verdict):
            verdict = replace(verdict, kind="complaint")
        if index in overruled and verdict.kind in ("good", "check", "noun_check", ""):
            verdict = replace(verdict, kind="bad")
        if clause.heads and verdict.kind in _HEADINGS:
            over = verdict
        elif over is not None and verdict.kind in ("did", "", "check"):
            verdict = replace(over, circumstances=verdict.circumstances)
        if verdict.kind == "did" and verdict.bare_form:
            faulty = {each.subject for each in found if each.verdict.kind == "bad"}
            if any(each.subject in faulty for each in clause.mentions):
                verdict = replace(verdict, kind="recommended")
        fresh = [
            Occurrence(each.subject, index, verdict, other_part=each.other_part)
            for each in clause.mentions
        ]
        found.extend(fresh)
        if not fresh:
            if waiting or group:
                _follow(waiting or group, verdict)
            else:
                header = verdict
            if waiting and verdict.kind and not verdict.other_part:
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


def _follow(group: list[Occurrence], verdict: Verdict) -> None:
    """A clause without a part speaks about the parts before it."""
    for each in group:
        each.verdict = _merge(each.verdict, verdict)


def _merge(old: Verdict, new: Verdict) -> Verdict:
    old = replace(old, circumstances=old.circumstances | new.circumstances)
    if new.kind in ("", "complaint", "lacking", "noun_check"):
        return old
    if new.kind == "did" and new.other_part:
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
    if new.kind == "did" and old.kind == "bad" and new.bare_form:
        return old  # "leaking - replace" asks for the work
    if new.kind == "did" and old.kind != "recommended":
        return replace(old, kind="did", actions=tuple(dict.fromkeys(old.actions + new.actions)))
    if new.kind == "good" and (
        old.kind in ("check", "noun_check")
        or (old.kind == "bad" and "no_fault" in new.circumstances)
    ):
        return replace(old, kind="good")
    return old
