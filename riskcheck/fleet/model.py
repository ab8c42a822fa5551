"""A fleet as tidy frames: what every later floor works on."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import partial

import numpy as np
import pandas as pd

from riskcheck.fleet.notebook import Tally

VEHICLE_COLUMNS = [
    "vehicle_id", "unit", "vin", "plate", "customer_id", "make", "model", "engine", "model_year",
    "in_service_lo", "in_service_hi", "duty", "odometer_mi", "engine_hours", "gvwr_lb",
    "value_usd", "state", "state_date", "warranty_end", "goodwill_end", "inspection_due",
    "open_recall", "annual_miles", "owner_since",
]  # fmt: skip
VEHICLE_TEXTS = [
    "vehicle_id", "unit", "vin", "plate", "customer_id", "make", "model", "engine", "duty",
    "state", "open_recall",
]  # fmt: skip
SERVICE_COLUMNS = [
    "service_id", "vehicle_id", "date_lo", "date_hi", "odometer_mi", "engine_hours", "line",
    "invoice", "line_status", "file", "sheet", "row",
]  # fmt: skip
READING_COLUMNS = ["vehicle_id", "date", "odometer_mi", "engine_hours", "file", "sheet", "cell"]
MEASUREMENT_COLUMNS = [
    "vehicle_id", "date", "quantity", "value", "unit", "words", "file", "sheet", "cell",
]  # fmt: skip
CODE_COLUMNS = ["vehicle_id", "date", "code", "words", "file", "sheet", "cell"]
CUSTOMER_COLUMNS = [
    "customer_id", "name", "phone", "email", "address", "kind", "fleet", "consent_call",
    "consent_text", "consent_email", "opt_out", "notes",
]  # fmt: skip
CONTACT_COLUMNS = ["customer_id", "vehicle_id", "date", "channel", "topic", "result", "note"]
APPOINTMENT_COLUMNS = ["vehicle_id", "date", "note"]
PART_COLUMNS = ["part", "on_hand", "lead_days", "topic", "unit_cost", "note"]
HOURS_COLUMNS = ["date", "to", "skill", "bay_hours", "bays", "technician", "note"]
AVAILABILITY_COLUMNS = [
    "vehicle_id", "bay", "technician", "from_date", "to_date", "what", "note", "sheet", "cell",
]  # fmt: skip
BAY_COLUMNS = ["bay", "hours_per_day", "equipment", "max_weight_lb", "note"]
DAY_HOURS = 24.0
NO_HOURS = "hours a day are above 0 and at most 24: this row gives no hours"
TECHNICIAN_COLUMNS = ["name", "skills", "hours_per_day", "note"]
FIXED_DATE_COLUMNS = ["vehicle_id", "what", "date", "tolerance_days", "note", "sheet", "cell"]
PIN_COLUMNS = ["vehicle_id", "job", "date", "pin", "note", "sheet", "cell"]
SERVICE_DUE_COLUMNS = [
    "vehicle_id", "what", "date", "odometer_mi", "hours", "note", "sheet", "cell",
]  # fmt: skip
DOUBT_COLUMNS = [
    "vehicle_id", "date", "written", "read_mi", "used_mi", "proposed_mi", "reason", "file", "sheet",
    "cell",
]  # fmt: skip
ROW_COLUMNS = ["file", "sheet", "row", "fate"]
SPARE_COLUMNS = ["customer_id", "fleet", "type", "spares", "note"]
POLICY_COLUMNS = ["figure", "value", "unit", "where_from", "file", "sheet", "cell"]
REPORT_COLUMNS = [
    "file", "sheet", "taken_for", "rows", "column", "heading", "field", "confidence", "how",
]  # fmt: skip


NUMBERS = {
    "odometer_mi", "engine_hours", "on_hand", "lead_days", "unit_cost", "bay_hours", "bays",
    "hours_per_day", "max_weight_lb", "read_mi", "used_mi", "proposed_mi", "tolerance_days",
    "hours", "spares",
}  # fmt: skip
DATES = {"date", "date_lo", "date_hi", "to", "from_date", "to_date"}


def shaped(frames: Sequence[pd.DataFrame], columns: list[str]) -> pd.DataFrame:
    """One frame of exactly these columns, with the types of the contract even when empty.

    ``value`` is a number but in policy figures, which are passed on as written.
    """
    filled = [frame.reindex(columns=columns) for frame in frames if len(frame)]
    if not filled:
        kinds = {name: _kind(name, columns) for name in columns}
        return pd.DataFrame({name: pd.Series(dtype=kind) for name, kind in kinds.items()})
    joined = pd.concat(filled, ignore_index=True) if len(filled) > 1 else filled[0]
    typed = {name: _typed(joined[name], _kind(name, columns)) for name in columns}
    return pd.DataFrame(typed).reset_index(drop=True)


def _kind(name: str, columns: list[str]) -> str:
    if name in DATES:
        return "datetime64[s]"
    if name in NUMBERS or (name == "value" and columns is not POLICY_COLUMNS):
        return "float64"
    return "int64" if name in ("row", "service_id") else "object"


def _typed(values: pd.Series, kind: str) -> pd.Series:
    if kind == "object":
        return _as_text(values)
    if kind == "datetime64[s]" and values.dtype != kind:
        values = pd.to_datetime(values)
    filled = values.fillna(0) if kind == "int64" else values
    typed: pd.Series = filled.astype(np.dtype(kind))
    return typed


def _as_text(values: pd.Series) -> pd.Series:
    """Text with "" where missing; categories are turned into text without a look at each cell."""
    if isinstance(values.dtype, pd.CategoricalDtype):
        listed = np.append(np.asarray(values.cat.categories, dtype=object), "")
        return pd.Series(listed[values.cat.codes.to_numpy()], index=values.index, dtype=object)
    text = values.astype(object)
    return text.fillna("") if text.hasnans else text


@dataclass(frozen=True)
class Fleet:
    """Everything read from one input; every frame has a RangeIndex.

    Missing text is "" (in fact columns NA), missing numbers NaN or NA, missing dates NaT.
    ``vehicles`` also has one column per vocabulary fact that comes from a column, and
    file/sheet/row of the source.  ``reports`` says what each sheet and heading was taken for;
    ``problems`` what was done to every row and cell that was not used as written.  ``written``
    holds, per fact that a vehicle cell states, the cell's own words, column letters and row,
    index as in ``vehicles`` (NA where the cell says nothing).

    ``doubts`` has the odometer readings that were left out or look odd, each with the value that
    would fit; ``doubts.believed`` gives the fleet as it would be with them.

    ``state`` of a vehicle is active, sold or scrapped; ``owner_since`` the day a new owner took it
    over: the history stays with the vehicle, consents given before that day do not.

    The shop's own calendar: ``availability`` says when a vehicle, a bay or a technician (one of
    the three columns is filled) is away; ``hours`` bay-hours by week; ``fixed_dates`` also holds
    the inspections due of the vehicle sheet; ``pins`` has ``pin`` "pinned" or "forbidden" and the
    job or hazard as written; ``policy`` the figures that the shop set itself, as written.
    """

    vehicles: pd.DataFrame
    service: pd.DataFrame
    readings: pd.DataFrame
    measurements: pd.DataFrame
    codes: pd.DataFrame
    events: pd.DataFrame
    customers: pd.DataFrame
    contacts: pd.DataFrame
    appointments: pd.DataFrame
    availability: pd.DataFrame
    parts: pd.DataFrame
    coverage: pd.DataFrame
    problems: pd.DataFrame
    reports: pd.DataFrame
    tallies: tuple[Tally, ...]
    hours: pd.DataFrame = field(default_factory=partial(shaped, (), HOURS_COLUMNS))
    bays: pd.DataFrame = field(default_factory=partial(shaped, (), BAY_COLUMNS))
    technicians: pd.DataFrame = field(default_factory=partial(shaped, (), TECHNICIAN_COLUMNS))
    fixed_dates: pd.DataFrame = field(default_factory=partial(shaped, (), FIXED_DATE_COLUMNS))
    pins: pd.DataFrame = field(default_factory=partial(shaped, (), PIN_COLUMNS))
    services_due: pd.DataFrame = field(default_factory=partial(shaped, (), SERVICE_DUE_COLUMNS))
    spares: pd.DataFrame = field(default_factory=partial(shaped, (), SPARE_COLUMNS))
    policy: pd.DataFrame = field(default_factory=partial(shaped, (), POLICY_COLUMNS))
    rows: pd.DataFrame = field(default_factory=partial(shaped, (), ROW_COLUMNS))
    doubts: pd.DataFrame = field(default_factory=partial(shaped, (), DOUBT_COLUMNS))
    written: Mapping[str, pd.DataFrame] = field(default_factory=dict)
