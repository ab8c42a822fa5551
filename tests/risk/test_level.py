"""The matrix and its bands: MIL-STD-882E (11 May 2012), Table III and Appendix A, Table A-II.

Transcribed from the standard's public transcriptions (three agree cell by cell); two other copies
on the web are wrong, hence the order tests.
"""

from __future__ import annotations

import itertools

import numpy as np
import pytest

from riskcheck.risk import level

TABLE_III = {
    "I": "High High High Serious Medium Eliminated",
    "II": "High High Serious Medium Medium Eliminated",
    "III": "Serious Serious Medium Medium Medium Eliminated",
    "IV": "Medium Medium Low Low Low Eliminated",
}
CELLS = [
    (severity, letter, word)
    for severity, row in TABLE_III.items()
    for letter, word in zip("ABCDEF", row.split(), strict=True)
]


@pytest.mark.parametrize(("severity", "letter", "word"), CELLS)
def test_every_cell_of_table_iii(severity, letter, word):
    assert level.level(severity, letter) == word
    assert level.levels(severity, np.array([letter]))[0] == word


def test_counts_of_table_iii():
    """Over A to E: High 5, Serious 4, Medium 8, Low 3."""
    words = [level.level(s, x) for s, x in itertools.product(level.SEVERITIES, "ABCDE")]
    assert {w: words.count(w) for w in level.LEVELS} == {
        "High": 5, "Serious": 4, "Medium": 8, "Low": 3,
    }  # fmt: skip


@pytest.mark.parametrize(
    ("chance", "letter"),
    [(1.0, "A"), (0.1, "A"), (0.0999, "B"), (0.01, "B"), (0.00999, "C"), (0.001, "C"),
     (0.000999, "D"), (1e-6, "D"), (9.99e-7, "E"), (0.0, "E")],
)  # fmt: skip
def test_band_edges_of_table_a_ii(chance, letter):
    """Lower edges belong to the band; a computed zero is E, for F needs the hazard removed."""
    assert level.letters(np.array([chance]), level.HARM_DECIMALS)[0] == letter


def test_the_letter_is_that_of_the_printed_chance():
    """0.0999999999 is printed 0.10000000 and so is an A."""
    assert level.letters(np.array([0.0999999999, 0.09999999]))[0] == "A"
    assert level.letters(np.array([0.0999999999, 0.09999999]))[1] == "B"


def test_no_worse_severity_or_likelier_letter_ever_ranks_lower():
    order = {word: place for place, word in enumerate(level.LEVELS)}
    grid = [[order[level.level(s, x)] for x in "ABCDE"] for s in level.SEVERITIES]
    assert all(a >= b for row in grid for a, b in itertools.pairwise(row))
    assert all(
        a >= b for up, down in itertools.pairwise(grid) for a, b in zip(up, down, strict=True)
    )


def test_codes_and_who_leads():
    assert level.code("II", "C") == "2C"
    lead = level.people_lead(
        np.array(["High", "Low", "Medium"]), np.array(["High", "Medium", "Low"])
    )
    assert lead.tolist() == [True, False, True]


def test_an_unknown_severity_or_letter_is_refused():
    with pytest.raises(KeyError):
        level.level("V", "A")
    with pytest.raises(ValueError, match="not found"):
        level.level("I", "G")


@pytest.mark.parametrize(
    ("loss", "severity"),
    [(0.0, "IV"), (999.99, "IV"), (999.996, "III"), (1000.0, "III"), (7999.99, "III"),
     (8000.0, "II"), (49_999.99, "II"), (50_000.0, "I"), (1e9, "I")],
)  # fmt: skip
def test_money_severity_by_the_bands_as_printed(loss, severity):
    """Lower edges belong to the band; the loss counts as printed, in whole cents."""
    bands = [1000.0, 8000.0, 50_000.0]
    assert level.money_severities(np.array([loss]), bands, "I").tolist() == [severity]
    capped = level.money_severities(np.array([loss]), bands, "II").tolist()
    assert capped == ["II" if severity == "I" else severity]


def test_codes_and_levels_of_severities_that_differ_by_vehicle():
    severity, letter = np.array(["IV", "II", "I"]), np.array(["A", "C", "E"])
    assert level.codes(severity, letter).tolist() == ["4A", "2C", "1E"]
    assert level.levels(severity, letter).tolist() == ["Medium", "Serious", "Medium"]
