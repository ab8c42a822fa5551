"""The letters of vehicle cells as somebody wrote them, beside what was read into them."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

import pandas as pd

from riskcheck.fleet.identity import texts
from riskcheck.fleet.tables import Table

WORDS, LETTERS, ROW = "words", "letters", "row"
_PARTS = (WORDS, LETTERS, ROW)
# Where a field of the sheet has another name than the column it is read into.
_FIELDS = {"in_service": "in_service_lo", "model_year": "model_year"}


def written_cells(table: Table, read: pd.DataFrame, facts: Iterable[str]) -> pd.DataFrame:
    """Columns (name, part) for every fact and dated field that the table has.

    ``read`` is indexed by the rows of the table and holds what was read (a column per fact, and
    ``row``).  A cell that nothing was read from has no words.
    """
    fields = {f"fact:{name}": name for name in facts} | _FIELDS
    parts: dict[str, pd.Series] = {}
    for field, name in fields.items():
        column, raw = table.find(field), table.raw(field)
        if column is None or raw is None:
            continue
        said = read[name].notna()
        words = texts(raw).where(said).astype("category")
        letters = pd.Series(table.grid.letters(column.index), index=read.index)
        key = field.removeprefix("fact:")
        parts[_column(key, WORDS)] = words
        parts[_column(key, LETTERS)] = letters.where(said).astype("category")
        parts[_column(key, ROW)] = read["row"].where(said).astype("Int32")
    return pd.DataFrame(parts, index=read.index)


def split_written(frame: pd.DataFrame) -> Mapping[str, pd.DataFrame]:
    """What ``written_cells`` added to a frame, as one frame (words, letters, row) per name."""
    marked = [name for name in frame.columns if str(name).endswith(_column("", WORDS))]
    return {
        str(name).removesuffix(_column("", WORDS)): pd.DataFrame(
            {part: frame[_column(str(name).removesuffix(_column("", WORDS)), part)]
             for part in _PARTS}
        )
        for name in marked
    }  # fmt: skip


def _column(name: str, part: str) -> str:
    return f"{name}|written {part}"
