"""Sheets laid out for the eye: blocks side by side, section rows, blanks that mean "ditto".

Each is turned into what a plain list would have held before any table is looked for, and every
cell filled in is noted.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import numpy.typing as npt
import pandas as pd

from riskcheck.fleet.distinct import distinct, spread
from riskcheck.fleet.headings import normalise
from riskcheck.fleet.identity import plain_text
from riskcheck.fleet.notebook import Notebook, Place, Rows, blank
from riskcheck.fleet.tables import Books, Table, candidates, table_at
from riskcheck.sheets import Grid

_SECTION = re.compile(
    r"^\W*(?:unit|vehicle|veh|truck|van|bus|car|asset|equipment|equip|machine)\s*"
    r"(?:no|number|id|#)?\.?\s*[:#\-\u2013]?\s*(?P<id>(?=[\w\-/]*\d)[A-Za-z0-9][\w\-/]*)",
    re.IGNORECASE,
)
_SECTION_HEADING = "Unit"
_VEHICLE = ("vin", "vehicle_id", "unit", "plate")
_VISIT = ("date", "date_posted", "date_opened", "invoice")
_FIRST_LOOK = 1_000
_GROUPED = 0.5  # share of dated lines without a name: then the list is grouped (choice)
Flags = npt.NDArray[np.bool_]


def apart(grid: Grid, books: Books) -> list[Grid]:
    """Blocks that stand side by side on a sheet, as sheets of their own; else the sheet itself.

    They are parted at blank columns, or where a row of headings starts again, if every part has
    a table of its own.
    """
    for edges in (_blank_columns(grid), _headings_again(grid)):
        if len(edges) < 2:
            continue
        parts = [_part(grid, first, last) for first, last in edges]
        if all(_has_table(part, books) for part in parts):
            return parts
    return [grid]


def _blank_columns(grid: Grid) -> list[tuple[int, int]]:
    """Runs of columns that hold something, as (first, last)."""
    filled = [
        not blank(grid.cells[column].iloc[:_FIRST_LOOK]).all()
        or not blank(grid.cells[column]).all()
        for column in grid.cells.columns
    ]
    runs: list[tuple[int, int]] = []
    for column, holds in enumerate(filled):
        if holds and column and filled[column - 1] and runs:
            runs[-1] = (runs[-1][0], column)
        elif holds:
            runs.append((column, column))
    return runs


def _headings_again(grid: Grid) -> list[tuple[int, int]]:
    """Equal runs of headings one after the other: Unit, Date, Work, Unit, Date, Work."""
    for row in range(min(10, len(grid.cells))):
        texts = [normalise(cell) if isinstance(cell, str) else "" for cell in grid.cells.iloc[row]]
        width = len(texts)
        for run in range(2, width // 2 + 1):
            if width % run == 0 and all(texts[:run]) and texts == texts[:run] * (width // run):
                return [(start, start + run - 1) for start in range(0, width, run)]
    return []


def _part(grid: Grid, first: int, last: int) -> Grid:
    cells = grid.cells.iloc[:, first : last + 1].copy()
    cells.columns = pd.RangeIndex(last - first + 1)
    letters = f"columns {grid.letters(first)} to {grid.letters(last)}"

    def inside(column: int) -> bool:
        return first <= column <= last

    return replace(
        grid,
        sheet=f"{grid.sheet}, {letters}" if grid.sheet else letters,
        cells=cells,
        first_column=grid.first_column + first,
        merged=tuple(
            (top, left - first, bottom, min(right, last) - first)
            for top, left, bottom, right in grid.merged
            if inside(left)
        ),
        errors={(r, c - first): text for (r, c), text in grid.errors.items() if inside(c)},
        uncomputed=frozenset((r, c - first) for r, c in grid.uncomputed if inside(c)),
    )


def _has_table(grid: Grid, books: Books) -> bool:
    filled = np.flatnonzero(_filled_cells(grid) > 0)
    return any(table_at(grid, books, row) for row in candidates(filled)[:10])


def _filled_cells(grid: Grid) -> npt.NDArray[np.int64]:
    """How many cells of each row hold something."""
    counts = np.zeros(len(grid.cells), dtype=np.int64)
    for column in grid.cells.columns:
        counts += ~blank(grid.cells[column])
    return counts


def with_sections(grid: Grid, books: Books) -> tuple[Grid, Rows]:
    """A sheet whose lone rows ("Unit 1203") name the vehicle of the lines below, as a column.

    Returns the sheet with one more column, headed like a unit number in every row of headings,
    and the section rows; the sheet itself and no rows where there are none.
    """
    none = np.empty(0, dtype=np.int64)
    top = _filled_cells(replace(grid, cells=grid.cells.iloc[:_FIRST_LOOK]))
    if not any(_section_name(grid, int(row)) for row in np.flatnonzero(top == 1)):
        return grid, none
    counts = _filled_cells(grid)
    lone = np.flatnonzero(counts == 1)
    named = [(int(row), _section_name(grid, int(row))) for row in lone]
    sections = [(row, name) for row, name in named if name]
    if not sections:
        return grid, none
    rows = np.array([row for row, _ in sections], dtype=np.int64)
    place = np.searchsorted(rows, np.arange(len(grid.cells)), side="right") - 1
    names = np.array([name for _, name in sections] + [""], dtype=object)
    column = names[place]
    column[counts <= 1] = ""  # neither section rows nor footers belong to a vehicle
    headings = [row for row in _near_rows(rows, len(column))
                if books.like_headings(list(grid.cells.iloc[row]))]  # fmt: skip
    if not headings:
        return grid, none
    column[headings] = _SECTION_HEADING
    cells = grid.cells.copy()
    cells[cells.shape[1]] = pd.Series(column, dtype=object)
    return replace(grid, cells=cells), rows


def _near_rows(sections: Rows, height: int) -> list[int]:
    """Where headings may stand: the first rows, and the rows around each section row."""
    near = {row + step for row in sections.tolist() for step in (-2, -1, 1, 2)}
    return sorted(row for row in near | set(range(min(40, height))) if 0 <= row < height)


def _section_name(grid: Grid, row: int) -> str:
    text = next((cell for cell in grid.cells.iloc[row] if isinstance(cell, str) and cell), "")
    found = _SECTION.match(text)
    return found["id"] if found else ""


def fill_down(table: Table, notebook: Notebook) -> None:
    """Vehicle, date and order number that stand only on the first line of a visit, or once in
    merged cells, written out on the lines below; the cells of the sheet are changed in place.
    """
    columns = [column for field in _VEHICLE if (column := table.find(field))]
    if table.kind.name not in ("service", "measurements", "codes") or not columns:
        return
    _fill_merged(table, notebook)
    nameless = np.ones(len(table.rows), dtype=bool)
    for column in columns:
        nameless &= blank(table.cells(column.index))
    if not nameless.any() or nameless.all():
        return
    source = np.maximum.accumulate(np.where(nameless, -1, np.arange(len(nameless))))
    alike = nameless & (source >= 0) & _says_something(table)
    dated = _dated(table)
    grouped = bool(dated.any()) and bool(nameless[dated].mean() >= _GROUPED)
    for field in _VISIT:
        column = table.find(field)
        if column is not None and not grouped:
            alike &= _blank_or_same(table.cells(column.index), source)
    if not alike.any():
        return
    why = "blank, taken from the first line of the same visit"
    why = "blank, taken from the line above that names a vehicle" if grouped else why
    for column in columns:
        _copy_down(table, column.index, (alike, source), (notebook, column.match.field, why))
    for field in _VISIT:
        column = table.find(field)
        if column is not None:
            empty = alike & blank(table.cells(column.index))
            _copy_down(table, column.index, (empty, source), (notebook, field, why))


def _says_something(table: Table) -> Flags:
    says = np.zeros(len(table.rows), dtype=bool)
    for field in ("line", "complaint", "cause", "remarks", "quantity", "code", "spn"):
        for column in table.all(field):
            says |= ~blank(table.cells(column.index))
    return says


def _dated(table: Table) -> Flags:
    """Lines that give a day of their own, and so begin a visit."""
    dated = np.zeros(len(table.rows), dtype=bool)
    for field in ("date", "date_posted", "date_opened"):
        column = table.find(field)
        if column is not None:
            dated |= ~blank(table.cells(column.index))
    return dated


def _blank_or_same(cells: pd.Series, source: npt.NDArray[np.int64]) -> Flags:
    codes, found = distinct(cells)
    empty = spread(codes, [not str(value).strip() for value in found], True, "bool")
    same: Flags = empty | (codes == codes[np.maximum(source, 0)])
    return same


def _copy_down(
    table: Table,
    column: int,
    places: tuple[Flags, npt.NDArray[np.int64]],
    told: tuple[Notebook, str, str],
) -> None:
    """Copy cells of one column from their source rows and note it."""
    here, source = places
    notebook, field, why = told
    if not here.any():
        return
    cells = table.grid.cells
    rows, sources = table.rows[here], table.rows[source[here]]
    taken = np.arange(len(cells))
    taken[rows] = sources
    filled = cells[column].iloc[taken].set_axis(cells.index)
    changed = ~blank(filled.iloc[rows])
    cells[column] = filled
    now = [plain_text(value) for value in filled.iloc[rows[changed]]]
    notebook.repair(Place(table.grid, column, field), rows[changed], ("", now), why)


def _fill_merged(table: Table, notebook: Notebook) -> None:
    """Cells merged over several lines say the same for each of them."""
    wanted = {column.index: column.match.field for field in (*_VEHICLE, *_VISIT)
              if (column := table.find(field))}  # fmt: skip
    if not table.grid.merged:
        return
    rows = set(table.rows.tolist())
    at = {row: place for place, row in enumerate(table.rows.tolist())}
    for top, left, bottom, right in table.grid.merged:
        below = [row for row in range(top + 1, bottom + 1) if row in rows]
        if left == right and left in wanted and top in rows and below:
            here = np.zeros(len(table.rows), dtype=bool)
            here[[at[row] for row in below]] = True
            source = np.full(len(table.rows), at[top], dtype=np.int64)
            _copy_down(
                table, left, (here, source),
                (notebook, wanted[left], "merged with the cell above"),
            )  # fmt: skip


def split_up(grids: Sequence[Grid], books: Books) -> tuple[list[Grid], dict[int, Rows]]:
    """Every sheet in its parts, with the section rows of each part by ``id``."""
    parts, sections = [], {}
    for grid in grids:
        for part in apart(grid, books):
            laid, rows = with_sections(part, books)
            parts.append(laid)
            sections[id(laid)] = rows
    return parts, sections
