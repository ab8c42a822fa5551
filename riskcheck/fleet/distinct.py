"""Every distinct value of a column once: a million cells are mostly a few thousand values."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

import numpy as np
import numpy.typing as npt
import pandas as pd

Codes = npt.NDArray[np.int64]
Objects = npt.NDArray[np.object_]
_MOST = 1 << 62


def distinct(values: pd.Series) -> tuple[Codes, Objects]:
    """(place of each cell's value among the distinct ones, -1 where missing; those values).

    Values come in order of first appearance, but in a categorical column (as large text tables
    are read) in the order of its categories.
    """
    if not isinstance(values.dtype, pd.CategoricalDtype):
        codes, found = pd.factorize(values.astype(object), use_na_sentinel=True)
        return codes.astype(np.int64, copy=False), np.asarray(found, dtype=object)
    codes = values.cat.codes.to_numpy().astype(np.int64)
    categories = values.cat.categories
    used = np.zeros(len(categories) + 1, dtype=bool)
    used[codes] = True  # a missing cell (-1) marks the last place
    used = used[:-1]
    if used.all():
        return codes, np.asarray(categories, dtype=object)
    places = np.append(np.cumsum(used, dtype=np.int64) - 1, -1)
    return places[codes], np.asarray(categories[used], dtype=object)


def odd_ones(values: Objects, plain: str) -> npt.NDArray[np.int64]:
    """Places of the values that are no text of the form ``plain`` (a regular expression)."""
    if pd.api.types.infer_dtype(values, skipna=False) != "string":
        return np.arange(len(values))
    like = pd.Series(values, dtype="str").str.fullmatch(plain)
    return np.flatnonzero(~like.to_numpy(dtype=bool))


def spread(codes: Codes, results: Sequence[Any], missing: object, kind: str) -> npt.NDArray[Any]:
    """Results of the distinct values laid out over the cells; ``missing`` where there is none."""
    listed = np.empty(len(results) + 1, dtype=kind)
    listed[:-1] = results
    listed[-1] = missing
    return listed[codes]


def marked(codes: Codes, reasons: Sequence[str], index: pd.Index) -> pd.Series:
    """The reasons of those cells that have one, indexed by their rows; the others are left out."""
    listed = np.array([*reasons, ""], dtype=object)
    has = listed.astype(bool)
    if not has.any():
        return pd.Series([], index=index[:0], dtype=object)
    rows = np.flatnonzero(has[codes])
    return pd.Series(listed[codes[rows]], index=index[rows], dtype=object)


def mapped(values: pd.Series, function: Callable[[Any], str], missing: str = "") -> pd.Series:
    """``function`` of every cell, called once for each distinct value."""
    codes, found = distinct(values)
    done = spread(codes, [function(value) for value in found], missing, "object")
    return pd.Series(done, index=values.index, dtype=object)


def coded(values: pd.Series, function: Callable[[Any], str], missing: str = "") -> pd.Series:
    """As ``mapped``, as a categorical column: cheap to compare, to count and to pick rows from."""
    codes, found = distinct(values)
    return pd.Series(coded_from(codes, [*map(function, found), missing]), index=values.index)


def coded_from(codes: Codes, results: Sequence[str]) -> pd.Categorical:
    """Text laid out over the cells, as categories; equal texts share one."""
    places, texts = pd.factorize(np.array(results, dtype=object))
    kind = pd.CategoricalDtype(pd.Index(texts, dtype=object))
    return pd.Categorical.from_codes(places[codes], dtype=kind, validate=False)


def combinations(columns: Sequence[Codes]) -> tuple[Codes, Codes]:
    """(which combination each row holds, the row where each combination first appears).

    Combinations are numbered in order of first appearance.
    """
    joined = np.zeros(len(columns[0]), dtype=np.int64)
    size = 1
    for codes in columns:
        width = int(np.max(codes, initial=-1)) + 2
        if size * width > _MOST:
            joined = pd.factorize(joined)[0].astype(np.int64)
            size = len(joined)
        joined = joined * width + codes + 1
        size *= width
    of_row, found = pd.factorize(joined)
    first = np.empty(len(found), dtype=np.int64)
    first[of_row[::-1]] = np.arange(len(joined))[::-1]  # the last one written is the first row
    return of_row.astype(np.int64), first
