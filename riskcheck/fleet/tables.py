"""Finding the tables on a sheet: titles, headings, blocks, repeated headings, totals."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
import pandas as pd

from riskcheck.fleet.distinct import distinct, spread
from riskcheck.fleet.fields import KINDS
from riskcheck.fleet.headings import HeadingBook, HeadingMatch, normalise, unit_of, without_unit
from riskcheck.fleet.identity import plain_text
from riskcheck.fleet.kinds import SheetKind
from riskcheck.fleet.notebook import Notebook, Place, Rows, blank, filled_rows
from riskcheck.sheets import Grid

_TOP_ROWS = 40  # headings are looked for in the first filled rows and after blank rows
_MAX_CANDIDATES = 300
_KNOWN_HEADINGS, _KNOWN_SHARE = 2, 0.3
_FOOTER = re.compile(
    r"^\W*((grand|sub)?[ -]?totals?|sum|count|average|avg|page \d|printed|report|end of|"
    r"continued|\d+ (rows|records|vehicles|lines)|records?:|generated|exported|as of)\b",
    re.IGNORECASE,
)
_TOTAL = re.compile(r"^\W*(grand|sub)?[ -]?totals?\W*$", re.IGNORECASE)
IGNORE = "ignore"


@dataclass(frozen=True)
class TableColumn:
    """One column of a table: what its heading says and what it was taken for."""

    index: int
    heading: str
    unit: str
    match: HeadingMatch


@dataclass(frozen=True)
class Table:
    """A block of rows under one heading, of one kind."""

    grid: Grid
    kind: SheetKind
    columns: tuple[TableColumn, ...]
    heading_rows: tuple[int, ...]
    rows: Rows

    def find(self, field: str) -> TableColumn | None:
        """The (first) column of a field."""
        return next((column for column in self.columns if column.match.field == field), None)

    def all(self, field: str) -> list[TableColumn]:
        """Every column of a field that may have several."""
        return [column for column in self.columns if column.match.field == field]

    @property
    def index(self) -> pd.Index:
        """The rows of the grid that belong to the table, as an index."""
        return pd.Index(self.rows)

    def cells(self, column: int) -> pd.Series:
        """Raw cells of one column, indexed by the row of the grid."""
        return self.grid.cells[column].iloc[self.rows]

    def raw(self, field: str) -> pd.Series | None:
        """Raw cells of a field, indexed by the row of the grid."""
        column = self.find(field)
        return None if column is None else self.cells(column.index)

    def place(self, field: str) -> Place:
        """Where that field stands, for the notebook."""
        column = self.find(field)
        return Place(self.grid, None if column is None else column.index, field)


class Books:
    """Heading books of all kinds, with the vocabulary's facts among the vehicle fields."""

    def __init__(self, fact_words: Mapping[str, Sequence[str]], mapping: Mapping[str, str]) -> None:
        self._mapping = {normalise(heading): field for heading, field in mapping.items()}
        self.facts = {f"fact:{name}" for name in fact_words}
        self._books = {
            kind.name: HeadingBook(
                {f.name: f.words for f in kind.fields}
                | (
                    {f"fact:{name}": words for name, words in fact_words.items()}
                    if kind.name in ("vehicles", "service")
                    else {}
                )
            )
            for kind in KINDS
        }
        self._all = frozenset().union(*(book.words for book in self._books.values()))
        self._fields = {kind.name: {f.name for f in kind.fields} for kind in KINDS}

    def like_headings(self, cells: Sequence[object]) -> bool:
        """Whether enough of the filled cells are, word for word, headings of some kind."""
        filled = [cell for cell in cells if cell is not None and cell != ""]
        known = sum(
            isinstance(cell, str) and len(cell) < 80 and self._is_known(cell) for cell in filled
        )
        return known >= max(_KNOWN_HEADINGS, _KNOWN_SHARE * len(filled))

    def _is_known(self, cell: str) -> bool:
        text = normalise(cell)
        return text in self._all or text in self._mapping or without_unit(text) in self._all

    def match(self, kind: SheetKind, heading: str) -> HeadingMatch:
        """The user's mapping first, then the book of the kind."""
        wanted = self._mapping.get(normalise(heading))
        if wanted == IGNORE:
            return HeadingMatch("", 100.0, "left out by your mapping")
        for name in (wanted, f"fact:{wanted}"):
            if name and (name in self._fields[kind.name] or name in self.facts):
                return HeadingMatch(name, 100.0, "your mapping")
        return self._books[kind.name].match(heading)


def find_tables(
    grid: Grid, books: Books, notebook: Notebook, sections: Rows | None = None
) -> list[Table]:
    """Every recognised table of a sheet; all other filled rows are set aside with a reason.

    ``sections`` are rows that only name the vehicle of the lines below them.
    """
    filled = notebook.filled(grid)
    if sections is not None and len(sections):
        notebook.use(grid, sections)
        words = f"{len(sections)} lone rows name the vehicle of the lines below them"
        notebook.note_sheet(grid, "", words)
        filled = np.setdiff1d(filled, sections)
    tables: list[Table] = []
    end = 0
    for row in candidates(filled):
        if row < end:
            continue
        table = table_at(grid, books, int(row))
        if table and not (tables and _same_heading(tables[-1], table)):
            tables.append(table)
            end = table.heading_rows[-1] + 1
    tables = [
        _with_rows(table, filled, tables[number + 1].heading_rows[0] if number + 1 < len(tables)
                   else len(grid.cells))
        for number, table in enumerate(tables)
    ]  # fmt: skip
    _settle_other_rows(grid, tables, filled, notebook)
    return [_without_furniture(table, notebook) for table in tables]


def candidates(filled: Rows) -> list[int]:
    """Rows that may be headings: the first ones and those after a blank row."""
    after_gap = filled[1:][np.diff(filled) > 1]
    return sorted({*filled[:_TOP_ROWS].tolist(), *after_gap[:_MAX_CANDIDATES].tolist()})


def table_at(grid: Grid, books: Books, row: int) -> Table | None:
    """The best reading of ``row`` (alone, or with the next row below it) as a heading."""
    near = [list(grid.cells.iloc[at]) for at in (row, row + 1) if at < len(grid.cells)]
    if not any(books.like_headings(cells) for cells in near):
        return None  # near matches are looked for only where some heading is a known one
    found = [_reading(grid, books, (row,)), _reading(grid, books, (row, row + 1))]
    scored = [(score, -len(table.heading_rows), table) for score, table in found if table]
    below = _reading(grid, books, (row + 1,))
    if not scored or (below[1] and below[0] >= max(score for score, _, _ in scored)):
        return None  # the row below says as much by itself: this one is a title
    return max(scored, key=lambda item: item[:2])[2]


def _reading(grid: Grid, books: Books, rows: tuple[int, ...]) -> tuple[float, Table | None]:
    headings = _heading_texts(grid, rows)
    if sum(bool(texts) for texts in headings) < 2:
        return 0.0, None
    best: tuple[float, Table | None] = (0.0, None)
    has_lines = False
    for kind in KINDS:
        columns = _columns(books, kind, headings)
        fields = {column.match.field for column in columns} - {""}
        if kind.name == "service":
            has_lines = bool(fields & {"line", "complaint"})
        elif kind.name == "vehicles" and has_lines:
            fields -= {"odometer"}  # a history that lacks its date is no list of vehicles
        if all(set(group) & fields for group in kind.marks):
            score = sum(c.match.confidence for c in columns if c.match.field) / 100
            score += 0.0 if kind.name == "service" else 0.5
            if score > best[0]:
                best = (score, Table(grid, kind, columns, rows, np.empty(0, dtype=np.int64)))
    return best


def nearly(
    grid: Grid, books: Books, wanted: str
) -> tuple[str, list[str], list[tuple[str, ...]]] | None:
    """A heading row that is almost a vehicle or service sheet: (kind, headings, lacking groups).

    At least three headings must fit and at least one needed group be there.
    """
    best: tuple[int, str, list[str], list[tuple[str, ...]]] | None = None
    for row in candidates(np.flatnonzero(filled_rows(grid)))[:_TOP_ROWS]:
        headings = _heading_texts(grid, (row,))
        for kind in KINDS:
            if kind.name not in ("service", "vehicles") or wanted not in ("", kind.name):
                continue
            fields = {c.match.field for c in _columns(books, kind, headings)} - {""}
            lacking = [group for group in kind.marks if not set(group) & fields]
            if len(fields) >= 3 and 0 < len(lacking) < len(kind.marks):
                listed = [" ".join(texts) for texts in headings if texts]
                if best is None or len(fields) > best[0]:
                    best = (len(fields), kind.name, listed, lacking)
    return None if best is None else best[1:]


def _heading_texts(grid: Grid, rows: tuple[int, ...]) -> list[list[str]]:
    """Per column the heading's words, top row first; merged cells count for all they cover."""
    if rows[-1] >= len(grid.cells):
        return []
    lines = [list(grid.cells.iloc[row]) for row in rows]
    for top, left, _, right in grid.merged:
        if top in rows:
            line = lines[rows.index(top)]
            for column in range(max(left, 0), min(right + 1, len(line))):
                line[column] = line[max(left, 0)]
    return [
        [str(cell).strip() for cell in cells if isinstance(cell, str) and cell.strip()]
        for cells in zip(*lines, strict=True)
    ]


def _columns(books: Books, kind: SheetKind, headings: list[list[str]]) -> tuple[TableColumn, ...]:
    many = {field.name for field in kind.fields if field.many}
    columns = []
    for index, texts in enumerate(headings):
        options = dict.fromkeys([" ".join(texts), *reversed(texts)])
        matches = [(books.match(kind, text), text) for text in options if text]
        if not matches:
            continue
        match, _ = max(matches, key=lambda item: (bool(item[0].field), item[0].confidence))
        unit = next((found for found in map(unit_of, options) if found), "")
        columns.append(TableColumn(index, " ".join(texts), unit, match))
    return tuple(_one_each(columns, many))


def _one_each(columns: list[TableColumn], many: set[str]) -> list[TableColumn]:
    """A field has one column: the surest, then the leftmost; others are named as duplicates."""
    best: dict[str, TableColumn] = {}
    for column in columns:
        field = column.match.field
        if field and (field not in best or column.match.confidence > best[field].match.confidence):
            best[field] = column
    kept = []
    for column in columns:
        field = column.match.field
        if field and field not in many and best[field] is not column:
            second = HeadingMatch("", column.match.confidence, f"second column for {field}")
            kept.append(replace(column, match=second))
        else:
            kept.append(column)
    return kept


def _same_heading(table: Table, other: Table) -> bool:
    return [c.heading for c in table.columns] == [c.heading for c in other.columns]


def _with_rows(table: Table, filled: Rows, end: int) -> Table:
    rows = filled[(filled > table.heading_rows[-1]) & (filled < end)]
    return replace(table, rows=rows)


def _settle_other_rows(
    grid: Grid, tables: Sequence[Table], filled: Rows, notebook: Notebook
) -> None:
    """Headings are used; what stands above the first table is set aside by name."""
    heading_rows = np.array([row for table in tables for row in table.heading_rows], dtype=np.int64)
    notebook.use(grid, heading_rows[np.isin(heading_rows, filled)])
    if not tables:
        notebook.set_aside(
            Place(grid), filled, "no table that riskcheck knows was found on this sheet"
        )
        return
    above = filled[filled < heading_rows[0]]
    notebook.set_aside(Place(grid), above, "title or note above the table", _words(grid, above))


def _without_furniture(table: Table, notebook: Notebook) -> Table:
    """The table without repeated headings, totals and footers, which are set aside."""
    grid, rows = table.grid, table.rows
    if not len(rows):
        return table
    repeated = np.ones(len(rows), dtype=bool)
    compared = [c for c in table.columns if c.heading]
    for column in compared[:4]:
        last = grid.cells[column.index].iloc[table.heading_rows[-1]]
        repeated &= (table.cells(column.index) == last).to_numpy(dtype=bool)
    place = Place(grid)
    notebook.set_aside(place, rows[repeated], "heading repeated inside the table")
    rows = rows[~repeated]
    footer = _footers(table, rows)
    notebook.set_aside(
        place, rows[footer], "total or footer, not a record", _words(grid, rows[footer])
    )
    return replace(table, rows=rows[~footer])


def _footers(table: Table, rows: Rows) -> np.ndarray:
    """Rows whose first words are a total's or a footer's and that name no vehicle or customer."""
    named = np.zeros(len(rows), dtype=bool)
    suspect = np.zeros(len(rows), dtype=bool)
    for field in ("vehicle_id", "unit", "vin", "plate", "customer_id", "name", "part_no", "date"):
        column = table.find(field)
        if column is None:
            continue
        codes, found = distinct(table.grid.cells[column.index].iloc[rows])
        text = spread(codes, [bool(_FOOTER.match(str(value))) for value in found], False, "bool")
        empty = [isinstance(value, str) and not value.strip() for value in found]
        suspect |= text
        if field != "date":
            named |= ~spread(codes, empty, True, "bool") & ~text
    open_rows = np.flatnonzero(~named & ~suspect)
    suspect[open_rows] = _starts_like(table.grid, rows[open_rows], _FOOTER)
    both = np.flatnonzero(suspect & named)
    named[both] = ~_starts_like(table.grid, rows[both], _TOTAL)
    return suspect & ~named


def _starts_like(grid: Grid, rows: Rows, pattern: re.Pattern[str]) -> np.ndarray:
    """Which rows have a first filled cell that begins with ``pattern``."""
    found = np.zeros(len(rows), dtype=bool)
    waiting = np.arange(len(rows))
    for column in grid.cells.columns:
        if not len(waiting):
            break
        cells = grid.cells[column].iloc[rows[waiting]]
        empty = blank(cells)
        codes, texts = distinct(cells)
        like = spread(codes, [bool(pattern.match(str(text))) for text in texts], False, "bool")
        found[waiting] = like & ~empty
        waiting = waiting[empty]
    return found


def _words(grid: Grid, rows: Rows) -> list[str]:
    return [" ".join(filter(None, map(plain_text, grid.cells.iloc[row])))[:80] for row in rows]
