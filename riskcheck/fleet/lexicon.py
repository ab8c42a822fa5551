"""The wording lexicon: service lines in, events with marks and measured values out.

``load(dirs)`` layers wording files; ``Lexicon.read(lines)`` reads every distinct line once and
every phrase between separators once, so that a million lines cost about as much as the phrases
of which they are made.
"""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import numpy as np
import pandas as pd

from riskcheck.fleet.lexicon_crew import Found, share_out, uncollected
from riskcheck.fleet.lexicon_events import EventReader, Judged, Reading, Row
from riskcheck.fleet.lexicon_model import NOTHING, Wording, load_wording
from riskcheck.fleet.lexicon_pieces import Piece, PieceReader
from riskcheck.fleet.lexicon_tokens import template, templates
from riskcheck.fleet.lexicon_unread import unread_frame
from riskcheck.fleet.lexicon_values import Value, ValueReader

COLUMNS = (
    "line_no", "topic", "hazards", "mark", "quantity", "value", "unit", "words", "needs_attention",
)  # fmt: skip

_Key = tuple[tuple[int, ...], tuple[Judged, ...]]
_Pieces = list[tuple[int, Piece]]
_NO_VALUE = Value("", float("nan"), "")


def load(dirs: Sequence[Path]) -> Lexicon:
    """Lexicon of all wording files in ``dirs`` (or their ``wording`` folders), later over earlier.

    Raises RulebookError with file and line of every fault.
    """
    return Lexicon(load_wording(dirs))


class Lexicon:
    """Turns service lines into events; see ``read``."""

    def __init__(self, wording: Wording) -> None:
        self.wording = wording
        self._values = ValueReader(wording)
        self._pieces = PieceReader(wording, self._values)
        self._events = EventReader(wording)
        self._numbers: dict[_Key, int] = {}
        self._readings: list[Reading] = []
        self._hazards = {
            name: "; ".join(sorted(topic.hazards)) for name, topic in wording.topics.items()
        }
        self._taught = {
            self.canonical(text): self._add(
                Reading(
                    tuple(
                        Row(each.topic, each.mark, 0, 100, each.mark == "ambiguous")
                        for each in meanings
                        if each.topic != NOTHING
                    ),
                    (),
                )
            )
            for text, meanings in wording.lines.items()
        }

    def read(self, lines: Sequence[str] | pd.Series) -> pd.DataFrame:
        """Events of ``lines``.

        Columns: line_no (int64, place in ``lines``), topic, hazards ("; " joined), mark (one of
        vocabulary.MARK_ORDER, or "" for a value that says neither good nor bad), quantity, value
        (float64, NaN without one), unit, words (the piece that decided), needs_attention (bool).
        Sorted by line_no, then in the order of the line.
        """
        codes, distinct = pd.factorize(_texts(lines))
        found = share_out(self.wording, list(distinct), self.collect)
        return self._frame(codes, found)

    def collect(self, lines: list[str]) -> Found:
        """What each of ``lines`` says, in order."""
        with uncollected():
            return self._collect(lines)

    def _collect(self, lines: list[str]) -> Found:
        found = Found()
        numbers: dict[int, int] = {}
        for line, masked in zip(lines, templates(lines), strict=True):
            number, pieces, values = self._interpret(line, masked)
            rows = self._readings[number].rows
            place = numbers.get(number)
            if place is None:
                place = numbers[number] = len(found.rows)
                found.rows.append(rows)
            found.readings.append(place)
            if rows:
                text = line if len(masked) == len(line) else masked
                _add_own(found, text, rows, pieces, values)
        return found

    def verdict(self, line: str, hazard_id: str) -> str:
        """The one mark ``line`` has for ``hazard_id``; "" where it does not speak of it.

        A part that merely sounds alike gives "not_done".
        """
        number, _, _ = self._interpret(line, template(line))
        return self._events.main_mark(self._readings[number], hazard_id)

    def knows(self, line: str) -> bool:
        """Whether ``line`` names anything the lexicon knows (a look-alike counts)."""
        if self._taught and self.canonical(line) in self._taught:
            return True
        reading = self._readings[self._interpret(line, template(line))[0]]
        return bool(reading.rows or reading.look_alikes)

    def unread(self, lines: Sequence[str] | pd.Series) -> pd.DataFrame:
        """Wordings of ``lines`` that say nothing the lexicon knows, most frequent first.

        Columns as in lexicon_unread.UNREAD_COLUMNS.  Lines that differ only in their numbers or
        in spelling the lexicon can mend are one wording, shown as first met.
        """
        codes, distinct = pd.factorize(_texts(lines))
        often = np.bincount(codes, minlength=len(distinct))
        first: dict[str, str] = {}
        counts: dict[str, int] = {}
        for line, count in zip(distinct, often, strict=True):
            text = str(line).strip()
            if not text or self.knows(text):
                continue
            key = self.canonical(text)
            first.setdefault(key, text)
            counts[key] = counts.get(key, 0) + int(count)
        keys = list(first)
        return unread_frame(
            [first[key] for key in keys], [counts[key] for key in keys], keys, self.wording
        )

    def patterns_used(self, line: str) -> set[str]:
        """Names of the wording patterns that match in ``line``, as "subject: phrase"."""
        clauses = [
            clause for _, piece in self._pieces.pieces(template(line)) for clause in piece.clauses
        ]
        signals = {each.pattern for clause in clauses for each in clause.signals}
        return signals | {each.pattern for clause in clauses for each in clause.named}

    def canonical(self, line: str) -> str:
        """``line`` in the lexicon's own words, numbers as #."""
        return self._pieces.canonical(line)

    def _interpret(self, line: str, masked: str) -> tuple[int, _Pieces, list[Value]]:
        """(number of the reading, pieces, values) of one line."""
        pieces = self._pieces.pieces(masked)
        if self._taught:
            taught = self._taught.get(self.canonical(masked))
            if taught is not None:
                return taught, [], []
        spots = self._pieces.spots(pieces)
        values: list[Value] = []
        judged: tuple[Judged, ...] = ()
        if spots:
            values, judged = self._values.read(line.lower(), spots)
        key = (tuple([piece.meaning for _, piece in pieces]), judged)
        number = self._numbers.get(key)
        if number is None:
            statements = [
                each for _, piece in pieces for each in self._pieces.statements[piece.meaning]
            ]
            number = self._numbers[key] = self._add(self._events.read(statements, judged))
        return number, pieces, values

    def _add(self, reading: Reading) -> int:
        self._readings.append(reading)
        return len(self._readings) - 1

    def _frame(self, codes: np.ndarray, found: Found) -> pd.DataFrame:
        """Events of all lines from those of the distinct ones; ``codes``: which line is which."""
        place = np.array(found.readings, dtype=np.int64)
        size = np.array([len(rows) for rows in found.rows], dtype=np.int64)
        _, of_line = _ranges(_starts(size)[place], size[place])  # rows of each distinct line
        line_no, take = _ranges(_starts(size[place])[codes], size[place][codes])
        flat = [row for rows in found.rows for row in rows]
        each = of_line[take]
        frame = pd.DataFrame({"line_no": line_no})
        frame["topic"] = _objects([row.topic for row in flat])[each]
        frame["hazards"] = _objects([self._hazards[row.topic] for row in flat])[each]
        frame["mark"] = _objects([row.mark for row in flat])[each]
        frame["quantity"] = _objects(found.quantities)[take]
        frame["value"] = np.array(found.values, dtype=float)[take]
        frame["unit"] = _objects(found.units)[take]
        frame["words"] = _objects(found.words)[take]
        frame["needs_attention"] = np.array([row.attention for row in flat], dtype=bool)[each]
        return frame


def _add_own(
    found: Found, text: str, rows: Sequence[Row], pieces: _Pieces, values: Sequence[Value]
) -> None:
    """Add what events have of their own line: the words that decided and the value."""
    spans = [(start + low, start + high) for start, piece in pieces for low, high in piece.spans]
    for row in rows:
        low, high = spans[row.clause] if spans else (0, len(text))
        found.words.append(text[low:high].strip())
        value = values[row.value] if row.value >= 0 else _NO_VALUE
        found.quantities.append(value.quantity)
        found.values.append(value.value)
        found.units.append(value.unit)


def _starts(sizes: np.ndarray) -> np.ndarray:
    starts: np.ndarray = np.cumsum(sizes) - sizes
    return starts


def _ranges(starts: np.ndarray, sizes: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """(which range, place) for every place of the ranges that begin at ``starts``."""
    which = np.repeat(np.arange(len(sizes), dtype=np.int64), sizes)
    within = np.arange(len(which), dtype=np.int64) - _starts(sizes)[which]
    return which, starts[which] + within


def _objects(values: Sequence[str]) -> np.ndarray:
    array = np.empty(len(values), dtype=object)
    array[:] = values
    return array


def _texts(lines: Sequence[str] | pd.Series) -> np.ndarray:
    texts = np.empty(len(lines), dtype=object)
    texts[:] = ["" if line is None or line != line else str(line) for line in lines]
    return texts
