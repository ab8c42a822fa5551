"""Text from the input, made harmless for every file we write and still legible."""

from __future__ import annotations

import re

import numpy as np
import pandas as pd

# C0 and C1 controls, zero-width and direction-changing characters, the replacement for
# half a surrogate pair: none belongs in a spreadsheet cell, some break the file.
_CONTROL = re.compile(
    "[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\u200b\u200e\u200f\u202a-\u202e\u2060-\u2069\ufeff"
    "\ufffe\uffff]"
)
_SURROGATE = re.compile("[\ud800-\udfff]")
_LINE_BREAKS = re.compile(r"[ \t]*[\r\n\t\u2028\u2029]+[ \t]*")
# What a spreadsheet program may take for the start of a formula (full-width forms included).
_FORMULA_START = re.compile("^[ \u00a0]*[=+\\-@\t\r\n＝＋－＠|%]")
# A plain number or an E.164 telephone number starts with a sign and is not a formula.
_SIGNED_NUMBER = re.compile(r"^[+-]?\d+(?:[.,]\d+)?$")
MAX_CELL_CHARACTERS = 32_767  # a spreadsheet cell holds no more


def clean_text(text: str) -> str:
    """``text`` without control characters and lone surrogates; line breaks become ``\\n``."""
    if text.isascii() and text.isprintable():
        return text
    text = _SURROGATE.sub("\ufffd", text)
    return _CONTROL.sub("", text.replace("\r\n", "\n").replace("\r", "\n"))


def one_line(text: str) -> str:
    """``clean_text`` on a single line: breaks and tabs become one space."""
    if text.isascii() and text.isprintable():
        return text
    return clean_text(_LINE_BREAKS.sub(" ", text))


def starts_like_formula(text: str) -> bool:
    """True if a spreadsheet program could take ``text`` for a formula."""
    return bool(_FORMULA_START.match(text)) and not _SIGNED_NUMBER.match(text)


def inert(text: str) -> str:
    """One CSV field: one line, and an apostrophe before anything that looks like a formula.

    Rule: OWASP, "CSV Injection" (fields that start with = + - @ TAB CR LF).
    """
    text = one_line(text)
    return "'" + text if starts_like_formula(text) else text


def inert_series(values: pd.Series) -> pd.Series:
    """``inert`` for a column of text; missing values become ""; distinct values done once."""
    codes, distinct = pd.factorize(values.astype(object), use_na_sentinel=True)
    done = np.array([*(inert(str(text)) for text in distinct), ""], dtype=object)
    return pd.Series(done[codes], index=values.index, dtype=object)
