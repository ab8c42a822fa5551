"""What a fleet manager gets: workbook, calendar, table and picture, and the workbook back again."""

from __future__ import annotations

import datetime as dt
import json
import sys
from pathlib import Path

import numpy as np
import openpyxl
import pandas as pd
import pytest
from typer.testing import CliRunner

sys.path.insert(0, str(Path(__file__).parent))

import rfc5545

from riskcheck import planning
from riskcheck.actions.plan import Effort, Weeks, returned, wishes_of
from riskcheck.actions.plan.losses import waiting
from riskcheck.calm import faults
from riskcheck.cli.app import app
from riskcheck.errors import InputError, UsageError
from riskcheck.reports import plan_book, plan_json, plan_picture, plan_text
from riskcheck.risk import price

SAMPLE = Path(__file__).parents[2] / "sample_data" / "fleet.xlsx"
AS_OF = dt.date(2026, 10, 1)
WEEKS = 6


@pytest.fixture(scope="module")
def done(tmp_path_factory: pytest.TempPathFactory) -> tuple[planning.Planned, dict[str, Path]]:
    out = tmp_path_factory.mktemp("plan")
    wanted = planning.Wanted(
        weeks=WEEKS, customers=("C001", "Millrace Parcel Runs"), effort=Effort(gap=0.01, seconds=30)
    )
    planned = planning.plan(SAMPLE, as_of=AS_OF, wanted=wanted)
    return planned, planning.write(planned, out)


def test_only_the_fleets_asked_for_are_planned(
    done: tuple[planning.Planned, dict[str, Path]],
) -> None:
    assert set(done[0].plan.jobs["customer_id"]) == {"C001", "C002"}


def test_the_calendar_is_valid_and_says_what_the_plan_says(
    done: tuple[planning.Planned, dict[str, Path]],
) -> None:
    planned, files = done
    events = rfc5545.events(files["plan.ics"].read_bytes())
    visits = planned.plan.visits
    assert len(events) == len(visits) > 10
    starts = sorted(event["DTSTART"] for event in events)
    assert starts == sorted(day.date() for day in visits["date"])
    for event, visit in zip(events, visits.to_dict("records"), strict=True):
        assert (event["DTEND"] - event["DTSTART"]).days == visit["days"]
        assert event["LOCATION"] == visit["bay"]
        assert "kill" in event["DESCRIPTION"]  # the caution travels with every event


@pytest.mark.parametrize(
    "text",
    [
        b"BEGIN:VCALENDAR\nVERSION:2.0\nEND:VCALENDAR\n",
        b"BEGIN:VCALENDAR\r\nVERSION:2.0\r\n" + b"X-LONG:" + b"y" * 80 + b"\r\nEND:VCALENDAR\r\n",
        b"BEGIN:VCALENDAR\r\nno colon here\r\nEND:VCALENDAR\r\n",
    ],
)
def test_the_strict_reader_refuses_what_the_grammar_refuses(text: bytes) -> None:
    with pytest.raises(AssertionError):
        rfc5545.events(text)


def test_the_workbook_has_its_sheets_and_every_card_its_cautions(
    done: tuple[planning.Planned, dict[str, Path]],
) -> None:
    planned, files = done
    book = openpyxl.load_workbook(files["plan.xlsx"])
    assert book.sheetnames[:4] == ["Calendar", "Jobs", "Job cards", "Parts"]
    assert "Larkhollow Pupil Transport" in book.sheetnames
    assert book.sheetnames[-1] == "About this plan"
    cards = book["Job cards"]
    names = [cell.value for cell in cards[4]]
    placed = planned.plan.jobs["date"].notna().sum()
    assert cards.max_row == 4 + placed
    for row in cards.iter_rows(min_row=5, values_only=True):
        card = dict(zip(names, row, strict=True))
        booked = str(card["Work"]).startswith(("Service", "Booked", "annual", "lease"))
        assert booked or (card["Cautions"] and card["Proof to take"])
        assert card["Hours"] > 0
    parts = book["Parts"]
    for row in parts.iter_rows(min_row=4, values_only=True):
        needed, spare, on_hand, order = row[1:5]
        assert spare >= 1
        assert order == max(0, needed + spare - on_hand)


def test_only_cells_that_the_next_plan_reads_invite_typing(
    done: tuple[planning.Planned, dict[str, Path]],
) -> None:
    made = plan_book.workbook(done[0].plan).sheets
    inviting = [(sheet.name, c.heading) for sheet in made for c in sheet.columns if c.input_cell]
    read_back = (returned.KEEP, returned.MOVE, returned.TOLD, returned.NOTE)
    assert inviting == [("Jobs", heading) for heading in read_back]
    assert not any(c.choices for sheet in made for c in sheet.columns if not c.input_cell)


def test_nothing_said_claims_too_much(
    done: tuple[planning.Planned, dict[str, Path]],
) -> None:
    planned, files = done
    said = plan_text.summary(planned.plan, SAMPLE, files)
    assert max(len(line) for line in said) <= 80 + max(len(str(path)) for path in files.values())
    assert faults("\n".join(line for line in said if "never says" not in line)) == ()


def test_what_is_typed_into_the_workbook_comes_back(
    done: tuple[planning.Planned, dict[str, Path]], tmp_path: Path
) -> None:
    """The sheet is renamed and moved behind the others, as people do, before it comes back."""
    planned, files = done
    book = openpyxl.load_workbook(files["plan.xlsx"])
    sheet = book["Jobs"]
    at = {cell.value: cell.column for cell in sheet[3]}
    ids = [sheet.cell(row, at[returned.JOB_ID]).value for row in range(4, 9)]
    days = [sheet.cell(row, at[returned.PLANNED]).value.date() for row in range(4, 9)]
    sheet.cell(4, at[returned.KEEP], returned.KEEP_HERE)
    sheet.cell(5, at[returned.KEEP], returned.NOT_THIS_WEEK)
    sheet.cell(6, at[returned.KEEP], returned.NOT_AT_ALL)
    sheet.cell(7, at[returned.MOVE], dt.datetime(2026, 10, 20))
    sheet.cell(7, at[returned.TOLD], "yes")
    sheet.cell(8, at[returned.NOTE], "driver wants it back by four")
    sheet.title = "my jobs"
    book.move_sheet(sheet, 3)
    book.save(tmp_path / "back.xlsx")
    back = wishes_of(tmp_path / "back.xlsx")
    wishes, notes = back.wishes, back.notes
    assert back.odd == ()
    assert wishes.pinned == {ids[0]: days[0], ids[3]: dt.date(2026, 10, 20)}
    assert wishes.forbidden == {
        ids[1]: frozenset({days[1]}),
        ids[2]: frozenset({returned.FOREVER}),
    }
    assert wishes.last[ids[3]].told
    assert notes == {ids[4]: "driver wants it back by four"}
    placed = planned.plan.jobs["date"].notna().sum()
    assert len(wishes.last) == placed


def test_table_picture_and_json_hold_the_same_plan(
    done: tuple[planning.Planned, dict[str, Path]],
) -> None:
    planned, files = done
    plan = planned.plan
    table = pd.read_csv(files["plan.csv"], keep_default_na=False)
    assert len(table) == len(plan.jobs)
    assert (table["date"].ne("") ^ table["reason_code"].ne("")).all()
    assert files["plan.png"].read_bytes()[:8] == b"\x89PNG\r\n\x1a\n"
    svg = files["plan.svg"].read_bytes()
    assert svg == plan_picture.draw(plan, "svg")
    assert b"<svg" in svg
    told = json.loads(json.dumps(plan_json.summary(plan, files)))
    assert told["placed"] == plan.jobs["date"].notna().sum()
    assert told["gap"] == plan.gap


def test_wrong_questions_are_answered(tmp_path: Path) -> None:
    with pytest.raises(UsageError, match="1 to 26 weeks"):
        planning.plan(SAMPLE, as_of=AS_OF, wanted=planning.Wanted(weeks=0))
    with pytest.raises(UsageError, match="before the day"):
        planning.plan(SAMPLE, as_of=AS_OF, wanted=planning.Wanted(start=dt.date(2026, 9, 1)))
    (tmp_path / "no.xlsx").write_text("nothing")
    with pytest.raises(InputError):
        wishes_of(tmp_path / "no.xlsx")
    answer = CliRunner().invoke(app, ["plan", "--help"])
    assert answer.exit_code == 0
    assert "--from" in answer.stdout


def test_waiting_between_the_priced_months_is_what_pricing_says(
    done: tuple[planning.Planned, dict[str, Path]],
) -> None:
    """W at two months, interpolated for the weeks, against pricing with a horizon of two months."""
    planned, _ = done
    run = planned.assessment
    some = sorted(run.rulebook.hazards)[::4]
    book, hazards = run.rulebook.keeping(some), run.reasoning.hazards
    priced = price(book, hazards, run.fleet, run.usage, AS_OF, 2).exposures
    exposures = run.exposures[run.exposures["hazard_id"].isin(some)].reset_index(drop=True)
    weeks = Weeks(AS_OF, 13)
    loss = waiting(exposures, AS_OF, weeks, 12)[:, :-1]
    months = [((weeks.week_start(w) - AS_OF).days + 2) / (365.25 / 12.0) for w in range(13)]
    own = exposures["tier"].notna() & exposures["evidence"].ne("confirmed")
    here = np.array([np.interp(2.0, months, row) for row in loss])
    off = np.abs(here - priced["net_benefit"].to_numpy(dtype=float))[own.to_numpy()]
    scale = np.maximum(np.abs(priced["net_benefit"].to_numpy(dtype=float)[own.to_numpy()]), 5.0)
    assert len(off) > 300
    assert np.quantile(off / scale, 0.99) < 0.05
    assert np.max(off) < 10.0
