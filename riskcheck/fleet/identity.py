"""Identifiers as text: leading zeros kept, spreadsheet damage undone or named."""

from __future__ import annotations

import datetime as dt
import re
import unicodedata

import numpy as np
import pandas as pd

from riskcheck.fleet.distinct import Objects, coded_from, distinct, marked, odd_ones, spread

_SCIENTIFIC = re.compile(r"^\d(\.\d+)?[eE]\+?\d{1,3}$")
_MISSING = {"", "n/a", "na", "none", "null", "nan", "unknown", "unk", "tbd", "?", "-", "--", "."}
_KEY = re.compile(r"[^0-9A-Z]+")
_PLAIN_ID = r"[0-9]+|[A-Za-z]{1,6}[0-9]+"
_PLAIN_TEXT = r"[!-&(-~](?: ?[!-~])*"  # ASCII, single blanks, no apostrophe in front
_EXACT_DIGITS = 1e15  # spreadsheets keep no more than 15 digits of a number


def clean_ids(values: pd.Series) -> tuple[pd.Series, pd.Series]:
    """(ids as categorical text, "" where missing; reasons of damaged or repaired cells only)."""
    codes, found = distinct(values)
    texts, reasons = found.copy(), np.full(len(found), "", dtype=object)
    for place in odd_ones(found, _PLAIN_ID):
        texts[place], reasons[place] = clean_id(found[place])
    ids = pd.Series(coded_from(codes, [*texts, ""]), index=values.index)
    return ids, marked(codes, reasons.tolist(), values.index)


def clean_id(value: object) -> tuple[str, str]:
    """One identifier and what is odd about it ("" if nothing)."""
    if isinstance(value, str) and value.isascii() and value.isdigit():
        return value, ""  # by far the commonest
    if isinstance(value, bool):
        return "", "yes or no where an identifier is due"
    if isinstance(value, int | float | np.number):
        number = float(value)
        if abs(number) >= _EXACT_DIGITS:
            return "", "a long identifier that a spreadsheet turned into a rounded number"
        return (str(int(number)) if number.is_integer() else str(value)), ""
    text = plain_text(value)
    if text.casefold() in _MISSING:
        return "", ""
    if _SCIENTIFIC.match(text):
        return "", "a long identifier that a spreadsheet turned into a rounded number"
    if re.fullmatch(r"\d+\.0", text):
        return text[:-2], "number notation removed"
    return text, ""


def plain_text(value: object) -> str:
    """A cell as one line of text: NFKC, blanks collapsed, a text apostrophe removed."""
    if value is None or value is pd.NA or value != value:
        return ""
    if isinstance(value, float) and value.is_integer():
        return str(int(value))
    if isinstance(value, dt.datetime) and value.time() == dt.time():
        return str(value.date())
    text = str(value)
    if text.isascii() and text.isprintable():
        if "  " not in text and text[:1] not in (" ", "'") and text[-1:] != " ":
            return text
    else:
        text = unicodedata.normalize("NFKC", text)
        text = "".join(c if c.isprintable() else " " for c in text)
    text = " ".join(text.split())
    return text[1:] if text.startswith("'") and len(text) > 1 else text


def texts(values: pd.Series) -> pd.Series:
    """``plain_text`` for a column; distinct values are cleaned once."""
    codes, found = distinct(values)
    return pd.Series(spread(codes, plain_texts(found).tolist(), "", "object"), index=values.index)


def plain_texts(values: Objects) -> Objects:
    """``plain_text`` of every value; text that needs nothing done is not looked at singly."""
    done = values.copy()
    for place in odd_ones(values, _PLAIN_TEXT):
        done[place] = plain_text(values[place])
    return done


def key(text: str) -> str:
    """What two spellings of one identifier share: capitals and digits only."""
    upper = text.upper()
    return upper if upper.isascii() and upper.isalnum() else _KEY.sub("", upper)
