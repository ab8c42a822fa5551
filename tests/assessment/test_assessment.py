"""The main job on the sample: contract columns, accounting, workbook, terminal."""

from __future__ import annotations

import csv
import re
from dataclasses import replace
from pathlib import Path

import openpyxl
import pytest

import riskcheck
from riskcheck.assessment import EXPOSURE_COLUMNS, Assessment, explain, limited, load_rules
from riskcheck.doubting import moved_by_doubt
from riskcheck.errors import UsageError
from riskcheck.reports import explain_json, explain_text, terminal
from riskcheck.reports.about import facts

STATUSES = {"exposed", "unproven", "closed", "unknown", "not_applicable"}
FIGURES = ("probability", "probability_low", "probability_high", "cost_if_fails", "tier", "rank")


def table(path: Path) -> list[dict[str, str]]:
    with path.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def test_the_public_door_is_the_assessment() -> None:
    assert riskcheck.assess.__module__ == "riskcheck.assessment"
    with pytest.raises(AttributeError):
        riskcheck.nothing  # noqa: B018


def test_exposures_have_the_agreed_columns_and_one_row_a_pair(
    assessed: Assessment, written: dict[str, Path]
) -> None:
    rows = table(written["exposures.csv"])
    assert tuple(rows[0]) == EXPOSURE_COLUMNS
    pairs = {(row["vehicle_id"], row["hazard_id"]) for row in rows}
    hazards = len(assessed.rulebook.hazards)
    assert len(rows) == len(pairs) == len(assessed.fleet.vehicles) * hazards


def test_a_chain_that_could_not_be_checked_leaves_a_run_unsure(assessed: Assessment) -> None:
    assert not assessed.unsure
    lost = replace(assessed.reasoning, unaudited=(("coolant-age", "applies"),))
    assert replace(assessed, reasoning=lost).unsure
    silent = assessed.exposures.assign(status="no_answer")
    assert replace(assessed, exposures=silent).unsure


def test_all_statuses_and_evidence_levels_occur(written: dict[str, Path]) -> None:
    rows = table(written["exposures.csv"])
    assert {row["status"] for row in rows} == STATUSES
    assert {row["evidence"] for row in rows} == {"none", "sign", "confirmed"}


def test_figures_are_blank_where_there_is_nothing_to_price(written: dict[str, Path]) -> None:
    for row in table(written["exposures.csv"]):
        priced = row["status"] not in {"not_applicable", "closed", "no_answer"}
        assert all(bool(row[name]) == priced for name in FIGURES), row


def test_probabilities_keep_their_order_and_places(written: dict[str, Path]) -> None:
    for row in table(written["exposures.csv"]):
        if row["probability"]:
            assert re.fullmatch(r"[01]\.\d{8}", row["probability"])
            low, middle, high = (float(row[f"probability{end}"]) for end in ("_low", "", "_high"))
            assert 0.0 <= low <= high <= 1.0
            assert 0.0 <= middle <= 1.0
            assert re.fullmatch(r"[0-9a-f]{12}", row["case_id"])


def test_ranks_follow_the_tiers(written: dict[str, Path]) -> None:
    rows = [row for row in table(written["exposures.csv"]) if row["rank"]]
    rows.sort(key=lambda row: int(row["rank"]))
    assert [int(row["rank"]) for row in rows] == list(range(1, len(rows) + 1))
    tiers = [int(row["tier"]) for row in rows]
    assert tiers == sorted(tiers)


def test_every_fleet_row_is_accounted_for(assessed: Assessment) -> None:
    for tally in assessed.fleet.tallies:
        assert tally.rows == tally.used + tally.repaired + tally.set_aside


def test_the_workbook_is_made_to_be_worked_in(written: dict[str, Path]) -> None:
    book = openpyxl.load_workbook(written["outreach.xlsx"])
    # A need without a contact has no sheet.
    needs = {"Our own work", "Said no before", "Worth a look"} - set(book.sheetnames)
    expected = [
        "Start here", "Safety first", "Our own work", "Said no before", "Call to book",
        "Worth a look", "Vehicle by vehicle", "Find out", "Already coming in", "At the next visit",
        "Paid but unproven", "Not contacted", "Not now", "Repaired or set aside",
        "Your figures", "About this list", "About", "Row keys",
    ]  # fmt: skip
    assert book.sheetnames == [name for name in expected if name not in needs]
    assert [name for name in book.sheetnames if book[name].sheet_state == "hidden"] == [
        "About",
        "Row keys",
    ]
    sheet = book["Call to book"]
    assert sheet.freeze_panes is not None
    assert sheet.auto_filter.ref
    assert any("booked" in str(rule.formula1) for rule in sheet.data_validations.dataValidation)
    assert sheet.page_setup.orientation == "landscape"
    assert sheet.page_setup.fitToWidth == 1


def test_no_cell_of_the_workbook_is_a_live_formula(written: dict[str, Path]) -> None:
    book = openpyxl.load_workbook(written["outreach.xlsx"])
    live = [c.coordinate for s in book for row in s.iter_rows() for c in row if c.data_type == "f"]
    assert live == []


def test_the_about_sheet_names_input_rules_and_invented_figures(assessed: Assessment) -> None:
    rows = dict(facts(assessed))
    assert rows["As of"] == "2026-10-01"
    assert re.fullmatch(r"[0-9a-f]{64}", rows["Digest of the fleet file (SHA-256)"])
    assert "invented" in rows["Policy: Calls a day"]
    assert "adapted from MIL-STD-882E" in rows["Risk levels"]


def test_the_summary_fits_eighty_columns(assessed: Assessment, written: dict[str, Path]) -> None:
    lines = terminal.summary(
        assessed, {name: Path(name) for name in written}, moved_by_doubt(assessed)
    )
    assert max(len(line) for line in lines) <= 80
    text = "\n".join(lines)
    assert "vehicle-hazard pairs" in text
    assert "First calls (10 of" in text
    assert "never says that a vehicle is safe" in " ".join(text.split())


@pytest.mark.parametrize("unit", ["B31", "1201", "1202", "1203"])
def test_an_explanation_shows_cells_chain_cost_and_care(assessed: Assessment, unit: str) -> None:
    view = explain(assessed, unit)
    lines = explain_text.lines(view, everything=True)
    assert max(len(line) for line in lines) <= 80
    text = "\n".join(lines)
    for section in ("Why this vehicle", "What the record says", "Rules that fired", "Care"):
        assert section in text
    answer = explain_json.vehicle(view)
    assert answer["hazards"]
    assert all(hazard["chain"] for hazard in answer["hazards"])


def test_only_limits_the_run_and_an_unknown_hazard_is_refused() -> None:
    book = load_rules([])
    assert list(limited(book, ["coolant-age"]).hazards) == ["coolant-age"]
    with pytest.raises(UsageError, match="coolant-age"):
        limited(book, ["colant-age"])
