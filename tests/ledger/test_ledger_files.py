"""Who may read the files, what a backup holds, what is left of a forgotten customer."""

from __future__ import annotations

import gzip
import hashlib
import json
import os
import sqlite3
from pathlib import Path

import pytest
from ledger_samples import AS_OF, AT, RUN, cell, fill, issue, record, snapshot
from postgres_server import new_database

from riskcheck.errors import InputError
from riskcheck.ledger import Consent, Correction, Ledger, LooseRow, Outcome, Run, open_ledger

WORDS = ("Ada Quillfen", "555 0142", "0S7SS9D40EA100000")


def everything(ledger: Ledger) -> None:
    """Something of every kind about both customers."""
    fill(ledger)
    record(
        ledger,
        cell("k-c1", "Note", f"{WORDS[0]}, new number {WORDS[1]}"),
        cell("k-v1h", "Result", "looked: found", meaning="found"),
        cell("k-c2", "Note", "told by Ada Quillfen"),
        cell("k-c2", "Result", "booked", meaning="booked"),
        loose=(LooseRow(RUN, "Sheet", "added", {"Note": f"call {WORDS[1]}"}),
               LooseRow(RUN, "Sheet", "added", {"Note": "keep me"})),
    )  # fmt: skip
    ledger.add_correction(Correction("V1", "fuel", "diesel", f"says {WORDS[0]}"), at=AT, by="jo")
    ledger.add_correction(Correction("V2", "fuel", "petrol", "flap"), at=AT, by="jo")
    hose = "brake-hose-ageing"
    ledger.add_outcome(Outcome("V1", hose, AT.date(), "found", 0.5, WORDS[2]), at=AT, by="jo")
    ledger.add_consent(Consent("C1", "call", True, AT.date(), "form"), at=AT, by="jo")


def test_files_are_for_their_owner_only_whatever_the_mask(tmp_path: Path):
    mask = os.umask(0)
    try:
        path = tmp_path / "made" / "ledger.sqlite"
        with open_ledger(path) as ledger:
            everything(ledger)
            # A reader that stays open keeps the write-ahead files in being.
            reader = sqlite3.connect(path)
            reader.execute("SELECT * FROM typed").fetchall()
            ledger.add_correction(Correction("V9", "fuel", "diesel", "x"), at=AT, by="jo")
            ledger.backup(tmp_path / "copy.gz")
            modes = {file.name: file.stat().st_mode & 0o777 for file in path.parent.iterdir()}
            reader.close()
    finally:
        os.umask(mask)
    assert set(modes) == {"ledger.sqlite", "ledger.sqlite-wal", "ledger.sqlite-shm"}
    assert set(modes.values()) == {0o600}
    assert (tmp_path / "copy.gz").stat().st_mode & 0o777 == 0o600


def test_a_backup_goes_back_into_either_database(ledger: Ledger, tmp_path: Path, server: str):
    everything(ledger)
    ledger.backup(tmp_path / "copy.gz")
    other = new_database(server, f"back{'_pg' if ledger.path is None else ''}")
    for target in (tmp_path / "new.sqlite", other):
        with open_ledger(target) as new:
            new.restore(tmp_path / "copy.gz")
            assert new.digest() == ledger.digest()
            assert new.snapshot(RUN).equals(ledger.snapshot(RUN))
            assert new.contacts().equals(ledger.contacts())
            # Numbering goes on behind the restored rows.
            new.add_correction(Correction("V1", "road_salt", True, "x"), at=AT, by="jo")
            assert len(new.corrections()) == 3


def test_backups_of_the_same_ledger_are_the_same_bytes(ledger: Ledger, tmp_path: Path):
    everything(ledger)
    ledger.backup(tmp_path / "one.gz")
    ledger.backup(tmp_path / "two.gz")
    assert (tmp_path / "one.gz").read_bytes() == (tmp_path / "two.gz").read_bytes()


def test_a_version_1_backup_still_goes_back(tmp_path: Path):
    head = json.dumps({"format": "riskcheck ledger", "version": 1}, sort_keys=True)
    rows = [
        {"table": "recordings", "row": {"recording_id": 1, "kind": "outcome", "by": "jo",
         "at": "2026-01-01T00:00:00", "source": "", "undone_at": None}},
        {"table": "outcomes", "row": {"outcome_id": 1, "recording_id": 1, "vehicle_id": "V1",
         "hazard_id": "h", "date": "2026-01-01", "outcome": "found", "note": ""}},
    ]  # fmt: skip
    body = "".join(f"{line}\n" for line in [head, *(json.dumps(r, sort_keys=True) for r in rows)])
    digest = hashlib.sha256(body.encode()).hexdigest()
    (tmp_path / "old.gz").write_bytes(
        gzip.compress((body + json.dumps({"digest": digest}) + "\n").encode())
    )
    with open_ledger(tmp_path / "new.sqlite") as new:
        assert new.restore(tmp_path / "old.gz")["outcomes"] == 1
        assert new.outcomes()["outcome"].tolist() == ["found"]


def test_a_full_ledger_a_cut_copy_and_a_strange_file_are_refused(tmp_path: Path):
    with open_ledger(tmp_path / "a.sqlite") as ledger:
        everything(ledger)
        ledger.backup(tmp_path / "copy.gz")
        with pytest.raises(InputError, match="already remembers"):
            ledger.restore(tmp_path / "copy.gz")
    whole = (tmp_path / "copy.gz").read_bytes()
    lines = gzip.decompress(whole).splitlines(keepends=True)
    spoiled = {
        "cut.gz": whole[:-40],
        "short.gz": gzip.compress(b"".join(lines[:-3] + lines[-1:])),
        "changed.gz": gzip.compress(b"".join(lines).replace(b"booked", b"BOOKED")),
        "text.gz": b"hello",
        "other.gz": gzip.compress(b'{"format": "else"}\n{"digest": ""}\n'),
        "empty.gz": gzip.compress(b""),
    }
    for name, content in spoiled.items():
        (tmp_path / name).write_bytes(content)
        with open_ledger(tmp_path / "b.sqlite") as new:
            with pytest.raises(InputError):
                new.restore(tmp_path / name)
            assert new.runs().empty
    with open_ledger(tmp_path / "b.sqlite") as new, pytest.raises(InputError, match="no backup"):
        new.restore(tmp_path / "none.gz")


def test_a_forgotten_customer_is_gone_and_the_others_stay(ledger: Ledger):
    everything(ledger)
    removed = ledger.forget("C1", WORDS[:2])
    assert removed["typed"] == 3, "two cells of his rows, one note that names him"
    assert ledger.contacts()["customer_id"].tolist() == ["C2"]
    assert ledger.contacts()["result"].tolist() == ["booked"]
    assert ledger.snapshot(RUN)["customer_id"].tolist() == ["C2"]
    assert ledger.corrections()["vehicle_id"].tolist() == ["V2"]
    assert ledger.consents().empty
    assert len(ledger.loose_rows()) == 1
    left = ledger.outcomes()
    assert left[["vehicle_id", "outcome", "hours"]].values.tolist() == [
        ["(forgotten)", "found", 0.5]
    ]
    assert ledger.forget("C1", WORDS) == {}, "nothing is left of him"


def test_the_name_printed_on_his_call_sheets_is_looked_for_in_other_notes(ledger: Ledger):
    everything(ledger)
    ledger.forget("C1")
    assert "Quillfen" not in " ".join(ledger.typed()["value"])
    assert ledger.contacts()["result"].tolist() == ["booked"]


@pytest.mark.parametrize(("gone", "other"), [("C1", "C10"), ("1", "10")])
def test_an_id_inside_another_id_or_a_day_is_not_that_customer(
    ledger: Ledger, gone: str, other: str
):
    ids = {"C1": gone, "C2": other, "V1": f"V{gone}", "V2": f"V{other}"}
    said = snapshot().replace({"customer_id": ids, "vehicle_id": ids})
    names = ["contact", "customer_id", "vehicle_id"]
    rows = issue().replace(dict.fromkeys(names, ids))
    rows["printed"] = [f'{{"Vehicle": "{name}"}}' for name in rows["vehicle_id"]]
    ledger.record_run(Run(RUN, AT, AS_OF, 12, "fleet.xlsx", "f" * 64, "d" * 64), said)
    ledger.record_issue(RUN, rows)
    record(ledger, cell("k-c2", "Date", "2026-10-01"), cell("k-v2h", "Note", f"V{other} towed"))
    record(ledger, cell("k-c2", "Note", f"came with V{gone.lower()}, V{other} too"))
    ledger.forget(gone)
    assert sorted(ledger.typed()["value"]) == ["2026-10-01", f"V{other} towed"]
    assert ledger.issued()["row_key"].tolist() == ["k-c2", "k-v2h"]
    assert ledger.snapshot(RUN)["customer_id"].tolist() == [other]


def test_nothing_of_a_forgotten_customer_is_left_in_the_file(tmp_path: Path):
    path = tmp_path / "ledger.sqlite"
    with open_ledger(path) as ledger:
        everything(ledger)
        reader = sqlite3.connect(path)  # keeps the write-ahead log alive
        reader.execute("SELECT count(*) FROM typed").fetchall()
        before = b"".join(file.read_bytes() for file in tmp_path.iterdir())
        reader.close()
        assert all(word.encode() in before for word in WORDS)
        ledger.forget("C1", WORDS)
        after = b"".join(file.read_bytes() for file in tmp_path.iterdir())
    assert [word for word in (*WORDS, "C1") if word.encode() in after] == []
