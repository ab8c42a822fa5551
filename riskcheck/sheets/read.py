"""Any table file as raw grids: the format is settled by the first bytes, never by the name."""

from __future__ import annotations

import io
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pandas as pd

from riskcheck.errors import InputError
from riskcheck.sheets.calamine import read_spreadsheet
from riskcheck.sheets.delimited import read_delimited
from riskcheck.sheets.grid import Grid
from riskcheck.sheets.preflight import Kind, Limits, examine

Progress = Callable[[str], None]
_SPREADSHEET_SUFFIXES = {".xlsx", ".xlsm", ".xls", ".xlsb", ".ods"}
_TABLE_SUFFIXES = _SPREADSHEET_SUFFIXES | {".csv", ".tsv", ".txt", ".parquet"}


def read_grids(
    path: Path | str, *, limits: Limits | None = None, progress: Progress | None = None
) -> list[Grid]:
    """All sheets of a file, or of every table file in a folder, in order.

    Raises InputError, with one paragraph for a person, if nothing can be read; in a folder a
    file that cannot be read is left out only if it is no table file at all.
    """
    path = Path(path)
    limits = limits or Limits()
    files = _table_files(path) if path.is_dir() else [path]
    grids: list[Grid] = []
    for file in files:
        if progress:
            progress(f"reading {file.name}")
        grids += _read_file(file, limits, as_sheet=path.is_dir())
    return grids


def _table_files(folder: Path) -> list[Path]:
    files = sorted(
        file
        for file in folder.iterdir()
        if file.is_file()
        and file.suffix.lower() in _TABLE_SUFFIXES
        and not file.name.startswith(("~$", "."))
    )
    if not files:
        raise InputError(
            f"The folder {folder} holds no table files (.xlsx, .xls, .ods, .csv, .parquet)."
        )
    return files


def _read_file(path: Path, limits: Limits, as_sheet: bool) -> list[Grid]:
    found = examine(path, limits)
    if found.kind is Kind.TEXT:
        grid = read_delimited(path.read_bytes(), path.name, path.stem if as_sheet else "")
        return [_named_otherwise(path, grid)]
    if found.kind is Kind.PARQUET:
        return [_read_parquet(path)]
    return read_spreadsheet(path, found)


def _named_otherwise(path: Path, grid: Grid) -> Grid:
    """Text under a spreadsheet's name: read if it is a table, and said either way."""
    suffix = path.suffix.lower()
    if suffix not in _SPREADSHEET_SUFFIXES:
        return grid
    if min(grid.cells.shape, default=0) < 2:
        raise InputError(
            f"{path.name} is not a spreadsheet file, whatever its name says: it holds plain text "
            "that is no table. Open it in a text editor to see what it is; if a program exported "
            "it, export again as .xlsx or .csv."
        )
    words = f"named {suffix}, but it holds plain text: read as a text table; rename it to .csv"
    return replace(grid, notes=(words, *grid.notes))


def _read_parquet(path: Path) -> Grid:
    """Column names become the first row, so that row numbers are those of a spreadsheet."""
    try:
        frame = pd.read_parquet(io.BytesIO(path.read_bytes()))
    except Exception as error:
        raise InputError(
            f"{path.name} is a damaged Parquet file ({type(error).__name__}). Export it again."
        ) from error
    frame = frame.reset_index(drop=True)
    names = pd.DataFrame([[str(name) for name in frame.columns]])
    body = frame.astype(object).where(frame.notna(), "")
    body.columns = pd.RangeIndex(body.shape[1])
    return Grid(file=path.name, sheet="", cells=pd.concat([names, body], ignore_index=True))
