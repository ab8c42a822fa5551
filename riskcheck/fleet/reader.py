"""From a fleet file to tidy frames: the whole reading in one place."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path

import pandas as pd

from riskcheck.errors import InputError
from riskcheck.fleet import model
from riskcheck.fleet.column_types import believable
from riskcheck.fleet.columns import Context
from riskcheck.fleet.coverage import coverage_of
from riskcheck.fleet.dates import order_of
from riskcheck.fleet.doubts import doubts_of, judged, with_latest
from riskcheck.fleet.flat import vehicles_of_flat
from riskcheck.fleet.layout import fill_down, split_up
from riskcheck.fleet.model import Fleet, shaped
from riskcheck.fleet.notebook import Notebook
from riskcheck.fleet.records import (
    owners_on,
    read_appointments,
    read_codes,
    read_contacts,
    read_customers,
    read_measurements,
)
from riskcheck.fleet.reports import missing_input, note_lost_cells, report_tables
from riskcheck.fleet.resolve import Directory
from riskcheck.fleet.service import read_service
from riskcheck.fleet.shop import SHOP_SHEETS, inspections_due, read_shop
from riskcheck.fleet.tables import Books, Table, find_tables
from riskcheck.fleet.vehicles import read_vehicles
from riskcheck.fleet.worded import WordReader, codes_of, events_of, known_quantities
from riskcheck.fleet.written import split_written
from riskcheck.sheets import Grid, read_grids
from riskcheck.vocabulary import Vocabulary

Progress = Callable[[str], None]


def read_fleet(
    path: Path | str,
    *,
    vocabulary: Vocabulary,
    lexicon: WordReader,
    as_of: dt.date,
    mapping: Mapping[str, str] | None = None,
    progress: Progress | None = None,
) -> Fleet:
    """Read a workbook, a text table, a Parquet file or a folder of them.

    ``mapping`` takes headings to field names (or "ignore"); ``progress`` is called with a few
    words at each step.  Rows dated after ``as_of`` are set aside.

    Raises InputError, one paragraph for a person, where no vehicle sheet can be found or a
    sheet lacks what it cannot do without; InternalError if rows do not add up.
    """
    return fleet_of(
        read_grids(path, progress=progress),
        Path(path).name,
        vocabulary=vocabulary,
        lexicon=lexicon,
        as_of=as_of,
        mapping=mapping,
        progress=progress,
    )


def fleet_of(
    sheets: Sequence[Grid],
    name: str,
    *,
    vocabulary: Vocabulary,
    lexicon: WordReader,
    as_of: dt.date,
    mapping: Mapping[str, str] | None = None,
    progress: Progress | None = None,
) -> Fleet:
    """The same from sheets already in memory; ``name`` is what messages call the input."""
    tell = progress or (lambda words: None)
    filled = [grid for grid in sheets if len(grid.cells)]
    if not filled:
        raise InputError(f"{name} holds no filled cells: there is nothing to read.")
    words = {fact.name: (fact.name, *fact.headings) for fact in vocabulary.derived_by("column")}
    books = Books(words, mapping or {})
    tell("finding the tables")
    grids, sections = split_up(filled, books)
    notebook = Notebook(grids)
    tables = [
        believable(table)
        for grid in grids
        for table in find_tables(grid, books, notebook, sections[id(grid)])
    ]
    for table in tables:
        fill_down(table, notebook)
    note_lost_cells(grids, tables, notebook)
    context = Context(notebook, as_of, _orders(tables, as_of))
    missing_input(name, grids, tables, books)
    return _Reading(context, tables, tell).fleet(grids, vocabulary, lexicon)


def _orders(tables: Sequence[Table], as_of: dt.date) -> dict[str, str]:
    """Day/month order that all date columns of one file together show, where they agree."""
    votes: dict[str, list[int]] = {}
    for table in tables:
        for column in table.columns:
            if "date" in column.match.field or column.match.field in ("in_service", "appointment"):
                cells = table.cells(column.index)
                day_first, month_first = order_of(cells, as_of)
                vote = votes.setdefault(table.grid.file, [0, 0])
                vote[0] += day_first
                vote[1] += month_first
    return {
        file: "dmy" if day_first else "mdy"
        for file, (day_first, month_first) in votes.items()
        if bool(day_first) != bool(month_first)
    }


class _Reading:
    """One pass over the tables, kind by kind, vehicles first."""

    def __init__(self, context: Context, tables: Sequence[Table], tell: Progress) -> None:
        self._context = context
        self._tables = tables
        self._tell = tell
        self._readings: list[pd.DataFrame] = []
        self._written: Mapping[str, pd.DataFrame] = {}

    def _of(self, kind: str) -> list[Table]:
        return [table for table in self._tables if table.kind.name == kind]

    def fleet(self, grids: Sequence[Grid], vocabulary: Vocabulary, lexicon: WordReader) -> Fleet:
        self._tell("reading vehicles")
        vehicles = self._vehicles(vocabulary)
        directory = Directory(vehicles)
        self._tell("reading service history")
        service = self._service(directory)
        readings, doubts = self._sensible(
            shaped(self._readings, model.READING_COLUMNS), service, grids
        )
        self._tell("reading the words of the lines")
        events, measured = events_of(service, lexicon)
        sheet_values = self._frames("measurements", read_measurements, directory)
        known = known_quantities(
            shaped(sheet_values, [*model.MEASUREMENT_COLUMNS, "quote"]), lexicon
        )
        codes = shaped(self._frames("codes", read_codes, directory), model.CODE_COLUMNS)
        customers = self._customers(vehicles)
        contacts = self._frames("contacts", read_contacts, directory)
        appointments = self._frames("appointments", read_appointments, directory)
        shop = self._shop(directory, vehicles)
        readings = readings.sort_values(["vehicle_id", "date"], kind="stable", ignore_index=True)
        self._context.notebook.close()
        return Fleet(
            vehicles=with_latest(vehicles, readings),
            service=shaped([service], model.SERVICE_COLUMNS),
            readings=readings,
            measurements=shaped([measured, known], model.MEASUREMENT_COLUMNS),
            codes=shaped([codes, codes_of(service)], model.CODE_COLUMNS),
            events=events,
            customers=customers,
            contacts=shaped(contacts, model.CONTACT_COLUMNS),
            appointments=shaped(appointments, model.APPOINTMENT_COLUMNS),
            **shop,
            coverage=coverage_of(service, vehicles),
            problems=self._context.notebook.problems(),
            reports=report_tables(grids, self._tables),
            tallies=tuple(self._context.notebook.tallies()),
            rows=self._context.notebook.fates(),
            written=self._written,
            doubts=doubts,
        )

    def _frames(
        self, kind: str, read: Callable[[Context, Table, Directory], pd.DataFrame],
        directory: Directory,
    ) -> list[pd.DataFrame]:  # fmt: skip
        return [read(self._context, table, directory) for table in self._of(kind)]

    def _sensible(
        self, readings: pd.DataFrame, service: pd.DataFrame, grids: Sequence[Grid]
    ) -> tuple[pd.DataFrame, pd.DataFrame]:
        """(readings after the check across rows, doubts); all is noted cell by cell."""
        kept, findings = judged(readings)
        noted = readings.loc[findings["at"]]
        self._context.notebook.note_places(
            noted[["file", "sheet", "cell"]].reset_index(drop=True), findings
        )
        _follow(service, readings, kept)
        return kept, doubts_of(readings, findings, grids)

    def _shop(self, directory: Directory, vehicles: pd.DataFrame) -> dict[str, pd.DataFrame]:
        """The frames of the shop's own sheets by name."""
        frames: dict[str, list[pd.DataFrame]] = {sheet.kind: [] for sheet in SHOP_SHEETS}
        frames["fixed_dates"].append(inspections_due(vehicles))
        for sheet in SHOP_SHEETS:
            for table in self._of(sheet.kind):
                frames[sheet.kind].append(read_shop(self._context, table, directory, sheet))
        return {sheet.frame: shaped(frames[sheet.kind], sheet.columns) for sheet in SHOP_SHEETS}

    def _vehicles(self, vocabulary: Vocabulary) -> pd.DataFrame:
        frames = []
        for table in self._of("vehicles"):
            frame, readings = read_vehicles(self._context, table, vocabulary)
            frames.append(frame)
            self._readings.append(readings)
        if not frames:
            frames = [
                vehicles_of_flat(self._context, table, vocabulary) for table in self._of("service")
            ]
        facts = [fact.name for fact in vocabulary.derived_by("column")]
        columns = list(dict.fromkeys([*model.VEHICLE_COLUMNS, *facts, "file", "sheet", "row"]))
        merged = pd.concat(frames, ignore_index=True).rename(columns={"_file": "file"})
        merged = merged.drop_duplicates("vehicle_id", ignore_index=True)
        self._written = split_written(merged)
        vehicles = merged[columns]
        for name in model.VEHICLE_TEXTS:
            vehicles[name] = vehicles[name].astype(object).fillna("")
        return vehicles

    def _service(self, directory: Directory) -> pd.DataFrame:
        frames = []
        for table in self._of("service"):
            frame, readings = read_service(self._context, table, directory)
            column = table.find("line") or table.find("complaint") or table.find("remarks")
            letters = table.grid.letters(column.index if column else 0)
            frames.append(frame.assign(cell_address=letters + frame["row"].astype("str")))
            self._readings.append(readings)
        columns = [*model.SERVICE_COLUMNS, "reading_text", "cell_address"]
        if len(frames) == 1:  # columns stay categorical until the words are read
            service = frames[0].reset_index(drop=True).assign(service_id=0)[columns]
        else:
            service = shaped(frames, columns)
        return service.assign(service_id=service.index.astype("int64"))

    def _customers(self, vehicles: pd.DataFrame) -> pd.DataFrame:
        frames = [read_customers(self._context, table) for table in self._of("customers")]
        customers = shaped(frames, model.CUSTOMER_COLUMNS)
        named = pd.Series(vehicles["customer_id"].unique(), dtype=object)
        unknown = named[(named != "") & ~named.isin(customers["customer_id"])]
        tables = (*self._of("vehicles"), *self._of("service"))
        beside = [owners_on(self._context, table) for table in tables]
        found = shaped(beside, model.CUSTOMER_COLUMNS).drop_duplicates("customer_id")
        extra = pd.DataFrame({"customer_id": unknown, "name": unknown}).reindex(
            columns=model.CUSTOMER_COLUMNS, fill_value=""
        )
        extra = pd.concat([found[found["customer_id"].isin(unknown)], extra])
        return pd.concat([customers, extra], ignore_index=True).drop_duplicates(
            "customer_id", ignore_index=True
        )


def _follow(service: pd.DataFrame, before: pd.DataFrame, after: pd.DataFrame) -> None:
    """Give service lines the odometer that the check across rows left of their reading."""
    changed = before["odometer_mi"].ne(after["odometer_mi"]) & before["odometer_mi"].notna()
    if not changed.any():
        return
    rows = after[changed].assign(row=after.loc[changed, "cell"].str.extract(r"(\d+)$")[0])
    new = {
        (file, sheet, int(row)): miles
        for file, sheet, row, miles in zip(
            rows["file"], rows["sheet"], rows["row"], rows["odometer_mi"], strict=True
        )
    }
    some = service[service["row"].isin([row for _, _, row in new])]
    for at, file, sheet, row in zip(
        some.index, some["file"], some["sheet"], some["row"], strict=True
    ):
        if (file, sheet, row) in new:
            service.loc[at, "odometer_mi"] = new[file, sheet, row]
