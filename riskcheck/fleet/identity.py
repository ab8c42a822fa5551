"""Identifiers as text: leading zeros kept, spreadsheet damage undone or named."""

from __future__ import annotations

import re
import unicodedata

import numpy as np
import pandas as pd

_SCIENTIFIC = re.compile(r"^\d(\.\d+)?[eE]\+?\d{1,3}$")
_MISSING = {"", "n/a", "na", "none", "null", "nan", "unknown", "unk", "tbd", "?", "-", "--", "."}
_KEY = re.compile(r"[^0-9A-Z]+")
_EXACT_DIGITS = 1e15  # spreadsheets keep no more than 15 digits of a number


def clean_ids(values: pd.Series) -> tuple[pd.Series, pd.Series]:
    """(ids as text with "" where missing, reason where the cell is damaged or was repaired)."""
    codes, distinct = pd.factorize(values.astype(object), use_na_sentinel=True)
    done = [clean_id(value) for value in distinct] + [("", "")]
    pick = np.where(codes < 0, len(done) - 1, codes)
    texts = np.array([text for text, _ in done], dtype=object)[pick]
    reasons = np.array([reason for _, reason in done], dtype=object)[pick]
    return pd.Series(texts, index=values.index), pd.Series(reasons, index=values.index)


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
    text = str(value)
    if not (text.isascii() and text.isprintable()):
        text = unicodedata.normalize("NFKC", text)
        text = "".join(c if c.isprintable() else " " for c in text)
    text = " ".join(text.split())
    return text[1:] if text.startswith("'") and len(text) > 1 else text


def texts(values: pd.Series) -> pd.Series:
    """``plain_text`` for a column; distinct values are cleaned once."""
    codes, distinct = pd.factorize(values.astype(object), use_na_sentinel=True)
    done = np.array([*map(plain_text, distinct), ""], dtype=object)
    return pd.Series(done[np.where(codes < 0, len(done) - 1, codes)], index=values.index)


def key(text: str) -> str:
    """What two spellings of one identifier share: capitals and digits only."""
    return _KEY.sub("", text.upper())
