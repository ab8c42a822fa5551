"""One vehicle told at the counter is judged as the same vehicle in a workbook is.

The vehicle is invented.  The workbook is the outside check: the same cells and lines in CSV files
go through ``assessment.assess``, and every figure of every hazard has to be equal.
"""

from __future__ import annotations

import datetime as dt
import json
from pathlib import Path

import pandas as pd
import pytest

from riskcheck import assessment
from riskcheck.assessment import Assessment
from riskcheck.cli.counter import counter as command
from riskcheck.counter import assess_vehicle
from riskcheck.errors import UsageError
from riskcheck.fleet.typed import Done, done
from riskcheck.reports import counter_text

AS_OF = dt.date(2026, 10, 1)
TOLD = {
    "make": "Brackmoor",
    "model": "Trail 15",
    "model_year": "2011",
    "odometer": "120k",
    "road_salt": "yes",
}
HISTORY = ["2021-09-15 98,000 mi replaced all brake hoses", "2024-02-02 fixed the thing"]
VEHICLES = "vehicle,make,model,year,odo,road salt\nthis vehicle,Brackmoor,Trail 15,2011,120k,yes\n"
SERVICE = """\
vehicle,date,mileage,work done
this vehicle,2021-09-15,"98,000 mi",replaced all brake hoses
this vehicle,2024-02-02,,fixed the thing
"""
FEW = ["brake-hose-ageing", "parking-brake-caliper-seizure"]


@pytest.fixture(scope="module")
def told() -> Assessment:
    return assess_vehicle(TOLD, HISTORY, as_of=AS_OF)


@pytest.fixture(scope="module")
def written(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("fleet")
    (folder / "vehicles.csv").write_text(VEHICLES, encoding="utf-8")
    (folder / "service.csv").write_text(SERVICE, encoding="utf-8")
    return folder


def status(result: Assessment, hazard_id: str) -> tuple[str, str]:
    row = result.exposures.set_index("hazard_id").loc[hazard_id]
    return str(row["status"]), str(row["evidence"])


def test_every_figure_of_every_hazard_is_that_of_the_same_vehicle_in_a_workbook(
    told: Assessment, written: Path
) -> None:
    in_workbook = assessment.assess(written, as_of=AS_OF)
    assert len(told.exposures) == len(told.rulebook.hazards)
    pd.testing.assert_frame_equal(told.exposures, in_workbook.exposures)


def test_a_line_of_history_closes_what_it_would_close_in_a_workbook(told: Assessment) -> None:
    """Hoses of five years are recent, whatever month of 2011 the vehicle first ran."""
    assert status(told, "brake-hose-ageing") == ("closed", "none")
    nothing_said = assess_vehicle(TOLD, as_of=AS_OF, only=FEW)
    assert status(nothing_said, "brake-hose-ageing") == ("exposed", "none")


def test_a_symptom_told_is_a_sign_and_several_values_are_all_possible() -> None:
    pulls = assess_vehicle({**TOLD, "brake_pull_reported": "yes"}, as_of=AS_OF, only=FEW)
    assert status(pulls, "brake-hose-ageing") == ("exposed", "sign")
    other = {**TOLD, "make": "Nomake"}
    weights = [
        float(assess_vehicle({**other, "hydraulic_brakes": said}, as_of=AS_OF, only=FEW[:1])
              .exposures["exposed_weight"].fillna(0.0).iloc[0])
        for said in ("no", "yes|no", "yes")
    ]  # fmt: skip
    assert weights[0] == 0.0
    assert 0.0 < weights[1] < weights[2] <= 1.0


@pytest.mark.parametrize(
    ("details", "history", "said"),
    [
        ({"mak": "Tovask"}, [], "did you mean 'make'"),
        ({"make": "Tovask", "road_salt": "yse"}, [], "road_salt=yse"),
        ({"make": "Tovask", "odometer": "lots"}, [], "'lots'"),
        ({"make": "Tovask", "years_since_brake_hoses": "3"}, [], "--did"),
        ({"make": "Tovask"}, ["replaced brake hoses"], "does not start with a date"),
        ({"make": "Tovask"}, ["2031-01-01 replaced brake hoses"], "Not understood as typed"),
        ({"road_salt": "yes"}, [], "at least one of make="),
    ],
)
def test_what_cannot_be_used_is_refused_with_what_would_be_right(
    details: dict[str, str], history: list[str], said: str
) -> None:
    with pytest.raises(UsageError) as refused:
        assess_vehicle(details, history, as_of=AS_OF, only=FEW)
    assert said in str(refused.value)


def test_a_line_is_taken_apart_into_date_odometer_and_words() -> None:
    assert done("2024-05-01 98,000 mi replaced hoses") == Done(
        "2024-05-01", "98,000 mi", "replaced hoses"
    )
    assert done("2024-05-01, 158 000 km: coolant") == Done("2024-05-01", "158 000 km", "coolant")
    assert done("2024-05-01 120000 replaced hoses") == Done(
        "2024-05-01", "120000", "replaced hoses"
    )
    assert done("2024-05-01 98,000 coolant") == Done("2024-05-01", "98,000", "coolant")
    assert done("2024-05-01 2 hoses replaced") == Done("2024-05-01", "", "2 hoses replaced")


def test_the_page_names_what_applies_what_to_ask_and_what_is_not_known(told: Assessment) -> None:
    lines = counter_text.page(told)
    text = "\n".join(lines)
    assert max(map(len, lines)) <= 80
    assert '"replaced all brake hoses" (2021-09-15) was read as brake hose: done' in text
    assert "was read as nothing that a hazard asks about" in text
    assert "the first day in service (in_service=2014-05-01)" in text
    applying = told.exposures[told.exposures["tier"].notna()]["hazard_id"]
    flat = " ".join(text.split())
    closed = flat.partition("Closed by what was said: ")[2].partition(".")[0]
    assert "Rubber brake hoses grow old" in closed
    for hazard_id in applying:
        assert told.rulebook.hazards[hazard_id].title in flat
    for name in {q for asked in told.exposures["questions"].fillna("") for q in asked.split("; ")}:
        if name:
            assert f"({name})" in text
            assert told.rulebook.vocabulary[name].ask in flat
    assert "never says that a vehicle is safe" in flat


def test_the_command_tells_machines_every_hazard(capsys: pytest.CaptureFixture[str]) -> None:
    code = command(["make=Brackmoor", "model=Trail 15"], only=",".join(FEW), as_json=True)
    assert code == 0
    told = json.loads(capsys.readouterr().out)
    assert {row["hazard_id"] for row in told["exposures"]} == set(FEW)
    assert told["vehicle"]["make"] == "Brackmoor"


def test_the_command_lists_the_names_that_may_be_typed(capsys: pytest.CaptureFixture[str]) -> None:
    assert command(names=True) == 0
    lines = capsys.readouterr().out.splitlines()
    assert max(map(len, lines)) <= 80
    listed = {line.split()[0] for line in lines}
    assert {"make", "odometer", "road_salt", "brake_pull_reported"} <= listed
    assert "years_since_brake_hoses" not in listed


@pytest.mark.parametrize("typed", [["make"], ["make=a", "make=b"], []])
def test_pairs_that_are_none_are_refused(typed: list[str]) -> None:
    with pytest.raises(UsageError):
        command(typed)
