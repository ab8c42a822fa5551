"""What a sheet's XML says before it is read: extent, error cells, formulas without a value."""

from __future__ import annotations

import re
from dataclasses import dataclass, field

from riskcheck.sheets.grid import Cell, column_letters, column_number

_MAX_LISTED = 100_000
_ADDRESS = re.compile(rb"""\sr\s*=\s*["']([A-Z]{1,3})([1-9]\d{0,6})["']""")
_ANY_R = re.compile(rb"""\sr\s*=""")
_ERROR = re.compile(rb"""\st\s*=\s*["']e["']""")
_TEXT_TYPE = re.compile(rb"""\st\s*=\s*["']str["']""")
_VALUE = re.compile(rb"<(?:\w+:)?v[^>/]*>([^<]+)<")
_FORMULA = re.compile(rb"<(?:\w+:)?f(?=[\s>/])")
_PREFIX = re.compile(rb"<(\w+):worksheet[\s>]")
# Ways to write a cell that no spreadsheet program uses and that would hide its address here.
_HIDING = re.compile(rb"<(?:\w+:)?c[\t\r\n]|<!\[CDATA\[|<!--")
_MAX_UNCLOSED = 8_000_000
_HIDDEN = re.compile(rb"""<(?:\w+:)?(row|col)\s[^>]*hidden\s*=\s*["'](?:1|true)["']""")


@dataclass(frozen=True)
class SheetFacts:
    """Extent of the filled cells; cells that show an error; formulas never calculated."""

    rows: int = 0
    columns: int = 0
    farthest: str = ""
    errors: dict[Cell, str] = field(default_factory=dict)
    uncomputed: frozenset[Cell] = frozenset()
    hidden_rows: int = 0
    hidden_columns: int = 0
    irregular: bool = False
    merged: tuple[tuple[int, int, int, int], ...] = ()


class SheetScanner:
    """Takes a sheet's XML in chunks of any size; ``facts`` when it is complete."""

    def __init__(self) -> None:
        self._rest = b""
        self._open, self._close, self._row_close = b"<c ", b"</c>", b"</row>"
        self._started = False
        self._low = [1 << 30, 1 << 30]
        self._high = [-1, -1]
        self._errors: dict[Cell, str] = {}
        self._uncomputed: set[Cell] = set()
        self._hidden = {b"row": 0, b"col": 0}
        self._irregular = False
        self._letters: dict[bytes, int] = {}

    def feed(self, chunk: bytes) -> None:
        """One more piece of the part."""
        data = self._rest + chunk
        if not self._started:
            self._settle_prefix(data)
        ends = [data.rfind(mark) + len(mark) for mark in (self._close, self._row_close)
                if mark in data]  # fmt: skip
        cut = max(ends, default=0)  # nothing is cut inside a cell
        self._scan(data[:cut])
        self._rest = data[cut:]
        if len(self._rest) > _MAX_UNCLOSED:
            self._irregular, self._rest = True, b""

    def _settle_prefix(self, data: bytes) -> None:
        prefix = _PREFIX.search(data)
        if prefix:
            name = prefix.group(1)
            self._open = b"<" + name + b":c "
            self._close, self._row_close = b"</" + name + b":c>", b"</" + name + b":row>"
        self._started = True

    def facts(self) -> SheetFacts:
        """All that was found."""
        rows = max(0, self._high[0] - self._low[0] + 1) if self._high[0] >= 0 else 0
        columns = max(0, self._high[1] - self._low[1] + 1) if self._high[1] >= 0 else 0
        far = f"{column_letters(self._high[1])}{self._high[0] + 1}" if rows else ""
        return SheetFacts(
            rows, columns, far, self._errors, frozenset(self._uncomputed),
            self._hidden[b"row"], self._hidden[b"col"], self._irregular,
        )  # fmt: skip

    def _scan(self, data: bytes) -> None:
        for match in _HIDDEN.finditer(data):
            self._hidden[match.group(1)] += 1
        if _HIDING.search(data):
            self._irregular = True
        pieces = data.split(self._close)
        for piece in pieces[:-1]:
            start = piece.rfind(self._open)
            end = piece.find(b">", start)
            if start < 0 or end < 0:
                self._irregular = True
            elif end + 1 < len(piece):
                self._cell(piece[start:end], piece[end + 1 :])

    def _cell(self, attributes: bytes, inside: bytes) -> None:
        place = self._place(attributes)
        if place is None:
            return
        is_error = b"e" in attributes and _ERROR.search(attributes)
        if _FORMULA.search(inside) and not is_error:
            value = _VALUE.search(inside)
            if value is None and not _TEXT_TYPE.search(attributes):
                self._list(self._uncomputed, place)
        if is_error and len(self._errors) < _MAX_LISTED:
            value = _VALUE.search(inside)
            self._errors[place] = value.group(1).decode("ascii", "replace") if value else "#?"

    def _place(self, attributes: bytes) -> Cell | None:
        found = _ADDRESS.search(attributes)
        if found is None:
            # An address written in a way that only a parser would understand hides something.
            self._irregular |= _ANY_R.search(attributes) is not None
            return None
        letters = found.group(1)
        column = self._letters.get(letters)
        if column is None:
            column = self._letters[letters] = column_number(letters.decode())
        row = int(found.group(2)) - 1
        self._low = [min(self._low[0], row), min(self._low[1], column)]
        self._high = [max(self._high[0], row), max(self._high[1], column)]
        return row, column

    @staticmethod
    def _list(found: set[Cell], place: Cell) -> None:
        if len(found) < _MAX_LISTED:
            found.add(place)
