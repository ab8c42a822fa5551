"""The wording lexicon: service lines in, events with marks and measured values out.

``load(dirs)`` layers wording files; ``Lexicon.read(lines)`` matches every distinct line once.
Lines that differ only in the digits of their numbers share one interpretation, so that a million
lines cost about as much as their distinct wordings.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pandas as pd

from riskcheck.fleet.lexicon_clauses import ClauseReader
from riskcheck.fleet.lexicon_events import Judged, Reading, Row, main_mark, read_clauses
from riskcheck.fleet.lexicon_model import NOTHING, Wording, load_wording
from riskcheck.fleet.lexicon_tokens import template
from riskcheck.fleet.lexicon_unread import unread_frame
from riskcheck.fleet.lexicon_values import Spot, Value, ValueReader
from riskcheck.fleet.lexicon_verdicts import Clause

COLUMNS = (
    "line_no", "topic", "hazards", "mark", "quantity", "value", "unit", "words", "needs_attention",
)  # fmt: skip


@dataclass(slots=True)
class _Template:
    """One wording with its numbers masked: clauses, places of values, readings by judgement."""

    clauses: list[Clause]
    spots: tuple[Spot, ...]
    readings: dict[tuple[Judged, ...], Reading]
    declared: bool = False


def load(dirs: Sequence[Path]) -> Lexicon:
    """Lexicon of all wording files in ``dirs`` (or their ``wording`` folders), later over earlier.

    Raises RulebookError with file and line of every fault.
    """
    return Lexicon(load_wording(dirs))


class Lexicon:
    """Turns service lines into events; see ``read``."""

    def __init__(self, wording: Wording) -> None:
        self.wording = wording
        self._clauses = ClauseReader(wording)
        self._values = ValueReader(wording)
        self._memo: dict[str, _Template] = {}
        self._hazards = {
            name: "; ".join(sorted(topic.hazards)) for name, topic in wording.topics.items()
        }
        self._filled = {self.canonical(text): meanings for text, meanings in wording.lines.items()}

    def read(self, lines: Sequence[str] | pd.Series) -> pd.DataFrame:
        """Events of ``lines``.

        Columns: line_no (int64, place in ``lines``), topic, hazards ("; " joined), mark (one of
        vocabulary.MARK_ORDER, or "" for a value that says neither good nor bad), quantity, value
        (float64, NaN without one), unit, words (the piece that decided), needs_attention (bool).
        Sorted by line_no, then in the order of the line.
        """
        codes, distinct = pd.factorize(_texts(lines))
        parts: dict[str, list[object]] = {name: [] for name in COLUMNS[1:]}
        counts = np.zeros(len(distinct), dtype=np.int64)
        for index, line in enumerate(distinct):
            counts[index] = self._collect(str(line), parts)
        starts = np.concatenate([[0], np.cumsum(counts)[:-1]]).astype(np.int64)
        repeats = counts[codes] if len(codes) else np.zeros(0, dtype=np.int64)
        line_no = np.repeat(np.arange(len(codes), dtype=np.int64), repeats)
        before = np.repeat(np.cumsum(repeats) - repeats, repeats)
        take = np.repeat(starts[codes] if len(codes) else repeats, repeats)
        take = take + np.arange(len(line_no)) - before
        frame = pd.DataFrame({"line_no": line_no})
        for name in COLUMNS[1:]:
            kind: type = {"value": float, "needs_attention": bool}.get(name, object)
            frame[name] = np.array(parts[name], dtype=kind)[take]
        return frame

    def verdict(self, line: str, hazard_id: str) -> str:
        """The one mark ``line`` has for ``hazard_id``; "" where it does not speak of it.

        A part that merely sounds alike gives "not_done".
        """
        _, reading, _ = self._interpret(line)
        return main_mark(reading, hazard_id, self.wording)

    def knows(self, line: str) -> bool:
        """Whether ``line`` names anything the lexicon knows (a look-alike counts)."""
        parsed, reading, _ = self._interpret(line)
        return parsed.declared or bool(reading.rows or reading.look_alikes)

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
        parsed = self._parse(template(line))
        signals = {each.pattern for clause in parsed.clauses for each in clause.signals}
        return signals | {each.pattern for clause in parsed.clauses for each in clause.named}

    def canonical(self, line: str) -> str:
        """``line`` in the lexicon's own words, numbers as #."""
        tokens = self._clauses.speller.tokens(template(line))
        return " ".join(token.word for token in tokens)

    def _collect(self, line: str, parts: dict[str, list[object]]) -> int:
        parsed, reading, values = self._interpret(line)
        for row in reading.rows:
            value = values[row.value] if row.value >= 0 else None
            parts["topic"].append(row.topic)
            parts["hazards"].append(self._hazards[row.topic])
            parts["mark"].append(row.mark)
            parts["quantity"].append(value.quantity if value else "")
            parts["value"].append(value.value if value else np.nan)
            parts["unit"].append(value.unit if value else "")
            parts["words"].append(_piece(line, parsed, row))
            parts["needs_attention"].append(row.attention)
        return len(reading.rows)

    def _interpret(self, line: str) -> tuple[_Template, Reading, list[Value]]:
        masked = template(line)
        parsed = self._memo.get(masked) or self._parse(masked)
        if not parsed.spots:
            return parsed, parsed.readings[()], []
        values, judged = self._values.read(line.lower(), parsed.spots)
        reading = parsed.readings.get(judged)
        if reading is None:
            reading = read_clauses(parsed.clauses, judged, self.wording)
            parsed.readings[judged] = reading
        return parsed, reading, values

    def _parse(self, masked: str) -> _Template:
        parsed = self._memo.get(masked)
        if parsed is None:
            clauses = self._clauses.clauses(masked)
            spots = self._values.spots(clauses)
            parsed = _Template(clauses, spots, {})
            filled = self._filled.get(self.canonical(masked)) if self._filled else None
            if filled is not None:
                rows = tuple(
                    Row(each.topic, each.mark, 0, 100, each.mark == "ambiguous")
                    for each in filled
                    if each.topic != NOTHING
                )
                parsed = _Template(clauses, (), {(): Reading(rows, ())}, declared=True)
            elif not spots:
                parsed.readings[()] = read_clauses(clauses, (), self.wording)
            self._memo[masked] = parsed
        return parsed


def _texts(lines: Sequence[str] | pd.Series) -> np.ndarray:
    texts = np.empty(len(lines), dtype=object)
    texts[:] = ["" if line is None or line != line else str(line) for line in lines]
    return texts


def _piece(line: str, parsed: _Template, row: Row) -> str:
    if not parsed.clauses:
        return line.strip()
    low, high = parsed.clauses[row.clause].span
    if len(line.lower()) != len(line):
        line = line.lower()
    return line[low:high].strip()
