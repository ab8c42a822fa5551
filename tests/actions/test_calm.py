"""What no text for a customer may claim.

Words and denominators: the rules this project sets itself; the reason for one fixed denominator is
Gigerenzer & Edwards, BMJ 2003;327:741-744.
"""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from riskcheck import calm
from riskcheck.reports.message_templates import SHIPPED
from riskcheck.reports.words import CAUTIONS
from riskcheck.rulebook import load, shipped_dir

TOO_MUCH = [
    ("Your brake hose will fail.", "will fail"),
    ("It is going to seize on you", "is going to seize"),
    ("Your truck is UNSAFE", "UNSAFE"),
    ("There is a recall on it", "recall"),
    ("We guarantee it", "guarantee"),
    ("a known defect of this engine", "defect"),
    ("it is bound to leak", "bound to"),
    ("This is your last chance", "last chance"),
    ("It is required by law", "required by law"),
    ("Your warranty will cover it", "warranty will cover"),
    ("twice as likely to leak", "twice as likely"),
    ("After the job it is safe to drive", "is safe"),
    ("Then it is good to go", "good to go"),
    ("a chance of 1 in 25", "1 in 25"),
]
CALM = [
    "Of 100 vehicles like yours we expect about 4 to be weak a year (1 to 9 of 100).",
    "fewer than 1 of 1,000 (0 to 3 of 1,000)",
    "The hose was found cracked. Please let us look at it again.",
    "riskcheck never says that a vehicle is safe.",
    "This does not mean that it is safe.",
    "3 of 12 vehicles; 1 of 2 hoses; call in 10 days; 2 in 10 days; 9 in 30 minutes",
    "Brake hoses in axle pairs: $345 ($190 to $535), 1.7 h, parts $90.",
]


@pytest.mark.parametrize(("text", "word"), TOO_MUCH)
def test_too_much_is_found_with_its_word_and_what_to_say_instead(text: str, word: str) -> None:
    found = calm.faults(f"A first line.\n{text}")
    assert [fault.word for fault in found] == [word]
    assert found[0].line == 2
    assert found[0].why
    assert found[0].instead


@pytest.mark.parametrize("text", CALM)
def test_calm_text_passes(text: str) -> None:
    assert calm.faults(text) == ()


@pytest.mark.parametrize(
    "text",
    ["about 4 of 100, and 3 of 1,000", "5% of them, 4 of 100", "7 of 100 or 7 of 10,000 a year"],
)
def test_two_denominators_in_one_text_are_refused(text: str) -> None:
    assert len(calm.faults(text)) == 2


@given(st.sampled_from(TOO_MUCH), st.text(alphabet="abc \n", max_size=30))
def test_a_name_is_not_judged_but_the_same_word_beside_it_is(
    case: tuple[str, str], before: str
) -> None:
    text, word = case
    name = f"{word} Street 5"
    assert calm.faults(f"{before} {name}", names=[name]) == ()
    assert len(calm.faults(f"{before} {name}. {text}", names=[name])) == 1


def test_chances_are_listed_with_their_denominator_and_line() -> None:
    told = calm.chances("about 4 of 100\nor 2 in 7, 10 %")
    assert [(chance.of, chance.line) for chance in told] == [("100", 1), ("7", 2), ("%", 2)]


def test_everything_we_ship_is_calm() -> None:
    texts = [*CAUTIONS, *(path.read_text() for path in SHIPPED.glob("*.j2"))]
    for hazard in load(shipped_dir()).hazards.values():
        texts += [hazard.title, hazard.effect, hazard.words.ask, hazard.words.say]
        texts += [hazard.job.title, *(finding.says for finding in hazard.findings.values())]
    assert [fault for text in texts for fault in calm.faults(text)] == []
