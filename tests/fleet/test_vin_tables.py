"""VIN tables row by row: 49 CFR 565.13 and 565.15, Tables III to VII (open transcriptions).

What a check digit can and cannot see follows from its table: 11 is prime, no weight a multiple.
"""

from __future__ import annotations

import itertools

import pytest

from riskcheck.fleet import vin

# Tables III and IV: the letters of each value; digits are their own.
LETTERS = ["", "AJ", "BKS", "CLT", "DMU", "ENV", "FW", "GPX", "HY", "RZ"]
VALUE = {**{str(n): n for n in range(10)},
         **{letter: n for n, letters in enumerate(LETTERS) for letter in letters}}  # fmt: skip
# Table V: weights of positions 1 to 17.
WEIGHTS = (8, 7, 6, 5, 4, 3, 2, 10, 0, 9, 8, 7, 6, 5, 4, 3, 2)
# VIN, weighted sum, check digit: the sample computation of 49 CFR 565 (411), the NHTSA outline for
# new manufacturers (314), the customary textbook example (351), the rest computed by hand.
SUMS = [
    ("1M8GDM9AXKP042788", 351, "X"), ("11111111111111111", 89, "1"),
    ("1G4AH59H45G118341", 411, "4"), ("1J9RP1A36A1644345", 314, "6"),
    ("00000000000000000", 0, "0"), ("99999999999999999", 801, "9"),
    ("1M8GDM9A1KP042788", 351, "X"), ("12345678901234567", 304, "7"),
    ("1ZZAA1AA0AA000005", 176, "0"), ("1ZZAA1AA1AA000014", 177, "1"),
    ("1ZZAA1AA2AA000006", 178, "2"), ("1ZZAA1AA3AA000001", 168, "3"),
    ("1ZZAA1AA4AA000007", 180, "4"), ("1ZZAA1AA5AA000002", 170, "5"),
    ("1ZZAA1AA6AA000008", 182, "6"), ("1ZZAA1AA7AA000003", 172, "7"),
    ("1ZZAA1AA8AA000009", 184, "8"), ("1ZZAA1AA9AA000004", 174, "9"),
    ("1ZZAA1AAXAA000013", 175, "X"),
]  # fmt: skip


@pytest.mark.parametrize(("number", "total", "digit"), SUMS)
def test_the_weighted_sum_gives_the_digit(number: str, total: int, digit: str) -> None:
    assert sum(VALUE[c] * w for c, w in zip(number, WEIGHTS, strict=True)) == total
    assert vin.check_digit(number) == digit
    assert vin.verdict(number) == ("ok" if number[8] == digit else "check_digit")


def test_the_weights_add_up_to_89() -> None:
    """So that seventeen ones have the check digit 1."""
    assert sum(WEIGHTS) == 89


@pytest.mark.parametrize("position", [p for p in range(17) if p != 8])
@pytest.mark.parametrize("letter", sorted(VALUE))
def test_each_letter_counts_its_value_at_each_position(letter: str, position: int) -> None:
    """A lone letter among zeros; the digit is value × weight modulo 11, ten written X."""
    number = ["0"] * 17
    number[position] = letter
    left = VALUE[letter] * WEIGHTS[position] % 11
    assert vin.check_digit("".join(number)) == ("X" if left == 10 else str(left))


def substituted(number: str, position: int, letter: str) -> str:
    return number[:position] + letter + number[position + 1 :]


def test_just_the_substitutions_of_equal_value_go_unseen() -> None:
    number = "1ZZAA1AA0AA000005"
    for position, letter in itertools.product([p for p in range(17) if p != 8], sorted(VALUE)):
        unseen = vin.verdict(substituted(number, position, letter)) == "ok"
        assert unseen == (VALUE[letter] == VALUE[number[position]])


@pytest.mark.parametrize(("meant", "typed"), ["5S", "8B", "2Z", "UV"])
def test_usual_typing_errors_are_seen(meant: str, typed: str) -> None:
    number = substituted("1ZZAA1AA0AA000005", 3, meant)
    number = substituted(number, 8, vin.check_digit(number))
    assert vin.verdict(number) == "ok"
    assert vin.verdict(substituted(number, 3, typed)) == "check_digit"


@pytest.mark.parametrize("letter", "IOQ")
def test_three_letters_are_forbidden_everywhere(letter: str) -> None:
    for position in range(17):
        assert vin.verdict(substituted("1ZZAA1AA0AA000005", position, letter)) == "form"


YEARS = {code: 1980 + at for at, code in enumerate("ABCDEFGHJKLMNPRSTVWXY123456789")}


@pytest.mark.parametrize(("code", "first"), YEARS.items())
def test_every_code_of_table_vii(code: str, first: int) -> None:
    """A 1980/2010 ... Y 2000/2030, 1 2001/2031 ... 9 2009/2039."""
    digit, letter = f"1ZZAA11A0{code}A000005", f"1ZZAA1AA0{code}A000005"
    assert vin.model_years(digit, 10_000) == (first,)
    assert vin.model_years(letter, 10_000) == (first + 30,)
    assert vin.model_years(digit, 10_001) == (first, first + 30)


def test_table_vii_has_thirty_codes_from_1980_on() -> None:
    assert len(YEARS) == 30
    assert (YEARS["L"], YEARS["Y"], YEARS["1"], YEARS["9"]) == (1990, 2000, 2001, 2009)
