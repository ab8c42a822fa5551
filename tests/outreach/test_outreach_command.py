"""``riskcheck outreach`` at the command line: 80 columns, JSON, exit codes, faults told at once."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from riskcheck.cli import run

ONLY = ("--only", "brake-hose-ageing,timing-belt-overdue", "--as-of", "2026-10-01")


def test_what_it_prints_fits_eighty_columns_and_json_is_one_document(
    fleet_file: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    place = ["--out", str(tmp_path / "out"), "--ledger", str(tmp_path / "l.sqlite")]
    assert run(["outreach", str(fleet_file), *place, *ONLY]) == 0
    printed = capsys.readouterr().out
    paths = [line for line in printed.splitlines() if line.startswith(str(tmp_path))]
    others = [line for line in printed.splitlines() if line not in paths]
    assert max(len(line) for line in others) <= 80
    assert len(paths) == 2
    assert run(["outreach", str(fleet_file), *place, *ONLY, "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert told["schema"] == 1
    assert {row["contact"] for row in told["rows"]} == {row["contact"] for row in told["contacts"]}
    assert Path(told["files"]["outreach.xlsx"]).exists()


def test_a_missing_folder_and_a_template_at_fault_are_told_before_anything_is_read(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    nowhere = str(tmp_path / "none.xlsx")
    ledger = ["--ledger", str(tmp_path / "l.sqlite")]
    assert run(["outreach", nowhere, *ledger, "--templates", str(tmp_path / "gone")]) == 2
    assert "no such folder" in capsys.readouterr().err
    (tmp_path / "letter.txt.j2").write_text("One\nYour belt will break.", encoding="utf-8")
    wanted = ["--templates", str(tmp_path), "--messages", str(tmp_path / "m")]
    assert run(["outreach", nowhere, *ledger, *wanted]) == 4
    assert "letter.txt.j2:2: " in capsys.readouterr().err
    assert not (tmp_path / "l.sqlite").exists()
