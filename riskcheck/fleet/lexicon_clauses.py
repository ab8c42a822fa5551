"""From tokens to clauses: which parts a clause names, and the one verdict it holds.

A line is cut at commas, dashes, "but" and the like, and again where a second verdict begins
("replaced pads, hoses cracked - declined").  Within a clause the weaker reading wins: whatever is
refused, advised, negated or awaited was not done, however many words of work stand beside it.
"""

from __future__ import annotations

import itertools
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, replace

from riskcheck.fleet.lexicon_model import Wording, topics_of
from riskcheck.fleet.lexicon_strangers import Strangers
from riskcheck.fleet.lexicon_tokens import Speller, Token
from riskcheck.fleet.lexicon_verdicts import (
    ACTION_SET,
    JOINERS,
    MODIFIERS,
    Clause,
    Named,
    Signal,
    state,
)

_REFUSALS = frozenset({"declined", "recommended", "quoted", "found", "pending"})
_SAID = frozenset({"declined", "recommended", "quoted", "pending", "good", "bad", "check"})
_SLACK = 4


class ClauseReader:
    """Cuts lines into clauses and judges them by the words of one wording."""

    def __init__(self, wording: Wording) -> None:
        self._signals = _by_first_word(wording)
        self._subjects = _by_key_word(wording)
        self._small_parts = {
            words[0]
            for entries in self._signals.values()
            for words, name, _ in entries
            if name == "other_part" and len(words) == 1
        }
        self._memo: dict[tuple[object, ...], list[Clause]] = {}
        self._only_alike = {
            name for name, each in wording.subjects.items() if not topics_of(each) and not each.does
        }
        self._strangers = Strangers.of(wording, self._only_alike)
        self._outranks = {name: set(each.outranks) for name, each in wording.subjects.items()}
        used = {
            word for phrases in self._signals.values() for words, _, _ in phrases for word in words
        }
        self._named = {
            word for each in self._subjects.values() for called in each for word in called.words
        }
        used |= self._named
        self._trade_words = used | JOINERS
        used |= wording.measured_words()
        used |= {word for words in wording.around.values() for word in wording.spelled(words)}
        used -= {"#"}
        self.speller = Speller(wording.spellings, wording.phrases, wording.plain, used)

    def clauses(self, text: str) -> list[Clause]:
        """Clauses of a lower-case line, each judged by its words alone."""
        found: list[Clause] = []
        for piece, separator in self._pieces(self.speller.tokens(text)):
            key = (separator, *[(t.word, t.text if t.kind == "word" else "") for t in piece])
            known = self._memo.get(key)
            if known is None:
                known = self._memo[key] = list(self._cut(piece))
                for clause in known:
                    last = clause is known[-1]
                    said = state(clause, separator if last else "", self._talks(clause))
                    elsewhere = self._strangers.speaks_of_machines(clause.tokens, clause.named)
                    clause.statement = replace(said, elsewhere=elsewhere)
            low = 0
            for each in known:
                high = low + len(each.tokens)
                found.append(Clause(piece[low:high], each.signals, each.named, each.statement))
                low = high
        return found

    def _talks(self, clause: Clause) -> bool:
        words = (token.word for token in clause.tokens if token.kind == "word")
        return not self._trade_words.issuperset(words)

    def _pieces(self, tokens: list[Token]) -> Iterable[tuple[list[Token], str]]:
        """Runs of tokens and the separator behind; a bracket without a verdict is none."""
        piece: list[Token] = []
        for index, token in enumerate(tokens):
            if token.kind != "sep":
                piece.append(token)
            elif token.word in "()" and not self._tells(tokens, index):
                continue
            elif piece:
                yield piece, token.word
                piece = []
        if piece:
            yield piece, ""

    def _tells(self, tokens: list[Token], bracket: int) -> bool:
        step = 1 if tokens[bracket].word == "(" else -1
        inside: list[str] = []
        at = bracket + step
        while 0 <= at < len(tokens) and tokens[at].word not in "()":
            inside.insert(0 if step < 0 else len(inside), tokens[at].word)
            at += step
        return any(each.name not in MODIFIERS for each in self._find_signals(inside))

    def _cut(self, tokens: list[Token]) -> Iterable[Clause]:
        whole = self._clause(tokens)
        at = _second_verdict(whole)
        if at is None:
            yield whole
            return
        yield self._clause(tokens[:at])
        yield from self._cut(tokens[at:])

    def _clause(self, tokens: list[Token]) -> Clause:
        words = [token.word for token in tokens]
        named = self._strangers.own(tokens, self._find_named(words))
        return Clause(tokens, self._find_signals(words), named)

    def _find_signals(self, words: list[str]) -> list[Signal]:
        found: list[Signal] = []
        at = 0
        while at < len(words):
            step = 1
            for phrase, name, pattern in self._signals.get(words[at], ()):
                if tuple(words[at : at + len(phrase)]) == phrase:
                    found.append(Signal(name, at, at + len(phrase) - 1, pattern))
                    step = max(step, len(phrase))
                    if len(phrase) > 1:
                        break
            at += step
        return found

    def _find_named(self, words: list[str]) -> list[Named]:
        places: dict[str, list[int]] = {}
        for index, word in enumerate(words):
            if word in self._named:
                places.setdefault(word, []).append(index)
        found: list[Named] = []
        for key, starts in places.items():
            for called in self._subjects.get(key, ()):
                if all(word in places for word in called.others):
                    for start in starts:
                        spots = _nearest_places(called.words, places, start)
                        if self._one_part(called, spots, words):
                            found.append(Named(called.subject, frozenset(spots), called.pattern))
        if len(found) < 2:
            return found
        kept = [each for each in found if not any(self._outdoes(other, each) for other in found)]
        unique = {(each.subject, min(each.places)): each for each in kept}
        return sorted(unique.values(), key=lambda each: (min(each.places), each.subject))

    def _one_part(self, called: _Called, spots: list[int], words: list[str]) -> bool:
        """Whether words at ``spots`` can name one part: near, in order, not two parts joined."""
        low, high = min(spots), max(spots)
        if high - low >= len(spots) + _SLACK or not called.in_order(spots):
            return False
        between = words[low + 1 : high] if high - low >= len(spots) else ()
        if "with" in between:
            joint = words.index("with", low)
            if any(spot > joint and words[spot] in self._small_parts for spot in spots):
                return False
        alike = called.subject in self._only_alike
        return not (alike and any(word in JOINERS for word in between))

    def _outdoes(self, one: Named, other: Named) -> bool:
        """The longer name wins; where a word is shared, look-alikes and outranking parts do."""
        if other.places < one.places:
            return True
        if other.subject in self._outranks.get(one.subject, ()) and one.places & other.places:
            return True
        shares = (
            bool(one.places & other.places)
            and len(one.places) >= len(other.places)
            and _width(one) <= _width(other)
        )
        return shares and one.subject in self._only_alike and other.subject not in self._only_alike


def _second_verdict(clause: Clause) -> int | None:
    """Token place at which a second verdict about another part begins, if any."""
    if len(clause.named) < 2:
        return None
    starts = sorted(min(each.places) for each in clause.named)
    for index, signal in enumerate(clause.signals):
        earlier = [each for each in clause.signals[:index] if each.name in ACTION_SET]
        if not earlier or signal.first == 0:
            continue
        parts_before = any(start < signal.first for start in starts)
        parts_after = any(start > signal.last for start in starts)
        if signal.name in _REFUSALS and parts_before and parts_after:
            return signal.first
    for place, token in enumerate(clause.tokens):
        if token.word in ("and", "&", "+", "with", "w") and 0 < place < len(clause.tokens) - 1:
            before = {each.name for each in clause.signals if each.last < place}
            after = {each.name for each in clause.signals if each.first > place}
            told = any(start < place for start in starts) and any(start > place for start in starts)
            if told and before & ACTION_SET and after & (_SAID | {"negation"}):
                return place + 1
    return None


def _width(named: Named) -> int:
    return max(named.places) - min(named.places)


def _nearest_places(phrase: tuple[str, ...], places: dict[str, list[int]], start: int) -> list[int]:
    return [start, *(min(places[word], key=lambda at: abs(at - start)) for word in phrase[1:])]


@dataclass(frozen=True, slots=True)
class _Called:
    """One phrase by which a subject is called: its rarest word first, then the ``others``.

    ``chains``: pairs of places in ``words`` that must be neighbours in the line.
    """

    words: tuple[str, ...]
    others: tuple[str, ...]
    chains: tuple[tuple[int, int], ...]
    subject: str
    pattern: str

    def in_order(self, spots: list[int]) -> bool:
        """Whether words joined by ``_`` stand next to each other in that order."""
        return all(spots[after] == spots[before] + 1 for before, after in self.chains)


_Phrases = dict[str, list[tuple[tuple[str, ...], str, str]]]


def _by_first_word(wording: Wording) -> _Phrases:
    table: _Phrases = {}
    for name, phrases in wording.signals.items():
        for phrase in phrases:
            words = wording.spelled(phrase.lower().split())
            table.setdefault(words[0], []).append((words, name, f"{name}: {phrase}"))
    for entries in table.values():
        entries.sort(key=lambda each: (-len(each[0]), each[1]))
    return table


def _by_key_word(wording: Wording) -> dict[str, list[_Called]]:
    """Phrases under their rarest word, which is put first."""
    phrases = [
        (words, name, called)
        for name, subject in wording.subjects.items()
        for called in subject.called
        for words in map(wording.spelled, expand(called.lower()))
    ]
    uses = Counter(word for words, _, _ in phrases for word in words)
    table: dict[str, list[_Called]] = {}
    for words, name, called in phrases:
        key = min(words, key=lambda word: (uses[word], word))
        ordered = (key, *(word for word in words if word != key))
        chains = tuple(
            (ordered.index(before), ordered.index(after))
            for chain in called.lower().split(" ")
            for before, after in itertools.pairwise(wording.spelled(chain.split("_")))
        )
        table.setdefault(key, []).append(
            _Called(ordered, ordered[1:], chains, name, f"{name}: {called}")
        )
    return table


def expand(called: str) -> list[tuple[str, ...]]:
    """``"brake hose|line"`` as its plain phrases; ``_`` joins words that must be neighbours."""
    phrases: list[tuple[str, ...]] = [()]
    for word in called.replace("_", " ").split():
        phrases = [(*phrase, choice) for phrase in phrases for choice in word.split("|")]
    return phrases
