"""Everything that stands behind the conclusions about vehicles, one view a vehicle."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from typing import NamedTuple

import numpy as np
import pandas as pd

from riskcheck import reasoning as reasonings
from riskcheck.explain import drivers, record, weighing
from riskcheck.explain.case import Case
from riskcheck.explain.curve import life_curve
from riskcheck.explain.view import Curve, HazardView, Held, Row, VehicleView
from riskcheck.reasoning import Engine, NoAnswerError, Trace
from riskcheck.risk.branches import MIDDLE_RATE
from riskcheck.risk.history import clock_names
from riskcheck.rulebook.model import Hazard, ShareLife, WeibullLife
from riskcheck.vocabulary import CLOCK_UNITS, Fact

SILENT = ("not_applicable", "no_answer")
PRESSING_TIERS = (1, 2, 3, 4, 5, 6)
BLOCK = 256  # vehicles whose live sessions are asked of the engine together


def view_vehicle(case: Case, vehicle_id: str, engine: Engine | None = None) -> VehicleView:
    """The view of one vehicle; every hazard that may apply gets a live engine session."""
    if engine is None:
        with Engine() as own:
            return next(view_vehicles(case, [vehicle_id], own))
    return next(view_vehicles(case, [vehicle_id], engine))


def view_vehicles(case: Case, vehicle_ids: Sequence[str], engine: Engine) -> Iterator[VehicleView]:
    """Views in order, worked out a block of vehicles at a time so that memory stays flat."""
    frames = _Frames(case)
    for start in range(0, len(vehicle_ids), BLOCK):
        block = list(vehicle_ids[start : start + BLOCK])
        traces = _traces(case, block, frames, engine)
        for vehicle_id in block:
            yield _view(case, vehicle_id, frames, traces)


class _Frames:
    """Rows of each frame by vehicle, looked up without scanning the fleet every time."""

    def __init__(self, case: Case) -> None:
        order = case.exposures.sort_values(["rank", "hazard_id"], na_position="last", kind="stable")
        self.exposures = _Grouped(order)
        self.provenance = _Grouped(case.reasoning.evidence.provenance)
        self.events = _Grouped(case.fleet.events)
        self.readings = _Grouped(case.fleet.readings)
        self.service = _Grouped(case.fleet.service)
        self.repairs = record.Repairs(case.fleet.problems)


class _Said(NamedTuple):
    """What the record says of one vehicle: rows of evidence, and events newest first."""

    provenance: Sequence[record.Record]
    events: Sequence[record.Record]


class _Grouped:
    def __init__(self, frame: pd.DataFrame) -> None:
        self._frame = frame
        self._places = frame.groupby("vehicle_id", sort=False).indices

    def of(self, vehicle_id: str) -> pd.DataFrame:
        """The rows of one vehicle, in the frame's order."""
        places = self._places.get(vehicle_id, np.empty(0, dtype=np.int64))
        return self._frame.iloc[places]


def _traces(
    case: Case, block: Sequence[str], frames: _Frames, engine: Engine
) -> dict[tuple[str, str], Trace]:
    """Live sessions of a block, hazard by hazard; a lost engine leaves its hazard without."""
    asked: dict[str, list[str]] = {}
    for vehicle_id in block:
        own = frames.exposures.of(vehicle_id)
        for hazard_id in own.loc[~own["status"].isin(SILENT), "hazard_id"]:
            asked.setdefault(str(hazard_id), []).append(vehicle_id)
    found: dict[tuple[str, str], Trace] = {}
    for hazard_id, vehicles in sorted(asked.items()):
        try:
            traces = reasonings.chains(hazard_id, vehicles, case.reasoning, engine)
        except NoAnswerError:
            continue
        found |= {(hazard_id, trace.vehicle_id): trace for trace in traces}
    return found


def _view(
    case: Case, vehicle_id: str, frames: _Frames, traces: Mapping[tuple[str, str], Trace]
) -> VehicleView:
    place = case.reasoning.place(vehicle_id)
    vehicle: Row = case.fleet.vehicles.iloc[place].to_dict()
    own = frames.exposures.of(vehicle_id)
    said = _Said(
        frames.provenance.of(vehicle_id).to_dict("records"),
        record.dated_events(frames.events.of(vehicle_id)),
    )
    speaking = own[~own["status"].isin(SILENT)].to_dict("records")
    views = tuple(_hazard_view(case, row, place, said, traces) for row in speaking)
    silent = {
        status: tuple(
            case.book.hazards[str(name)] for name in own[own["status"] == status]["hazard_id"]
        )
        for status in SILENT
    }
    return VehicleView(
        vehicle=vehicle,
        as_of=case.as_of,
        horizon_months=case.horizon_months,
        reading=record.reading_of(frames.readings.of(vehicle_id)),
        in_service=record.in_service_of(case.fleet.written, vehicle, place),
        hazards=_sharing(views),
        combined_look=weighing.combined_look_of(
            speaking, {name: other.title for name, other in case.book.hazards.items()}
        ),
        not_applicable=silent["not_applicable"],
        no_answer=silent["no_answer"],
        corrections=record.corrections_of(case.corrections, vehicle_id, case.book),
        repairs=frames.repairs.of(vehicle, frames.service.of(vehicle_id)),
        policy=weighing.policy_of(case.book.policy, str(vehicle["duty"])),
        digests=case.digests,
    )


def _hazard_view(
    case: Case,
    row: Row,
    place: int,
    said: _Said,
    traces: Mapping[tuple[str, str], Trace],
) -> HazardView:
    hazard = case.book.hazards[row["hazard_id"]]
    facts = case.facts(hazard)
    evidence = record.evidence_of(
        (row for row in said.provenance if row["fact"] in facts), case.book
    )
    asked = [
        name for name in str(row["questions"] or "").split("; ") if name in case.book.vocabulary
    ]
    questions: tuple[Fact, ...] = tuple(case.book.vocabulary[name] for name in asked)
    titles = {name: other.title for name, other in case.book.hazards.items()}
    stand = _stand(case, hazard, row, place)
    return HazardView(
        hazard=hazard,
        row=row,
        as_of=case.as_of,
        pressing=row["tier"] in PRESSING_TIERS or row["evidence"] != "none",
        held=tuple(
            Held(name, hazard.findings[name].says)
            for name in str(row["findings"] or "").split("; ")
            if name in hazard.findings
        ),
        sooner=weighing.sooner_of(hazard, row),
        evidence=evidence,
        lines=record.lines_of(said.events, case.topics(hazard), evidence),
        trace=traces.get((hazard.id, str(row["vehicle_id"]))),
        questions=questions,
        chances=weighing.chances_of(row, hazard, case.horizon_months),
        if_it_applies=weighing.if_it_applies_of(row, case.horizon_months),
        by_look=weighing.by_look_of(row, hazard),
        drivers=() if stand is None else drivers.drivers_of(hazard, row, stand),
        unknowns=() if stand is None else drivers.unknowns_of(hazard, row, stand),
        curve=_curve(case, hazard, row, place),
        waits=weighing.waits_of(row, case.horizon_months),
        choices=weighing.choices_of(row, hazard, questions),
        changes=case.changes(hazard, str(row["vehicle_id"]), str(row["case_id"])),
        limits=weighing.limits_of(hazard, titles),
        shares_with=(),
        figures=weighing.figures_of(hazard, row),
    )


def _stand(case: Case, hazard: Hazard, row: Row, place: int) -> drivers.Stand | None:
    """Where the vehicle stands on the hazard's clocks; None without a figure to explain."""
    if bool(pd.isna(row["probability"])) or row["evidence"] == "confirmed":
        return None
    clocks, life = clock_names(hazard), hazard.life
    past = case.lived(hazard)
    low, _, high = zip(*(case.usage.now(clock) for clock in clocks), strict=True)
    use = np.stack([low, high], axis=2)[:, place] - past.offset[place][:, None]
    hidden = hazard.reveals == "by_looking"
    return drivers.Stand(
        now=past.now[place],
        ok_at=past.ok_at[place] if hidden else past.now[place],
        b10=np.array([clock.b10.value for clock in life.clocks])
        if isinstance(life, WeibullLife)
        else np.ones(len(clocks)),
        renewed_at=case.renewed_before(hazard)[place],
        renewed_weight=float(row["x_unseen"]),
        use=use if row["x_use_wide"] > 0.0 else None,
        a_year=float(case.usage.rates(clocks[0])[place, MIDDLE_RATE]),
    )


def _curve(case: Case, hazard: Hazard, row: Row, place: int) -> Curve | None:
    belief, life = case.belief(hazard), hazard.life
    priced = bool(pd.notna(row["probability"])) and row["evidence"] != "confirmed"
    if belief is None or isinstance(life, ShareLife) or not priced or pd.isna(row["x_m"]):
        return None
    age, clock, window = case.lived(hazard).now[place], life.clocks[0].clock, hazard.watch_window
    if not np.isfinite(age).all():
        return None
    end = window.length.value if window is not None and window.clock == clock else math.inf
    return life_curve(belief, float(row["x_m"]), age, CLOCK_UNITS[clock], end)


def _sharing(views: tuple[HazardView, ...]) -> tuple[HazardView, ...]:
    """The same views, each told which other pressing ones stand behind the same teardown."""
    return tuple(
        replace(
            view,
            shares_with=tuple(
                (other.hazard.id, other.hazard.title)
                for other in views
                if other is not view
                and other.pressing
                and other.hazard.job.teardown == view.hazard.job.teardown
            ),
        )
        for view in views
    )
