"""A real PostgreSQL server for the tests: its own folder, socket only, thrown away afterwards."""

from __future__ import annotations

import os
import shutil
import signal
import subprocess
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import psycopg

SECONDS = 60
ADVICE = "PostgreSQL is needed: apt-get install postgresql (its server is started by these tests)"


@contextmanager
def running_server() -> Iterator[str]:
    """The URL of the server's first database, without the database's name at its end."""
    folder = Path(tempfile.mkdtemp(prefix="rcpg", dir="/tmp"))
    os.chmod(folder, 0o777)
    # The server refuses to run as root: as root, run it as nobody.
    other = {"user": "nobody", "group": "nogroup", "extra_groups": []} if os.getuid() == 0 else {}
    quiet = {"stdout": subprocess.DEVNULL, "stderr": subprocess.DEVNULL, "cwd": folder}
    data = folder / "data"
    subprocess.run(
        [_binary("initdb"), "-D", data, "-A", "trust", "-U", "riskcheck", "--no-sync",
         "-E", "UTF8", "--locale=C"],
        check=True, **other, **quiet,
    )  # fmt: skip
    server = subprocess.Popen(
        [_binary("postgres"), "-D", data, "-k", folder, "-c", "listen_addresses=",
         "-c", "fsync=off", "-c", "max_connections=60"],
        **other, **quiet,
    )  # fmt: skip
    try:
        _wait(folder, server)
        yield f"postgresql://riskcheck@/{{}}?host={folder}"
    finally:
        server.send_signal(signal.SIGQUIT)  # at once: nothing of it is kept
        server.wait(SECONDS)
        shutil.rmtree(folder)


def new_database(url: str, name: str) -> str:
    """The URL of a new, empty database."""
    with psycopg.connect(url.format("postgres"), autocommit=True) as connection:
        connection.execute(f'CREATE DATABASE "{name}"')
    return url.format(name)


def _binary(name: str) -> str:
    places = sorted(Path("/usr/lib/postgresql").glob(f"*/bin/{name}"), reverse=True)
    found = shutil.which(name) or (str(places[0]) if places else "")
    assert found, ADVICE
    return found


def _wait(folder: Path, server: subprocess.Popen[bytes]) -> None:
    end = time.monotonic() + SECONDS
    while True:
        assert server.poll() is None, "the PostgreSQL server did not start"
        try:
            psycopg.connect(f"postgresql://riskcheck@/postgres?host={folder}").close()
        except psycopg.OperationalError:
            assert time.monotonic() < end, "the PostgreSQL server does not answer"
            time.sleep(0.05)
        else:
            return
