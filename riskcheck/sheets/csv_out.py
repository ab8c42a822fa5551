"""The one way riskcheck writes a CSV file: same frame, same bytes, and no live formulas."""

from __future__ import annotations

import csv
import io
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd

from riskcheck.sheets.files import replace_file
from riskcheck.sheets.inert import inert_series

_ONE_KIND = ("string", "floating", "integer", "empty")


def write_csv(
    path: Path | str,
    frame: pd.DataFrame,
    *,
    decimals: Mapping[str, int] | None = None,
    for_spreadsheet: bool = False,
    delimiter: str = ",",
) -> Path:
    """Write ``frame`` (its columns in order, no index) and return the path written.

    Every field is quoted; missing values are empty; dates are ISO (with the time only where it
    is not midnight); whole floats are written without ".0"; ``decimals`` fixes the number of
    decimals of a column.  Text is inert (see ``riskcheck.sheets.inert``).

    ``for_spreadsheet`` adds a byte-order mark and CRLF, which spreadsheet and mail-merge
    programs need to read UTF-8; without it the file is plain UTF-8 with LF.
    """
    columns = {
        name: _as_text(frame.iloc[:, position], (decimals or {}).get(str(name)))
        for position, name in enumerate(frame.columns)
    }
    out = io.StringIO()
    ending = "\r\n" if for_spreadsheet else "\n"
    writer = csv.writer(out, delimiter=delimiter, quoting=csv.QUOTE_ALL, lineterminator=ending)
    writer.writerow([str(name) for name in columns])
    writer.writerows(zip(*(series.tolist() for series in columns.values()), strict=True))
    encoding = "utf-8-sig" if for_spreadsheet else "utf-8"
    return replace_file(Path(path), out.getvalue().encode(encoding))


def _as_text(values: pd.Series, decimals: int | None) -> pd.Series:
    if pd.api.types.is_datetime64_any_dtype(values):
        return _dates_as_text(values)
    if pd.api.types.is_bool_dtype(values):
        return values.map({True: "yes", False: "no"}).astype(object).fillna("")
    if pd.api.types.is_numeric_dtype(values):
        return _numbers_as_text(values, decimals)
    if decimals is not None:
        return _numbers_as_text(pd.to_numeric(values), decimals)
    if isinstance(values.dtype, pd.CategoricalDtype):
        values = values.astype(object)
    if values.dtype == object:
        values = _each(values, number_as_text)
    return inert_series(values)


def _each(values: pd.Series, function: Callable[[Any], object]) -> pd.Series:
    """``function`` of every value, called once for each distinct one where that is safe.

    In a column of one kind equal values have equal text; in a mixed one 1 and True are equal.
    """
    if pd.api.types.infer_dtype(values, skipna=True) not in _ONE_KIND:
        return values.map(function)
    codes, found = pd.factorize(values)
    done = np.array([*map(function, found), None], dtype=object)
    return pd.Series(done[codes], index=values.index, dtype=object)


def _dates_as_text(values: pd.Series) -> pd.Series:
    midnight = values.dropna().dt.normalize().eq(values.dropna()).all()
    text = values.dt.strftime("%Y-%m-%d" if midnight else "%Y-%m-%dT%H:%M:%S")
    dated: pd.Series = text.astype(object).where(values.notna(), "")
    return dated


def _numbers_as_text(values: pd.Series, decimals: int | None) -> pd.Series:
    if isinstance(values.dtype, np.dtype) and values.dtype.kind in "iu" and decimals is None:
        return values.astype("str").astype(object)

    def shown(value: Any) -> str:
        if pd.isna(value):
            return ""
        if decimals is None:
            return str(number_as_text(value))
        text = f"{value:.{decimals}f}"
        return text if text.strip("-0.") else text.lstrip("-")  # no "-0.00"

    codes, found = pd.factorize(values)
    text = np.array([*map(shown, found.tolist()), ""], dtype=object)
    return pd.Series(text[codes], index=values.index, dtype=object)


def number_as_text(value: object) -> object:
    """Shortest exact text of a number, whole floats without ".0"; anything else unchanged."""
    if isinstance(value, float) and value != value:
        return None
    if isinstance(value, float):
        return str(int(value)) if value.is_integer() and abs(value) < 1e15 else repr(float(value))
    return value if isinstance(value, str) else _plain(value)


def _plain(value: object) -> object:
    """Integers and dates as text; None and NA stay missing."""
    if value is None or value is pd.NA or value is pd.NaT:
        return None
    if isinstance(value, pd.Timestamp):
        return value.strftime("%Y-%m-%d")
    return str(value)
