"""One assessment, one browser and the pages of a few vehicles for all tests of the page."""

from __future__ import annotations

import datetime as dt
import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, sync_playwright

from riskcheck import assessment, explain
from riskcheck.assessment import Assessment
from riskcheck.explain import Case, VehicleView
from riskcheck.reasoning import Engine
from riskcheck.reports import explain_json, page

ROOT = Path(__file__).parents[2]
SAMPLE = ROOT / "sample_data" / "fleet.xlsx"
AS_OF = dt.date(2026, 10, 1)
CHROMIUM = ("chromium", "chromium-browser", "google-chrome")


@pytest.fixture(scope="session")
def assessed() -> Assessment:
    return assessment.assess(SAMPLE, as_of=AS_OF)


@pytest.fixture(scope="session")
def case(assessed: Assessment) -> Case:
    return assessment.explainable(assessed)


@pytest.fixture(scope="session")
def views(case: Case, assessed: Assessment) -> dict[str, VehicleView]:
    """Every vehicle of the sample, live rule sessions included."""
    names = [str(name) for name in assessed.fleet.vehicles["vehicle_id"]]
    with Engine() as engine:
        return dict(zip(names, explain.view_vehicles(case, names, engine), strict=True))


@pytest.fixture(scope="session")
def pages(views: dict[str, VehicleView]) -> dict[str, str]:
    """The page of every vehicle."""
    return {name: page.html(view) for name, view in views.items()}


@pytest.fixture(scope="session")
def told(views: dict[str, VehicleView]) -> dict[str, dict[str, Any]]:
    """What ``explain --json`` says of every vehicle."""
    return {name: explain_json.vehicle(view) for name, view in views.items()}


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    """The system's own Chromium, headless."""
    found = next((path for name in CHROMIUM if (path := shutil.which(name))), None)
    assert found is not None, "these tests need Chromium: apt-get install chromium"
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=found, args=["--no-sandbox"])
        yield browser
        browser.close()
