"""Cadence, cool-down, topics, asking again and the holdout.

Cadence 3 and 10 days, 30 days between topics, 4 topics a year, 7 to 14 days after a no: common
practice, no source.  The holdout's share is checked against the binomial distribution (scipy).
"""

from __future__ import annotations

import datetime as dt

import pandas as pd
import pytest
from scipy import stats

from riskcheck.actions.etiquette import CONTACT_RESULTS, NEXT_STEPS, RESULTS, code_of
from riskcheck.actions.manners import Change, Talk, held_out, season_begun, why_not_now
from riskcheck.rulebook import load, shipped_dir

POLICY = load(shipped_dir()).policy
RULES = POLICY.etiquette
AS_OF = dt.date(2026, 10, 1)


def talk(*said: tuple[int, str], topic: str = "") -> Talk:
    """Contacts as (days ago, result), oldest first."""
    dates = tuple(AS_OF - dt.timedelta(days=ago) for ago, _ in said)
    return Talk(dates, tuple(result for _, result in said), (topic,) * len(said))


@pytest.mark.parametrize(
    ("said", "change", "reason"),
    [
        ([], Change(), ""),
        ([(2, "no_answer")], Change(), "tried_lately"),
        ([(3, "no_answer")], Change(), ""),
        ([(12, "no_answer"), (9, "message_left")], Change(), "tried_lately"),
        ([(14, "no_answer"), (10, "message_left")], Change(), ""),
        ([(40, "no_answer"), (36, "no_answer"), (26, "no_answer")], Change(), "tried_enough"),
        ([(60, "no_answer"), (50, "no_answer"), (30, "no_answer")], Change(), ""),
        ([(29, "talked")], Change(), "cool_down"),
        ([(30, "talked")], Change(), ""),
        ([(5, "booked")], Change(), "booked_lately"),
        ([(9, "declined")], Change(miles=9000), "cool_down"),
        ([(10, "declined")], Change(), "nothing_changed"),
        ([(10, "declined")], Change(miles=2999), "nothing_changed"),
        ([(10, "declined")], Change(miles=3000), ""),
        ([(400, "declined_signed")], Change(season="before_frost"), ""),
        ([(10, "declined")], Change(moved=1), ""),
    ],
)
def test_when_silence_is_better(said: list[tuple[int, str]], change: Change, reason: str) -> None:
    assert why_not_now(talk(*said), AS_OF, RULES, change) == reason


def test_a_fifth_topic_in_a_year_is_one_too_many() -> None:
    four = Talk(
        tuple(AS_OF - dt.timedelta(days=ago) for ago in (300, 200, 100, 40)),
        ("talked",) * 4,
        ("tires", "battery", "hoses", "heater"),
    )
    assert why_not_now(four, AS_OF, RULES, Change()) == "topics_a_year"
    same = Talk(four.dates, four.results, ("tires",) * 4)
    assert why_not_now(same, AS_OF, RULES, Change()) == ""


def test_what_the_bay_saw_is_no_contact_and_a_day_counts_once() -> None:
    day, earlier = (pd.Timestamp(AS_OF) - pd.Timedelta(days=ago) for ago in (3, 50))
    log = pd.DataFrame(
        [("A", "belt", earlier, "found"), ("A", "belt", day, "declined"), ("", "", day, "booked"),
         ("B", "hose", day, "declined")],
        columns=["vehicle_id", "hazard_id", "date", "result"],
    ).assign(topic="")  # fmt: skip
    said = Talk.of(log)
    assert said.results == ("booked",)
    four_lines = Talk((AS_OF,) * 4, ("talked",) * 4, ("a", "b", "c", "d"))
    assert four_lines.topics_since(AS_OF) == 1
    assert talk((2, "no_answer"), (2, "no_answer")).open_attempts() == 1


def test_a_no_counts_until_a_real_answer_follows_it() -> None:
    assert talk((90, "declined"), (40, "no_answer")).last_refusal() == AS_OF - dt.timedelta(90)
    assert talk((90, "declined"), (40, "booked")).last_refusal() is None


def test_the_holdout_has_its_share_and_keeps_to_itself() -> None:
    """Within the central 99.99 % of Binomial(20000, 0.1), and the same every time."""
    names = [f"C{number}" for number in range(20_000)]
    drawn = [held_out(name, AS_OF, 0.10) for name in names]
    low, high = stats.binom.interval(0.9999, len(names), 0.10)
    assert low <= sum(drawn) <= high
    assert drawn == [held_out(name, dt.date(2026, 12, 31), 0.10) for name in names]
    other = [held_out(name, dt.date(2027, 1, 1), 0.10) for name in names]
    both = sum(a and b for a, b in zip(drawn, other, strict=True))
    low, high = stats.binom.interval(0.9999, len(names), 0.01)
    assert low <= both <= high


def test_the_first_season_is_found_as_a_walk_through_the_days_finds_it() -> None:
    starts = {month_day: name for name, month_day in POLICY.seasons.items()}
    for since_day in range(0, 900, 17):
        since = dt.date(2024, 1, 5) + dt.timedelta(days=since_day)
        for length in (0, 1, 13, 45, 200, 400):
            until = since + dt.timedelta(days=length)
            days = (since + dt.timedelta(days=n) for n in range(1, length + 1))
            walked = next((starts[f"{d:%m-%d}"] for d in days if f"{d:%m-%d}" in starts), "")
            assert season_begun(since, until, POLICY) == walked


@pytest.mark.parametrize("listed", [CONTACT_RESULTS, RESULTS, NEXT_STEPS])
def test_every_drop_down_can_be_kept_in_a_workbook(listed: dict[str, str]) -> None:
    """ECMA-376 Part 1, 18.3.1.32: a list given in place is one formula; spreadsheet programs take
    at most 255 letters of it, separated by commas (from memory)."""
    words = list(listed.values())
    assert len(",".join(words)) <= 255
    assert not any("," in word for word in words)
    assert [code_of(word.upper(), listed) for word in words] == list(listed)
    assert code_of("something else", listed) == ""
