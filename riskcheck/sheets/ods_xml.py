"""What an OpenDocument sheet says in XML: extent, merged cells, errors, formulas without value."""

from __future__ import annotations

from xml.parsers import expat

from riskcheck.sheets.grid import Cell
from riskcheck.sheets.sheet_xml import SheetFacts

_MAX_LISTED = 100_000
_ERRORS = ("#", "Err:")


def ods_tables(content: bytes) -> tuple[dict[str, SheetFacts], bool]:
    """(facts of each table by its name, whether dates count from 1904) of a content.xml.

    Extents are those the tables span when unrolled; repeated blank rows and cells count only
    where something filled follows them.  Raises ValueError if the XML is broken.
    """
    state = _State()
    parser = expat.ParserCreate()
    parser.StartElementHandler = state.start
    parser.EndElementHandler = state.end
    parser.CharacterDataHandler = state.text
    try:
        parser.Parse(content, True)
    except expat.ExpatError as error:
        raise ValueError(f"content.xml: {error}") from error
    return state.tables, state.epoch_1904


class _State:
    """Where in a table the parser is, and what has been found so far."""

    def __init__(self) -> None:
        self.tables: dict[str, SheetFacts] = {}
        self.epoch_1904 = False
        self._depth = 0  # tables inside a cell belong to that cell
        self._new_table("")

    def _new_table(self, name: str) -> None:
        self._name = name
        self._row = self._rows = self._column = self._columns = 0
        self._repeat = self._row_repeat = 1
        self._filled = self._row_filled = False
        self._formula = self._valued = self._error = False
        self._words = ""
        self._span = (1, 1)
        self._merged: list[tuple[int, int, int, int]] = []
        self._errors: dict[Cell, str] = {}
        self._uncomputed: set[Cell] = set()

    def start(self, name: str, attributes: dict[str, str]) -> None:
        if name == "table:table":
            self._depth += 1
            if self._depth == 1:
                self._new_table(attributes.get("table:name", ""))
        elif name == "table:null-date":
            self.epoch_1904 = attributes.get("table:date-value", "").startswith("1904")
        elif self._depth > 1:
            return
        elif name == "table:table-row":
            self._row_repeat = int(attributes.get("table:number-rows-repeated", "1"))
            self._column, self._row_filled = 0, False
        elif name in ("table:table-cell", "table:covered-table-cell"):
            self._start_cell(attributes)

    def _start_cell(self, attributes: dict[str, str]) -> None:
        self._repeat = int(attributes.get("table:number-columns-repeated", "1"))
        self._formula = "table:formula" in attributes
        self._error = attributes.get("calcext:value-type") == "error"
        self._valued = "office:value-type" in attributes
        self._filled = self._valued or self._formula
        self._words = ""
        self._span = (
            int(attributes.get("table:number-rows-spanned", "1")),
            int(attributes.get("table:number-columns-spanned", "1")),
        )

    def text(self, data: str) -> None:
        self._filled |= bool(data.strip())
        if self._formula and len(self._words) < 40:
            self._words += data

    def end(self, name: str) -> None:
        if name == "table:table":
            self._depth -= 1
            if self._depth == 0:
                self.tables[self._name] = SheetFacts(
                    rows=self._rows, columns=self._columns, errors=self._errors,
                    uncomputed=frozenset(self._uncomputed), merged=tuple(self._merged),
                )  # fmt: skip
        elif self._depth > 1:
            return
        elif name in ("table:table-cell", "table:covered-table-cell"):
            self._end_cell()
        elif name == "table:table-row":
            self._row += self._row_repeat
            if self._row_filled:
                self._rows = self._row

    def _end_cell(self) -> None:
        place = (self._row, self._column)
        down, across = self._span
        if (down > 1 or across > 1) and len(self._merged) < _MAX_LISTED:
            self._merged.append((*place, place[0] + down - 1, place[1] + across - 1))
        words = self._words.strip()
        if self._formula and len(self._errors) + len(self._uncomputed) < _MAX_LISTED:
            if self._error or words.startswith(_ERRORS):
                self._errors[place] = words or "#?"
            elif not self._valued and not words:
                self._uncomputed.add(place)
        self._column += self._repeat
        if self._filled:
            self._row_filled = True
            self._columns = max(self._columns, self._column)
        self._filled = self._formula = False
