"""What free words in a call sheet ask of us: to be left alone, or to forget a vehicle that is gone.

Common practice, no source: a wish is taken at its word until a person says otherwise, because a
call too many does more harm than a call too few.
"""

from __future__ import annotations

import re

from riskcheck.actions.consent import ALL

_REACHING = r"(?:call|contact|text|phon|ring|e-?mail|bother|messag|voice ?mail|reach out)\w*"
_LEFT_ALONE = re.compile(
    rf"\b(?:stop|quit|do(?:es)? not|don'?t|doesn'?t|no more|no further|never|not to be|cease)\b"
    rf"(?:\s+(?!back\b|yet\b)[\w']+){{0,3}}?\s+{_REACHING}(?P<rest>[^.;]*)"
    r"|\bno (?:calls|contact|texts|e-?mails|phone calls)\b(?P<rest2>[^.;]*)"
    r"|\b(?:take|remove|get|off)\b[^.;]{0,20}\b(?:off|from)\b[^.;]{0,12}\blists?\b"
    r"|^\W*stop\W*(?:;|$)|\bunsubscribe\w*|\bleave (?:me|us|him|her|them) (?:alone|be)\b"
    r"|\bopt(?:ed|s|ing)?[ -]?out\b",
    re.I,
)
# "Do not call before nine" tells when to call, "did not call back" who has to.
_LIMITED = re.compile(
    r"^\s*(?:me |us |him |her |them |customer )?"
    r"(?:before|after|until|till|at (?:work|home|night)|during|between|on (?:mon|tue|wed|thu|fri|"
    r"sat|sun|week)|in the (?:morning|evening|afternoon)|back\b|from \d)",
    re.I,
)
_WANTED = re.compile(r"\b(?P<one>texts?|e-?mails?|letters?)\s+(?:instead|only|is fine|are fine|ok)")
_VEHICLE = r"(?:truck|vehicle|car|van|bus|pick-?up|suv|unit|rig|trailer|it|this one)"
_GONE = re.compile(
    rf"\bsold\s+(?:(?:the|his|her|their|my|our|this|that)\s+)?{_VEHICLE}\b"
    rf"|\b{_VEHICLE}\s+(?:(?:is|was|has been|been|got)\s+)?(?:sold|gone|scrapped|totall?ed)\b"
    r"|\btraded\s+(?:\w+\s+){0,2}in\b|\bno longer (?:has|have|owns?)\b|^\s*(?:sold|scrapped)\W*$",
    re.I,
)


def refused_channels(words: str) -> tuple[str, ...]:
    """The channels by which a person asks not to be contacted; empty where nobody asks that.

    All of them, but one named as welcome ("do not call, text only").
    """
    said = words.replace("\N{RIGHT SINGLE QUOTATION MARK}", "'")
    for found in _LEFT_ALONE.finditer(said):
        rest = found.group("rest") or found.group("rest2") or ""
        if not _LIMITED.search(rest):
            return tuple(channel for channel in ALL if channel not in _wanted(said))
    return ()


def _wanted(said: str) -> set[str]:
    named = (found["one"].casefold() for found in _WANTED.finditer(said.casefold()))
    return {"text" if one.startswith("text") else "email" for one in named if one[0] in "te"}


def says_gone(words: str) -> bool:
    """Whether the words say that a vehicle was sold, scrapped or traded in."""
    return bool(_GONE.search(words))
