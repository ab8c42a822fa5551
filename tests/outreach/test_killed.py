"""A process killed while it writes leaves whole files and one run (kill -9, seeded moments)."""

from __future__ import annotations

import pickle
import subprocess
import sys
from pathlib import Path

from riskcheck.outreaching import Campaign

KILLS = 4
SCRIPT = Path(__file__).with_name("killed_while_writing.py")


def test_a_kill_never_leaves_half_a_file_or_a_doubled_run(
    campaign: Campaign, tmp_path: Path
) -> None:
    pickled = tmp_path / "campaign.pickle"
    pickled.write_bytes(pickle.dumps(campaign))
    done = subprocess.run(
        [sys.executable, str(SCRIPT), str(pickled), str(tmp_path / "work"), str(KILLS)],
        capture_output=True,
        text=True,
        check=False,
        timeout=120,
    )
    assert done.returncode == 0, done.stderr
    between, faults = done.stdout.split(" ", 1)
    assert int(between) >= KILLS // 2
    assert faults.strip() == "[]"
