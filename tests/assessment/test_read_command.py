"""The reading report: rows that add up, lines that fit, an empty workbook that reads back."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import pytest

from riskcheck import fleet as fleets
from riskcheck.assessment import Assessment, load_rules, read
from riskcheck.cli import run
from riskcheck.errors import UsageError
from riskcheck.fleet import lexicon
from riskcheck.reports import read_text

AS_OF = dt.date(2026, 10, 1)


def test_the_report_fits_eighty_columns_and_names_every_sheet(assessed: Assessment) -> None:
    unread = lexicon.load(assessed.rulebook.wording_dirs).unread(assessed.fleet.service["line"])
    lines = read_text.report(assessed.fleet, unread, [])
    assert max(len(line) for line in lines) <= 80
    text = "\n".join(lines)
    assert all(name in text for name in ("Vehicles", "Service", "Customers", "set aside"))


def test_the_empty_workbook_reads_back(tmp_path: Path) -> None:
    book = load_rules([])
    path = fleets.write_blank_workbook(tmp_path / "blank.xlsx", book.vocabulary)
    found = read(path, book, AS_OF)
    assert len(found.vehicles) >= 1
    assert len(found.service) >= 1


def test_reading_writes_the_agreed_tables(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "in.csv").write_text("Unit,Make,Model,Year,Odometer\nT1,Tovask,Carrier,2015,9000\n")
    code = run(["read", str(tmp_path / "in.csv"), "--as-of", "2026-10-01", "--out", str(tmp_path)])
    assert code == 0
    assert "T1" not in capsys.readouterr().err
    written = {"vehicles.csv", "service.csv", "events.csv", "problems.csv", "mapping.csv"}
    assert written <= {file.name for file in tmp_path.iterdir()}


def test_a_mapping_to_an_unknown_field_is_refused() -> None:
    with pytest.raises(UsageError, match="colour_of_sky"):
        read(Path("unread.csv"), load_rules([]), AS_OF, ["Odo=colour_of_sky"])
