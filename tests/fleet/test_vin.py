"""VINs against the worked examples of 49 CFR 565 and synthetic ones for every check digit."""

import pytest

from riskcheck.fleet import vin

# 49 CFR 565 sample computation; the NHTSA outline for new manufacturers p. 18; the customary
# textbook example; all-ones and all-nines computed by hand from the weights (sums 89 and 801).
PUBLISHED = [
    "1G4AH59H45G118341",
    "1J9RP1A36A1644345",
    "1M8GDM9AXKP042788",
    "11111111111111111",
    "99999999999999999",
]
# One per check digit, made for tests, on no vehicle; sums computed by hand from 565.15(c).
SYNTHETIC = [
    "1ZZAA1AA0AA000005", "1ZZAA1AA1AA000014", "1ZZAA1AA2AA000006", "1ZZAA1AA3AA000001",
    "1ZZAA1AA4AA000007", "1ZZAA1AA5AA000002", "1ZZAA1AA6AA000008", "1ZZAA1AA7AA000003",
    "1ZZAA1AA8AA000009", "1ZZAA1AA9AA000004", "1ZZAA1AAXAA000013",
]  # fmt: skip


@pytest.mark.parametrize("number", PUBLISHED + SYNTHETIC)
def test_published_and_synthetic_vins_hold(number):
    assert vin.verdict(number) == "ok"


@pytest.mark.parametrize("number", ["1M8GDM9A1KP042788", "12345678901234567"])
def test_wrong_check_digit_is_seen(number):
    assert vin.verdict(number) == "check_digit"


@pytest.mark.parametrize("number", ["1M8GDM9AXKP04278", "1M8GDM9AXKPO42788", "IM8GDM9AXKP042788"])
def test_form_of_565_13(number):
    assert vin.verdict(number) == "form"


@pytest.mark.parametrize(
    ("code", "first"),
    [("A", 1980), ("J", 1988), ("L", 1990), ("P", 1993), ("R", 1994), ("T", 1996), ("V", 1997),
     ("Y", 2000), ("1", 2001), ("9", 2009)],
)  # fmt: skip
def test_model_year_table_vii(code, first):
    """565.15(d)(1), Table VII; position 7 parts the cycles up to 10,000 lb only (565.15(b))."""
    digit, letter = f"1ZZAA11A0{code}A000005", f"1ZZAA1AA0{code}A000005"
    assert vin.model_years(digit, 9_999) == (first,)
    assert vin.model_years(letter, 10_000) == (first + 30,)
    assert vin.model_years(letter, 10_001) == (first, first + 30)
    assert vin.model_years(letter) == (first, first + 30)


@pytest.mark.parametrize("code", ["U", "Z", "0"])
def test_codes_that_name_no_year(code):
    assert vin.model_years(f"1ZZAA1AA0{code}A000005", 9_000) == ()


def test_repair_only_where_unique():
    assert vin.repair("1ZZAA1AA0AA0OOO05") == "1ZZAA1AA0AA000005"
    assert vin.repair("1M8GDM9AXKPQ42788") == "1M8GDM9AXKP042788"
    assert vin.repair("1ZZAA1AA1AA0OOO05") == ""  # the only reading fails the check digit
    assert vin.repair("1ZZAA1AA0AA000005") == ""
