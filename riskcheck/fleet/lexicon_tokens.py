"""Shop shorthand to known words: signs, abbreviations, misspellings, words run together.

Spelling tolerance is a bounded edit distance (one edit from 5 letters, two from 7; a swap of
neighbours counts as one) to the lexicon's own words, decided once per distinct token.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from rapidfuzz import process
from rapidfuzz.distance import OSA

_TOKEN = re.compile(
    r"(?P<num>(?<![a-z0-9.])-?\d{1,3}(?:,\d{3})+(?:\.\d+)?|(?<![a-z0-9])-?\d*\.?\d+)"
    r"|(?P<word>[a-z][a-z0-9']*)|(?P<sep>[,;:!?()]|\.(?=\s|$)|\s[-–—/]+(?=\s|[a-z])|[–—])|(?P<sign>[/@%+&=])"
)
_TWO_DIGITS = re.compile(r"\d(?=\d)|(?<=\d)\d")
_DOTTED = re.compile(r"\b(?:[a-z]\.){2,}[a-z]?\b\.?")
_SHORT, _LONG = 5, 7
_VOWELS = "aeiou"


@dataclass(frozen=True, slots=True)
class Token:
    """One piece of a line: its known ``word``, the text as typed, and where it stands."""

    word: str
    text: str
    start: int
    end: int
    kind: str  # word | num | sep | sign


def template(line: str) -> str:
    """``line`` with the digits of longer numbers masked; lengths and places are kept."""
    return _TWO_DIGITS.sub("0", line.lower())


def templates(lines: Sequence[str]) -> list[str]:
    """``template`` of every line, in one pass over all of them."""
    joined = "\n".join([line.replace("\n", " ") if "\n" in line else line for line in lines])
    return template(joined).split("\n") if lines else []


class Speller:
    """Maps tokens to the lexicon's words; every distinct token is decided once."""

    def __init__(
        self, spellings: dict[str, str], phrases: dict[str, str], plain: set[str], used: set[str]
    ) -> None:
        self._known: dict[str, str] = {word: word for word in used | plain}
        self._known.update(spellings)
        self._targets = sorted(
            word for word in self._known if len(word) >= _SHORT and word.isalpha()
        )
        self._whole = sorted(word for word in used | set(spellings) if len(word) >= 4)
        self._phrases = {
            text: tuple(spellings.get(word, word) for word in words.split())
            for text, words in phrases.items()
        }
        self._phrase = _any_of(phrases)
        self._memo: dict[str, tuple[str, ...]] = {}

    def tokens(self, text: str) -> list[Token]:
        """Tokens of a lower-case line, in order; ``start`` and ``end`` count in ``text``."""
        found: list[Token] = []
        at = 0
        dotted = _DOTTED.sub(lambda m: m.group().replace(".", "").ljust(len(m.group())), text)
        for match in self._phrase.finditer(dotted):
            found.extend(self._plain(dotted, at, match.start()))
            for word in self._phrases[match.group()]:
                kind = "sep" if word in (",", ";") else "word"
                found.append(Token(word, match.group(), match.start(), match.end(), kind))
            at = match.end()
        found.extend(self._plain(dotted, at, len(dotted)))
        return found

    def words(self, token: str) -> tuple[str, ...]:
        """The known word (or words, if run together) that ``token`` stands for, or itself."""
        got = self._memo.get(token)
        if got is None:
            got = self._memo[token] = self._decide(token)
        return got

    def _plain(self, text: str, low: int, high: int) -> Iterable[Token]:
        for match in _TOKEN.finditer(text, low, high):
            kind = match.lastgroup or "word"
            piece = match.group()
            if kind == "word":
                for word in self.words(piece):
                    yield Token(word, piece, match.start(), match.end(), kind)
            else:
                word = "#" if kind == "num" else piece.strip()
                yield Token(word, piece, match.start(), match.end(), kind)

    def _decide(self, token: str) -> tuple[str, ...]:
        known = self._known.get(token)
        if known is not None:
            return tuple(known.split())
        stem = token[:-2] if token.endswith(("'s", "'d")) else token.rstrip("'")
        if stem.endswith("s") and stem[:-1] in self._known:
            return tuple(self._known[stem[:-1]].split())
        if stem in self._known:
            return tuple(self._known[stem].split())
        return self._split(stem) or self._nearest(stem)

    def _split(self, token: str) -> tuple[str, ...]:
        if len(token) < 8 or not token.isalpha():
            return ()
        for head in self._whole:
            if token.startswith(head):
                tail = token[len(head) :]
                if len(tail) >= 3 and tail in self._known and tail not in ("ing", "ion", "ers"):
                    return (*self._known[head].split(), *self._known[tail].split())
        return ()

    def _nearest(self, token: str) -> tuple[str, ...]:
        if len(token) < _SHORT or not token.isalpha():
            return (token,)
        limit = 1 if len(token) < _LONG else 2
        near = process.extract(
            token, self._targets, scorer=OSA.distance, score_cutoff=limit, limit=3
        )
        near = [each for each in near if each[0][0] == token[0] and _is_a_slip(token, each[0])]
        if not near:
            return (token,)
        best = min(near, key=lambda each: (each[1], each[0]))
        return tuple(self._known[best[0]].split())


def _is_a_slip(token: str, word: str) -> bool:
    """In a short word another consonant makes another word ("clear" is not "clean")."""
    if len(token) > _SHORT or len(token) != len(word):
        return True
    changed = [(a, b) for a, b in zip(token, word, strict=True) if a != b]
    return len(changed) != 1 or all(each in _VOWELS for each in changed[0])


def _any_of(phrases: Iterable[str]) -> re.Pattern[str]:
    """Longest phrase at a place, whole words only; shared beginnings are tried once."""
    worded = [text for text in phrases if text[0].isalnum()]
    signed = [text for text in phrases if not text[0].isalnum()]
    choices = []
    if worded:
        choices.append(r"(?<![a-z0-9])(?<!\.(?=\d))" + _branches(_tree(worded)))
    if signed:
        choices.append(_branches(_tree(signed)))
    return re.compile("|".join(choices) or r"(?!)")


_Tree = dict[str, Any]
_END = ""


def _tree(phrases: Iterable[str]) -> _Tree:
    root: _Tree = {}
    for text in phrases:
        node = root
        for sign in text:
            node = node.setdefault(sign, {})
        node[_END] = r"(?![a-z0-9])" if text[-1].isalnum() else "(?:)"
    return root


def _branches(node: _Tree) -> str:
    """Longer phrases stand before the end of shorter ones, so that they win."""
    choices = [re.escape(sign) + _branches(node[sign]) for sign in sorted(node) if sign != _END]
    if _END in node:
        choices.append(node[_END])
    return choices[0] if len(choices) == 1 else "(?:" + "|".join(choices) + ")"
