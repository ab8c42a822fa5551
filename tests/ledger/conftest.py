"""Every ledger test runs on an SQLite file and on a real PostgreSQL server."""

from __future__ import annotations

import itertools
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

from riskcheck.ledger import Ledger, open_ledger

sys.path.insert(0, str(Path(__file__).parent))
from ledger_samples import fill
from postgres_server import new_database, running_server

_numbers = itertools.count()


@pytest.fixture(scope="session")
def server() -> Iterator[str]:
    with running_server() as url:
        yield url


@pytest.fixture
def new_server_place(server: str) -> str:
    return new_database(server, f"ledger{next(_numbers)}")


@pytest.fixture(params=["sqlite", "postgresql"])
def place(request: pytest.FixtureRequest, tmp_path: Path) -> str:
    """Where a new ledger may be made: a path as text, or a URL."""
    if request.param == "sqlite":
        return str(tmp_path / "ledger.sqlite")
    return str(request.getfixturevalue("new_server_place"))


@pytest.fixture
def ledger(place: str) -> Iterator[Ledger]:
    with open_ledger(place) as opened:
        yield opened


@pytest.fixture
def filled(ledger: Ledger) -> Ledger:
    fill(ledger)
    return ledger
