"""SIGKILL while recording and while writing the list; ``kill_run.py`` says what must hold then.

A small number here; by hand, for the whole figure:
python tests/remembering/kill_run.py 130 40 40 postgresql://...
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

from postgres_server import new_database

ROOT = Path(__file__).parents[2]


def test_whatever_the_moment_nothing_is_half_lost_or_doubled(server: str):
    script = Path(__file__).with_name("kill_run.py")
    wanted = {"record": 12, "outreach": 4, "record on a server": 6}
    place = new_database(server, "killed")
    done = subprocess.run(
        [sys.executable, script, *map(str, wanted.values()), place],
        env={**os.environ, "PYTHONPATH": str(ROOT)},
        capture_output=True, text=True, check=False, timeout=300,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    results = json.loads(done.stdout)
    assert {name: result["kills"] for name, result in results.items()} == wanted
    assert [fault for result in results.values() for fault in result["faults"]] == []
    between = sum(result["between"] for result in results.values())
    assert 2 * between >= sum(wanted.values())
