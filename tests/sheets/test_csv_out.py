"""What is written to a CSV, value by value; expectations by hand."""

import numpy as np
import pandas as pd
import pytest

from riskcheck.sheets import write_csv


def written(tmp_path, values, **more):
    path = write_csv(tmp_path / "t.csv", pd.DataFrame({"x": values}), **more)
    return [line.strip('"') for line in path.read_text(encoding="utf-8").splitlines()[1:]]


@pytest.mark.parametrize(
    ("values", "expected"),
    [
        ([1.0, 2.5, np.nan, 1e15], ["1", "2.5", "", "1000000000000000.0"]),
        ([3, 1, 3], ["3", "1", "3"]),
        (pd.array([1, None], dtype="Int64"), ["1", ""]),
        ([True, False], ["yes", "no"]),
        (pd.Series([1, "=1+1", None, "a\nb", 2.0], dtype=object), ["1", "'=1+1", "", "a b", "2"]),
        (pd.Series(["u", "v", "u"], dtype="category"), ["u", "v", "u"]),
        (pd.to_datetime(["2024-01-02", None]), ["2024-01-02", ""]),
        (["-5", "+1", "-x"], ["-5", "+1", "'-x"]),
    ],
)
def test_values_as_text(tmp_path, values, expected):
    assert written(tmp_path, values) == expected


def test_fixed_decimals_never_show_a_negative_zero(tmp_path):
    values = [0.0, -0.0, -0.001, -0.006, 12.345]
    assert written(tmp_path, values, decimals={"x": 2}) == [
        "0.00",
        "0.00",
        "0.00",
        "-0.01",
        "12.35",
    ]
