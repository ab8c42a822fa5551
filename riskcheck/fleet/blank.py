"""An empty fleet workbook to start from: every sheet and heading, drop-downs, an example row."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

from riskcheck.fleet.model import VEHICLE_COLUMNS
from riskcheck.sheets import Column, Sheet, Style, Workbook, write_workbook
from riskcheck.vocabulary import Fact, Vocabulary

_YES_NO = ("yes", "no")
_SPARE_ROWS = 500
_Spec = tuple[str, object, tuple[str, ...]]  # heading, example, choices

_VEHICLES: tuple[_Spec, ...] = (
    ("Vehicle ID", "EXAMPLE-1", ()), ("Unit number", "12", ()), ("VIN", "1ZZAA1AA0AA000005", ()),
    ("Plate", "EX 1234", ()), ("Customer ID", "C-EXAMPLE", ()), ("Make", "(make)", ()),
    ("Model", "(model)", ()), ("Engine", "(engine)", ()), ("Model year", 2016, ()),
    ("In service date", dt.date(2016, 4, 1), ()),
    ("Duty", "van", ("retail", "van", "bus", "utility", "farm")),
    ("Odometer (mi)", 84500, ()), ("Odometer date", dt.date(2026, 1, 15), ()),
    ("Engine hours", None, ()), ("GVWR (lb)", 9000, ()), ("Vehicle value", 14000, ()),
    ("Vehicle status", "active", ("active", "sold", "scrapped")), ("Sold date", None, ()),
    ("New owner since", None, ()),
    ("Warranty end", None, ()), ("Goodwill end", None, ()), ("Inspection due", None, ()),
    ("Open recall", None, ()), ("Miles per year", None, ()),
)  # fmt: skip
_SERVICE: tuple[_Spec, ...] = (
    ("Vehicle ID", "EXAMPLE-1", ()), ("Date", dt.date(2025, 10, 2), ()),
    ("Odometer (mi)", 81200, ()), ("Description", "replaced coolant, pressure test ok", ()),
    ("Invoice", "1001", ()), ("Line status", "closed", ("closed", "estimate", "open")),
)  # fmt: skip
_MEASUREMENTS: tuple[_Spec, ...] = (
    ("Vehicle ID", "EXAMPLE-1", ()), ("Date", dt.date(2025, 10, 2), ()),
    ("Quantity", "coolant_ph", ()), ("Value", 8.2, ()), ("Unit of measure", None, ()),
)  # fmt: skip
_CODES: tuple[_Spec, ...] = (
    ("Vehicle ID", "EXAMPLE-1", ()), ("Date", dt.date(2025, 10, 2), ()),
    ("Fault code", "P0540", ()),
)  # fmt: skip
_CUSTOMERS: tuple[_Spec, ...] = (
    ("Customer ID", "C-EXAMPLE", ()), ("Name", "Example customer", ()), ("Phone", None, ()),
    ("Email", None, ()), ("Address", None, ()), ("Customer type", "retail", ("retail", "fleet")),
    ("Fleet name", None, ()), ("OK to call", "yes", _YES_NO), ("OK to text", "no", _YES_NO),
    ("OK to email", "yes", _YES_NO), ("Opt out", "no", _YES_NO), ("Notes", None, ()),
)  # fmt: skip
_CONTACTS: tuple[_Spec, ...] = (
    ("Customer ID", "C-EXAMPLE", ()), ("Vehicle ID", "EXAMPLE-1", ()),
    ("Date", dt.date(2025, 9, 1), ()), ("Channel", "call", ("call", "text", "email", "letter")),
    ("Topic", "coolant", ()), ("Result", "will come in", ()), ("Note", None, ()),
)  # fmt: skip
_APPOINTMENTS: tuple[_Spec, ...] = (
    ("Vehicle ID", "EXAMPLE-1", ()), ("Appointment date", dt.date(2026, 2, 3), ()),
    ("Note", "inspection", ()),
)  # fmt: skip
_PARTS: tuple[_Spec, ...] = (
    ("Part number", "(part)", ()), ("On hand", 2, ()), ("Lead days", 3, ()), ("Topic", None, ()),
    ("Unit cost", 85, ()),
)  # fmt: skip
_AWAY: tuple[_Spec, ...] = (
    ("Vehicle ID", "EXAMPLE-1", ()), ("Bay", None, ()), ("Technician", None, ()),
    ("From date", dt.date(2026, 7, 1), ()), ("To date", dt.date(2026, 7, 14), ()),
    ("What", "harvest: cannot be spared", ()),
)  # fmt: skip
_BAYS: tuple[_Spec, ...] = (
    ("Bay", "1", ()), ("Hours per day", 8, ()), ("Equipment", "two-post lift", ()),
    ("Max weight lb", 10000, ()),
)  # fmt: skip
_TECHNICIANS: tuple[_Spec, ...] = (
    ("Technician", "(initials)", ()), ("Skills", "A; brakes", ()), ("Hours per day", 6.5, ()),
)  # fmt: skip
_FIXED: tuple[_Spec, ...] = (
    ("Vehicle ID", "EXAMPLE-1", ()), ("What is due", "annual inspection", ()),
    ("Fixed date", dt.date(2026, 5, 20), ()), ("Tolerance days", 7, ()),
)  # fmt: skip
_PINS: tuple[_Spec, ...] = (
    ("Vehicle ID", "EXAMPLE-1", ()), ("Hazard or job", "coolant-age", ()),
    ("Week of", dt.date(2026, 3, 2), ()),
    ("Pinned or forbidden", "pinned", ("pinned", "forbidden")),
)  # fmt: skip
_DUE: tuple[_Spec, ...] = (
    ("Vehicle ID", "EXAMPLE-1", ()), ("Service due", "oil service", ()),
    ("Due date", dt.date(2026, 4, 10), ()), ("Due at (mi)", 90000, ()), ("Hours needed", 1, ()),
)  # fmt: skip
_SPARES: tuple[_Spec, ...] = (
    ("Customer ID", "C-EXAMPLE", ()), ("Fleet name", None, ()), ("Vehicle type", "bus", ()),
    ("Spares", 1, ()),
)  # fmt: skip
_POLICY: tuple[_Spec, ...] = (
    ("Policy figure", "(name of a figure in the policy file)", ()), ("Value", None, ()),
    ("Unit", None, ()), ("Where from", None, ()),
)  # fmt: skip
_HOURS: tuple[_Spec, ...] = (
    ("Week", dt.date(2026, 2, 2), ()), ("Skill", "B", ("A", "B", "C")), ("Bay hours", 40, ()),
)  # fmt: skip


def write_blank_workbook(path: Path, vocabulary: Vocabulary) -> Path:
    """Write the empty workbook; every column fact of the vocabulary has its own column.

    The example rows say that they are examples and are read like any other row: delete them.
    """
    facts = tuple(
        _fact_spec(fact)
        for fact in vocabulary.derived_by("column")
        if fact.derivation.params.get("name", fact.name) not in VEHICLE_COLUMNS
    )
    have = {heading.casefold() for heading, _, _ in _VEHICLES}
    extra = tuple(
        spec for spec in facts if spec[0].casefold() not in have | {"gvwr lb", "model year", "duty"}
    )
    hints = {_heading(fact): fact.ask or fact.meaning for fact in vocabulary.values()}
    sheets = [
        _guide(),
        _sheet("Vehicles", (*_VEHICLES, *extra), hints),
        _sheet("Service", _SERVICE, hints),
        _sheet("Measurements", _MEASUREMENTS, hints),
        _sheet("Fault codes", _CODES, hints),
        _sheet("Customers", _CUSTOMERS, hints),
        _sheet("Contact log", _CONTACTS, hints),
        _sheet("Appointments", _APPOINTMENTS, hints),
        _sheet("Parts on hand", _PARTS, hints),
        _sheet("Bay hours", _HOURS, hints),
        _sheet("Bays", _BAYS, hints),
        _sheet("Technicians", _TECHNICIANS, hints),
        _sheet("Away", _AWAY, hints),
        _sheet("Fixed dates", _FIXED, hints),
        _sheet("Pinned weeks", _PINS, hints),
        _sheet("Services due", _DUE, hints),
        _sheet("Spares", _SPARES, hints),
        _sheet("Policy", _POLICY, hints),
    ]
    looks = {"example": Style(italic=True, colour="777777")}
    return write_workbook(path, Workbook(sheets, "Fleet workbook to fill in", looks))


def _heading(fact: Fact) -> str:
    words = fact.headings[0] if fact.headings else fact.name.replace("_", " ")
    return words[:1].upper() + words[1:]


def _fact_spec(fact: Fact) -> _Spec:
    choices = _YES_NO if fact.kind == "flag" else fact.values
    return _heading(fact), None, choices


def _sheet(name: str, specs: tuple[_Spec, ...], hints: dict[str, str]) -> Sheet:
    columns = [
        Column(
            heading,
            width=max(12.0, len(heading) + 4.0),
            number_format="yyyy-mm-dd" if isinstance(example, dt.date) or "date" in heading.lower()
            else "@" if isinstance(example, str) else "",
            choices=choices if sum(map(len, choices)) + len(choices) < 250 else (),
            hint=hints.get(heading, ""),
        )
        for heading, example, choices in specs
    ]  # fmt: skip
    row = [example for _, example, _ in specs]
    return Sheet(
        name, columns, [row], row_styles={0: "example"}, freeze_columns=1, spare_rows=_SPARE_ROWS
    )


def _guide() -> Sheet:
    lines = (
        "One row a vehicle on 'Vehicles', one row a line of work on 'Service'.",
        "Sheets and columns you do not use may be deleted; only a vehicle id is needed.",
        "The grey rows are invented examples: delete them before use.",
        "Leave a cell empty where you do not know: empty means unknown, never no.",
        "Then: riskcheck assess THIS-FILE.xlsx",
    )
    return Sheet(
        "Read me", [Column("How to use this workbook", width=90, wrap=True)],
        [[line] for line in lines], filters=False,
    )  # fmt: skip
