"""Kills `record` and `outreach` with SIGKILL again and again, and looks at what is left.

python kill_run.py RECORD OUTREACH [ON_SERVER URL]     how many kills of each, the last of `record`
                                                       on a PostgreSQL ledger that is empty

Each time a forked child does the job and dies: at its n-th write (a statement that writes, a
commit, a file written, synced or renamed; n goes round), or, every fourth time, at a moment of the
clock.  Then the ledger and the workbook must be as before the job or as after it, and doing the
job again must give what an undisturbed run gives, once.  Printed as JSON for each job: kills, those
between the first and the last write, and what was wrong.
"""

from __future__ import annotations

import datetime as dt
import json
import os
import shutil
import signal
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

import psycopg
from sqlalchemy import Engine, event

sys.path.insert(0, str(Path(__file__).parent))
from small_shop import AS_OF, HAZARDS, write_fleet
from typing_hand import type_into

from riskcheck import assessment, outreaching, remembering
from riskcheck.ledger import open_ledger
from riskcheck.remembering import recording
from riskcheck.reports import outreach_book
from riskcheck.sheets import workbook_out

AT = dt.datetime(2026, 10, 5, 9, 0, 0)
WRITES = ("INSERT", "UPDATE", "DELETE", "CREATE", "ALTER")
EVERY_BY_CLOCK = 4


class Steps:
    """Counts the writes of this process and dies at the one that was asked for."""

    def __init__(self, die_at: int = 0) -> None:
        self.count, self.die_at = 0, die_at

    def step(self) -> None:
        self.count += 1
        if self.count == self.die_at:
            os.kill(os.getpid(), signal.SIGKILL)

    def watch(self) -> None:
        """Count writing statements (after each), commits (before each), file syncs and renames."""

        def after(_c: object, _cur: object, statement: str, *_rest: object) -> None:
            if statement.lstrip().upper().startswith(WRITES):
                self.step()

        event.listen(Engine, "after_cursor_execute", after)
        event.listen(Engine, "commit", lambda _connection: self.step())
        for name in ("fsync", "replace"):
            setattr(os, name, self._counted(getattr(os, name)))

    def _counted(self, real: Callable[..., object]) -> Callable[..., object]:
        def counted(*arguments: object, **named: object) -> object:
            self.step()
            done = real(*arguments, **named)
            self.step()
            return done

        return counted


class Scene:
    """A ledger and a folder that can be put back to how they were, and looked at."""

    def __init__(self, place: str, folder: Path) -> None:
        self.server = "://" in place
        self.place = place if self.server else str(folder / "ledger.sqlite")
        self.folder = folder
        self.kept = folder.with_name(folder.name + "-kept")

    def keep(self) -> None:
        if self.server:
            with open_ledger(self.place) as ledger:
                ledger.backup(self.folder / "kept.gz")
        shutil.rmtree(self.kept, ignore_errors=True)
        shutil.copytree(self.folder, self.kept)

    def put_back(self) -> None:
        shutil.rmtree(self.folder)
        shutil.copytree(self.kept, self.folder)
        if self.server:
            with psycopg.connect(self.place, autocommit=True) as connection:
                names = "typed, loose_rows, corrections, outcomes, consents, recordings, issued"
                connection.execute(f"TRUNCATE {names}, holdouts, snapshots, runs")
            with open_ledger(self.place) as ledger:
                ledger.restore(self.folder / "kept.gz")

    def looks(self) -> tuple[object, ...]:
        """All that matters, free of numbers that count attempts."""
        with open_ledger(self.place) as ledger:
            runs = ledger.runs()
            typed = ledger.typed()[["run_id", "row_key", "heading", "value", "meaning"]]
            return (
                sorted(map(tuple, typed.values.tolist())),
                sorted(ledger.loose_rows()["cells"]),
                runs["run_id"].tolist(),
                [len(ledger.snapshot(run_id)) for run_id in runs["run_id"]],
            )

    def book(self) -> bytes:
        path = self.folder / "out" / "outreach.xlsx"
        return path.read_bytes() if path.exists() else b""


def record_job(scene: Scene) -> Callable[[], None]:
    """Two returned copies, recorded together.

    They are read once, before the children are forked: what matters here is the writing.
    """
    copies = [scene.folder / name for name in ("counter.xlsx", "office.xlsx")]
    with open_ledger(scene.place) as ledger:
        issued = ledger.issued()
    read = {
        path: recording.read_returned(path, recording.copy_id_of(path), issued, AT.date())
        for path in copies
    }
    recording.read_returned = lambda path, *_rest: read[path]

    def job() -> None:
        with open_ledger(scene.place) as ledger:
            remembering.record_workbooks(ledger, copies, at=AT, by="jo")

    return job


def outreach_job(scene: Scene, campaign: outreaching.Campaign) -> Callable[[], None]:
    """A campaign that was worked out, written and remembered.

    Its workbook is put together once, before the children are forked: what matters is the writing.
    """
    book = outreach_book.workbook(campaign.run, campaign.flat, campaign.run_id)
    content = workbook_out.workbook_bytes(book)
    workbook_out.workbook_bytes = lambda _book: content

    def job() -> None:
        with open_ledger(scene.place) as ledger:
            outreaching.write(campaign, scene.folder / "out", ledger=ledger, at=AT)

    return job


def prepared(scene: Scene) -> outreaching.Campaign:
    """A fleet, a first run with its workbook, two copies of it that people worked in."""
    fleet = write_fleet(scene.folder / "fleet.xlsx")
    full = assessment.load_rules
    assessment.load_rules = lambda rules: full(rules).keeping(HAZARDS)
    with open_ledger(scene.place) as ledger:
        first = outreaching.outreach(fleet, as_of=AS_OF, ledger=ledger)
        written = outreaching.write(first, scene.folder / "out", ledger=ledger, at=AT)
        book = written.files["outreach.xlsx"]
        type_into(book, scene.folder / "counter.xlsx", {"Note": "called, will think"}, added=True)
        type_into(book, scene.folder / "office.xlsx", {"Note": "no answer", "Result": "no answer"})
        day = AS_OF + dt.timedelta(days=14)
        return outreaching.outreach(fleet, as_of=day, ledger=ledger)


def in_child(job: Callable[[], None], steps: Steps, after_s: float = 0.0) -> tuple[bool, int]:
    """Run ``job`` in a forked child; (was it killed, writes it had made as far as it told)."""
    read, write = os.pipe()
    pid = os.fork()
    if pid == 0:
        os.close(read)
        steps.watch()
        counted = steps.step

        def told() -> None:
            os.write(write, b".")
            counted()

        steps.step = told  # type: ignore[method-assign]
        try:
            job()
        finally:
            os._exit(0)
    os.close(write)
    if after_s:
        time.sleep(after_s)
        os.kill(pid, signal.SIGKILL)
    with os.fdopen(read, "rb") as pipe:
        made = len(pipe.read())
    _, status = os.waitpid(pid, 0)
    return os.WIFSIGNALED(status), made


def killed_often(
    scene: Scene, job: Callable[[], None], wanted: int, *, writes_book: bool
) -> dict[str, object]:
    """Kill ``job`` until ``wanted`` kills are reached and tell what was wrong afterwards."""
    scene.keep()
    before, book_before = scene.looks(), scene.book()
    start = time.monotonic()
    _, total = in_child(job, Steps())
    lasts = time.monotonic() - start
    after, book_after = scene.looks(), scene.book()
    faults: list[str] = []
    if before == after or (writes_book and book_before == book_after):
        faults.append("the undisturbed job did nothing")
    kills = between = tries = 0
    while kills < wanted and tries < 3 * wanted:
        scene.put_back()
        by_clock = tries % EVERY_BY_CLOCK == EVERY_BY_CLOCK - 1
        die_at = 0 if by_clock else 1 + tries % total
        pause = lasts * ((tries * 37 % 100) / 100) if by_clock else 0.0
        tries += 1
        killed, made = in_child(job, Steps(die_at), pause)
        kills += killed
        between += killed and 1 <= made < total
        found, book = scene.looks(), scene.book()
        if book not in (book_before, book_after):
            faults.append(f"half a workbook, killed at write {made} of {total}")
        if any(one not in pair for one, *pair in zip(found, before, after, strict=True)):
            faults.append(f"half a recording, killed at write {made} of {total}")
        job()
        if scene.looks() != after or (writes_book and scene.book() != book_after):
            faults.append(f"not mended by doing it again, killed at write {made} of {total}")
    return {"kills": kills, "between": between, "writes": total, "faults": faults}


def main(record: int, outreach: int, on_server: int = 0, url: str = "") -> None:
    with tempfile.TemporaryDirectory(prefix="rckill") as root:
        folder = Path(root) / "shop"
        folder.mkdir()
        scene = Scene("", folder)
        campaign = prepared(scene)
        results = {
            "record": killed_often(scene, record_job(scene), record, writes_book=False),
        }
        if on_server:
            with open_ledger(scene.place) as ledger:
                ledger.undo(at=AT)
                ledger.backup(folder / "filled.gz")
            with open_ledger(url) as ledger:
                ledger.restore(folder / "filled.gz")
            server = Scene(url, folder)
            results["record on a server"] = killed_often(
                server, record_job(server), on_server, writes_book=False
            )
        job = outreach_job(scene, campaign)
        results["outreach"] = killed_often(scene, job, outreach, writes_book=True)
    sys.stdout.write(json.dumps(results) + "\n")


if __name__ == "__main__":
    numbers = [int(text) for text in sys.argv[1:4]]
    main(*numbers, *sys.argv[4:5])
