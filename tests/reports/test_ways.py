"""Every way to reach a contact can be told at the terminal."""

from __future__ import annotations

import pytest

from riskcheck.reports.outreach_words import CHANNELS
from riskcheck.reports.terminal import way_to


@pytest.mark.parametrize("channel", list(CHANNELS))
def test_every_channel_has_words(channel: str) -> None:
    told = way_to({"channel": channel, "phone": "+14065550101"})
    assert told
    assert ("+14065550101" in told) == (channel in ("call", "text"))
