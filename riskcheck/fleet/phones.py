"""Telephone numbers to E.164 with the phonenumbers library."""

from __future__ import annotations

import numpy as np
import pandas as pd
import phonenumbers

DEFAULT_REGION = "US"


def clean_phones(written: pd.Series, region: str = DEFAULT_REGION) -> tuple[pd.Series, pd.Series]:
    """(E.164 where the number is possible, else as written; what is odd about it)."""
    codes, distinct = pd.factorize(written.astype(object), use_na_sentinel=True)
    done = [_clean(str(text), region) for text in distinct] + [("", "")]
    pick = np.where(codes < 0, len(done) - 1, codes)
    numbers = np.array([number for number, _ in done], dtype=object)[pick]
    reasons = np.array([reason for _, reason in done], dtype=object)[pick]
    return pd.Series(numbers, index=written.index), pd.Series(reasons, index=written.index)


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
