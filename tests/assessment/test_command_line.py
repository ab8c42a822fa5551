"""Exit codes, plain errors and the same bytes from fresh processes."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import openpyxl
import pytest

ROOT = Path(__file__).parents[2]
SAMPLE = ROOT / "sample_data" / "fleet.xlsx"


def riskcheck(
    *arguments: str, cwd: Path = ROOT, **environment: str
) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-m", "riskcheck", *arguments],
        cwd=cwd,
        env={**os.environ, "PYTHONPATH": str(ROOT), **environment},
        capture_output=True,
        text=True,
        encoding="utf-8",
        check=False,
    )


def test_help_needs_nothing_heavy() -> None:
    done = subprocess.run(
        [sys.executable, "-X", "importtime", "-m", "riskcheck", "--help"],
        cwd=ROOT, capture_output=True, text=True, check=True,
    )  # fmt: skip
    assert "assess" in done.stdout
    imported = {line.rpartition("|")[2].strip() for line in done.stderr.splitlines()}
    assert not imported & {"pandas", "numpy", "scipy", "openpyxl", "durable"}


def test_same_input_same_bytes_from_fresh_processes(tmp_path: Path) -> None:
    settings = [
        {"PYTHONHASHSEED": "1", "TZ": "UTC", "LC_ALL": "C.UTF-8"},
        {"PYTHONHASHSEED": "77", "TZ": "Asia/Tokyo", "LC_ALL": "C"},
    ]
    outs = []
    for place, setting in enumerate(settings):
        out = tmp_path / f"run{place}"
        folder = tmp_path / f"cwd{place}"
        folder.mkdir()
        done = riskcheck("assess", str(SAMPLE), "--as-of", "2026-10-01", "--out", str(out), "-q",
                         cwd=folder, **setting)  # fmt: skip
        assert done.returncode == 0, done.stderr
        outs.append({file.name: file.read_bytes() for file in sorted(out.iterdir())})
    assert outs[0].keys() == {"exposures.csv", "outreach.csv", "outreach.xlsx"}
    assert outs[0] == outs[1]


def test_json_goes_to_stdout_whole(tmp_path: Path) -> None:
    done = riskcheck("assess", str(SAMPLE), "--as-of", "2026-10-01", "--only", "coolant-age",
                     "--json", "--out", str(tmp_path))  # fmt: skip
    assert done.returncode == 0, done.stderr
    answer = json.loads(done.stdout)
    assert answer["schema"] == 1
    assert {call["hazard_id"] for call in answer["calls"]} == {"coolant-age"}


def unreadable(folder: Path) -> Path:
    path = folder / "fleet.xlsx"
    path.write_bytes(b"PK\x03\x04 this is no workbook")
    return path


def without_vehicles(folder: Path) -> Path:
    book = openpyxl.Workbook()
    book.active.append(["Colour", "Taste"])
    book.active.append(["red", "sour"])
    book.save(folder / "fruit.xlsx")
    return folder / "fruit.xlsx"


def absent(folder: Path) -> Path:
    return folder / "nowhere.xlsx"


@pytest.mark.parametrize("make", [unreadable, without_vehicles, absent])
def test_an_input_that_cannot_be_used_gets_one_paragraph_and_exit_3(
    tmp_path: Path, make: object
) -> None:
    path = make(tmp_path)  # type: ignore[operator]
    done = riskcheck("assess", str(path), "--as-of", "2026-10-01", "--out", str(tmp_path / "out"))
    assert done.returncode == 3, done.stderr
    assert "Traceback" not in done.stderr
    assert path.name in done.stderr
    assert len(done.stderr.strip().splitlines()) <= 8
    assert not (tmp_path / "out").exists()


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("explain", str(SAMPLE), "no-such-bus", "--as-of", "2026-10-01"), "No vehicle answers"),
        (("assess", str(SAMPLE), "--only", "rust"), "No hazard is called"),
        (("assess", str(SAMPLE), "--map", "nonsense"), "--map"),
        (("assess", "--no-such-option"), "No such option"),
    ],
)
def test_wrong_usage_exits_2_and_says_what_would_be_right(
    arguments: tuple[str, ...], said: str
) -> None:
    done = riskcheck(*arguments)
    assert done.returncode == 2, done.stderr
    assert said in done.stderr
    assert "Traceback" not in done.stderr


def test_a_bad_row_is_set_aside_and_named_and_the_good_ones_go_through(tmp_path: Path) -> None:
    book = openpyxl.Workbook()
    sheet = book.active
    sheet.title = "Trucks"
    sheet.append(["Unit", "Make", "Model", "Year", "Odometer"])
    sheet.append(["T1", "Tovask", "Carrier", 2015, 120000])
    sheet.append([None, "Tovask", "Carrier", 2016, 90000])
    book.save(tmp_path / "trucks.xlsx")
    done = riskcheck("assess", str(tmp_path / "trucks.xlsx"), "--as-of", "2026-10-01",
                     "--json", "--out", str(tmp_path / "out"))  # fmt: skip
    assert done.returncode == 0, done.stderr
    answer = json.loads(done.stdout)
    assert answer["vehicles"] == 1
    assert answer["set_aside"] == 1
