"""Verdicts find their parts: a list's, a heading's, or one that trails behind."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from riskcheck.fleet.lexicon_verdicts import Statement, Verdict

_HEADINGS = ("declined", "recommended", "quoted", "not_done", "cancelled")
_GOES_ON = ("did", "declined", "quoted", "not_done")  # to the parts listed behind it
_NO_TURNING_BACK = ("declined", "quoted", "not_done", "cancelled")


@dataclass(slots=True)
class Occurrence:
    """A part named in a line and what the line says about it; ``clause`` names it.

    ``other_part``, ``several``, ``bare``: see Mention; ``inherited``: the verdict stood in an
    earlier clause.
    """

    subject: str
    clause: int
    verdict: Verdict
    inherited: bool = False
    other_part: str = ""
    several: bool = False
    bare: bool = False


def attach(clauses: Sequence[Statement], overruled: set[int]) -> list[Occurrence]:
    """Give every named part its verdict: its own, its list's, or one that trails behind.

    ``overruled``: clauses in which a measured value says the contrary of "ok".
    """
    line = _Line()
    for index, clause in enumerate(clauses):
        verdict = line.heard(clause, index in overruled)
        fresh = [
            Occurrence(
                each.subject,
                index,
                verdict,
                other_part=each.other_part,
                several=each.several,
                bare=each.bare,
            )
            for each in clause.mentions
        ]
        line.found.extend(fresh)
        if fresh:
            line.name(fresh, verdict)
        else:
            line.trail(verdict)
    return line.found


class _Line:
    """A line read from left to right.

    ``waiting``: parts named without a verdict so far; ``group``: parts that share the last
    verdict; ``carried``: that verdict; ``header``: one that came before any part; ``over``: one
    put over the rest of the line by a colon or dash.
    """

    def __init__(self) -> None:
        self.found: list[Occurrence] = []
        self._waiting: list[Occurrence] = []
        self._group: list[Occurrence] = []
        self._carried: Verdict | None = None
        self._header: Verdict | None = None
        self._over: Verdict | None = None
        self._complaining = False

    def heard(self, clause: Statement, overruled: bool) -> Verdict:
        """The verdict of a clause in the light of what the line said before it."""
        verdict = clause.verdict
        self._complaining = _still_complaining(self._complaining, verdict)
        unsaid = verdict.kind in ("", "bad", "good", "lacking")
        if self._complaining and unsaid and not _clears(verdict):
            verdict = replace(verdict, kind="complaint")
        if overruled and verdict.kind in ("good", "check", "noun_check", ""):
            verdict = replace(verdict, kind="bad")
        if clause.heads and verdict.kind in _HEADINGS:
            self._over = verdict
        elif self._over is not None and verdict.kind in ("did", "", "check"):
            verdict = replace(self._over, circumstances=verdict.circumstances)
        if verdict.kind == "did" and verdict.bare_form:
            faulty = {each.subject for each in self.found if each.verdict.kind == "bad"}
            if any(each.subject in faulty for each in clause.mentions):
                verdict = replace(verdict, kind="recommended")
        return verdict

    def trail(self, verdict: Verdict) -> None:
        """A clause without a part speaks about the parts before it, or heads those to come."""
        if self._waiting or self._group:
            for each in self._waiting or self._group:
                each.verdict = _merge(each.verdict, verdict)
        else:
            self._header = verdict
        if self._waiting and verdict.kind and not verdict.other_part:
            self._group, self._waiting = self._waiting, []

    def name(self, fresh: list[Occurrence], verdict: Verdict) -> None:
        """A clause that names parts: they take its verdict, or one said before, or wait."""
        carried, header = self._carried, self._header
        if verdict.kind:
            self._group = fresh
            if self._waiting and not verdict.prefix:
                for each in self._waiting:
                    each.verdict = verdict
                self._group = self._waiting + fresh
            self._waiting, self._header, self._carried = [], None, verdict
        elif header is not None and header.kind and not self._group:
            for each in fresh:
                each.verdict = header
            self._group = fresh
        elif carried and carried.kind in _GOES_ON and carried.prefix and self._group:
            for each in fresh:
                each.verdict = replace(carried, circumstances=verdict.circumstances)
                each.inherited = True
            self._group = self._group + fresh
        else:
            self._waiting = self._waiting + fresh
            self._group = []


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


def _merge(old: Verdict, new: Verdict) -> Verdict:
    if not new.circumstances <= old.circumstances:
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
    if new.actions == ("reset",) and old.kind:
        return old  # a light or a computer was reset afterwards
    if new.kind == "did" and old.kind != "recommended":
        return replace(old, kind="did", actions=tuple(dict.fromkeys(old.actions + new.actions)))
    if new.kind == "good" and (
        old.kind in ("check", "noun_check")
        or (old.kind == "bad" and "no_fault" in new.circumstances)
    ):
        return replace(old, kind="good")
    return old
