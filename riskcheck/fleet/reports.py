"""What each sheet and heading was taken for, and what to do where that fails."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pandas as pd

from riskcheck.errors import InputError
from riskcheck.fleet.fields import KIND_BY_NAME
from riskcheck.fleet.model import REPORT_COLUMNS
from riskcheck.fleet.notebook import Notebook, Place
from riskcheck.fleet.tables import Books, Table, nearly
from riskcheck.sheets import Grid


def report_tables(grids: Sequence[Grid], tables: Sequence[Table]) -> pd.DataFrame:
    """One row a heading; a sheet without a known table has one row with taken_for "nothing"."""
    rows: list[list[object]] = []
    for grid in grids:
        own = [table for table in tables if table.grid is grid]
        if not own:
            rows.append([grid.file, grid.sheet, "nothing", len(grid.cells), "", "", "", 0.0, ""])
        for table in own:
            for column in table.columns:
                match = column.match
                how = match.how
                if match.instead:
                    options = " or ".join(_plain(name) for name in match.instead)
                    how = f'not sure: --map "{column.heading}={_plain(match.instead[0])}" '
                    how += f"would settle it ({options})"
                rows.append(
                    [
                        grid.file, grid.sheet, table.kind.says, len(table.rows),
                        grid.letters(column.index), column.heading, _plain(match.field),
                        match.confidence, how,
                    ]
                )  # fmt: skip
    return pd.DataFrame(rows, columns=REPORT_COLUMNS)


def note_lost_cells(grids: Sequence[Grid], tables: Sequence[Table], notebook: Notebook) -> None:
    """Name cells that show an error or were never calculated, and hidden parts of a sheet."""
    for table in tables:
        if not table.grid.errors and not table.grid.uncomputed:
            continue
        inside = set(table.rows.tolist())
        for column in table.columns:
            _note_column(table, column.index, inside, notebook)
    for grid in grids:
        for words in grid.notes:
            notebook.note_sheet(grid, "", words)
        for present, words in (
            (grid.hidden, "this sheet is hidden: it was read all the same"),
            (grid.hidden_rows, f"{grid.hidden_rows} hidden rows were read all the same"),
            (grid.hidden_columns, "hidden columns were read all the same"),
        ):
            if present:
                notebook.note_sheet(grid, "", words)


def _note_column(table: Table, column: int, inside: set[int], notebook: Notebook) -> None:
    grid = table.grid
    errors = {row: text for (row, at), text in grid.errors.items() if at == column}
    rows = np.array(sorted(inside & set(errors)), dtype=np.int64)
    place = Place(grid, column)
    words = "the cell shows an error: read as missing"
    notebook.note(place, rows, [errors[int(row)] for row in rows], words)
    never = {row for row, at in grid.uncomputed if at == column}
    rows = np.array(sorted(inside & never), dtype=np.int64)
    words = "a formula that was never calculated: open the file, save it, and read it again"
    notebook.note(place, rows, "", words)


def missing_input(name: str, grids: Sequence[Grid], tables: Sequence[Table], books: Books) -> None:
    """Raise InputError where there is no vehicle to speak of or a sheet lacks a needed column."""
    kinds = {table.kind.name for table in tables}
    for grid in grids:
        if any(table.grid is grid for table in tables):
            continue
        lacking = nearly(grid, books, "service" if "vehicles" in kinds else "")
        if lacking:
            kind, headings, groups = lacking
            needed = "; and ".join(
                " or ".join(_plain(field) for field in group[:4]) for group in groups
            )
            raise InputError(
                f"{grid.where} looks like {KIND_BY_NAME[kind].says}, but no column for {needed} "
                f"was found. Its headings are: {', '.join(headings[:12])}. If one of them is "
                f'meant, say so: --map "{headings[0]}={groups[0][0]}"; else add the column.'
            )
    if not kinds & {"vehicles", "service"}:
        seen = ", ".join(repr(grid.sheet or grid.file) for grid in grids[:6])
        raise InputError(
            f"{name} holds no vehicle sheet: no sheet has a row of headings with a vehicle id, "
            f"unit number, VIN or plate next to make, model, year or odometer. "
            f"Sheets seen: {seen}. "
            'Add such a sheet, or name your headings with --map "Your heading=vehicle_id".'
        )


def _plain(field: str) -> str:
    return field.removeprefix("fact:")
