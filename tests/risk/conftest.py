"""A made-up shop for the tests of pricing: vehicles with steady use and hand-written events."""

from __future__ import annotations

from dataclasses import dataclass
from types import SimpleNamespace
from typing import ClassVar

import numpy as np
import pandas as pd
import pytest

from riskcheck.figures import Figure
from riskcheck.reasoning.reasoned import Reasoned, VehicleWorlds
from riskcheck.rulebook.model import Hazard, Policy

AS_OF = pd.Timestamp("2025-10-01")
DAY = np.timedelta64(1, "D")


def figure(value, low=None, high=None, unit="1"):
    return Figure(value, unit, "invented", low, high)


@dataclass(frozen=True)
class SteadyUse:
    """Every clock runs at one known pace; miles at 12,000 a year, with an uncertain future."""

    vehicle_ids: tuple[str, ...]
    years: np.ndarray
    spread: tuple[float, ...] = (0.7, 0.9, 1.0, 1.1, 1.3)
    a_year: ClassVar[dict[str, float]] = {
        "miles": 12_000.0,
        "years": 1.0,
        "winters": 1.0,
        "engine_hours": 400.0,
    }

    def now(self, clock):
        mid = self.years * self.a_year[clock]
        return mid, mid, mid

    def rates(self, clock):
        spread = (1.0,) * 5 if clock == "years" else self.spread
        return np.tile(np.array(spread) * self.a_year[clock], (len(self.years), 1))

    def at(self, clock, vehicle_index, dates_lo, dates_hi):
        back = (np.datetime64(AS_OF) - np.asarray(dates_hi, dtype="datetime64[ns]")) / DAY
        mid = (self.years[vehicle_index] - back / 365.25) * self.a_year[clock]
        return mid, mid, mid

    def ahead(self, clock, months):
        return self.rates(clock)[:, :, None] * np.asarray(months) / 12.0

    def date_of(self, clock, vehicle_index, gain):
        days = np.asarray(gain) / self.a_year[clock] * 365.25
        return np.datetime64(AS_OF, "D") + np.floor(days).astype("timedelta64[D]")


def hazard(**changes):
    """A timing belt in the shape of a hazard file; ``changes`` replace whole keys."""
    one = {"value": 1.0, "unit": "1", "source": "invented"}
    usd = {"unit": "USD", "source": "invented"}
    base = {
        "id": "belt", "title": "belt", "system": "engine", "needs": "belt", "mechanism": "wear",
        "event": "belt lets go", "effect": "engine stops", "reveals": "by_itself",
        "severity": {"people": "II", "money": "II"}, "harm": {"per_event": {**one, "value": 1e-3}},
        "life": {
            "model": "weibull",
            "shape": {**one, "value": 4, "low": 3, "high": 6},
            "clocks": [{"clock": "miles", "b10": {
                "value": 110_000, "low": 85_000, "high": 140_000, "unit": "mi",
                "source": "invented"}}],
        },
        "findings": {"applies": {"says": "has a belt", "when": [{"belt": True}]}},
        "remedies": [{
            "id": "belt-kit", "title": "belt kit", "effect": "renews", "proof": "invoice",
            "recorded_as": [{"topics": ["timing_belt"], "marks": ["done", "proof"]}]}],
        "urgency": {"sign": "days", "confirmed": "stop"},
        "job": {"title": "belt kit", "hours": {"value": 5, "unit": "h", "source": "invented"},
                "parts": {"value": 150, **usd}, "teardown": "FRONT-COVER", "skill": "A"},
        "outcomes": [{"name": "engine", "share": one, "cost": {"value": 6000, **usd},
                      "days_down": {"value": 0, "unit": "d", "source": "invented"}, "tow": False}],
        "loss_group": "engine", "season": "any",
        "words": {"say": "s", "ask": "a", "cautions": ["c"]}, "goes_wrong": "g",
    }  # fmt: skip
    return Hazard.model_validate({**base, **changes}, strict=False)


def policy(**changes):
    base = {
        "labour_rate": figure(150.0), "bay_hours_per_week": figure(100.0),
        "floor_per_bay_hour": figure(150.0), "tolerance_p_harm": figure(1e-5),
        "deferral_rate": figure(0.08), "calls_per_day": figure(10.0), "tow_cost": figure(200.0),
        "day_cost": {"default": figure(60.0)}, "vehicle_value": {"default": figure(9000.0)},
        "yearly_miles": {"default": figure(12_000.0)},
        "yearly_engine_hours": {"default": figure(400.0)}, "yearly_cold_starts": figure(110.0),
        "seasons": {"before_frost": "10-15"}, "horizon_months": 12,
        "money_bands": [1000.0, 8000.0, 50_000.0],
        "plan": SimpleNamespace(opening_share={"default": figure(0.4), "NONE": figure(0.0)}),
    }  # fmt: skip
    return Policy.model_construct(**{**base, **changes})


def events(*rows):
    """Rows of (vehicle_id, date, topic, mark)."""
    frame = pd.DataFrame(rows, columns=["vehicle_id", "date_hi", "topic", "mark"])
    frame["date_hi"] = pd.to_datetime(frame["date_hi"])
    return frame.assign(date_lo=frame["date_hi"], odometer_mi=np.nan, engine_hours=np.nan)


def fleet(ids, happened, covered_from, last_visit=None):
    covered = pd.Series(pd.to_datetime(covered_from), index=range(len(ids)))
    return SimpleNamespace(
        vehicles=pd.DataFrame({
            "vehicle_id": ids, "customer_id": ["C1"] * len(ids), "duty": "", "value_usd": np.nan,
            "inspection_due": pd.NaT, "warranty_end": pd.NaT, "goodwill_end": pd.NaT,
        }),
        service=pd.DataFrame({
            "vehicle_id": ids, "date_hi": pd.to_datetime(last_visit or covered_from),
            "line_status": "closed",
        }),
        events=happened,
        coverage=pd.DataFrame({"vehicle_id": ids, "from_date": covered, "to_date": AS_OF}),
        appointments=pd.DataFrame({"vehicle_id": pd.Series([], dtype=str),
                                   "date": pd.Series([], dtype="datetime64[ns]")}),
    )  # fmt: skip


def reasoned(hazard_id, status, evidence=None, weight=None, factors=None):
    """Conclusions with no questions; unknown weighs ``weight``; ``factors``: finding -> states."""
    n = len(status)
    sure = np.isin(status, ["exposed", "unproven"]).astype(float)
    exposed = np.where(np.array(status) == "unknown", weight or 0.4, sure)
    return Reasoned(
        hazard_id=hazard_id, status=np.array(status),
        evidence=np.array(evidence or ["none"] * n), exposed_prior=exposed, status_weights=exposed,
        case_id=np.array(["0" * 12] * n), questions=[()] * n, findings_hold=[("applies",)] * n,
        worlds=VehicleWorlds(
            np.repeat(np.arange(n), 2), np.tile([True, False], n),
            np.stack([exposed, 1 - exposed], axis=1).ravel(), {},
        ),
        factors=factors or {}, closed_reason=np.array([""] * n), beyond_cap=np.zeros(n, dtype=bool),
    )  # fmt: skip


@pytest.fixture
def shop():
    """The builders of this module, for tests that make a small shop of their own."""
    return SimpleNamespace(
        hazard=hazard, policy=policy, events=events, fleet=fleet, reasoned=reasoned,
        use=SteadyUse, as_of=AS_OF.date(), figure=figure,
    )  # fmt: skip
