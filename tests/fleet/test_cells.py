"""Cells as shops type them.  Forms: common practice, no source, unless named."""

import datetime as dt

import numpy as np
import pandas as pd
import phonenumbers
import pytest
from hypothesis import given
from hypothesis import strategies as st
from openpyxl.utils.datetime import CALENDAR_MAC_1904, from_excel

from riskcheck.fleet.dates import read_dates
from riskcheck.fleet.distances import read_distances, read_number
from riskcheck.fleet.fault_codes import describe, split_codes
from riskcheck.fleet.identity import clean_id
from riskcheck.fleet.phones import clean_phones

AS_OF = dt.date(2026, 11, 1)


def one_date(value, **more):
    read = read_dates(pd.Series([value], dtype=object), AS_OF, **more)
    return [None if pd.isna(day) else day.date().isoformat() for day in (read.lo[0], read.hi[0])]


@pytest.mark.parametrize(
    ("written", "low", "high"),
    [
        ("2024-03-05", "2024-03-05", "2024-03-05"),
        ("2024-03-05T23:30:00Z", "2024-03-05", "2024-03-05"),
        ("3/25/2024", "2024-03-25", "2024-03-25"),
        ("25.3.24", "2024-03-25", "2024-03-25"),
        ("Mar 5, 2024", "2024-03-05", "2024-03-05"),
        ("5-Mar-24", "2024-03-05", "2024-03-05"),
        ("6/2019", "2019-06-01", "2019-06-30"),
        ("Feb 2024", "2024-02-01", "2024-02-29"),
        ("2018", "2018-01-01", "2018-12-31"),
        ("03/04/2024", "2024-03-04", "2024-04-03"),
        ("20240305", "2024-03-05", "2024-03-05"),
        ("1/15/98", "1998-01-15", "1998-01-15"),
        ("1900-01-00", None, None),
        ("1970-01-01", None, None),
        ("N/A", None, None),
        ("a", None, None),
        ("2/30/2024", None, None),
        (dt.datetime(1899, 12, 31), None, None),
    ],
)
def test_dates(written, low, high):
    assert one_date(written) == [low, high]


@given(st.integers(18_264, 54_000))
def test_serials_against_openpyxl(serial):
    """Day numbers of both date systems, against openpyxl's conversion."""
    expected = from_excel(serial).date().isoformat()
    assert one_date(float(serial)) == [expected, expected]
    if serial + 1462 <= 73_050:
        mac = from_excel(serial, CALENDAR_MAC_1904).date().isoformat()
        assert one_date(float(serial), epoch_1904=True) == [mac, mac]


def test_one_date_settles_its_column_and_mixed_columns_keep_both_readings():
    read = read_dates(pd.Series(["03/04/2024", "13/04/2024"]), AS_OF)
    assert read.order == "dmy"
    assert read.lo[0] == read.hi[0] == pd.Timestamp("2024-04-03")
    mixed = read_dates(pd.Series(["03/04/2024", "13/04/2024", "04/13/2024"]), AS_OF)
    assert (mixed.lo[0], mixed.hi[0]) == (pd.Timestamp("2024-03-04"), pd.Timestamp("2024-04-03"))
    assert mixed.lo[1] == mixed.lo[2] == pd.Timestamp("2024-04-13")


@pytest.mark.parametrize(
    ("written", "miles"),
    [
        ("123,457 mi", 123457.0), ("85k", 85000.0), ("197 000 km", 122410.1), ("123.457", 123457.0),
        (120000.0, 120000.0), ("123456.7", 123456.7), ("1.234,5", 1234.5), ("~ 90,000", 90000.0),
        ("999999", np.nan), (123456, np.nan), ("TMU", np.nan), (0, np.nan), ("see note", np.nan),
        (-5, np.nan), ("1e9", np.nan), (True, np.nan),
    ],
)  # fmt: skip
def test_odometers(written, miles):
    """Conversion: 1.609344 km a mile (NIST SP 811, Appendix B)."""
    read = read_distances(pd.Series([written], dtype=object))
    assert read.miles[0] == pytest.approx(miles, nan_ok=True)


def test_hours_in_the_odometer_column_are_hours():
    read = read_distances(pd.Series(["4,310 hrs"]))
    assert np.isnan(read.miles[0])
    assert read.hours[0] == 4310


@given(st.integers(0, 3_000_000))
def test_thousands_signs_never_change_a_number(number):
    for sign in (",", ".", " ", "'"):
        assert read_number(f"{number:,}".replace(",", sign)) == number


@pytest.mark.parametrize(
    ("value", "text"),
    [("00123", "00123"), (123.0, "123"), ("123.0", "123"), ("'0042", "0042"), (1.2e16, ""),
     ("1.2E+16", ""), ("n/a", ""), (" A\u00a017 ", "A 17"), (None, "")],
)  # fmt: skip
def test_identifiers(value, text):
    assert clean_id(value)[0] == text


def test_phones_against_the_library():
    numbers, reasons = clean_phones(pd.Series(["(212) 555-0142", "call Bob", "+44 20 7946 0958"]))
    assert numbers.tolist() == ["+12125550142", "call Bob", "+442079460958"]
    assert phonenumbers.is_possible_number(phonenumbers.parse(numbers[0]))
    assert reasons.index.tolist() == [1]


def test_fault_codes_by_form():
    """SAE J2012 / ISO 15031-6 form; SAE J1939-73 SPN 19 bits, FMI 5 bits."""
    assert split_codes("P0540, p242f; PO401") == ["P0540", "P242F", "P0401"]
    assert split_codes("SPN 729 FMI 5 and 110/3") == ["SPN 729 FMI 5", "SPN 110 FMI 3"]
    assert split_codes("SPN 524288 FMI 3, P4000, P05401") == []
    assert describe("SPN 110 FMI 3") == "voltage above normal or shorted high"
    assert describe("P1234").endswith("maker's code")
    assert describe("P2002").startswith("powertrain, standard code")
    assert describe("B2123") == "body, maker's code"
