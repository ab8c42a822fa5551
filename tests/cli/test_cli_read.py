"""``riskcheck read`` at the command line: the report, and wordings taught by a worksheet."""

from __future__ import annotations

import json
from pathlib import Path

import openpyxl
import pandas as pd
import pytest
from typer.testing import CliRunner, Result

from riskcheck.cli.app import app
from riskcheck.errors import InputError, UsageError
from riskcheck.fleet import lexicon_unread
from riskcheck.reports import wording_sheet

LINES = ("zorp quillet 12", "ZORP QUILLET 7", "blue flange greased", "battery replaced", "=1+1")


def run(*arguments: object) -> Result:
    return CliRunner().invoke(
        app, [str(each) for each in arguments], standalone_mode=False, catch_exceptions=False
    )


@pytest.fixture(scope="module")
def fleet(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("fleet") / "history.csv"
    rows = [
        {"Unit #": "T1", "Year": 2015, "Date": f"2024-03-{day:02}", "Mileage": 60_000 + day,
         "Description": line}
        for day, line in enumerate(LINES, start=1)
    ]  # fmt: skip
    pd.DataFrame(rows).to_csv(path, index=False)
    return path


def test_the_report_fits_eighty_columns_and_lists_unread_wordings(
    fleet: Path, tmp_path: Path
) -> None:
    done = run("read", fleet, "--as-of", "2024-06-01", "--out", tmp_path)
    assert done.return_value == 0
    assert max(len(line) for line in done.stdout.splitlines() if str(tmp_path) not in line) <= 80
    assert "2 x 'zorp quillet 12'" in done.stdout
    assert {path.name for path in tmp_path.iterdir()} >= {"service.csv", "problems.csv"}
    assert done.stderr == ""


def test_json_says_how_many_wordings_are_unread(fleet: Path, tmp_path: Path) -> None:
    done = run("read", fleet, "--as-of", "2024-06-01", "--out", tmp_path, "--json")
    unread = json.loads(done.stdout)["unread"]
    assert unread["wordings"] == 3
    assert unread["lines"] == 4
    assert unread["commonest"][0]["wording"] == "zorp quillet 12"


def test_strict_exits_1_only_where_something_needs_attention(fleet: Path, tmp_path: Path) -> None:
    common = ("--as-of", "2024-06-01", "--out", tmp_path, "--strict", "--quiet")
    assert run("read", fleet, *common).return_value == 0
    wrong = tmp_path / "wrong.csv"
    wrong.write_text(fleet.read_text() + "T1,2015,not a day,60009,battery replaced\n")
    assert run("read", wrong, *common).return_value == 1


def test_a_filled_worksheet_is_taught_and_read_back(fleet: Path, tmp_path: Path) -> None:
    sheet, shop = tmp_path / "words.xlsx", tmp_path / "shop"
    common = ("--as-of", "2024-06-01", "--out", tmp_path)
    run("read", fleet, *common, "--unread", sheet)
    book = openpyxl.load_workbook(sheet)
    page = book["Wordings"]
    assert len(page.data_validations.dataValidation) == 2
    place = {str(cell.value): (cell.row, cell.column) for row in page for cell in row if cell.value}
    row, _ = place["zorp quillet 12"]
    page.cell(row, place["Topic"][1]).value = "Brake hose"
    page.cell(row, place["Mark"][1]).value = "Finding"
    page.cell(place["blue flange greased"][0], place["Topic"][1]).value = "Nothing"
    book.save(sheet)
    done = run("read", "--teach", sheet, "--rules", shop)
    assert "2 wordings taught" in done.stdout
    again = run("read", fleet, *common, "--rules", shop, "--json")
    assert json.loads(again.stdout)["unread"]["wordings"] == 1
    events = pd.read_csv(tmp_path / "events.csv")
    hoses = events[events["topic"] == "brake_hose"]
    assert list(hoses["mark"]) == ["finding", "finding"]


def test_teaching_again_keeps_what_was_taught_and_replaces_what_is_answered_anew(
    tmp_path: Path,
) -> None:
    from riskcheck.assessment import load_rules
    from riskcheck.fleet import lexicon

    wording = lexicon.load(load_rules([]).wording_dirs).wording
    first = pd.DataFrame(
        {"wording": ["zorp", "blue"], "topic": ["tyre", "tyre"], "mark": ["done", "finding"]}
    )
    lexicon_unread.teach(first, tmp_path, wording)
    second = pd.DataFrame({"wording": ["zorp"], "topic": ["Tyre"], "mark": ["Not done"]})
    path, taught = lexicon_unread.teach(second, tmp_path, wording)
    assert taught == 1
    both = lexicon.load([*load_rules([]).wording_dirs, path.parent])
    assert both.verdict("ZORP", "tyre-age-tread") == "not_done"
    assert both.verdict("blue", "tyre-age-tread") == "finding"


def test_an_unknown_topic_in_the_worksheet_is_named_with_its_row(
    fleet: Path, tmp_path: Path
) -> None:
    sheet = tmp_path / "words.xlsx"
    run("read", fleet, "--as-of", "2024-06-01", "--out", tmp_path, "--unread", sheet)
    book = openpyxl.load_workbook(sheet)
    page = book["Wordings"]
    place = {str(cell.value): (cell.row, cell.column) for row in page for cell in row if cell.value}
    row = place["zorp quillet 12"][0]
    page.cell(row, place["Topic"][1]).value = "Brake hoe"
    page.cell(row, place["Mark"][1]).value = "Done"
    book.save(sheet)
    with pytest.raises(InputError, match=rf"row {row}: no topic is called brake_hoe; did you mean"):
        run("read", "--teach", sheet, "--rules", tmp_path / "shop")
    assert not (tmp_path / "shop").exists()


def test_teaching_needs_a_folder_and_a_worksheet(fleet: Path, tmp_path: Path) -> None:
    with pytest.raises(UsageError, match="--rules"):
        run("read", "--teach", fleet)
    with pytest.raises(InputError, match="has no row with the headings"):
        run("read", "--teach", fleet, "--rules", tmp_path)
    sheet = tmp_path / "words.xlsx"
    run("read", fleet, "--as-of", "2024-06-01", "--out", tmp_path, "--unread", sheet)
    with pytest.raises(InputError, match="nothing to teach"):
        run("read", "--teach", sheet, "--rules", tmp_path / "shop")


def test_every_mark_of_the_worksheet_is_a_mark(tmp_path: Path) -> None:
    from riskcheck.vocabulary import MARK_ORDER

    assert {mark.lower().replace(" ", "_") for mark in wording_sheet.MARKS} <= set(MARK_ORDER)
