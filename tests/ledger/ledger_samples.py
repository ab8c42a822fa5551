"""Invented rows that the ledger's tests put in: nobody here exists."""

from __future__ import annotations

import datetime as dt

import pandas as pd

from riskcheck.ledger import Ledger, LooseRow, Run, TypedCell

RUN = "a1b2c3d4e5f6"
AT = dt.datetime(2026, 10, 2, 9, 0, 0)
AS_OF = dt.date(2026, 10, 1)


def snapshot(**changed: object) -> pd.DataFrame:
    """Three pairs of two customers; ``changed`` columns replace the invented ones."""
    frame = pd.DataFrame(
        {
            "vehicle_id": ["V1", "V1", "V2"],
            "hazard_id": ["brake-hose-ageing", "battery-age-parasitic", "brake-hose-ageing"],
            "customer_id": ["C1", "C1", "C2"],
            "status": ["exposed", "unknown", "exposed"],
            "evidence": ["none", "none", "sign"],
            "tier": [3, 6, 1],
            "rank": [2, 3, 1],
            "key_value": [0.1, 0.2, 0.3],
            "probability": [0.08, 0.3, 0.5],
            "probability_low": [0.02, 0.1, 0.2],
            "probability_high": [0.2, 0.6, 0.8],
            "probability_now": [0.05, 0.2, 0.4],
            "risk_level": ["Medium", "Low", "High"],
            "cost_if_fails": [900.0, 300.0, 900.0],
            "cost_to_prevent": [200.0, 150.0, 200.0],
            "act_by_date": pd.to_datetime(["2026-12-01", None, "2026-10-05"]),
            "listed": [1, 0, 1],
        }
    )
    return frame.assign(**changed)


def issue() -> pd.DataFrame:
    """The rows that went out: a call to C1 about two hazards, a call to C2, and their pairs."""
    return pd.DataFrame(
        [
            ("k-c1", "C1", "C1", "", "", "book", '{"Customer": "Ada Quillfen"}'),
            ("k-v1h", "C1", "C1", "V1", "brake-hose-ageing", "vehicle", '{"Vehicle": "V1"}'),
            ("k-v1b", "C1", "C1", "V1", "battery-age-parasitic", "vehicle", '{"Vehicle": "V1"}'),
            ("k-c2", "C2", "C2", "", "", "safety", '{"Customer": "Bo Tarnwick"}'),
            ("k-v2h", "C2", "C2", "V2", "brake-hose-ageing", "vehicle", '{"Vehicle": "V2"}'),
        ],
        columns=[
            "row_key", "contact", "customer_id", "vehicle_id", "hazard_id", "kind", "printed",
        ],
    ).assign(channel="call")  # fmt: skip


def fill(ledger: Ledger) -> None:
    """One run with its snapshot and the rows it sent out."""
    run = Run(RUN, AT, AS_OF, 12, "fleet.xlsx", "f" * 64, "d" * 64, {"brake-hose-ageing": "1"})
    ledger.record_run(run, snapshot())
    ledger.record_issue(RUN, issue())


def cell(row_key: str, heading: str, value: str, copy: str = "one", meaning: str = "") -> TypedCell:
    """One typed cell of the run above."""
    return TypedCell(RUN, row_key, heading, copy, value, meaning)


def record(ledger: Ledger, *cells: TypedCell, loose: tuple[LooseRow, ...] = ()):
    """Record cells as one returned copy, on the day of ``AT``."""
    return ledger.record_typed(cells, loose, source="outreach.xlsx", at=AT, by="jo")
