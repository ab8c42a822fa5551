"""Lines for a terminal: their width, where they hang, and that no name can steer the terminal."""

from __future__ import annotations

import pytest

from riskcheck.reports.wrapping import labelled, shortened, wrapped

# ECMA-48 control functions: colour (CSI), window title (OSC), a C1 introducer; and a line break.
STEERING = "Ada\x1b[31m Quill\x1b]0;owned\x07fen \x9b2J\r\nNext"
TEXT = "a vehicle that has been here before and will be here again " * 4


@pytest.mark.parametrize("say", [wrapped, lambda text: labelled("Read", text)])
def test_a_name_cannot_steer_the_terminal(say):
    told = "".join(say(STEERING))
    assert told.isprintable()
    assert shortened(STEERING).isprintable()
    assert "Ada" in told
    assert "Next" in told


def test_lines_are_at_most_80_wide_and_hang_under_the_first_word():
    told = wrapped(TEXT, "  - ")
    assert len(told) > 2
    assert max(map(len, told)) <= 80
    assert told[0].startswith("  - a")
    assert {len(line) - len(line.lstrip()) for line in told[1:]} == {4}
    assert " ".join(line.strip(" -") for line in told) == TEXT.strip()
    assert wrapped(TEXT, "", "  ")[1].startswith("  ")
    assert labelled("Read", TEXT)[0].startswith("Read   a")


def test_a_line_too_long_is_cut_between_words():
    told = shortened(TEXT, "    ")
    assert len(told) <= 80
    assert told.startswith("    a vehicle")
    assert told.endswith("...")
    assert shortened("short", "  ") == "  short"
