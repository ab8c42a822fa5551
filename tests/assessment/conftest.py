"""One assessment of the sample, shared by the tests that look at it."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import pytest

from riskcheck.assessment import Assessment, assess, write

ROOT = Path(__file__).parents[2]
SAMPLE = ROOT / "sample_data" / "fleet.xlsx"
AS_OF = dt.date(2026, 10, 1)


@pytest.fixture(scope="session")
def assessed() -> Assessment:
    return assess(SAMPLE, as_of=AS_OF)


@pytest.fixture(scope="session")
def written(assessed: Assessment, tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    return write(assessed, tmp_path_factory.mktemp("out"))
