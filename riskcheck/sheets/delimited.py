"""Text tables: encoding, separator and ragged rows settled from the bytes themselves."""

from __future__ import annotations

import csv
import io
import itertools
import warnings
from collections import Counter

import pandas as pd

from riskcheck.errors import InputError
from riskcheck.sheets.delimited_large import read_large
from riskcheck.sheets.grid import Grid

_SEPARATORS = (",", ";", "\t", "|")
_SAMPLE_LINES = 400
_BYTE_ORDER_MARKS = (
    (b"\xef\xbb\xbf", "utf-8"),
    (b"\xff\xfe\x00\x00", "utf-32-le"),
    (b"\x00\x00\xfe\xff", "utf-32-be"),
    (b"\xff\xfe", "utf-16-le"),
    (b"\xfe\xff", "utf-16-be"),
)
MAX_FIELDS = 2_000
_MOST_LINES_IN_A_CELL = 50  # more in the last cell: an open quotation mark swallowed the rest
_LARGE = 2_000_000  # characters; below this the plain way is as quick
csv.field_size_limit(10_000_000)


def decode(data: bytes) -> tuple[str, str]:
    """(text, encoding): byte-order mark, else zero bytes, else strict UTF-8, else cp1252.

    Guessing libraries err on short text; this order is the one that never mistakes UTF-8.
    """
    for mark, encoding in _BYTE_ORDER_MARKS:
        if data.startswith(mark):
            return data[len(mark) :].decode(encoding, errors="replace"), encoding
    head = data[:4000]
    if head.count(0) > len(head) // 4:
        encoding = "utf-16-le" if head[1::2].count(0) >= head[0::2].count(0) else "utf-16-be"
        return data.decode(encoding, errors="replace"), encoding
    try:
        return data.decode("utf-8"), "utf-8"
    except UnicodeDecodeError:
        return data.decode("cp1252", errors="replace"), "cp1252"


def read_delimited(data: bytes, file: str, sheet: str = "") -> Grid:
    """The table in ``data`` as a Grid whose cells are all text ("" where blank).

    Raises InputError if the text cannot be split into cells.
    """
    text, encoding = decode(data)
    text = text.replace("\x00", "")
    separator, skipped = _declared_separator(text)
    body = text[skipped:]
    sample = list(itertools.islice(io.StringIO(body, newline=""), _SAMPLE_LINES))
    separator = separator or _best_separator(sample)
    try:
        cells = _parse(body, sample, separator)
    except (csv.Error, pd.errors.ParserError) as error:
        raise InputError(
            f"{file} is text, but cannot be split into cells ({error}). Open it in a "
            "spreadsheet program, check that every quotation mark is closed, and save it again."
        ) from error
    notes = (f"read as {encoding} text with {_separator_name(separator)} between cells",)
    return Grid(file=file, sheet=sheet, cells=cells, first_row=1 if skipped else 0, notes=notes)


def _declared_separator(text: str) -> tuple[str, int]:
    """Separator named in a first line "sep=;" and how many characters that line takes."""
    first = text[:20].split("\n", 1)[0].rstrip("\r")
    bare = first.strip('"')
    if bare.lower().startswith("sep=") and len(bare) == 5:
        return bare[4], len(text[: text.find("\n") + 1]) or len(text)
    return "", 0


def _best_separator(sample: list[str]) -> str:
    """The separator that splits most lines into one and the same number of cells."""

    def score(separator: str) -> tuple[float, int]:
        widths = Counter(len(row) for row in _rows(sample, separator) if row)
        if not widths:
            return 0.0, 0
        width, count = max(widths.items(), key=lambda item: (item[1] * (item[0] > 1), item[0]))
        return (count / sum(widths.values()) if width > 1 else 0.0), width

    return max(_SEPARATORS, key=score)


def _rows(lines: list[str], separator: str) -> list[list[str]]:
    try:
        return list(csv.reader(lines, delimiter=separator))
    except csv.Error:
        return []


def _parse(body: str, sample: list[str], separator: str) -> pd.DataFrame:
    width = max((len(row) for row in _rows(sample, separator)), default=1)
    if len(body) >= _LARGE and body.strip():
        large = read_large(body.encode("utf-8", "replace"), separator, width)
        if large is not None:
            return large
    try:
        return _parse_fast(body, separator, width)
    except (pd.errors.ParserError, pd.errors.ParserWarning):
        rows = list(csv.reader(io.StringIO(body, newline=""), delimiter=separator))
        width = max((len(row) for row in rows), default=0)
        if rows and max((cell.count("\n") for cell in rows[-1]), default=0) > _MOST_LINES_IN_A_CELL:
            raise csv.Error(f"a quotation mark is never closed, from row {len(rows)} on") from None
        if width > MAX_FIELDS:
            raise csv.Error(f"one row has {width} cells") from None
        return pd.DataFrame([row + [""] * (width - len(row)) for row in rows], dtype=str)


def _parse_fast(body: str, separator: str, width: int) -> pd.DataFrame:
    if not body.strip():
        return pd.DataFrame()
    with warnings.catch_warnings():
        # Only a warning tells that cells beyond the width would be dropped.
        warnings.simplefilter("error", pd.errors.ParserWarning)
        return pd.read_csv(
            io.StringIO(body, newline=""),
            sep=separator,
            header=None,
            names=range(width),
            index_col=False,
            dtype=str,
            keep_default_na=False,
            na_filter=False,
            skip_blank_lines=False,
            on_bad_lines="error",
            low_memory=False,
        )


def _separator_name(separator: str) -> str:
    return {",": "a comma", ";": "a semicolon", "\t": "a tab", "|": "a bar"}.get(
        separator, repr(separator)
    )
