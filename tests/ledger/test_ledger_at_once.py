"""Several processes record into one ledger at the same time: all of it lands, none of it twice."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest
from ledger_samples import AT, RUN

from riskcheck.errors import InputError
from riskcheck.ledger import open_ledger, opening

ROOT = Path(__file__).parents[2]
PROCESSES, NOTES = 4, 8
RECORDING = f"""
import os, sys
sys.path[:0] = [{str(Path(__file__).parent)!r}, {str(ROOT)!r}]
from ledger_samples import cell, record
from riskcheck.ledger import open_ledger

place, (wait, go) = sys.argv[1], os.pipe()
children = []
for name in range({PROCESSES}):
    children.append(os.fork())
    if not children[-1]:
        os.close(go)
        os.read(wait, 1)  # until all have been started
        with open_ledger(place) as ledger:
            for n in range({NOTES}):
                record(ledger, cell(f"own-{{name}}-{{n}}", "Note", f"by {{name}}", str(name)))
                record(ledger, cell("shared", "Note", "the same words", f"copy {{name}}"))
        os._exit(0)
os.close(go)
sys.exit(sum(os.waitpid(child, 0)[1] != 0 for child in children))
"""


def test_processes_that_open_and_record_at_once_all_land(place: str):
    """The ledger does not exist yet: even its making is a race."""
    done = subprocess.run(
        [sys.executable, "-c", RECORDING, place],
        capture_output=True, text=True, check=False, timeout=120,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    with open_ledger(place) as ledger:
        typed = ledger.typed()
        assert len(typed[typed["row_key"] != "shared"]) == PROCESSES * NOTES
        assert typed.loc[typed["row_key"] == "shared", "value"].tolist() == ["the same words"]
        assert set(typed["run_id"]) == {RUN}


def test_a_ledger_that_stays_busy_is_told_and_unchanged(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
):
    monkeypatch.setattr(opening, "BUSY_MS", 50)
    path = tmp_path / "ledger.sqlite"
    with open_ledger(path) as ledger, open_ledger(path) as other, other._write():
        digest = ledger.digest()
        with pytest.raises(InputError, match="another riskcheck is writing"):
            ledger.undo(at=AT)
        assert ledger.digest() == digest
