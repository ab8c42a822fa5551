"""The commands as a person uses them: one story from the first list to the last purge.

Also what must not be seen: names, telephones and VINs of the small shop in anything that is said
beside the results, however loud or broken the run.
"""

from __future__ import annotations

import datetime as dt
import json
import os
import shutil
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest
from small_shop import PEOPLE, VEHICLES, write_fleet
from typing_hand import type_into

from riskcheck import assessment, cli, remembering
from riskcheck.ledger import FILE_NAME, open_ledger
from riskcheck.rulebook import Rulebook

AT = dt.datetime(2026, 10, 21, 9, 0, 0)
ROOT = Path(__file__).parents[2]
PERSONAL = [
    *(part for person in PEOPLE.values() for part in person),
    *(phone[-8:] for _, phone, _, _ in PEOPLE.values()),
    *(vin for _, vin, *_ in VEHICLES),
]
Say = Callable[..., tuple[int, str, str]]


@pytest.fixture
def sent_shop(shop: Path, as_sent: Path) -> Path:
    """The same after the first list went out."""
    shutil.copytree(as_sent, shop, dirs_exist_ok=True)
    return shop


@pytest.fixture
def say(capsys: pytest.CaptureFixture[str]) -> Say:
    """Run one command; returns exit code, stdout, stderr."""

    def said(*arguments: object) -> tuple[int, str, str]:
        code = cli.run([str(argument) for argument in arguments])
        out, err = capsys.readouterr()
        if "--json" not in arguments:
            assert all(len(line) <= 80 for line in out.splitlines() if str(Path.cwd()) not in line)
        return code, out, err

    return said


@pytest.fixture
def shop(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, rules: Rulebook) -> Path:
    """A folder with the small shop's fleet, as working folder; three hazards, to be quick."""
    write_fleet(tmp_path / "fleet.xlsx")
    monkeypatch.setattr(assessment, "load_rules", lambda _folders: rules)
    monkeypatch.chdir(tmp_path)
    monkeypatch.delenv("RISKCHECK_LEDGER", raising=False)
    return tmp_path


def test_the_whole_story(say: Say, shop: Path):
    code, out, _ = say("outreach", "fleet.xlsx", "--as-of", "2026-10-01", "--out", "out")
    assert code == 0
    assert (shop / FILE_NAME).stat().st_mode & 0o777 == 0o600
    type_into(shop / "out/outreach.xlsx", shop / "back.xlsx", {"Result": "said no for now"})

    code, out, _ = say("record", "back.xlsx", "--as-of", "2026-10-05", "--by", "jo")
    assert code == 0
    assert "new" in out
    assert "known before" in say("record", "back.xlsx", "--as-of", "2026-10-05")[1]

    why = ("--because", "wheels off", "--as-of", "2026-10-06", "--by", "jo")
    code, out, _ = say("record", "V2", "brake_hose_found_bad=no", *why)
    assert code == 0
    assert "because wheels off" in " ".join(out.split())
    code, out, _ = say("record", "0EA100006", "timing_drive=chain", *why)
    assert code == 2, "a VIN's last nine name no vehicle"
    code, out, _ = say("record", "EA100006", "timing_drive=chain", *why)
    assert "V6" in out
    assert "Taken back: correction" in say("record", "--undo")[1]
    code, out, _ = say(
        "record", "V3", "brake-hose-ageing=found", "--hours", 0.5, "--as-of", "2026-10-07"
    )
    assert "looked: found, 0.5 h" in out

    code, out, _ = say("explain", "fleet.xlsx", "V2", "--as-of", "2026-10-08")
    assert code == 0
    assert "wheels off" in " ".join(out.split()), "who, when and why stand in explain"

    arguments = ("changes", "fleet.xlsx", "--as-of", "2026-10-15")
    code, out, _ = say(*arguments, "--out", "letters")
    plain = " ".join(out.split())
    assert "somebody corrected a fact" in plain
    assert "Dear Ada Quillfen" in plain
    assert "found on 1 of 1 look" in plain
    assert "Dear Ada Quillfen" in (shop / "letters/withdrawals.txt").read_text()
    data = json.loads(say(*arguments, "--json")[1])
    assert data["withdrawals"][0]["vehicle_id"] == "V2"
    assert data["tally"]["outcomes"] == {"found": 1}

    assert "1 correction in force" in say("ledger", "show")[1]
    assert say("ledger", "backup", "copy.gz")[0] == 0
    assert say("ledger", "restore", "copy.gz")[0] == 3
    assert say("ledger", "restore", "copy.gz", "--ledger", "new.sqlite")[0] == 0
    with open_ledger(shop / FILE_NAME) as one, open_ledger(shop / "new.sqlite") as two:
        assert one.digest() == two.digest()
    code, out, _ = say("ledger", "purge", "--customer", "C1", "--also", "Quillfen")
    assert code == 0
    assert "Not touched: the fleet file" in out
    assert b"Quillfen" not in (shop / FILE_NAME).read_bytes()


def test_wrong_calls_say_what_would_be_right(say: Say, shop: Path):
    for arguments, told in (
        (("changes", "fleet.xlsx"), "no ledger"),
        (("ledger", "show"), "--fleet"),
        (("record",), "one of the three"),
        (("record", "back.xlsx", "V1", "fuel=diesel"), "one of the three"),
        (("record", "V1", "fuel=diesel", "--because", "x"), "--fleet FLEET.xlsx"),
        (("record", "V1", "--fleet", "none.xlsx"), "no fleet file"),
        (("record", "V1", "--fleet", "fleet.xlsx"), "say what is so"),
        (("record", "V1", "fuel", "--fleet", "fleet.xlsx"), "fact=value"),
        (("record", "V1", "fuel=tea", "--because", "x", "--fleet", "fleet.xlsx"), "no value"),
        (("record", "V1", "brake-hose-ageing=gone", "--fleet", "fleet.xlsx"), "not_found"),
        (("record", "V77", "fuel=diesel", "--because", "x", "--fleet", "fleet.xlsx"), "V77"),
    ):
        code, _, err = say(*arguments)
        assert code in (2, 3), arguments
        assert told in " ".join(err.split()), arguments
    with open_ledger(shop / FILE_NAME) as ledger:
        assert ledger.runs().empty
    assert say("changes", "fleet.xlsx")[0] == 2


def test_a_workbook_leads_to_its_ledger_and_so_does_the_folder(
    say: Say, shop: Path, monkeypatch: pytest.MonkeyPatch
):
    kept, away = shop / "data", shop / "elsewhere"
    kept.mkdir()
    away.mkdir()
    (shop / "fleet.xlsx").rename(kept / "fleet.xlsx")
    say("outreach", "data/fleet.xlsx", "--as-of", "2026-10-01", "--out", "out")
    book = shop / "out/outreach.xlsx"
    type_into(book, book, {"Result": "do not call again"})
    monkeypatch.chdir(away)
    code, out, _ = say("record", "../out/outreach.xlsx")
    assert code == 0
    assert "wish not to be contacted" in " ".join(out.split())
    monkeypatch.chdir(shop)  # the ledger lies one folder down
    assert say("record", "V1", "fuel=diesel", "--because", "seen")[0] == 0
    assert say("record", "--undo")[0] == 0
    shutil.copytree(kept, shop / "other")
    code, _, err = say("record", "--undo")
    assert code == 2
    assert err.count("--ledger") == 2


def test_undo_takes_no_workbook_unasked_and_a_purge_names_somebody(say: Say, sent_shop: Path):
    book = sent_shop / "back.xlsx"
    source = next(sent_shop.rglob("outreach.xlsx"))
    type_into(source, book, {"Next step": "call again", "Note": "wants a ride"}, rows=1)
    told = ("--ledger", next(sent_shop.rglob(FILE_NAME)))
    assert say("record", book, *told)[0] == 0
    code, _, err = say("record", "--undo", *told)
    assert code == 2
    assert "--undo --workbook" in " ".join(err.split())
    shown = say("ledger", "show", *told)[1]
    assert "call again" in shown
    assert "wants a ride" in " ".join(shown.split())
    before = say("ledger", "show", "--json", *told)[1]
    out = say("ledger", "purge", "--customer", "C999", "--also", "wants a ride", *told)[1]
    assert "Nobody of the id C999" in out
    assert say("ledger", "show", "--json", *told)[1] == before
    assert "Taken back: workbook" in say("record", "--undo", "--workbook", *told)[1]


def test_of_several_facts_one_wrong_one_stops_all(say: Say, shop: Path):
    told = ("--because", "x", "--fleet", "fleet.xlsx")
    assert say("record", "V1", "fuel=diesel", "timing_drive=rope", *told)[0] == 2
    with open_ledger(shop / FILE_NAME) as ledger:
        assert ledger.corrections().empty


def test_a_workbook_with_unrecorded_words_is_left_alone(say: Say, shop: Path):
    run = ("outreach", "fleet.xlsx", "--as-of", "2026-10-01", "--out", "out")
    say(*run)
    book = shop / "out/outreach.xlsx"
    type_into(book, book, {"Note": "mind the dog"})
    before = book.read_bytes()
    _, out, _ = say(*run)
    assert book.read_bytes() == before
    assert "riskcheck record" in " ".join(out.split())
    assert (shop / "out/outreach-2026-10-01.xlsx").exists()
    say("record", "out/outreach.xlsx", "--as-of", "2026-10-02")
    say(*run)
    assert book.read_bytes() != before, "once it is recorded, the name is free again"


def test_a_locked_target_gets_a_second_name_and_the_run_is_remembered(
    say: Say, sent_shop: Path, monkeypatch: pytest.MonkeyPatch
):
    """As on Windows, where a workbook that is open cannot be replaced."""
    shop = sent_shop
    real, locked = os.replace, shop / "out/outreach.xlsx"

    def refuse(source: object, target: object) -> None:
        if Path(str(target)).absolute() == locked:
            raise PermissionError(13, "used by another program")
        real(source, target)

    before = locked.read_bytes()
    monkeypatch.setattr(os, "replace", refuse)
    monkeypatch.setattr("time.sleep", lambda _seconds: None)
    later = ("outreach", "fleet.xlsx", "--as-of", "2026-10-20", "--out", "out")
    code, out, _ = say(*later)
    assert code == 0
    assert "open in another program" in " ".join(out.split())
    assert "outreach-(2).xlsx" in out
    assert locked.read_bytes() == before
    second = shop / "out/outreach-(2).xlsx"
    type_into(second, second, {"Note": "typed into the second"}, rows=1)
    with open_ledger(shop / FILE_NAME) as ledger:
        assert remembering.holds_unrecorded(ledger, second, AT.date())


def seen_in(text: str) -> list[str]:
    return [word for word in PERSONAL if word in text]


def test_nothing_personal_is_said_beside_the_results(say: Say, shop: Path):
    book, errors = shop / "out/outreach.xlsx", ""
    for arguments in (
        ("outreach", "fleet.xlsx", "--as-of", "2026-10-01", "--out", "out"),
        ("record", "fleet.xlsx"),
        ("record", "Ada Quillfen", "fuel=diesel", "--because", "x"),
        ("record", "V2", "fuel=Ada Quillfen", "--because", "x"),
        ("changes", "fleet.xlsx", "--since", "2020-01-01"),
        ("ledger", "restore", "fleet.xlsx"),
        ("ledger", "show", "--ledger", "fleet.xlsx"),
    ):
        _, _, err = say(*arguments)
        errors += err.replace("'Ada Quillfen'", "").replace("fuel=Ada Quillfen", "")
    assert seen_in(errors) == []
    type_into(book, book, {"Note": "Ada Quillfen (406) 555-0142"})
    _, out, err = say("record", book)
    assert seen_in(err) == []
    _, out, err = say("ledger", "purge", "--customer", "C1", "--also", "Ada Quillfen")
    assert seen_in(out + err) == []


@pytest.mark.parametrize("where", ["Ledger.record_typed", "Ledger.issued", "Ledger.contacts"])
def test_a_report_of_our_own_fault_holds_nothing_personal(
    say: Say, sent_shop: Path, monkeypatch: pytest.MonkeyPatch, where: str
):
    book = sent_shop / "out/outreach.xlsx"
    type_into(book, book, {"Note": "Ada Quillfen (406) 555-0142"})

    def broken(*arguments: object, **named: object) -> None:
        raise RuntimeError(f"could not do it with {arguments} {named} Ada Quillfen")

    monkeypatch.setattr(f"riskcheck.ledger.store.{where}", broken)
    code, out, err = say("record", book) if "contacts" not in where else say("ledger", "show")
    assert code == 70
    assert "own fault" in err
    assert seen_in(out + err) == []


def test_two_commands_at_once_both_land(sent_shop: Path):
    shop = sent_shop
    for n in (1, 2):
        type_into(shop / "out/outreach.xlsx", shop / f"copy{n}.xlsx", {"Note": f"by {n}"}, rows=1)
    commands = [
        [sys.executable, "-m", "riskcheck", "record", f"copy{n}.xlsx", "--by", f"jo{n}"]
        for n in (1, 2)
    ]
    running = [
        subprocess.Popen(command, cwd=shop, env={**os.environ, "PYTHONPATH": str(ROOT)},
                         stdout=subprocess.DEVNULL, stderr=subprocess.PIPE)
        for command in commands
    ]  # fmt: skip
    for process in running:
        _, err = process.communicate(timeout=120)
        assert process.returncode == 0, err
    with open_ledger(shop / FILE_NAME) as ledger:
        notes = ledger.contacts()["note"]
        assert all("by 1" in note and "by 2" in note for note in notes)
        assert len(ledger.typed()) == 2 * len(notes) > 0
