"""Lines as pieces: the stretches between separators, each cut, judged and searched once.

Shops write few phrases and join them freely, so almost every piece of a long history has been
met before; what a line says is composed from what its pieces say.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

from riskcheck.fleet.lexicon_clauses import ClauseReader
from riskcheck.fleet.lexicon_model import Wording
from riskcheck.fleet.lexicon_tokens import template
from riskcheck.fleet.lexicon_values import Spot, ValueReader
from riskcheck.fleet.lexicon_verdicts import Clause, Statement

_SEPARATOR = re.compile(r"[,;](?!\d)|\s[-–—]+(?=\s)")
_BRACKET_APART = re.compile(r"\([^()]*(?:[,;]|\s[-–—]+\s)")


@dataclass(slots=True)
class Piece:
    """One stretch of a line with its numbers masked.

    ``spans``: where its clauses stand in the piece; ``meaning``: number of its statements among
    all met so far; ``near``: words in it by which quantities are recognised; ``spots``: where
    values may stand, each with the words of which the line must say one.
    """

    clauses: list[Clause]
    spans: tuple[tuple[int, int], ...]
    meaning: int
    near: frozenset[str]
    canonical: str
    spots: tuple[tuple[Spot, frozenset[str]], ...]


class PieceReader:
    """Cuts masked lines into pieces and keeps what each piece says."""

    def __init__(self, wording: Wording, values: ValueReader) -> None:
        self._reader = ClauseReader(wording)
        self._values = values
        self._pieces: dict[str, Piece] = {}
        self._meanings: dict[tuple[Statement, ...], int] = {}
        self.statements: list[tuple[Statement, ...]] = []

    def pieces(self, masked: str) -> list[tuple[int, Piece]]:
        """The pieces of a line, each with the place where it begins."""
        if _BRACKET_APART.search(masked):
            return [(0, self._piece(masked))]
        found: list[tuple[int, Piece]] = []
        low = 0
        for match in _SEPARATOR.finditer(masked):
            if not low and match.group()[-1] in "-–—":
                continue  # what heads a line may judge the rest of it: read them together
            if match.start() > low:
                found.append((low, self._piece(masked[low : match.start()])))
            low = match.end()
        if low < len(masked):
            found.append((low, self._piece(masked[low:])))
        return found

    def spots(self, pieces: Sequence[tuple[int, Piece]]) -> tuple[Spot, ...]:
        """Places of values in a line; clauses and places count through the whole line."""
        if not any(piece.spots for _, piece in pieces):
            return ()
        said = frozenset().union(*[piece.near for _, piece in pieces])
        found: list[Spot] = []
        clause = 0
        for start, piece in pieces:
            found += [
                spot.moved(start, clause)
                for spot, near in piece.spots
                if not near or not near.isdisjoint(said)
            ]
            clause += len(piece.clauses)
        return tuple(found)

    def canonical(self, line: str) -> str:
        """``line`` in the lexicon's own words, numbers as #."""
        return " , ".join(piece.canonical for _, piece in self.pieces(template(line)))

    def _piece(self, text: str) -> Piece:
        piece = self._pieces.get(text)
        if piece is None:
            piece = self._pieces[text] = self._read(text)
        return piece

    def _read(self, text: str) -> Piece:
        clauses = self._reader.clauses(text)
        said = {token.word for clause in clauses for token in clause.tokens}
        statements = tuple(clause.statement for clause in clauses)
        meaning = self._meanings.setdefault(statements, len(self.statements))
        if meaning == len(self.statements):
            self.statements.append(statements)
        return Piece(
            clauses=clauses,
            spans=tuple(clause.span for clause in clauses),
            meaning=meaning,
            near=self._values.near & said,
            canonical=" ".join(token.word for clause in clauses for token in clause.tokens),
            spots=self._values.spots(clauses),
        )
