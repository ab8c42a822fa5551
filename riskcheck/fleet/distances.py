"""Odometers and other plain numbers as people type them."""

from __future__ import annotations

import re
from dataclasses import dataclass

import numpy as np
import pandas as pd

from riskcheck.fleet.distinct import Objects, distinct, marked, odd_ones, spread

KM_PER_MILE = 1.609344  # NIST SP 811, Appendix B
_PLACEHOLDERS = {999999, 9999999, 123456, 111111, 99999999}
_MAX_MILES = 3_000_000
_BARE_MILES = r"[2-9]|[1-9][0-9]{1,4}|[1-9][0-9]{5}"
_Row = tuple[float, float, str, bool]
_NOTHING: _Row = (np.nan, np.nan, "", False)
_MISSING = re.compile(
    r"^(n/?a|none|null|nan|tmu|unknown|unk|exempt|not read|no read(ing)?|see notes?|tbd|\?+|-+|\.+|"
    r"x+|broken|inop|blank)$",
    re.IGNORECASE,
)
_READING = re.compile(
    r"^(?P<about>~|ca?\.?|about|approx\.?|est\.?)?\s*(?P<number>\d[\d.,'\u2019 ]*?)\s*"
    r"(?P<k>k)?\s*(?P<unit>mi(?:les?)?\.?|km(?:s|\.)?|kilomet(?:er|re)s?|h(?:ou)?rs?\.?|h)?\.?\s*"
    r"(?P<est>\(?est(?:imated)?\.?\)?|\+|approx\.?)?$",
    re.IGNORECASE,
)


@dataclass(frozen=True)
class DistancesRead:
    """One column: ``miles`` (float, NaN missing), ``hours`` where the cell says hours.

    ``reason`` has only the cells about which there is something to say, ``repaired`` whether
    their unit or notation was converted.
    """

    miles: pd.Series
    hours: pd.Series
    reason: pd.Series
    repaired: pd.Series


def read_number(text: str) -> float | None:
    """A number with any of the usual thousands and decimal signs, or None.

    A single "." or "," followed by exactly three digits is a thousands sign only when the part
    before it is one to three digits and no other sign stands in the text.
    """
    text = re.sub(r"[ \u00a0\u202f'\u2019]", "", text)
    if re.fullmatch(r"\d+", text):
        return float(text)
    if re.fullmatch(r"\d{1,3}([.,]\d{3})+", text) and len(set(re.findall(r"[.,]", text))) == 1:
        return float(re.sub(r"[.,]", "", text))
    if re.fullmatch(r"\d{1,3}(,\d{3})*\.\d+|\d+\.\d+", text):
        return float(text.replace(",", ""))
    if re.fullmatch(r"\d{1,3}(\.\d{3})*,\d+|\d+,\d+", text):
        return float(text.replace(".", "").replace(",", "."))
    return None


def is_distance(value: object) -> bool:
    """Whether a cell can be read as an odometer or as engine hours."""
    miles, hours, _, _ = _read(value, "", "")
    return not (np.isnan(miles) and np.isnan(hours))


def read_distances(
    values: pd.Series, unit: str = "", units: pd.Series | None = None
) -> DistancesRead:
    """Read a column; a unit in the cell beats ``units`` (per row), which beats ``unit``."""
    if units is None:
        codes, found = distinct(values)
        rows = _read_all(found, unit)
    else:
        pairs = pd.Series(list(zip(values, units.astype(str), strict=True)), index=values.index)
        codes, found = distinct(pairs)
        rows = [_read(value, row_unit, unit) for value, row_unit in found]
    reason = marked(codes, [row[2] for row in rows], values.index)
    repaired = pd.Series(spread(codes, [row[3] for row in rows], False, "bool"), values.index)
    return DistancesRead(
        miles=pd.Series(spread(codes, [row[0] for row in rows], np.nan, "float64"), values.index),
        hours=pd.Series(spread(codes, [row[1] for row in rows], np.nan, "float64"), values.index),
        reason=reason,
        repaired=repaired.loc[reason.index],
    )


def _read_all(found: Objects, unit: str) -> list[_Row]:
    """Bare whole numbers of a column without a unit in one go, the others one by one."""
    if unit:
        return [_read(value, "", unit) for value in found]
    plain = np.ones(len(found), dtype=bool)
    plain[odd_ones(found, _BARE_MILES)] = False
    places = np.flatnonzero(plain)
    miles = found[places].astype(np.float64)
    told = np.isin(miles, list(_PLACEHOLDERS))
    plain[places[told]] = False
    rows: list[_Row] = [_NOTHING] * len(found)
    for place, number in zip(places[~told], miles[~told].tolist(), strict=True):
        rows[place] = (number, np.nan, "", False)
    for place in np.flatnonzero(~plain):
        rows[place] = _read(found[place], "", "")
    return rows


def _read(value: object, row_unit: str, column_unit: str) -> _Row:
    if value is None or value is pd.NA or value != value:
        return _NOTHING
    unit = _unit(row_unit) or column_unit
    if isinstance(value, bool):
        return (np.nan, np.nan, "yes or no where a distance is due", False)
    if isinstance(value, int | float | np.number):
        return _judge(float(value), unit, False, False)
    if isinstance(value, str) and value.isascii() and value.isdigit():
        return _judge(float(value), unit, False, False)
    text = " ".join(str(value).replace("\u00a0", " ").strip().strip("'").split())
    if not text or _MISSING.match(text):
        return (np.nan, np.nan, "no reading" if text else "", False)
    found = _READING.match(text)
    number = read_number(found["number"]) if found else None
    if found is None or number is None:
        return (np.nan, np.nan, "not a distance", False)
    if found["k"]:
        number *= 1000
    plain = re.fullmatch(r"\d+(\.\d+)?", text) is not None
    return _judge(number, _unit(found["unit"] or "") or unit, not plain, bool(found["k"]))


def _unit(text: str) -> str:
    text = text.strip().lower()
    return "km" if text.startswith("k") else text[:1] if text[:1] in ("m", "h") else ""


def _judge(number: float, unit: str, rewritten: bool, rounded: bool) -> _Row:
    if unit == "h":
        return (np.nan, number, "engine hours in the odometer column", True)
    if number in _PLACEHOLDERS or number <= 1:
        return (np.nan, np.nan, "a placeholder, read as missing", False)
    if number < 0 or number == np.inf:
        return (np.nan, np.nan, "a distance cannot be negative", False)
    miles = number / KM_PER_MILE if unit == "km" else number
    if miles > _MAX_MILES:
        return (np.nan, np.nan, "farther than any road vehicle has gone", False)
    reason = "kilometres converted to miles" if unit == "km" else ""
    if rounded:
        reason = (reason + "; " if reason else "") + "rounded to thousands as written"
    if rewritten and not reason:
        reason = "number written with signs or words"
    return (round(miles, 1), np.nan, reason, unit == "km" or rewritten)
