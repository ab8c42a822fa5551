"""Calm language: what no text for a customer may claim, and how chances may be put.

The list is used on hazard texts, on message templates and on every message before it is written.
Natural frequencies with one fixed denominator are what lay readers understand best (Gigerenzer &
Edwards, BMJ 2003;327:741-744); "1 in X" reads as more than the same chance told as "N of 100"
(Pighin et al., Medical Decision Making 2011;31:721-729, from memory).
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass


@dataclass(frozen=True)
class Fault:
    """One word that says too much: as written, why it may not stand, what to say instead.

    ``line`` is the line of the text, from 1.
    """

    word: str
    why: str
    instead: str
    line: int = 1

    def words(self) -> str:
        """One sentence: the word, why, what instead."""
        return f'"{self.word}" {self.why}: {self.instead}'


@dataclass(frozen=True)
class Chance:
    """A chance written in a text: as written, its denominator ("100", "1000", "%"), its line."""

    word: str
    of: str
    line: int


# (pattern, why, instead); patterns are matched as whole words, whatever their case.
OVERCLAIMS: tuple[tuple[str, str, str], ...] = (
    (
        r"(?:will|is going to|are going to|is about to|are about to) (?:\w+ ){0,2}"
        r"(?:fail|break|burn|seize|go wrong|happen|leave you|strand)",
        "foretells what nobody knows",
        "say what may happen, and how often",
    ),
    (
        r"unsafe|unroadworthy|deathtrap|death trap|ticking|time bomb|deadly"
        r"|disaster(?:s|ous)?|catastroph\w+",
        "frightens instead of telling",
        "say what was found and what it can lead to",
    ),
    (
        r"recall(?:ed|s)?",
        "is a word for the manufacturer and the authorities",
        "name the official notice and send the owner to a franchised dealer",
    ),
    (r"guarante\w*", "promises what nobody can", "say what was measured"),
    (r"defect(?:s|ive)?", "blames the maker", "say what the part does with age"),
    (
        r"certain(?:ly)? to|definitely|inevitabl\w+|bound to|no doubt|without fail",
        "claims certainty",
        "give the chance instead",
    ),
    (
        r"(?:last|final) (?:chance|warning|notice)|act now|before it is too late|too late"
        r"|do(?: not|n't) (?:risk it|wait any longer|delay|put it off)|you must|you have to",
        "presses the reader",
        "say that waiting is a choice and what waiting may cost",
    ),
    (
        r"required by (?:the )?(?:law|maker|manufacturer|state)|legally required|by law",
        "claims a duty that may not be there",
        "quote the rule and where it stands, or leave it out",
    ),
    (
        r"(?:insurance|warranty) will(?: not|n't)? (?:pay|cover)",
        "speaks for an insurer or a maker",
        "tell the owner whom to ask",
    ),
    (
        r"(?:twice|half|double|triple|(?:\w+|[\d.]+) times) (?:as|more|less) (?:likely|often|risky)"
        r"|(?:doubles|triples) the (?:risk|chance)",
        "compares without saying with how many",
        "give both chances of the same number",
    ),
)
_SAFE = re.compile(
    r"\b(?:(?:is|are|it's|they're|now|again|perfectly|completely|totally|fully) safe"
    r"|safe (?:to|for) (?:drive|driving|the road|use|tow|towing)|road ?worthy|good to go)\b",
    re.I,
)
# "riskcheck never says that a vehicle is safe" is the opposite of the claim.
_NOT_SAID = re.compile(
    r"\b(?:never|not|no|nobody|cannot|can't|doesn't|don't) (?:\w+ ){0,4}?"
    r"(?:says?|said|means?|promises?|knows?|tells?|prove[sn]?)\b[^.!?]*$",
    re.I,
)
_COMPILED = tuple(
    (re.compile(rf"\b(?:{pattern})\b", re.I), why, instead) for pattern, why, instead in OVERCLAIMS
)
_UNIT = r"(?!\s*(?:days?|weeks?|months?|years?|hours?|h|min|minutes?|mi|miles?|km|ft|in|mm|lb)\b)"
_TOTALS = r"(?:10{1,6}|1,000|10,000|100,000|1,000,000)"
_CHANCE = re.compile(
    rf"\b(?P<n>\d[\d.,]*)\s+(?:(?:of|out of)\s+(?:every\s+)?(?P<of>{_TOTALS})(?![\d,]*\d)"
    rf"|(?:in|out of)\s+(?:every\s+)?(?P<in>\d[\d,]*)(?!\d){_UNIT})"
    r"|\b\d[\d.]*\s?(?P<percent>%|per ?cent\b)",
    re.I,
)


def faults(text: str, *, names: Iterable[str] = ()) -> tuple[Fault, ...]:
    """What ``text`` claims too much, in order of appearance; empty where it is calm.

    ``names`` are stretches of text that are somebody's name or address, not our words: they are
    not judged.
    """
    judged = _without(text, names)
    found = [
        (match.start(), match.group(0), why, instead)
        for pattern, why, instead in _COMPILED
        for match in pattern.finditer(judged)
    ]
    found += [*_safe(judged), *_chances_at_odds(judged)]
    return tuple(
        Fault(" ".join(word.split()), why, instead, judged.count("\n", 0, at) + 1)
        for at, word, why, instead in sorted(found)
    )


def chances(text: str) -> tuple[Chance, ...]:
    """Every chance that stands written in ``text``: counts of a fixed total, "1 in X", percent."""
    return tuple(
        Chance(match.group(0), _total(match), text.count("\n", 0, match.start()) + 1)
        for match in _CHANCE.finditer(text)
    )


def _without(text: str, names: Iterable[str]) -> str:
    """The text with each name blanked out, every other character in its place."""
    for name in sorted({name for name in names if name.strip()}, key=lambda n: (-len(n), n)):
        text = text.replace(name, "".join("\n" if c == "\n" else "_" for c in name))
    return text


def _safe(text: str) -> Iterator[tuple[int, str, str, str]]:
    for match in _SAFE.finditer(text):
        if not _NOT_SAID.search(text[: match.start()]):
            why = "says that a vehicle is safe, which nobody can know"
            yield match.start(), match.group(0), why, "say what was looked at and what was measured"


def _chances_at_odds(text: str) -> Iterator[tuple[int, str, str, str]]:
    """Chances told as "1 in X", and chances of one text that do not share one denominator."""
    told = list(_CHANCE.finditer(text))
    totals = sorted({_total(match) for match in told})
    for match in told:
        if match.group("in"):
            why = "reads as more than it is"
            yield match.start(), match.group(0), why, 'write "about N of 100 (low to high)"'
        elif len(totals) > 1:
            why = f"is told beside chances with another denominator ({', '.join(totals)})"
            yield match.start(), match.group(0), why, "use one denominator in a message"


def _total(match: re.Match[str]) -> str:
    return "%" if match.group("percent") else (match["of"] or match["in"]).replace(",", "")
