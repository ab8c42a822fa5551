"""Natural frequencies with one denominator; the rules of speech are in the module's docstring."""

import math

import pytest

from riskcheck.reports import words


@pytest.mark.parametrize(
    ("probability", "of", "said"),
    [
        (0.04, 100, "4"),
        (0.045, 100, "5"),
        (0.0004, 1000, "fewer than 1"),
        (0.996, 100, "more than 99"),
        (0.0, 100, "0"),
        (1.0, 1000, "1,000"),
    ],
)
def test_a_probability_is_said_as_a_count(probability: float, of: int, said: str) -> None:
    assert words.count_of(probability, of) == said


def test_one_denominator_serves_the_whole_message() -> None:
    assert words.frequency(0.0065, 0.0018, 0.0149) == "about 7 of 1,000 (2 to 15)"
    assert words.frequency(0.0743, 0.0222, 0.1818) == "about 7 of 100 (2 to 18)"
    assert words.frequency(0.0001, 0.0, 0.0004) == "fewer than 1 of 1,000 (0 to fewer than 1)"


def test_no_caution_overclaims() -> None:
    text = " ".join(words.CAUTIONS).lower()
    assert "is safe" in text
    assert "never says that a vehicle is safe" in text
    assert not any(word in text for word in ("guaranteed", "will fail", "recall"))


def test_money_and_lists_read_like_speech() -> None:
    assert words.money(1249.6) == "$1,250"
    assert words.money(-80.2) == "-$80"
    assert words.money(math.nan) == ""
    assert words.listing(["a", "b", "c"]) == "a, b and c"
    assert words.plural(1, "vehicle") == "1 vehicle"
    assert words.plural(2500, "vehicle") == "2,500 vehicles"
