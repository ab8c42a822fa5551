"""Older ledgers are brought up by tested steps; strange and newer ones are left alone."""

from __future__ import annotations

import sqlite3
from pathlib import Path

import psycopg
import pytest
from ledger_samples import AT, RUN, fill
from sqlalchemy import create_engine, inspect

from riskcheck.errors import InputError, UsageError
from riskcheck.ledger import Consent, Outcome, open_ledger

DATA = Path(__file__).parent / "data"
ROWS = f"""
INSERT INTO about VALUES ('schema_version', '1');
INSERT INTO recordings (kind, at, by, source) VALUES
  ('workbook', '2026-01-02T09:00:00', 'jo', 'old.xlsx'),
  ('outcome', '2026-01-03T09:00:00', 'al', 'V1');
INSERT INTO typed (recording_id, run_id, row_key, heading, copy_id, value, meaning) VALUES
  (1, '{RUN}', 'k-c1', 'Note', 'one', 'called, no answer', '');
INSERT INTO outcomes (recording_id, vehicle_id, hazard_id, date, outcome, note) VALUES
  (2, 'V1', 'brake-hose-ageing', '2026-01-03', 'found', '');
"""


@pytest.fixture
def version_1(place: str) -> str:
    """A ledger as version 1 left it, with what people had recorded."""
    if "://" in place:
        with psycopg.connect(place, autocommit=True) as connection:
            connection.execute((DATA / "version_1.postgresql.sql").read_text() + ROWS)
    else:
        connection = sqlite3.connect(place)
        connection.executescript((DATA / "version_1.sqlite.sql").read_text() + ROWS)
        connection.close()
    return place


def columns(place: str) -> dict[str, list[tuple[str, str, bool]]]:
    """Tables and columns with their types, as the database itself describes them."""
    url = place.replace("postgresql:", "postgresql+psycopg:") if "://" in place else place
    engine = create_engine(url if "://" in url else f"sqlite:///{url}")
    seen = inspect(engine)
    found = {
        table: sorted((c["name"], str(c["type"]), c["nullable"]) for c in seen.get_columns(table))
        for table in seen.get_table_names()
    }
    engine.dispose()
    return found


def test_version_1_is_brought_up_with_all_it_held(version_1: str):
    with open_ledger(version_1) as ledger:
        assert ledger.typed()["value"].tolist() == ["called, no answer"]
        assert ledger.outcomes()[["vehicle_id", "outcome"]].values.tolist() == [["V1", "found"]]
        assert ledger.outcomes()["hours"].isna().all()
        outcome = Outcome("V2", "brake-hose-ageing", AT.date(), "not_found", 0.4)
        ledger.add_outcome(outcome, at=AT, by="jo")
        ledger.add_consent(Consent("C1", "text", True, AT.date(), "form"), at=AT, by="jo")
        fill(ledger)
        assert ledger.outcomes()["hours"].tolist()[1] == 0.4


def test_a_migrated_ledger_has_the_schema_of_a_new_one(version_1: str, tmp_path: Path, request):
    open_ledger(version_1).close()
    server = "://" in version_1
    new = request.getfixturevalue("new_server_place") if server else str(tmp_path / "new.sqlite")
    open_ledger(new).close()
    assert columns(version_1) == columns(new)


def test_the_file_is_kept_as_it_was_before_the_step(tmp_path: Path):
    path = tmp_path / "ledger.sqlite"
    connection = sqlite3.connect(path)
    connection.executescript((DATA / "version_1.sqlite.sql").read_text() + ROWS)
    connection.close()
    open_ledger(path).close()
    kept = tmp_path / "ledger.sqlite.version-1"
    assert kept.stat().st_mode & 0o777 == 0o600
    old = sqlite3.connect(kept)
    assert old.execute("SELECT value FROM about").fetchall() == [("1",)]
    assert old.execute("SELECT value FROM typed").fetchall() == [("called, no answer",)]
    old.close()


def test_a_newer_ledger_is_refused_and_unchanged(version_1: str):
    if "://" in version_1:
        with psycopg.connect(version_1, autocommit=True) as connection:
            connection.execute("UPDATE about SET value = '99'")
    else:
        connection = sqlite3.connect(version_1)
        connection.execute("UPDATE about SET value = '99'")
        connection.commit()
        connection.close()
    before = columns(version_1)
    with pytest.raises(InputError, match="newer riskcheck"):
        open_ledger(version_1)
    assert columns(version_1) == before


def test_another_programs_database_is_left_alone(tmp_path: Path):
    path = tmp_path / "other.sqlite"
    connection = sqlite3.connect(path)
    connection.execute("CREATE TABLE theirs (a)")
    connection.commit()
    connection.close()
    before = path.read_bytes()
    with pytest.raises(InputError, match="not a riskcheck ledger"):
        open_ledger(path)
    assert path.read_bytes() == before


@pytest.mark.parametrize("content", [b"hello", b"PK\x03\x04rest of a workbook", b"SQLite format 3"])
def test_a_file_that_is_no_database_is_left_alone(tmp_path: Path, content: bytes):
    path = tmp_path / "ledger.sqlite"
    path.write_bytes(content)
    with pytest.raises(InputError, match="not a riskcheck ledger"):
        open_ledger(path)
    assert path.read_bytes() == content


def test_a_missing_ledger_is_made_only_where_it_may_be(tmp_path: Path):
    with pytest.raises(InputError, match="no ledger"):
        open_ledger(tmp_path / "none.sqlite", create=False)
    assert not (tmp_path / "none.sqlite").exists()
    with pytest.raises(InputError, match="folder"):
        open_ledger(tmp_path)


@pytest.mark.parametrize("address", ["mysql://x/y", "oops://", "http://example.org/l"])
def test_an_address_that_is_none_is_a_wrong_call(address: str):
    with pytest.raises(UsageError):
        open_ledger(address)


def test_a_server_that_does_not_answer_is_told_without_the_password(tmp_path: Path):
    with pytest.raises(InputError) as told:
        open_ledger(f"postgresql://jo:sesame@/none?host={tmp_path}")
    assert "does not answer" in str(told.value)
    assert "sesame" not in str(told.value)
