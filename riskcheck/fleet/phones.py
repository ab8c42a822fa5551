"""Telephone numbers to E.164 with the phonenumbers library."""

from __future__ import annotations

import pandas as pd
import phonenumbers

from riskcheck.fleet.distinct import distinct, marked, spread

DEFAULT_REGION = "US"


def clean_phones(written: pd.Series, region: str = DEFAULT_REGION) -> tuple[pd.Series, pd.Series]:
    """(E.164 where the number is possible, else as written; reasons of the odd cells only)."""
    codes, found = distinct(written)
    done = [_clean(str(text), region) for text in found]
    numbers = spread(codes, [number for number, _ in done], "", "object")
    reasons = marked(codes, [reason for _, reason in done], written.index)
    return pd.Series(numbers, index=written.index), reasons


def _clean(text: str, region: str) -> tuple[str, str]:
    if not text.strip():
        return "", ""
    try:
        number = phonenumbers.parse(text, region)
    except phonenumbers.NumberParseException:
        return text, "not a telephone number: kept as written"
    if not phonenumbers.is_possible_number(number):
        return text, "not a possible telephone number: kept as written"
    return phonenumbers.format_number(number, phonenumbers.PhoneNumberFormat.E164), ""
