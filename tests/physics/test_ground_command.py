"""The ground command: words that fit, numbers that agree, pictures that repeat."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
import typer
from typer.testing import CliRunner

from riskcheck.cli.ground import ground
from riskcheck.errors import UsageError
from riskcheck.physics.conductors import awg
from riskcheck.physics.ground import StrapCase
from riskcheck.reports import ground as words
from riskcheck.reports.ground_picture import draw

app = typer.Typer(rich_markup_mode=None)
app.command()(ground)
STRAP = ["--current", "55A", "--gauge", "10", "--length", "20in", "--ambient", "20C"]
READING = ["--supply", "12.4V", "--feed", "54A", "--return", "20A", "--drop", "0.9V"]
CASES = [
    [*STRAP, "--seconds", "2min", "--seen", "300F", "--duty", "30s/60s"],
    [*STRAP[:2], "--gauge", "18", "--length", "0.5m", "--insulation", "bare"],
    ["--current", "190A", "--gauge", "25 mm2", "--length", "2ft", "--metal", "aluminium"],
    READING,
    ["--feed", "0A"],
    ["--feed", "54A", "--drop", "0.3V", "--strap-drop", "0.28V", "--rated", "55A"],
]


def run(arguments: list[str]) -> str:
    result = CliRunner().invoke(app, arguments, catch_exceptions=False, standalone_mode=False)
    return result.stdout


@pytest.mark.parametrize("arguments", CASES)
def test_lines_fit_and_never_promise(arguments: list[str]) -> None:
    text = run(arguments)
    assert max(map(len, text.splitlines())) <= 80
    lowered = text.casefold()
    for banned in ("will fail", "unsafe", "recall", "guarantee", "glow"):
        assert banned not in lowered
    assert "manufacturer" in lowered
    assert "unfused" in lowered
    assert "gas" in lowered


@pytest.mark.parametrize("arguments", CASES)
def test_same_question_same_answer_and_json(arguments: list[str]) -> None:
    first, second = run([*arguments, "--json"]), run([*arguments, "--json"])
    assert first == second
    assert json.loads(first)["cautions"]


def test_text_and_json_agree() -> None:
    answer = json.loads(run([*STRAP, "--json"]))
    text = run(STRAP)
    assert f"{answer['drop_v']:.3f} V" in text
    assert f"{answer['wire_steady_c']:.0f} °C" in text
    assert answer["trade_says"] == "below"
    assert "below the size the trade asks for" in text
    assert "common practice" in text


def test_units_may_be_mixed() -> None:
    inches = json.loads(run([*STRAP, "--json"]))
    metric = ["--current", "55", "--gauge", "#10", "--length", "508mm", "--ambient", "68F"]
    assert json.loads(run([*metric, "--json"]))["drop_v"] == pytest.approx(inches["drop_v"])


def test_air_may_be_named() -> None:
    # 33 CFR 183.425 note 1 takes 50 °C for an engine space.
    for place, ambient_c in (("engine_space", 50.0), ("cold_start", 0.0), ("", 50.0)):
        answer = json.loads(run([*STRAP[:6], *(["--ambient", place] if place else []), "--json"]))
        assert answer["question"]["ambient_c"] == ambient_c


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        ([], "--current"),
        ([*STRAP, "--feed", "54A"], "not both"),
        (["--current", "55A"], "--gauge, --length"),
        (["--current", "55A", "--gauge", "10", "--length", "20"], "length"),
        (["--current", "55V", "--gauge", "10", "--length", "20in"], "current"),
        (["--current", "55A", "--gauge", "thick", "--length", "20in"], "wire size"),
        (["--current", "55A", "--gauge", "10", "--length", "20in", "--metal", "tin"], "copper"),
        ([*STRAP, "--duty", "30s"], "on/off"),
        ([*STRAP, "--insulation", "cotton"], "GXL"),
        (["--current", "5000A", "--gauge", "10", "--length", "20in"], "0.1 to 3000 A"),
    ],
)
def test_wrong_calls_say_what_would_be_right(arguments: list[str], says: str) -> None:
    with pytest.raises(UsageError) as caught:
        run(arguments)
    assert says in str(caught.value)


def test_every_code_has_words() -> None:
    from typing import get_args

    from riskcheck.physics import ground as physics
    from riskcheck.physics import reading, trade

    assert set(get_args(physics.PhysicsSays)) == set(words.PHYSICS_WORDS)
    assert set(get_args(trade.TradeSize)) == set(words.TRADE_WORDS)
    assert set(get_args(reading.ReadingVerdict)) == set(words.VERDICT_WORDS)
    assert set(get_args(reading.Place)) - {""} == set(words.PLACE_WORDS)


@pytest.mark.parametrize("suffix", [".svg", ".png"])
def test_picture_repeats_to_the_byte(tmp_path: Path, suffix: str) -> None:
    case = StrapCase(55.0, awg(10), 0.508, "GPT", 20.0, seconds=120.0)
    for name in ("one", "two"):
        draw(case, tmp_path / f"{name}{suffix}")
    first, second = ((tmp_path / f"{name}{suffix}").read_bytes() for name in ("one", "two"))
    assert first == second
    assert len(first) > 1000


def test_picture_kind_is_checked(tmp_path: Path) -> None:
    case = StrapCase(55.0, awg(10), 0.508, "GPT", 20.0)
    with pytest.raises(UsageError, match=r"\.svg or \.png"):
        draw(case, tmp_path / "x.gif")
