"""Kill -9 a process that writes a campaign again and again, and look at what it leaves behind.

    python killed_while_writing.py CAMPAIGN.pickle FOLDER KILLS

Prints how many kills fell between the first and the last file of a round, and what was wrong.
"""

from __future__ import annotations

import datetime as dt
import os
import pickle
import random
import signal
import sys
import time
import zipfile
from pathlib import Path

from riskcheck.ledger import open_ledger
from riskcheck.outreaching import Campaign, Wanted, write

AT = dt.datetime(2026, 10, 1, 9, 30)


def rounds(campaign: Campaign, out: Path) -> None:
    """Write the campaign for ever; a marker file exists while a round is under way."""
    while True:
        (out / "marker").touch()
        wanted = Wanted(messages=out / "messages", calendar=out / "f.ics")
        with open_ledger(out / "ledger.sqlite") as ledger:
            write(campaign, out, ledger=ledger, at=AT, wanted=wanted)
        (out / "marker").unlink()


def wrong(out: Path, good: dict[str, bytes], run_id: str) -> list[str]:
    """What a reader would stumble over: half a file, a doubled run, a broken ledger."""
    faults = []
    for name, data in good.items():
        path = out / name
        if path.exists() and path.read_bytes() != data:
            faults.append(f"{name} is not what was written")
    book = out / "outreach.xlsx"
    if book.exists() and zipfile.ZipFile(book).testzip() is not None:
        faults.append("the workbook is torn")
    with open_ledger(out / "ledger.sqlite") as ledger:
        if ledger.runs()["run_id"].tolist() not in ([], [run_id]):
            faults.append("the run was doubled")
    return faults


def main(pickled: str, folder: str, kills: int) -> None:
    campaign: Campaign = pickle.loads(Path(pickled).read_bytes())
    dice = random.Random(20261001)
    first = Path(folder) / "good"
    first.mkdir(parents=True)
    wanted = Wanted(messages=first / "messages", calendar=first / "f.ics")
    began = time.monotonic()
    with open_ledger(first / "ledger.sqlite") as ledger:
        write(campaign, first, ledger=ledger, at=AT, wanted=wanted)
    longest = time.monotonic() - began
    files = (path for path in first.rglob("*") if path.is_file() and "ledger" not in path.name)
    good = {str(path.relative_to(first)): path.read_bytes() for path in files}
    between, faults = 0, []
    out = Path(folder) / "killed"
    out.mkdir()
    for _ in range(kills):
        child = os.fork()
        if child == 0:
            rounds(campaign, out)
        time.sleep(dice.uniform(0.0, 1.2 * longest))
        os.kill(child, signal.SIGKILL)
        os.waitpid(child, 0)
        between += (out / "marker").exists()
        faults += wrong(out, good, campaign.run_id)
    sys.stdout.write(f"{between} {faults}\n")


if __name__ == "__main__":
    main(sys.argv[1], sys.argv[2], int(sys.argv[3]))
