"""A rule engine that is killed or frozen in the middle of a command: the exit code says so.

The workers are real processes and are really killed (SIGKILL) or frozen (SIGSTOP).
"""

from __future__ import annotations

import json
import os
import signal
from collections.abc import Sequence
from pathlib import Path

import pandas as pd
import pytest

from riskcheck.cli.assess import assess
from riskcheck.reasoning.engine import Engine, Session
from riskcheck.reasoning.engine_rules import RuleSet

LOST, KEPT = "brake-hose-ageing", "brake-fluid-moisture"
FLEET = """\
unit,make,model,year,in service,odometer,hydraulic_brakes
A,Nomake,One,2010,2010-03-01,150000,yes
B,Nomake,One,2020,2020-03-01,50000,no
"""


@pytest.fixture
def fleet(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A fleet, and an empty place for tables, so that the engine has to be asked."""
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    path = tmp_path / "fleet.csv"
    path.write_text(FLEET, encoding="utf-8")
    return path


def strike(monkeypatch: pytest.MonkeyPatch, blow: signal.Signals, times: int) -> list[str]:
    """Deals ``blow`` to the worker just before it is asked about LOST, ``times`` times at most."""
    struck: list[str] = []
    ask = Engine._ask

    def asked(self: Engine, ruleset: RuleSet, sessions: Sequence[Session]) -> list[list[int]]:
        if ruleset.about == f"{LOST}: applies" and len(struck) < times:
            struck.append(ruleset.about)
            os.kill(self._ready_worker().process.pid, blow)
        return ask(self, ruleset, sessions)

    monkeypatch.setattr(Engine, "_ask", asked)
    monkeypatch.setattr("riskcheck.reasoning.reasoning.Engine", lambda: Engine(limit_s=2.0))
    return struck


def statuses(fleet: Path, code: int) -> dict[tuple[str, str], str]:
    out = fleet.parent / "out"
    assert assess(fleet, out=out, only=f"{LOST},{KEPT}", quiet=True) == code
    table = pd.read_csv(out / "exposures.csv", dtype=str)
    keys = zip(table["vehicle_id"], table["hazard_id"], strict=True)
    return dict(zip(keys, table["status"], strict=True))


@pytest.mark.parametrize("blow", [signal.SIGKILL, signal.SIGSTOP])
def test_lost_once_the_answer_is_the_same_and_the_exit_is_0(
    blow: signal.Signals, fleet: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    struck = strike(monkeypatch, blow, times=1)
    found = statuses(fleet, code=0)
    assert len(struck) == 1
    assert found["A", LOST] == "exposed"
    assert found["B", LOST] == "not_applicable"


@pytest.mark.parametrize("blow", [signal.SIGKILL, signal.SIGSTOP])
def test_lost_every_time_those_pairs_have_no_answer_and_the_exit_is_5(
    blow: signal.Signals, fleet: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    struck = strike(monkeypatch, blow, times=99)
    found = statuses(fleet, code=5)
    assert len(struck) == 2, "the finding is retried once"
    assert {status for (_, hazard), status in found.items() if hazard == LOST} == {"no_answer"}
    assert found["A", KEPT] == "exposed"
    assert found["B", KEPT] == "not_applicable"


def test_a_lost_answer_is_not_kept_for_the_next_run(
    fleet: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    with monkeypatch.context() as patched:
        strike(patched, signal.SIGKILL, times=99)
        statuses(fleet, code=5)
    assert assess(fleet, out=fleet.parent / "out", only=LOST, as_json=True) == 0
    assert json.loads(capsys.readouterr().out)["statuses"] == {"exposed": 1, "not_applicable": 1}
