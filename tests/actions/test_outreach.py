"""One contact per decision-maker; nobody is dropped without a reason."""

import pandas as pd
import pytest

from riskcheck.actions.outreach import Capacity, plan_outreach

CUSTOMERS = pd.DataFrame(
    {
        "customer_id": ["C1", "C2", "C3"],
        "name": ["Orchard Lane Dairy", "R. Fenwick", "Tamsin Vale"],
        "kind": ["fleet", "retail", "retail"],
        "phone": ["555-0101", "555-0102", "555-0103"],
        "email": ["", "", ""],
        "address": ["1 Lane", "2 Lane", "3 Lane"],
        "consent_call": ["yes", "no", "yes"],
        "opt_out": ["", "", "no calls please"],
    }
)


def exposures(*rows: tuple[str, str | None, int | None, int]) -> pd.DataFrame:
    """Exposures as (vehicle, customer, tier, rank)."""
    frame = pd.DataFrame(rows, columns=["vehicle_id", "customer_id", "tier", "rank"])
    frame["tier"] = frame["tier"].astype("Int64")
    frame["hours"] = 1.5
    frame["act_by_date"] = "2026-11-01"
    return frame


def test_a_contact_ranks_by_its_best_row_and_covers_all_its_vehicles() -> None:
    plan = plan_outreach(
        exposures(("A", "C1", 5, 3), ("B", "C1", 3, 1), ("D", None, 4, 2)), CUSTOMERS
    )
    assert plan.calls["contact"].tolist() == ["C1", "vehicle D"]
    assert plan.calls["vehicles"].tolist() == [2, 1]
    assert plan.calls["hours"].tolist() == [3.0, 1.5]
    assert plan.rows["vehicle_id"].tolist() == ["B", "A", "D"]


def test_a_customer_without_consent_is_listed_with_the_reason() -> None:
    plan = plan_outreach(exposures(("A", "C2", 5, 1), ("B", "C3", 4, 2)), CUSTOMERS)
    assert plan.calls.empty
    assert plan.not_called[["customer_id", "reason"]].values.tolist() == [
        ["C2", "no_consent"],
        ["C3", "opted_out"],
    ]


@pytest.mark.parametrize("tier", [1, 2])
def test_a_duty_reaches_even_those_who_opted_out_by_letter(tier: int) -> None:
    plan = plan_outreach(exposures(("B", "C3", tier, 1)), CUSTOMERS)
    assert plan.calls["channel"].tolist() == ["letter"]


def test_every_ranked_exposure_ends_somewhere() -> None:
    frame = exposures(*[(f"V{i}", f"C{1 + i % 3}", 1 + i % 7, i) for i in range(21)])
    plan = plan_outreach(frame, CUSTOMERS)
    shown = len(plan.rows) + len(plan.find_out) + len(plan.not_now)
    assert shown + plan.not_called["exposures"].sum() == len(frame)


def test_calls_beyond_what_can_be_booked_wait_but_duties_do_not() -> None:
    """Half of those called are reached and 3 in 10 of them book (common practice, no source).

    Each contact offers 1.5 h, so its expected booking is 0.225 h: two fit into 0.5 h.
    """
    rows = [(f"V{i}", None, 1 if i == 3 else 5, i) for i in range(5)]
    plan = plan_outreach(exposures(*rows), CUSTOMERS, Capacity(bay_hours=0.5, calls=100))
    assert plan.calls["contact"].tolist() == ["vehicle V0", "vehicle V1", "vehicle V3"]
    assert plan.not_called["reason"].unique().tolist() == ["no_room"]
