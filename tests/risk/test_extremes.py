"""Ranking where everything is unknown, policy is extreme, or hardly a vehicle is there.

Properties, no outside source: the order of any list is total, tiers follow the rules as written,
and a stricter line never calls more people than a milder one.
"""

from __future__ import annotations

import datetime as dt
from types import SimpleNamespace

import numpy as np
import openpyxl
import pandas as pd
import pytest

from riskcheck.assessment import assess, write
from riskcheck.risk import COLUMNS, price, together
from riskcheck.risk.lines import LIVE, Line
from riskcheck.risk.looks import VehicleDates, combined_looks
from riskcheck.risk.ranking import rank, tiers

MONEY = ("money", "season", "look_due", "small_job_next_visit")


def exposures(seed, n=300, vehicles=40, status=("exposed", "unproven", "unknown", "closed")):
    """Rows as pricing hands them to the ranking, with figures drawn over many orders of size."""
    rng = np.random.default_rng(seed)
    frame = pd.DataFrame({
        "row": rng.integers(0, vehicles, n), "hazard_id": [f"h{at:03d}" for at in range(n)],
        "status": rng.choice(status, n), "evidence": rng.choice(["none"] * 6 + ["sign"], n),
        "severity_people": rng.choice(["I", "II", "III", "IV"], n),
        "urgency_word": rng.choice(["days", "week", "season", "next_visit"], n),
        "opened_window": rng.random(n) < 0.05, "window_days": rng.choice([np.nan, 5.0, 80.0], n),
        "p_harm": rng.choice([0.0, 1.0], n) * 10 ** rng.uniform(-9, -3, n),
        "exposed_weight": rng.random(n), "act_by_days": rng.choice([np.nan, 0.0, 60.0, 400.0], n),
        "told_days": rng.choice([np.nan, 7.0, 90.0], n),
        "act_by_reason": rng.choice(["money", "people", "season"], n),
        "season_days": rng.choice([np.nan, 14.0], n), "net_benefit": rng.normal(100.0, 300.0, n),
        "wait_gain": rng.normal(200.0, 300.0, n), "hours": rng.choice([0.1, 0.3, 2.0], n),
        "worth_asking": rng.exponential(20.0, n), "ask_minutes": 2.0,
        "conflict": rng.random(n) < 0.05, "coming_in": False, "over_value": rng.random(n) < 0.1,
        "claim_days": rng.choice([np.nan, 30.0], n), "claim_reason": "warranty",
        "hidden": rng.random(n) < 0.6, "look_minutes": rng.choice([np.nan, 0.0, 20.0], n),
        "look_cost": rng.choice([0.0, 60.0], n), "look_place": "WHEELS-OFF", "look_finds": 0.9,
        "days_since_look": rng.choice([np.nan, 20.0, 500.0], n),
        "probability_now": rng.random(n), "costly_a_year": rng.choice([0.0, 0.3], n),
        "loss_a_year": rng.exponential(1000.0, n), "harm_a_year": rng.choice([0.0, 1e-4], n),
        "repair_chance": 50.0, "x_loss_group": rng.choice(["engine", "brakes"], n),
    })  # fmt: skip
    dates = VehicleDates(
        rng.choice([np.nan, 30.0, 500.0], vehicles),
        {"inspection": rng.choice([np.nan, 20.0], vehicles)},
    )
    return frame, dates


def placed(frame, dates, line):
    looks = combined_looks(frame, line, dates)
    out = tiers(frame, line, looks)
    return pd.concat([frame, out], axis=1).assign(
        vehicle_id=[f"V{row}" for row in frame["row"]], lead=looks["lead"]
    )


@pytest.mark.parametrize("seed", range(4))
@pytest.mark.parametrize("tolerance", [0.0, 1e-5, 1.0])
@pytest.mark.parametrize("floor", [0.0, 150.0, 1e9])
def test_every_live_row_has_a_tier_a_reason_and_its_own_rank(seed, tolerance, floor):
    frame, dates = exposures(seed)
    rows = placed(frame, dates, Line(tolerance, floor, 450_000.0))
    live = rows["status"].isin(LIVE)
    assert rows["tier"].notna().tolist() == live.tolist()
    listed = rows[live]
    assert (listed["tier_reason"] != "").all()
    assert np.isfinite(listed[["key", "then"]].to_numpy(float)).all()
    order = rank(rows).loc[listed.index].sort_values()
    assert order.is_unique
    assert listed.loc[order.index, "tier"].is_monotonic_increasing
    assert not (listed["tier"].eq(3) & listed["p_harm"].eq(0.0)).any()
    if tolerance == 1.0:
        assert not listed["tier"].eq(3).any()


@pytest.mark.parametrize("seed", range(4))
def test_a_stricter_line_calls_no_more(seed):
    """A higher floor never adds a call about money, a higher tolerance never one about harm."""
    frame, dates = exposures(seed)
    floors = [placed(frame, dates, Line(1e-5, floor)) for floor in (0.0, 50.0, 150.0, 1e6)]
    calls = [int((r["tier"].le(5) & r["tier_reason"].isin(MONEY)).sum()) for r in floors]
    assert calls == sorted(calls, reverse=True)
    assert calls[0] > calls[-1] == 0
    people = [placed(frame, dates, Line(10.0**at, 150.0)) for at in (-9, -7, -5, -3)]
    leads = [int(r["tier"].eq(3).sum()) for r in people]
    assert leads == sorted(leads, reverse=True)


def test_where_all_is_unknown_looks_lead_and_questions_go_by_their_worth():
    frame, dates = exposures(1, status=("unknown",))
    rows = placed(frame, dates, Line(1e-5, 150.0)).assign(rank=lambda r: rank(r))
    assert set(rows["tier"]) <= {1.0, 2.0, 3.0, 4.0, 6.0, 7.0}
    asked = rows[rows["tier"].eq(6) & rows["tier_reason"].eq("find_out")].sort_values("rank")
    assert len(asked) > 20
    assert asked["worth_asking"].is_monotonic_decreasing


def test_nothing_to_rank():
    frame, dates = exposures(0, n=0)
    rows = placed(frame, dates, Line(1e-5, 150.0))
    assert len(rank(rows)) == len(rows) == 0


def shop_of(shop, years, status, **changes):
    ids = tuple(f"V{at}" for at in range(len(years)))
    one = {"value": 1.0, "unit": "1", "source": "invented"}
    hose = shop.hazard(
        id="hose", reveals="by_looking", harm={"per_year_present": {**one, "value": 2e-4}},
        becomes_costly_per_year={**one, "value": 0.3}, loss_group="brakes",
        look={"title": "look", "recorded_as": [], "minutes": {**one, "value": 20},
              "cost": {**one, "value": 60}, "finds": {**one, "value": 0.9}},
    )  # fmt: skip
    hazards = {"belt": shop.hazard(), "hose": hose}
    policy = shop.policy(**{name: shop.figure(value) for name, value in changes.items()})
    book = SimpleNamespace(hazards=hazards, policy=policy, vocabulary={})
    told = {name: shop.reasoned(name, list(status)) for name in hazards}
    use = shop.use(ids, np.array(years, dtype=float))
    fleet = shop.fleet(list(ids), shop.events(), "2000-01-01")
    return price(book, told, fleet, use, shop.as_of, 12).exposures


EXTREMES = (
    {},
    {"labour_rate": 0.0},
    {"tolerance_p_harm": 0.0},
    {"tolerance_p_harm": 1.0},
    {"floor_per_bay_hour": 0.0},
    {"floor_per_bay_hour": 1e9},
    {"deferral_rate": 0.0},
    {"labour_rate": 0.0, "floor_per_bay_hour": 0.0, "deferral_rate": 0.0, "tow_cost": 0.0},
)


@pytest.mark.parametrize("changes", EXTREMES, ids=lambda one: "+".join(one) or "usual")
def test_extreme_policies_give_sound_figures(shop, changes):
    status = ["exposed", "unproven", "unknown", "closed", "exposed"]
    rows = shop_of(shop, [0.0, 3.0, 9.0, 12.0, 14.0], status, **changes)
    live = rows[rows["status"].isin(LIVE)]
    figures = ["probability", "cost_if_fails", "cost_to_prevent", "net_benefit", "p_harm"]
    assert np.isfinite(live[figures].to_numpy(float)).all()
    assert sorted(live["rank"]) == list(range(1, len(live) + 1))
    # Of those known to be exposed the newest comes last, whatever the policy.
    known = live[live["status"].ne("unknown")].sort_values("rank")
    assert known["vehicle_id"].iloc[-1] == "V0"
    assert rows.loc[~rows["status"].isin(LIVE), "rank"].isna().all()


@pytest.mark.parametrize("years", [[], [12.0]], ids=["no vehicle", "one vehicle"])
def test_a_fleet_of_none_or_one(shop, years):
    rows = shop_of(shop, years, ["exposed"] * len(years))
    assert tuple(rows.columns[: len(COLUMNS)]) == COLUMNS
    assert len(rows) == 2 * len(years)
    assert sorted(rows["rank"]) == list(range(1, len(rows) + 1))
    assert len(together(rows)) == len(years)


def test_a_workbook_without_a_vehicle_is_assessed_and_written(tmp_path):
    book = openpyxl.Workbook()
    book.active.title = "Vehicles"
    book.active.append(["Vehicle id", "Customer id", "Make", "Model", "Year", "Odometer"])
    book.save(tmp_path / "fleet.xlsx")
    run = assess(tmp_path / "fleet.xlsx", as_of=dt.date(2026, 10, 1))
    assert run.exposures.empty
    files = write(run, tmp_path / "out")
    header = files["exposures.csv"].read_text(encoding="utf-8").splitlines()
    assert len(header) == 1
    assert header[0].replace('"', "").split(",") == list(COLUMNS)
