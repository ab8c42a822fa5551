"""Between database rows and frames: fixed columns, fixed order, one way to say "missing"."""

from __future__ import annotations

import datetime as dt
from typing import Any

import numpy as np
import pandas as pd
from sqlalchemy import Connection, Float, Integer, Select, Table


def frame_of(connection: Connection, query: Select[Any]) -> pd.DataFrame:
    """The rows of a query; text columns "" where missing, numbers NaN."""
    result = connection.execute(query)
    columns = list(result.keys())
    frame = pd.DataFrame(result.fetchall(), columns=columns)
    for column in query.selected_columns:
        name = str(column.name)
        if isinstance(column.type, Float):
            frame[name] = frame[name].astype("float64")
        elif isinstance(column.type, Integer):
            frame[name] = frame[name].astype("Int64" if column.nullable else "int64")
        else:
            frame[name] = frame[name].astype(object).where(frame[name].notna(), "")
    return frame


def records_for(table: Table, frame: pd.DataFrame) -> list[dict[str, Any]]:
    """The rows of a frame as a table takes them; columns that the frame lacks are left empty."""
    columns: dict[str, list[Any]] = {}
    for column in table.columns:
        if column.name not in frame:
            if column.autoincrement is True or column.nullable:
                continue
            blank: Any = 0 if isinstance(column.type, Integer) else ""
            columns[column.name] = [blank] * len(frame)
            continue
        values = frame[column.name]
        if isinstance(column.type, Float | Integer):
            kind = float if isinstance(column.type, Float) else int
            columns[column.name] = [None if pd.isna(v) else kind(v) for v in values]
        else:
            columns[column.name] = [_text(value) for value in values]
    names = list(columns)
    return [dict(zip(names, row, strict=True)) for row in zip(*columns.values(), strict=True)]


def _text(value: Any) -> str:
    if isinstance(value, pd.Timestamp | np.datetime64 | dt.date):
        return "" if pd.isna(value) else pd.Timestamp(value).date().isoformat()
    return "" if value is None or value is pd.NA or value != value else str(value)
