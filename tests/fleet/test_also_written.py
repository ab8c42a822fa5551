"""What a shop writes for a value is that value: "gas" is petrol on every American fleet sheet."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

from riskcheck.assessment import load_rules, read
from riskcheck.rulebook import Rulebook

SHEET = """Unit,Make,Model,Year,Odometer,Fuel,Transmission
A,Sturven,Shuttle,2015,90000,gas,auto
B,Sturven,Shuttle,2015,90000,Gasoline,stick
C,Sturven,Shuttle,2015,90000,DSL,DCT
D,Sturven,Shuttle,2015,90000,EV,automatic
E,Sturven,Shuttle,2015,90000,petrol hybrid,manual
F,Sturven,Shuttle,2015,90000,steam,
"""


def test_other_words_for_a_value_are_read_as_it(tmp_path: Path) -> None:
    (tmp_path / "vehicles.csv").write_text(SHEET)
    (tmp_path / "service.csv").write_text(
        "Unit,Date,Odometer,Work\nA,2025-01-01,80000,oil change\n"
    )
    fleet = read(tmp_path, load_rules(()), dt.date(2026, 10, 1))
    cars = fleet.vehicles.set_index("vehicle_id")
    assert cars.loc[list("ABCDE"), "fuel"].tolist() == [
        "petrol", "petrol", "diesel", "battery_electric", "petrol_hybrid"
    ]  # fmt: skip
    assert cars.loc[list("ABCDE"), "transmission"].tolist() == [
        "automatic", "manual", "dual_clutch", "automatic", "manual"
    ]  # fmt: skip
    assert cars["fuel"].isna().tolist() == [False] * 5 + [True]


def test_no_word_stands_for_two_values() -> None:
    book: Rulebook = load_rules(())
    for fact in book.vocabulary.values():
        words = [word for told in fact.also_written.values() for word in told]
        assert len(set(words)) == len(words), fact.name
        assert not set(words) & set(fact.codes), fact.name
