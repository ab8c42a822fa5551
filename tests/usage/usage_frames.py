"""Small frames in the shape that the reader gives, and a policy with plain figures (invented)."""

from __future__ import annotations

import datetime as dt
from types import SimpleNamespace

import numpy as np
import pandas as pd

from riskcheck.figures import Figure
from riskcheck.usage import Usage, clocks

AS_OF = dt.date(2026, 10, 1)
FROST = [0.30, 0.20, 0.10, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.05, 0.10, 0.25]


def figure(value: float, low: float, high: float) -> Figure:
    return Figure(value, "per year", "invented", low, high)


def policy(scale: float = 1.0) -> SimpleNamespace:
    """Half to one and a half times the class figure: common practice, no source."""
    return SimpleNamespace(
        yearly_miles={
            "retail": figure(12_000 * scale, 6_000 * scale, 18_000 * scale),
            "van": figure(18_000 * scale, 9_000 * scale, 27_000 * scale),
        },
        yearly_engine_hours={"retail": figure(400, 200, 600), "van": figure(900, 450, 1350)},
        yearly_cold_starts=figure(100, 50, 200),
        monthly_winter=FROST,
        monthly_cold_starts=FROST,
    )


def vehicles(**columns: list[object]) -> pd.DataFrame:
    """One row a vehicle; unnamed columns are silent."""
    n = len(next(iter(columns.values())))
    frame = pd.DataFrame(
        {
            "vehicle_id": [f"v{i}" for i in range(n)],
            "in_service_lo": pd.NaT,
            "in_service_hi": pd.NaT,
            "model_year": pd.array([pd.NA] * n, dtype="Int64"),
            "duty": "retail",
            "odometer_mi": np.nan,
        }
    )
    for name, values in columns.items():
        if name.startswith("in_service"):
            frame[name] = pd.to_datetime(pd.Series(values))
        elif name == "model_year":
            frame[name] = pd.array(values, dtype="Int64")
        else:
            frame[name] = values
    return frame


def readings(rows: list[tuple[str, str, float, float]]) -> pd.DataFrame:
    """(vehicle_id, date, odometer_mi, engine_hours) rows."""
    frame = pd.DataFrame(rows, columns=["vehicle_id", "date", "odometer_mi", "engine_hours"])
    return frame.assign(date=pd.to_datetime(frame["date"]))


def events(rows: list[tuple[str, str, str, str]]) -> pd.DataFrame:
    """(vehicle_id, date_hi, topic, mark) rows."""
    frame = pd.DataFrame(rows, columns=["vehicle_id", "date_hi", "topic", "mark"])
    return frame.assign(date_hi=pd.to_datetime(frame["date_hi"]))


def usage(
    fleet: pd.DataFrame,
    read: list[tuple[str, str, float, float]] = (),  # type: ignore[assignment]
    happened: list[tuple[str, str, str, str]] = (),  # type: ignore[assignment]
    scale: float = 1.0,
) -> Usage:
    return clocks(fleet, readings(list(read)), events(list(happened)), policy(scale), AS_OF)  # type: ignore[arg-type]


def dates(*text: str) -> np.ndarray:
    return np.array(text, dtype="datetime64[D]")
