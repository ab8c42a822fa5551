"""The vehicle sheet (or the vehicle columns of a flat export) as one row a vehicle."""

from __future__ import annotations

import numpy as np
import pandas as pd

from riskcheck import units
from riskcheck.fleet import vin as vins
from riskcheck.fleet.columns import (
    Context,
    date_column,
    id_column,
    note_cells,
    number_column,
    odometer_column,
    plain_number,
    references,
    text_column,
    yes_no,
)
from riskcheck.fleet.distinct import distinct, mapped, marked, spread
from riskcheck.fleet.identity import key
from riskcheck.fleet.model import READING_COLUMNS, VEHICLE_COLUMNS
from riskcheck.fleet.notebook import Place
from riskcheck.fleet.tables import Table
from riskcheck.fleet.written import written_cells
from riskcheck.vocabulary import Fact, Vocabulary

_TEXTS = ("make", "model", "engine", "duty", "open_recall")
_DATES = ("state_date", "owner_since", "warranty_end", "goodwill_end", "inspection_due")
_VIN_REPAIRED = "letters I, O, Q do not occur in a VIN; one reading satisfies the check digit"
_VIN_DOUBTS = {
    "form": "not 17 characters of a VIN: kept as written",
    "check_digit": "the check digit does not fit (binding in North America only): compare with the "
    "vehicle",
}
_SOLD = {"sold", "disposed", "traded", "transferred", "gone", "new owner"}
_SCRAPPED = {"scrapped", "scrap", "totaled", "totalled", "written off", "junked", "dead"}


def read_vehicles(
    context: Context, table: Table, vocabulary: Vocabulary
) -> tuple[pd.DataFrame, pd.DataFrame]:
    """(vehicles, readings) of one vehicle table; rows that name no vehicle are set aside."""
    frame = vehicle_rows(context, table, vocabulary)
    named = frame["vehicle_id"] != ""
    nameless = table.rows[~named.to_numpy(dtype=bool)]
    context.notebook.set_aside(
        Place(table.grid), nameless, "names no vehicle: give an id, unit number, VIN or plate"
    )
    frame = frame[named]
    frame = _one_row_each(context, table, frame)
    context.notebook.use(table.grid, frame.index.to_numpy(dtype=np.int64))
    return frame, _readings(context, table, frame)


def vehicle_rows(context: Context, table: Table, vocabulary: Vocabulary) -> pd.DataFrame:
    """Every row of a table with all vehicle fields and column facts, typed and cleaned."""
    refs = references(context, table)
    frame = pd.DataFrame(index=table.rows)
    for field in ("vehicle_id", "unit", "vin", "plate"):
        frame[field] = refs[field].astype(object) if field in refs else ""
    _add_details(context, table, frame)
    for fact in vocabulary.derived_by("column"):
        frame[fact.name] = _fact_column(context, table, fact, frame)
    frame["_file"], frame["sheet"] = table.grid.file, table.grid.sheet
    frame["row"] = table.rows + table.grid.first_row + 1
    facts = [fact.name for fact in vocabulary.derived_by("column")]
    frame = pd.concat([frame, written_cells(table, frame, facts)], axis=1)
    return frame.assign(vehicle_id=_names(frame))


def _add_details(context: Context, table: Table, frame: pd.DataFrame) -> None:
    for field in _TEXTS:
        frame[field] = text_column(table, field)
    frame["customer_id"] = id_column(context, table, "customer_id")
    if table.find("customer_id") is None:
        frame["customer_id"] = text_column(table, "name")
    in_service = date_column(context, table, "in_service")
    frame["in_service_lo"] = pd.NaT if in_service is None else in_service.lo
    frame["in_service_hi"] = pd.NaT if in_service is None else in_service.hi
    for field in _DATES:
        read = date_column(context, table, field)
        frame[field] = pd.NaT if read is None else read.lo
    odometer = odometer_column(context, table)
    frame["odometer_mi"] = odometer["miles"]
    frame["engine_hours"] = odometer["hours"].fillna(number_column(context, table, "engine_hours"))
    read_on = date_column(context, table, "odometer_date")
    frame["_read_on"] = pd.NaT if read_on is None else read_on.hi
    frame["gvwr_lb"] = number_column(context, table, "gvwr")
    frame["value_usd"] = number_column(context, table, "value")
    frame["annual_miles"] = number_column(context, table, "annual_miles")
    frame["state"] = _states(text_column(table, "state"))
    frame["vin"] = repaired_vins(context, table, frame["vin"])
    frame["model_year"] = _model_years(context, table, frame)


def _names(frame: pd.DataFrame) -> pd.Series:
    name = frame["vehicle_id"]
    for field in ("unit", "vin", "plate"):
        name = name.where(name != "", frame[field])
    return name


def _states(words: pd.Series) -> pd.Series:
    lowered = words.str.casefold()
    state = pd.Series("active", index=words.index, dtype=object)
    state[lowered.isin(_SOLD)] = "sold"
    state[lowered.isin(_SCRAPPED)] = "scrapped"
    return state


def repaired_vins(context: Context, table: Table, written: pd.Series) -> pd.Series:
    codes, found = distinct(written)
    read = [vins.repair(vin) or vin for vin in found]
    result = pd.Series(spread(codes, read, "", "object"), index=written.index)
    fixed = [_VIN_REPAIRED if now != vin else "" for now, vin in zip(read, found, strict=True)]
    note_cells(context, table, "vin", marked(codes, fixed, written.index), result)
    doubts = [_VIN_DOUBTS.get(vins.verdict(vin), "") for vin in read]
    note_cells(context, table, "vin", marked(codes, doubts, written.index))
    return result


def _model_years(context: Context, table: Table, frame: pd.DataFrame) -> pd.Series:
    """The stated year; where none is stated, the VIN's if it allows only one."""
    stated = number_column(context, table, "model_year")
    stated = stated.where(stated.isna() | (stated > 99), _century(stated, context.as_of.year))
    sane = stated.between(1900, context.as_of.year + 2) | stated.isna()
    reason = pd.Series(np.where(sane, "", "no possible model year"), index=frame.index)
    note_cells(context, table, "model_year", reason.astype(object))
    stated = stated.where(sane)
    allowed = [
        vins.model_years(vin, weight) if vins.verdict(vin) == "ok" else ()
        for vin, weight in zip(frame["vin"], frame["gvwr_lb"], strict=True)
    ]
    clash = [
        f"the VIN says model year {' or '.join(map(str, years))}, the sheet {year:.0f}: "
        "the sheet was followed"
        if years and year == year and int(year) not in years
        else ""
        for years, year in zip(allowed, stated, strict=True)
    ]
    note_cells(context, table, "model_year", pd.Series(clash, index=frame.index, dtype=object))
    only = [float(years[0]) if len(years) == 1 else np.nan for years in allowed]
    filled = stated.fillna(pd.Series(only, index=frame.index))
    return filled.round().astype("Int64")


def _century(years: pd.Series, this_year: int) -> pd.Series:
    recent = 2000 + years
    return recent.where(recent <= this_year + 1, 1900 + years)


def _fact_column(context: Context, table: Table, fact: Fact, frame: pd.DataFrame) -> pd.Series:
    """One vocabulary fact per row: number, or a code of the vocabulary; NA where silent."""
    name = str(fact.derivation.params.get("name", fact.name))
    if name in frame.columns and name in VEHICLE_COLUMNS:
        return frame[name].replace("", pd.NA) if frame[name].dtype == object else frame[name]
    field = f"fact:{fact.name}"
    column = table.find(field)
    if column is None:
        kind = "float64" if fact.kind == "number" else "string"
        return pd.Series(index=frame.index, dtype=kind)
    raw = table.cells(column.index)
    if fact.kind == "number":
        return _fact_number(context, table, fact, raw)
    return _fact_code(context, table, fact)


def _fact_number(context: Context, table: Table, fact: Fact, raw: pd.Series) -> pd.Series:
    column = table.find(f"fact:{fact.name}")
    heading = "" if column is None else column.heading
    read = [_fact_value(value, fact.unit, heading) for value in raw]
    values = pd.Series([number for number, _ in read], index=table.rows, dtype="float64")
    reason = pd.Series([why for _, why in read], index=table.rows, dtype=object)
    outside = values.notna() & ~values.between(fact.low, fact.high)
    reason[outside] = (
        f"outside the possible range {fact.low:g} to {fact.high:g} {fact.unit}".strip()
        + ": read as missing"
    )
    note_cells(context, table, f"fact:{fact.name}", reason)
    return values.where(~outside)


def _fact_value(value: object, unit: str, heading: str) -> tuple[float, str]:
    """A number, or words with a unit ("10 AWG", "20in") in the fact's own unit; why if missing."""
    number, why = plain_number(value)
    by_gauge = unit == "mm2" and units.speaks_of_gauge(heading)
    if isinstance(value, bool) or (not why and (np.isnan(number) or not by_gauge)):
        return number, why
    try:
        text = f"{value:g}" if isinstance(value, int | float) else str(value)
        return units.value_in(text, unit, heading), ""
    except units.UnitError as wrong:
        return np.nan, why or f"{wrong}: read as missing"


def _fact_code(context: Context, table: Table, fact: Fact) -> pd.Series:
    written = text_column(table, f"fact:{fact.name}")
    if fact.kind == "flag":
        written = yes_no(written)
    codes = {key(word): code for code, words in fact.also_written.items() for word in words}
    codes |= {key(code): code for code in fact.codes}
    found = mapped(written, lambda text: codes.get(key(text), ""))
    silent = written.str.casefold().isin(["", "?", "unknown", "n/a", "-", "not known", "unk"])
    reason = pd.Series("", index=written.index, dtype=object)
    reason[(found == "") & ~silent] = f"not one of {', '.join(fact.codes)}: read as not known"
    note_cells(context, table, f"fact:{fact.name}", reason)
    return found.replace("", pd.NA).astype("string")


def _one_row_each(context: Context, table: Table, frame: pd.DataFrame) -> pd.DataFrame:
    """Equal ids: equal VINs (or none) are one vehicle told twice; other VINs are others."""
    keys = frame["vehicle_id"].map(key).where(lambda k: k != "", frame["vehicle_id"])
    repeated = keys.duplicated(keep=False)
    if not repeated.any():
        return frame
    frame = frame.copy()
    for _, group in frame[repeated].groupby(keys[repeated], sort=False):
        distinct = [vin for vin in dict.fromkeys(group["vin"]) if vin]
        if len(distinct) > 1:
            for row, vin in group["vin"].iloc[1:].items():
                if vin and vin != group["vin"].iloc[0]:
                    frame.loc[row, "vehicle_id"] = f"{group['vehicle_id'].iloc[0]}/{vin[-6:]}"
    changed = frame["vehicle_id"][frame["vehicle_id"].str.contains("/") & repeated]
    context.notebook.repair(
        table.place("vehicle_id" if table.find("vehicle_id") else "unit"),
        changed.index.to_numpy(dtype=np.int64),
        ([text.rsplit("/", 1)[0] for text in changed], changed.tolist()),
        "two vehicles (two VINs) under one number: kept apart by VIN",
    )
    again = frame["vehicle_id"].map(key).duplicated()
    context.notebook.set_aside(
        Place(table.grid),
        frame.index[again].to_numpy(dtype=np.int64),
        "this vehicle stands on an earlier row too: the first row was followed",
        frame["vehicle_id"][again].tolist(),
    )
    return frame[~again]


def _readings(context: Context, table: Table, frame: pd.DataFrame) -> pd.DataFrame:
    """Odometer readings of the sheet; undated ones count as read on the as-of date."""
    found = frame[frame["odometer_mi"].notna() | frame["engine_hours"].notna()]
    undated = found["_read_on"].isna()
    column = table.find("odometer")
    if undated.any() and column is not None:
        context.notebook.note_sheet(
            table.grid,
            column.heading,
            f"{int(undated.sum())} readings have no date: taken as read on the as-of date",
        )
    as_of = pd.Timestamp(context.as_of)
    date = found["_read_on"].fillna(as_of)
    place = column or table.find("engine_hours")
    return pd.DataFrame(
        {
            "vehicle_id": found["vehicle_id"],
            "date": date.where(date <= as_of, as_of),
            "odometer_mi": found["odometer_mi"],
            "engine_hours": found["engine_hours"],
            "file": table.grid.file,
            "sheet": table.grid.sheet,
            "cell": [table.grid.address(row, place.index) if place else "" for row in found.index],
        },
        columns=READING_COLUMNS,
    )
