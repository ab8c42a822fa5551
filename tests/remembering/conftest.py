"""One judged small shop for all tests of this folder, and a real LibreOffice."""

from __future__ import annotations

import dataclasses
import datetime as dt
import functools
import json
import os
import shutil
import signal
import subprocess
import sys
import tempfile
from collections.abc import Iterator, Sequence
from pathlib import Path

import pandas as pd
import pytest

from riskcheck import assessment, outreaching, remembering
from riskcheck.ledger import FILE_NAME, Ledger, open_ledger
from riskcheck.reports import outreach_book
from riskcheck.rulebook import Rulebook

sys.path[:0] = [str(Path(__file__).parent), str(Path(__file__).parents[1] / "ledger")]
from postgres_server import running_server  # noqa: E402
from small_shop import AS_OF, HAZARDS, Edit, Judge, write_fleet  # noqa: E402

AT = dt.datetime(2026, 10, 2, 9, 0, 0)
ADVICE = "LibreOffice is needed: apt-get install libreoffice-calc python3-uno"


@pytest.fixture(scope="session")
def rules() -> Rulebook:
    """Three hazards, and a line so strict that an old hose on V1 is called about."""
    book = assessment.load_rules(()).keeping(HAZARDS)
    strict = dataclasses.replace(book.policy.tolerance_p_harm, value=7e-6)
    policy = book.policy.model_copy(update={"tolerance_p_harm": strict})
    return dataclasses.replace(book, policy=policy)


@pytest.fixture(scope="session")
def judge(rules: Rulebook, tmp_path_factory: pytest.TempPathFactory) -> Judge:
    """Judge the small shop: more lines in its history, corrections, another day, other rules."""

    read = functools.cache(
        lambda lines, as_of: assessment.read(
            write_fleet(tmp_path_factory.mktemp("shop") / "fleet.xlsx", list(lines)), rules, as_of
        )
    )

    def judged(
        *,
        more_lines: Sequence[tuple[str, str, int, str]] = (),
        corrections: pd.DataFrame | None = None,
        as_of: dt.date = AS_OF,
        book: Rulebook | None = None,
    ) -> assessment.Assessment:
        return assessment.judge(
            read(tuple(more_lines), as_of),
            book or rules,
            source=Path("fleet.xlsx"),
            as_of=as_of,
            corrections=corrections,
        )

    return judged


@pytest.fixture(scope="session")
def first_run(judge: Judge) -> assessment.Assessment:
    return judge()


@pytest.fixture(scope="session")
def as_sent(first_run: assessment.Assessment, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with the first run's workbook as sent out and the ledger that remembers it."""
    folder = tmp_path_factory.mktemp("sent")
    with open_ledger(folder / FILE_NAME) as ledger:
        run_id = remembering.run_id_of(first_run, ledger.digest())
        flat = outreach_book.call_frame(first_run)
        campaign = outreaching.Campaign(first_run, run_id, None, flat, ("", ""))
        outreaching.write(campaign, folder / "out", ledger=ledger, at=AT)
    return folder


@pytest.fixture
def ledger(as_sent: Path, tmp_path: Path) -> Iterator[Ledger]:
    """The ledger after the first run; each test has its own."""
    shutil.copy(as_sent / FILE_NAME, tmp_path / FILE_NAME)
    with open_ledger(tmp_path / FILE_NAME) as opened:
        yield opened


@pytest.fixture
def sent(as_sent: Path, tmp_path: Path) -> Path:
    """The first run's workbook; each test has its own."""
    (tmp_path / "out").mkdir()
    return Path(shutil.copy(as_sent / "out" / "outreach.xlsx", tmp_path / "out"))


@pytest.fixture(scope="session")
def office() -> Iterator[Edit]:
    """Edits a workbook in a real LibreOffice; see ``office_edits.py`` for the edits."""
    soffice = shutil.which("soffice") or shutil.which("libreoffice")
    assert soffice, ADVICE
    folder = Path(tempfile.mkdtemp(prefix="rcoffice", dir="/tmp"))
    pipe = f"rc{os.getpid()}"
    program = subprocess.Popen(
        [soffice, "--headless", "--norestore", "--nologo", f"--accept=pipe,name={pipe};urp;",
         f"-env:UserInstallation=file://{folder}/profile"],
        stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, start_new_session=True,
    )  # fmt: skip

    def edit(source: Path, target: Path, edits: list[list[object]]) -> None:
        steps = folder / "edits.json"
        steps.write_text(json.dumps(edits), encoding="utf-8")
        script = Path(__file__).with_name("office_edits.py")
        done = subprocess.run(
            ["/usr/bin/python3", script, pipe, source, target, steps],
            capture_output=True, text=True, check=False, timeout=120,
        )  # fmt: skip
        assert done.returncode == 0, f"{done.stderr}\n{ADVICE}"

    try:
        yield edit
    finally:
        os.killpg(program.pid, signal.SIGKILL)
        program.wait(30)
        shutil.rmtree(folder, ignore_errors=True)


@pytest.fixture(scope="session")
def server() -> Iterator[str]:
    with running_server() as url:
        yield url
