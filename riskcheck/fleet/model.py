"""A fleet as tidy frames: what every later floor works on."""

from __future__ import annotations

from dataclasses import dataclass

import pandas as pd

from riskcheck.fleet.notebook import Tally

VEHICLE_COLUMNS = [
    "vehicle_id", "unit", "vin", "plate", "customer_id", "make", "model", "engine", "model_year",
    "in_service_lo", "in_service_hi", "duty", "odometer_mi", "engine_hours", "gvwr_lb",
    "value_usd", "state", "state_date", "warranty_end", "goodwill_end", "inspection_due",
    "open_recall", "annual_miles",
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
PART_COLUMNS = ["part_no", "on_hand", "lead_days", "topic", "unit_cost", "note"]
AVAILABILITY_COLUMNS = ["date", "to", "skill", "bay_hours", "bays", "technician", "note"]
REPORT_COLUMNS = [
    "file", "sheet", "taken_for", "rows", "column", "heading", "field", "confidence", "how",
]  # fmt: skip


@dataclass(frozen=True)
class Fleet:
    """Everything read from one input; every frame has a RangeIndex.

    Missing text is "" (in fact columns NA), missing numbers NaN or NA, missing dates NaT.
    ``vehicles`` also has one column per vocabulary fact that comes from a column, and
    file/sheet/row of the source.  ``reports`` says what each sheet and heading was taken for;
    ``problems`` what was done to every row and cell that was not used as written.
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
