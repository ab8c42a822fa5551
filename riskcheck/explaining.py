"""Explanations with what the ledger remembers: one vehicle, two beside each other, or all."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from pathlib import Path

from riskcheck import assessment, explain
from riskcheck.assessment import Assessment, Progress
from riskcheck.errors import UsageError
from riskcheck.explain.twin import TwinView, twin
from riskcheck.ledger import Ledger
from riskcheck.reasoning import Engine
from riskcheck.reports import page, page_index


def assessed(
    path: str | Path,
    *,
    as_of: dt.date,
    ledger: Ledger | None,
    horizon_months: int = 12,
    rules: Sequence[str | Path] = (),
    mapping: Sequence[str] = (),
    progress: Progress = lambda stage: None,
) -> Assessment:
    """An assessment in which the ledger's corrections outrank the record; see ``assess``."""
    return assessment.assess(
        path,
        as_of=as_of,
        horizon_months=horizon_months,
        rules=rules,
        mapping=mapping,
        corrections=None if ledger is None else ledger.corrections(as_of),
        progress=progress,
    )


def beside(result: Assessment, vehicle: str, other: str) -> TwinView:
    """Two vehicles held against each other; UsageError if either is not one vehicle."""
    names = [explain.find_vehicle(result.fleet.vehicles, wanted) for wanted in (vehicle, other)]
    if names[0] == names[1]:
        raise UsageError(f"{vehicle!r} and {other!r} are the same vehicle.")
    return twin(assessment.explainable(result), *names)


def write_all(
    result: Assessment,
    folder: Path,
    audience: str = "counter",
    progress: Progress = lambda stage: None,
) -> Path:
    """A page for every vehicle and the list of them in ``folder``; returns the list's path.

    Pages are written one by one, so that memory does not grow with the fleet.
    """
    folder.mkdir(parents=True, exist_ok=True)
    names = [str(name) for name in result.fleet.vehicles["vehicle_id"]]
    entries: list[page_index.Entry] = []
    with Engine() as engine:
        case = assessment.explainable(result)
        for view in explain.view_vehicles(case, names, engine):
            progress(f"writing page {len(entries) + 1} of {len(names)}")
            file = page_index.file_name(str(view.vehicle["vehicle_id"]))
            text = page.html(view, audience, index=page_index.INDEX)
            page.write(folder / file, text)
            entries.append(page_index.entry(view, file))
    listed = page_index.html(entries, result.path.name, result.as_of.isoformat(), folder)
    return page.write(folder / page_index.INDEX, listed)
