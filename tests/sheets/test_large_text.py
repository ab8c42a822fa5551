"""Text tables by way of Arrow say cell for cell what the plain reader says, or leave it to it."""

import csv
import io

import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from riskcheck.errors import InputError
from riskcheck.sheets import read_grids
from riskcheck.sheets.delimited import _parse_fast
from riskcheck.sheets.delimited_large import read_large

CELL = st.text(alphabet="ab1 \"\n\r,;.'é\u00a0", max_size=6)
TABLES = st.integers(2, 4).flatmap(
    lambda width: st.lists(
        st.lists(CELL, min_size=width, max_size=width), min_size=1, max_size=6
    )
)  # fmt: skip


def cells(frame):
    return frame.astype(object).to_numpy().tolist()


@settings(max_examples=150, deadline=None)
@given(TABLES)
def test_quoted_tables_read_alike(rows):
    out = io.StringIO(newline="")
    csv.writer(out).writerows(rows)
    large = read_large(out.getvalue().encode(), ",", len(rows[0]))
    assert large is not None
    assert cells(large) == cells(_parse_fast(out.getvalue(), ",", len(rows[0])))


@settings(max_examples=300, deadline=None)
@given(st.text(alphabet='a1 ",\n\r', min_size=1, max_size=14))
def test_any_text_reads_alike_or_is_left_to_the_plain_reader(body):
    large = read_large(body.encode(), ",", 3) if body.strip() else None
    if large is None:
        return
    try:
        plain = cells(_parse_fast(body, ",", 3).fillna(""))
    except pd.errors.ParserError:  # then the standard library's reader has the word
        rows = csv.reader(io.StringIO(body, newline=""))
        plain = [row + [""] * (3 - len(row)) for row in rows]
    assert cells(large) == plain


@pytest.mark.parametrize("body", ["a,b\n1,2,3\n", "a,b\n1\n", 'a,b\n1,"2\n'])
def test_ragged_text_is_left_to_the_plain_reader(body):
    assert read_large(body.encode(), ",", 2) is None


def test_blank_lines_keep_their_row_numbers():
    large = read_large(b"a,b\n\n1,2\n", ",", 2)
    assert large is not None
    assert cells(large) == [["a", "b"], ["", ""], ["1", "2"]]


def test_an_open_quotation_mark_does_not_swallow_the_rest_in_silence(tmp_path):
    path = tmp_path / "work.csv"
    path.write_text("Unit,Work\n" + '7,"belt\n' + "8,oil\n" * 100, encoding="utf-8")
    with pytest.raises(InputError, match="never closed, from row 2 on"):
        read_grids(path)


def test_columns_hold_each_text_once():
    frame = read_large(b"u,v\n" + b"x,1\n" * 1000, ",", 2)
    assert isinstance(frame[0].dtype, pd.CategoricalDtype)
    assert frame[0].cat.categories.tolist() == ["u", "x"]
