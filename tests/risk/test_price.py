"""Pricing a small made-up shop: what must hold for the rows that people read."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest

from riskcheck.risk import COLUMNS, price


def priced(shop, hazards, years, happened=None, horizon=12, **reasons):
    ids = tuple(f"V{at}" for at in range(len(years)))
    happened = shop.events() if happened is None else happened
    new = str(np.datetime64(shop.as_of) - np.timedelta64(90 * 365, "D"))
    status = reasons.pop("status", ["exposed"] * len(ids))
    book = SimpleNamespace(hazards={h.id: h for h in hazards}, policy=shop.policy(), vocabulary={})
    conclusions = {h.id: shop.reasoned(h.id, status, **reasons) for h in hazards}
    use = shop.use(ids, np.array(years, dtype=float))
    fleet = shop.fleet(list(ids), happened, new)
    return price(book, conclusions, fleet, use, shop.as_of, horizon).exposures


def hidden(shop, **changes):
    one = {"value": 1.0, "unit": "1", "source": "invented"}
    return shop.hazard(
        **{
            "id": "hose",
            "reveals": "by_looking",
            "harm": {"per_year_present": {**one, "value": 2e-4}},
            "becomes_costly_per_year": {**one, "value": 0.3},
            "severity": {"people": "I", "money": "III"},
            "life": {
                "model": "weibull",
                "shape": {**one, "value": 3.5, "low": 2.5, "high": 4.5},
                "clocks": [{"clock": "years", "b10": {**one, "value": 10, "low": 7, "high": 14}}],
            },
            "look": {
                "title": "look", "recorded_as": [{"topics": ["hose"], "marks": ["checked_good"]}],
                "minutes": {**one, "value": 20}, "cost": {**one, "value": 60}, "finds": one,
            },
            **changes,
        }
    )  # fmt: skip


def test_contract_columns_come_first_and_figures_follow_status(shop):
    status = ["exposed", "unproven", "unknown", "not_applicable", "closed", "no_answer"]
    rows = priced(shop, [shop.hazard()], [10.0] * 6, status=status)
    assert tuple(rows.columns[: len(COLUMNS)]) == COLUMNS
    assert rows["probability"].notna().tolist() == [True] * 3 + [False] * 3
    blank = rows.iloc[3:]
    for name in ("probability_low", "cost_if_fails", "net_benefit", "act_by_date", "tier", "hours"):
        assert blank[name].isna().all(), name
    assert (blank["people_code"] == "").all()
    assert sorted(rows["rank"].dropna()) == [1, 2, 3]
    assert rows["rank"].isna().tolist() == rows["tier"].isna().tolist()


def test_a_found_fault_is_certain_and_comes_first(shop):
    rows = priced(shop, [shop.hazard()], [10.0, 14.0], evidence=["confirmed", "none"])
    found = rows.iloc[0]
    assert found[["probability", "probability_now", "probability_low", "probability_high"]].tolist(
    ) == [1.0] * 4  # fmt: skip
    assert (found["tier"], found["rank"], found["x_tier_reason"]) == (1, 1, "found")
    assert found["act_by_date"] == "2025-10-01"
    assert found["act_by_reason"] == "confirmed"


def test_a_new_belt_on_file_starts_the_clock_again(shop):
    happened = shop.events(("V1", "2025-04-01", "timing_belt", "done"))
    rows = priced(shop, [shop.hazard()], [10.0, 10.0], happened)
    old, new = rows.iloc[0], rows.iloc[1]
    assert new["usage"] == pytest.approx(6000.0, rel=0.01)
    assert new["x_started"] == "2025-04-01"
    assert (old["x_started"], old["usage"]) == ("new", 120_000.0)
    assert new["probability"] < 0.001 < old["probability"]


def test_the_chance_after_a_job_is_that_of_a_vehicle_which_just_had_it(shop):
    """Priced a second time with the job on file today: new belt, and the tension set (q 0.6)."""
    one = {"value": 1.0, "unit": "1", "source": "invented"}
    lessens = {"id": "tension", "title": "t", "effect": "lessens", "proof": "p",
               "kept_age": {**one, "value": 0.6},
               "recorded_as": [{"topics": ["tension"], "marks": ["done"]}]}  # fmt: skip
    base = shop.hazard().model_dump()
    belt = shop.hazard(remedies=[*base["remedies"], lessens])
    today = str(shop.as_of)
    happened = shop.events(
        ("V1", today, "timing_belt", "done"), ("V2", today, "tension", "done")
    )  # fmt: skip
    before, new, part = (row for _, row in priced(shop, [belt], [9.0] * 3, happened).iterrows())
    # The five paces are averaged before the chance here, after it there.
    assert before["x_p_after_job"] == pytest.approx(new["probability"], rel=0.2)
    assert before["x_p_after_partial"] == pytest.approx(part["probability"], rel=0.05)
    assert before["x_p_after_job"] < before["x_p_after_partial"] < before["probability"]


def test_a_good_look_lowers_what_is_hidden_and_moves_the_next_look(shop):
    happened = shop.events(("V1", "2025-09-01", "hose", "checked_good"))
    rows = priced(shop, [hidden(shop)], [12.0, 12.0], happened)
    unseen, seen = rows.iloc[0], rows.iloc[1]
    assert seen["probability"] < unseen["probability"]
    assert seen["probability_now"] < 0.02 < unseen["probability_now"]
    assert unseen["act_by_date"] == "2025-10-01"
    assert seen["act_by_date"] > "2026-01-01"


def test_an_event_that_shows_itself_is_not_there_unseen_whatever_a_look_would_find(shop):
    """A look at a belt that finds 3 of 10 bad ones says nothing about engines that still run."""
    one = {"value": 1.0, "unit": "1", "source": "invented"}
    look = {"title": "look", "recorded_as": [], "minutes": {**one, "value": 20},
            "cost": {**one, "value": 60}, "finds": {**one, "value": 0.3}}  # fmt: skip
    plain = priced(shop, [shop.hazard()], [12.0]).iloc[0]
    looked = priced(shop, [shop.hazard(look=look)], [12.0]).iloc[0]
    for name in ("probability", "probability_low", "probability_high", "probability_now"):
        assert looked[name] == pytest.approx(plain[name], rel=1e-12)
    assert looked["probability_now"] == 0.0


def test_horizon_zero(shop):
    """Nothing is expected at once of what reveals itself; the hidden may be there already."""
    rows = priced(shop, [shop.hazard(), hidden(shop)], [12.0], horizon=0)
    belt, hose = rows.iloc[0], rows.iloc[1]
    assert (belt["hazard_id"], hose["hazard_id"]) == ("belt", "hose")
    assert belt["probability"] == pytest.approx(0.0, abs=1e-12)
    assert belt["net_benefit"] == pytest.approx(0.0, abs=1e-9)
    assert hose["probability"] == pytest.approx(hose["probability_now"], rel=1e-12)
    assert hose["net_benefit"] == pytest.approx(0.0, abs=1e-9)
    assert belt["probability_12m"] > 0.0


def test_chance_grows_with_the_months(shop):
    rows = priced(shop, [shop.hazard(), hidden(shop)], [5.0, 9.0, 14.0])
    months = rows[["probability_now", "x_p1", "x_p3", "x_p6", "probability_12m"]].to_numpy()
    assert (np.diff(months, axis=1) > 0.0).all()
    assert (rows["probability_low"] <= rows["probability"]).all()
    assert (rows["probability"] <= rows["probability_high"]).all()


def test_the_letter_is_per_twelve_months_whatever_the_horizon(shop):
    short = priced(shop, [shop.hazard()], [9.0], horizon=3).iloc[0]
    long = priced(shop, [shop.hazard()], [9.0], horizon=24).iloc[0]
    assert short["money_code"] == long["money_code"]
    assert short["probability_12m"] == pytest.approx(long["probability_12m"], rel=1e-12)
    assert short["probability"] < short["probability_12m"] < long["probability"]


def test_the_money_code_is_what_an_outsider_works_out_from_the_printed_figures(shop):
    """Bands 1,000, 8,000 and 50,000 on cost_if_fails, letter from probability_12m, Table III.

    The belt's file says II for an engine of 6,000: that is III here, and III·B is Serious.
    """
    usd = {"unit": "USD", "source": "invented"}
    base = shop.hazard().model_dump()["outcomes"][0]
    hazards = [
        shop.hazard(id=f"belt-{cost}", outcomes=[{**base, "cost": {"value": cost, **usd}}])
        for cost in (900, 1000, 6000, 8500)
    ]
    rows = priced(shop, hazards, [9.0, 0.5])
    severities = {900.0: "IV", 1000.0: "III", 6000.0: "III", 8500.0: "II"}
    roman = {"I": "1", "II": "2", "III": "3", "IV": "4"}
    for _, row in rows.iterrows():
        chance = round(row["probability_12m"], 8)
        letter = "ABCDE"[sum(chance < edge for edge in (1e-1, 1e-2, 1e-3, 1e-6))]
        severity = severities[row["cost_if_fails"]]
        assert row["money_code"] == roman[severity] + letter
        if row["severity"] == severity and row["likelihood"] == letter:
            assert row["risk_level"] == row["money_level"]
    old = rows[rows["vehicle_id"].eq("V0")].set_index("cost_if_fails")["money_level"]
    assert old.to_dict() == {900.0: "Medium", 1000.0: "Serious", 6000.0: "Serious", 8500.0: "High"}


def test_vehicles_priced_together_or_alone_or_shuffled_get_the_same_figures(shop):
    years = [3.0, 7.0, 7.0, 12.0]
    together = priced(shop, [shop.hazard()], years)["probability"]
    alone = [priced(shop, [shop.hazard()], [one])["probability"].iloc[0] for one in years]
    backwards = priced(shop, [shop.hazard()], years[::-1])["probability"]
    assert together.tolist() == pytest.approx(alone, rel=1e-12)
    assert together.tolist() == pytest.approx(backwards.tolist()[::-1], rel=1e-12)


def test_a_silent_old_vehicle_may_have_a_belt_we_never_saw(shop):
    """No record before this year: the chance lies between original and freshly renewed."""
    ids = ("V0",)
    book = SimpleNamespace(hazards={"belt": shop.hazard()}, policy=shop.policy(), vocabulary={})
    conclusions = {"belt": shop.reasoned("belt", ["exposed"])}
    use = shop.use(ids, np.array([12.5]))
    known = shop.fleet(["V0"], shop.events(), "2010-01-01")
    silent = shop.fleet(["V0"], shop.events(), "2025-09-01")
    original, either = (
        price(book, conclusions, fleet, use, shop.as_of, 12).exposures.iloc[0]
        for fleet in (known, silent)
    )
    assert either["probability"] < original["probability"]
    assert either["probability_low"] < original["probability_low"]
    assert either["probability_high"] > original["probability"]


def test_a_record_that_cannot_be_believed_is_asked_about_and_kept_out_of_the_money_tier(shop):
    """600,000 miles on a first belt, with the whole life on record."""
    row = priced(shop, [shop.hazard(harm={})], [50.0]).iloc[0]
    assert "record_conflict" in row["findings"]
    assert row["questions"].startswith("record_conflict")
    assert (row["tier"], row["x_tier_reason"]) == (6, "record_conflict")


def test_a_day_one_fault_has_its_share_now_and_later(shop):
    one = {"value": 1.0, "unit": "1", "source": "invented"}
    share = hidden(
        shop,
        id="ground",
        life={"model": "share", "share": {**one, "value": 0.10, "low": 0.03, "high": 0.25}},
    )
    row = priced(shop, [share], [0.0]).iloc[0]
    assert row[["probability_now", "x_p3", "probability"]].tolist() == pytest.approx([0.10] * 3)
    assert row["probability_low"] == pytest.approx(0.028, abs=1e-3)
    # Four years silent at 0.3 a year, by hand: 0.1·e/(0.1·e + 0.9) with e = exp(−1.2).
    row = priced(shop, [share], [4.0]).iloc[0]
    assert row[["probability_now", "x_p3", "probability"]].tolist() == pytest.approx(
        [0.0323823] * 3, rel=1e-5
    )


def test_the_same_input_gives_the_same_frame(shop):
    first = priced(shop, [shop.hazard(), hidden(shop)], [5.0, 9.0, 14.0])
    second = priced(shop, [shop.hazard(), hidden(shop)], [5.0, 9.0, 14.0])
    assert first.equals(second)


def test_a_found_hidden_fault_costs_by_the_time_it_is_left(shop):
    """A rate of 0.3 a year of losing 6,000, less the interest on a job of 900.

    Worked by hand: a month 6,000·(1 − exp(−0.3/12)) − 0.08·900/12 = 148.1405 − 6; a year
    6,000·(1 − exp(−0.3)) − 72 = 1,555.0907 − 72.
    """
    hose = hidden(shop)
    row = priced(shop, [hose], [12.0], evidence=["confirmed"]).iloc[0]
    assert (row["cost_if_fails"], row["cost_to_prevent"]) == (6000.0, 900.0)
    assert row["wait_month"] == pytest.approx(142.1405, abs=1e-4)
    assert row["net_benefit"] == pytest.approx(1483.0907, abs=1e-3)
    assert row["x_loss_chance"] == pytest.approx(0.2591818, rel=1e-6)
    belt = priced(shop, [shop.hazard()], [12.0], evidence=["confirmed"]).iloc[0]
    assert belt["wait_month"] == belt["net_benefit"] == pytest.approx(5100.0)
    assert belt["x_loss_chance"] == 1.0


def test_a_season_is_a_day_and_no_odometer(shop):
    """The frost comes on its day whatever the vehicle is driven; a belt due is driven to."""
    priced_both = priced(shop, [shop.hazard(season="before_frost")], [7.4, 14.0])
    by = priced_both.set_index("act_by_reason")
    assert set(by.index) == {"season", "money"}
    assert np.isnan(by.loc["season", "act_by_odometer_mi"])
    assert by.loc["money", "act_by_odometer_mi"] == pytest.approx(14.0 * 12_000.0, rel=0.01)


def test_knowing_a_rare_exposure_is_worth_what_it_would_avert(shop):
    """Left alone unless known: then the answer is worth weight · W, W as of one surely exposed.

    Its looks come at most as often as on a vehicle that surely has it, so W lies between that
    vehicle's and the same with no look to pay for in the year (60).
    """
    sure = priced(shop, [hidden(shop)], [12.0]).iloc[0]
    assert sure["net_benefit"] > 100.0
    rare = priced(shop, [hidden(shop)], [12.0], status=["unknown"], weight=0.05).iloc[0]
    assert rare["x_if_exposed"] == pytest.approx(sure["probability"])
    assert 0.05 * sure["net_benefit"] <= rare["x_worth_asking"]
    assert rare["x_worth_asking"] <= 0.05 * (sure["net_benefit"] + 60.0)
