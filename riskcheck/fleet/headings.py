"""Which field a heading means, and how sure that is."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from rapidfuzz import fuzz, process

SURE = 88.0  # fuzzy scores below this are asked about, never used (choice, no source)
WORTH_ASKING = 74.0
NEAR = "near a known heading"
_SAME_WORD, _RUN_TOGETHER = 75.0, 92.0
_FILLERS = {"the", "of", "a", "an", "for", "our", "s", "current"}
_FAR = 60.0  # not worth comparing
MARGIN = 5.0  # the next field must be at least this far behind

_CAMEL = re.compile(r"(?<=[a-z])(?=[A-Z])")
_UNIT_TAIL = re.compile(r"[\(\[]\s*([^\)\]]{1,12})\s*[\)\]]")
_NOT_WORD = re.compile(r"[^a-z0-9%]+")
_UNIT_WORDS = {
    "km": "km", "kms": "km", "kilometers": "km", "kilometres": "km",
    "mi": "mi", "mile": "mi", "miles": "mi",
    "lb": "lb", "lbs": "lb", "pounds": "lb", "kg": "kg", "kgs": "kg",
    "h": "h", "hr": "h", "hrs": "h", "hours": "h",
}  # fmt: skip


def normalise(heading: object) -> str:
    """A heading in plain lower-case words: "Veh. #" and "VehNo" both become "veh no"."""
    text = unicodedata.normalize("NFKC", str(heading))
    text = _CAMEL.sub(" ", text).casefold().replace("#", " no ").replace("&", " and ")
    return " ".join(_NOT_WORD.sub(" ", text).split())


def unit_of(heading: object) -> str:
    """The unit a heading states: "Odometer (km)" -> km, "km" -> km, else ""."""
    found = _UNIT_TAIL.search(str(heading))
    words = normalise(found.group(1) if found else heading).split()
    for word in reversed(words):
        if word in _UNIT_WORDS:
            return _UNIT_WORDS[word]
    return ""


@dataclass(frozen=True)
class HeadingMatch:
    """What a heading was taken for: ``field`` is "" where nothing was sure enough."""

    field: str
    confidence: float
    how: str
    instead: tuple[str, ...] = ()


class HeadingBook:
    """All headings of one kind of sheet, for exact and near matches."""

    def __init__(self, words: Mapping[str, Sequence[str]]) -> None:
        self._exact: dict[str, str] = {}
        for field, listed in words.items():
            for word in listed:
                self._exact.setdefault(normalise(word), field)
        self._known = [word for word in self._exact if len(word) > 3]
        self._seen: dict[str, HeadingMatch] = {}

    @property
    def words(self) -> frozenset[str]:
        """Every heading that is matched exactly, normalised."""
        return frozenset(self._exact)

    def exact(self, text: str) -> str:
        """The field of a normalised heading, "" if it is not a known one."""
        return self._exact.get(text) or self._exact.get(without_unit(text), "")

    def match(self, heading: object) -> HeadingMatch:
        """Exact first, then near; a near match must be sure and clear of the next field."""
        text = normalise(_UNIT_TAIL.sub(" ", str(heading))) or normalise(heading)
        if text not in self._seen:
            self._seen[text] = self._match(text)
        return self._seen[text]

    def _match(self, text: str) -> HeadingMatch:
        if not text:
            return HeadingMatch("", 0.0, "blank")
        field = self.exact(text)
        if field:
            return HeadingMatch(field, 100.0, "known heading")
        best: dict[str, float] = {}
        for scorer in (fuzz.ratio, fuzz.token_sort_ratio):
            close = process.extract(text, self._known, scorer=scorer, limit=None, score_cutoff=_FAR)
            for word, score, _ in close:
                if _same_meaning(text, word):
                    name = self._exact[word]
                    best[name] = max(best.get(name, 0.0), score)
        ranked = sorted(best.items(), key=lambda item: (-item[1], item[0]))
        if not ranked or ranked[0][1] < WORTH_ASKING or len(text) < 4:
            return HeadingMatch("", ranked[0][1] if ranked else 0.0, "not understood")
        behind = ranked[1][1] if len(ranked) > 1 else 0.0
        if ranked[0][1] >= SURE and ranked[0][1] - behind >= MARGIN:
            return HeadingMatch(ranked[0][0], round(ranked[0][1], 1), NEAR)
        near = tuple(name for name, score in ranked[:3] if score >= WORTH_ASKING)
        return HeadingMatch("", round(ranked[0][1], 1), "not sure enough", near)


def _same_meaning(one: str, other: str) -> bool:
    """Whether each word of one heading stands, perhaps misspelt or cut short, in the other.

    "last svc date" and "in svc date" look alike, but "last" and "in" part them.
    """
    if fuzz.ratio(one.replace(" ", ""), other.replace(" ", "")) >= _RUN_TOGETHER:
        return True
    waiting = [word for word in other.split() if word not in _FILLERS]
    for word in one.split():
        if word in _FILLERS:
            continue
        pair = next((known for known in waiting if _same_word(word, known)), None)
        if pair is None:
            return False
        waiting.remove(pair)
    return not waiting


def _same_word(one: str, other: str) -> bool:
    short, long = sorted((one, other), key=len)
    if len(short) < 4:
        return one == other or (len(short) == 3 and long.startswith(short))
    return long.startswith(short) or fuzz.ratio(one, other) >= _SAME_WORD


def without_unit(text: str) -> str:
    """A normalised heading without the unit at its end: "odometer km" -> "odometer"."""
    words = text.split()
    return " ".join(words[:-1]) if len(words) > 1 and words[-1] in _UNIT_WORDS else text
