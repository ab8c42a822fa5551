"""Large text tables by way of Arrow: every distinct text of a column is kept once."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pandas as pd

if TYPE_CHECKING:
    import pyarrow


def read_large(data: bytes, separator: str, width: int) -> pd.DataFrame | None:
    """The cells of UTF-8 text as categorical columns; None if the plain way has to read it.

    Arrow reads only tables whose every row has ``width`` cells; others, and text whose quotation
    marks do not pair, and installations without Arrow, are left to the plain reader.
    """
    if data.count(b'"') % 2:
        return None  # a quotation mark is not closed
    try:
        import pyarrow
        from pyarrow import csv
    except ImportError:
        return None
    names = [str(number) for number in range(width)]
    try:
        table = csv.read_csv(
            pyarrow.BufferReader(data),
            read_options=csv.ReadOptions(column_names=names),
            parse_options=csv.ParseOptions(
                delimiter=separator, newlines_in_values=True, ignore_empty_lines=False
            ),
            convert_options=csv.ConvertOptions(
                column_types=dict.fromkeys(names, pyarrow.string()), strings_can_be_null=False
            ),
        )
    except pyarrow.ArrowInvalid:
        return None
    return pd.DataFrame({number: _column(table[name]) for number, name in enumerate(names)})


def _column(cells: pyarrow.ChunkedArray) -> pd.Series:
    coded = cells.combine_chunks().dictionary_encode()
    texts = pd.Index(pd.array(coded.dictionary, dtype="str"))
    places, kind = coded.indices.to_numpy(), pd.CategoricalDtype(texts)
    return pd.Series(pd.Categorical.from_codes(places, dtype=kind, validate=False))
