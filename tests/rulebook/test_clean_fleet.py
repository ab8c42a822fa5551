"""A well-kept fleet: everything looked at, renewed or measured last month, and nothing found.

The fleet is invented, in a shop's own words.  On it the whole pipeline has to keep quiet: no
sign, no find, and nothing that is called for (tiers 1 to 5); what is left may be asked at most.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from pathlib import Path

import pandas as pd
import pytest

from riskcheck import assessment
from riskcheck.assessment import Assessment

AS_OF = dt.date(2026, 10, 1)
LAST_MONTH, FIRST_VISIT = "2026-09-08", "2025-03-10"
COLUMNS = [
    "unit", "make", "model", "engine", "year", "in_service", "odometer", "road_salt", "tows_often",
]  # fmt: skip
CALLED_FOR = [1, 2, 3, 4, 5]

# make, model, engine, model year, miles: young vehicles of most platforms, and three old ones.
YOUNG = [
    ("Brackmoor", "Haul 25", "D6.6", 2025, 10_000),
    ("Brackmoor", "Trail 15", "P5.3", 2025, 9_000),
    ("Tovask", "Carrier", "D3.0", 2025, 11_000),
    ("Tovask", "Parcel", "P3.6", 2025, 12_000),
    ("Orrindale", "Fen", "P1.0T", 2025, 8_500),
    ("Quellin", "Ridge", "P2.5", 2025, 8_000),
    ("Quellin", "Ridge Hybrid", "H2.5", 2025, 9_500),
    ("Sturven", "Shuttle", "P6.8", 2025, 12_000),
    ("Halvern", "Stakebed", "D7.2", 2025, 10_000),
]
OLD = [
    ("Brackmoor", "Haul 25", "D6.6", 2006, 60_000),
    ("Orrindale", "Fen", "P1.8", 2012, 55_000),
    ("Sturven", "Shuttle", "D5.9", 2009, 70_000),
]
LOOKED_AT = [
    "ball joints & tie rods ck, no play",
    "battery tested good 12.7v",
    "alternator output 14.3v, grounds ck ok",
    "coolant test ok ph 9.2 freeze -35f",
    "brake fluid moisture test 0.5%",
    "brake hoses inspected lock to lock ok",
    "parking brake tested ok",
    "steel lines and exhaust inspected on lift ok no rust",
    "spare hoist lowered, cable good",
    "u-joints and carrier bearing ok no play",
    "cv boots ok no cracks",
    "trailer plug load tested ok",
    "turbo shaft play ok, oil feed flow checked",
    "egr cooler pressure tested ok",
    "dpf pressure ok",
    "fuel sample clean no metal",
    "tires 10/32 all round",
    "timing chain quiet on cold start, ok",
    "oil & filter, level ok",
    "fuel filters replaced primary and secondary",
    "crankcase breather replaced",
    "hv battery filter cleaned",
    "trans fluid checked ok",
]
RENEWED = [
    "4 new tires installed",
    "replaced all brake hoses",
    "flushed brake fluid",
    "new battery installed",
    "caliper slides cleaned & lubed",
    "replaced parking brake cables",
    "replaced ball joints and tie rods both sides",
    "replaced both cv axles",
    "replaced carrier bearing and u-joints",
    "replaced alternator and ground straps",
    "replaced brake and fuel lines complete",
    "replaced spare hoist",
    "replaced trailer socket",
    "coolant exchanged",
    "timing belt kit replaced with tensioner, idlers and pump",
    "replaced timing chain, tensioner and guides",
    "replaced turbo and oil feed line",
    "hp pump, rail, injectors and lines replaced, tank cleaned",
    "egr cooler replaced",
    "captive heater installed",
    "heater ground strap installed, 182 amps both legs, drop .04v",
    "trans fluid and filter replaced",
    "nitrite 1800 ppm",
]
SINCE_THEN = ["retorqued wheels after 50 miles", "hp lines hot leak check dry"]


def _rows() -> Iterator[tuple[str, str, int, str]]:
    """(unit, date, odometer, line) of every visit."""
    for place, (*_, miles) in enumerate(YOUNG + OLD):
        unit = f"W{place:02d}"
        yield unit, FIRST_VISIT, miles - 2_000, "oil & filter"
        if place >= len(YOUNG):
            for line in RENEWED:
                yield unit, "2026-08-03", miles - 800, line
            for line in SINCE_THEN:
                yield unit, "2026-08-10", miles - 700, line
        for line in LOOKED_AT:
            yield unit, LAST_MONTH, miles, line


@pytest.fixture(scope="module")
def judged(tmp_path_factory: pytest.TempPathFactory) -> Assessment:
    folder = tmp_path_factory.mktemp("clean")
    vehicles = pd.DataFrame(
        [
            (f"W{place:02d}", make, model, engine, year, f"{year}-03-01", miles, "no", "no")
            for place, (make, model, engine, year, miles) in enumerate(YOUNG + OLD)
        ],
        columns=COLUMNS,
    )
    vehicles.to_csv(folder / "vehicles.csv", index=False)
    service = pd.DataFrame(list(_rows()), columns=["unit", "date", "odometer", "description"])
    service.to_csv(folder / "service.csv", index=False)
    return assessment.assess(folder, as_of=AS_OF)


def _told(rows: pd.DataFrame) -> list[str]:
    names = ["vehicle_id", "hazard_id", "status", "evidence", "tier", "x_tier_reason"]
    return [" ".join(map(str, row)) for row in rows[names].itertuples(index=False)]


def test_every_line_is_understood(judged: Assessment) -> None:
    read = set(judged.fleet.events["service_id"]) | set(judged.fleet.measurements.index)
    assert len(judged.fleet.vehicles) == len(YOUNG + OLD)
    lines = judged.fleet.service
    unread = lines[~lines["service_id"].isin(read)]["line"].unique().tolist()
    assert unread == []


def test_nothing_counts_as_a_sign_or_as_found(judged: Assessment) -> None:
    rows = judged.exposures
    assert _told(rows[rows["evidence"] != "none"]) == []


def test_nothing_is_called_for(judged: Assessment) -> None:
    rows = judged.exposures
    assert _told(rows[rows["tier"].isin(CALLED_FOR)]) == []


def test_the_fleet_is_not_quiet_because_nothing_applies(judged: Assessment) -> None:
    """Each vehicle has at least ten hazards that apply to its design."""
    counts = judged.exposures[judged.exposures["status"] != "not_applicable"]
    assert counts.groupby("vehicle_id").size().min() >= 10


def test_one_thing_found_breaks_the_quiet(judged: Assessment, tmp_path: Path) -> None:
    """The same check on the same fleet fails once a hose is found cracked: it can fail."""
    vehicles = judged.fleet.vehicles.head(1)[["vehicle_id", "make", "model", "engine"]]
    vehicles.assign(model_year=2025, odometer=9000).to_csv(tmp_path / "vehicles.csv", index=False)
    (tmp_path / "service.csv").write_text(
        "vehicle,date,odometer,description\nW00,2026-09-20,9000,brake hose cracked lf\n"
    )
    found = assessment.assess(tmp_path, as_of=AS_OF, only=["brake-hose-ageing"]).exposures
    assert found["evidence"].tolist() == ["confirmed"]
    assert found["tier"].tolist() == [1]
