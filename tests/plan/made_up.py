"""Random shops for the tests: exposures, vehicles and shop sheets made up from a seed."""

from __future__ import annotations

import datetime as dt
from types import SimpleNamespace
from typing import Any

import numpy as np
import pandas as pd

from riskcheck import rulebook
from riskcheck.actions.plan import Asked, Effort, Weeks, Wishes
from riskcheck.fleet import model

AS_OF = dt.date(2026, 10, 1)
BOOK = rulebook.load(rulebook.shipped_dir())
MADE = ("Brackmoor Haul 25", "Sturven Shuttle", "Tovask Carrier")


def shaped(columns: list[str], rows: list[dict[str, Any]]) -> pd.DataFrame:
    """A frame of the reader's own shape."""
    frame = pd.DataFrame(rows, columns=columns)
    return model.shaped([frame] if rows else [], columns)


def asked(seed: int, vehicles: int = 12, weeks: int = 4, **changes: Any) -> Asked:
    """A shop with one fleet and some retail vehicles, half of the sheets there or not."""
    dice = np.random.default_rng(seed)
    cars = _cars(dice, vehicles)
    fleet = SimpleNamespace(
        vehicles=cars,
        customers=pd.DataFrame(
            {
                "customer_id": ["C1", "R1", "R2"],
                "name": ["Fleet office", "One", "Two"],
                "kind": ["fleet", "retail", "retail"],
                "fleet": ["Parcel runs", "", ""],
            }
        ),
        contacts=shaped(model.CONTACT_COLUMNS, []),
        **_sheets(dice, cars["vehicle_id"].tolist()),
    )
    usage = SimpleNamespace(
        vehicle_ids=tuple(cars["vehicle_id"]),
        now=lambda clock: (np.zeros(vehicles),) * 3,
        date_of=lambda clock, index, gain: np.full(len(index), np.datetime64("NaT", "D")),
    )
    values: dict[str, Any] = {
        "exposures": _exposures(dice, cars),
        "fleet": fleet,
        "usage": usage,
        "book": BOOK,
        "as_of": AS_OF,
        "weeks": Weeks(AS_OF, weeks),
        "wishes": Wishes(),
        "effort": Effort(gap=0.02, nodes=20, seconds=20.0),
    }
    return Asked(**{**values, **changes})


def _cars(dice: np.random.Generator, count: int) -> pd.DataFrame:
    named = [str(dice.choice(MADE)).split(" ", 1) for _ in range(count)]
    return pd.DataFrame(
        {
            "vehicle_id": [f"V{number:02d}" for number in range(count)],
            "unit": [f"V{number:02d}" for number in range(count)],
            "customer_id": [("C1", "C1", "R1", "R2")[number % 4] for number in range(count)],
            "make": [name[0] for name in named],
            "model": [name[1] for name in named],
            "engine": "D3.0",
            "duty": [("van", "bus", "retail")[number % 3] for number in range(count)],
            "state": "active",
            "gvwr_lb": dice.choice([6_000.0, 14_500.0, np.nan], count),
        }
    )


def _exposures(dice: np.random.Generator, cars: pd.DataFrame) -> pd.DataFrame:
    rows = []
    for vehicle_id, customer in zip(cars["vehicle_id"], cars["customer_id"], strict=True):
        for hazard_id in dice.choice(sorted(BOOK.hazards), dice.integers(0, 6), replace=False):
            evidence = str(dice.choice(["none", "none", "sign", "confirmed"]))
            reason = evidence if evidence != "none" else str(dice.choice(["people", "money", ""]))
            due = AS_OF + dt.timedelta(days=int(dice.integers(0, 60)))
            month = float(dice.uniform(-30.0, 120.0))
            rows.append(
                {
                    "vehicle_id": vehicle_id,
                    "customer_id": customer,
                    "hazard_id": str(hazard_id),
                    "tier": int(dice.integers(1, 6)),
                    "x_tier_reason": "",
                    "evidence": evidence,
                    "act_by_date": due.isoformat() if reason else None,
                    "act_by_reason": reason,
                    "wait_month": month,
                    "net_benefit": 12.0 * month,
                    "p_harm": float(10 ** dice.uniform(-7, -3)),
                    "probability_now": float(dice.uniform(0.0, 0.6)),
                    "x_now_low": 0.1,
                    "exposed_weight": 1.0,
                    "x_now_high": 0.7,
                    "x_look_with": "",
                    "severity": str(dice.choice(["I", "II", "III", "IV"])),
                }
            )
    frame = pd.DataFrame(rows)
    frame["rank"] = np.arange(1, len(frame) + 1)
    frame["tier"] = frame["tier"].astype("Int64")
    return frame


def _sheets(dice: np.random.Generator, cars: list[str]) -> dict[str, pd.DataFrame]:
    def day(low: int, high: int) -> pd.Timestamp:
        return pd.Timestamp(AS_OF + dt.timedelta(days=int(dice.integers(low, high))))

    people, bays, away, hours = [], [], [], []
    if dice.random() < 0.6:
        people = [
            {"name": "DK", "skills": "A brakes; A diesel; A electrical; A alignment; high voltage"},
            {"name": "MO", "skills": "B brakes; B diesel; B electrical"},
            {"name": "RJ", "skills": "C", "hours_per_day": 6.0},
        ][: int(dice.integers(1, 4))]
        away.append({"technician": "DK", "from_date": day(4, 12), "to_date": day(12, 16)})
    if dice.random() < 0.6:
        bays = [
            {"bay": "1", "hours_per_day": 8.0, "equipment": "alignment", "max_weight_lb": 9_000.0},
            {"bay": "2", "max_weight_lb": 16_000.0},
        ]
        away.append({"bay": "2", "from_date": day(5, 9)})
    if dice.random() < 0.5:
        hours = [
            {"date": pd.Timestamp("2026-10-05") + pd.Timedelta(weeks=week), "skill": "all",
             "bay_hours": float(dice.uniform(5.0, 60.0)), "bays": 2.0}
            for week in range(int(dice.integers(1, 5)))
        ]  # fmt: skip
    away += [
        {"vehicle_id": str(car), "from_date": day(0, 14), "to_date": day(14, 28)}
        for car in dice.choice(cars, 2, replace=False)
    ]
    return {
        "spares": shaped(model.SPARE_COLUMNS, []),
        "technicians": shaped(model.TECHNICIAN_COLUMNS, people),
        "bays": shaped(model.BAY_COLUMNS, bays),
        "availability": shaped(model.AVAILABILITY_COLUMNS, away),
        "hours": shaped(model.HOURS_COLUMNS, hours),
        "parts": shaped(
            model.PART_COLUMNS,
            [
                {
                    "part": "belts",
                    "on_hand": 1.0,
                    "lead_days": 9.0,
                    "topic": "timing-belt-overdue",
                }
            ],
        ),
        "appointments": shaped(
            model.APPOINTMENT_COLUMNS, [{"vehicle_id": cars[0], "date": day(4, 9), "note": "oil"}]
        ),
        "services_due": shaped(
            model.SERVICE_DUE_COLUMNS,
            [{"vehicle_id": cars[1], "what": "PM-A", "date": day(5, 25), "hours": 1.5}],
        ),
        "fixed_dates": shaped(
            model.FIXED_DATE_COLUMNS,
            [{"vehicle_id": cars[2], "what": "annual inspection", "date": day(20, 40)}],
        ),
        "pins": shaped(model.PIN_COLUMNS, []),
    }
