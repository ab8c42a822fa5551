"""Order between runs: the shop's own rule (common practice, no source), checked by hand."""

from __future__ import annotations

import datetime as dt

import numpy as np
import pandas as pd
import pytest

from riskcheck.risk.stability import Moved, moves, re_ranked, settled


def run(keys, tiers=5, **columns):
    """Exposures of vehicles A, B, ... with these keys, ranked as a single run would."""
    n = len(keys)
    frame = pd.DataFrame({
        "vehicle_id": [chr(65 + i) for i in range(n)], "hazard_id": "belt",
        "tier": pd.array(tiers if isinstance(tiers, list) else [tiers] * n, dtype="Int64"),
        "x_key_value": np.array(keys, dtype=float), "status": "exposed", "evidence": "none",
        "probability": 0.1, "act_by_date": "2026-11-01", "cost_if_fails": 6000.0,
        "cost_to_prevent": 900.0,
    }).assign(**columns)  # fmt: skip
    order = frame.sort_values(["tier", "x_key_value"], kind="stable").index
    frame["rank"] = pd.Series(range(1, n + 1), index=order).astype("Int64")
    frame["rank"] = frame["rank"].where(frame["tier"].notna())
    return frame


def snapshot(frame):
    return frame.rename(columns={"x_key_value": "key_value"})


def test_settled_keeps_last_keys_unless_tier_or_key_moved():
    before = pd.DataFrame({
        "vehicle_id": ["A", "B", "C", "D"], "hazard_id": "belt", "tier": 5.0,
        "key": [-100.0, -95.0, -90.0, -80.0],
    })  # fmt: skip
    now = pd.DataFrame({
        "vehicle_id": ["A", "B", "C", "D", "E"], "hazard_id": "belt",
        "tier": [5.0, 5.0, 5.0, 4.0, 5.0], "key": [-90.0, -99.0, -130.0, 3.0, -1.0],
    })  # fmt: skip
    result = settled(now, before)
    assert result["change"].tolist() == ["same", "same", "up", "up", "new"]
    assert result["key"].tolist() == [-100.0, -95.0, -130.0, 3.0, -1.0]


def test_small_moves_leave_the_order_as_it_was():
    """B overtakes A by a few dollars an hour: A was called first and stays first."""
    first = run([-100.0, -95.0, -50.0])
    second = re_ranked(run([-96.0, -99.0, -50.0]), snapshot(first))
    assert second["rank"].tolist() == [1, 2, 3]
    assert second["x_change"].tolist() == ["same"] * 3
    assert second["x_change_because"].tolist() == [""] * 3


def test_the_same_run_twice_changes_nothing():
    first = run([-3.0, -9.0, -9.0, -7.0])
    again = re_ranked(first, snapshot(first))
    pd.testing.assert_series_equal(again["rank"], first["rank"])
    assert set(again["x_change"]) == {"same"}


def test_a_slow_drift_is_noticed_once_it_adds_up():
    """12 % a run stays unsaid twice at most: what counts is the key of the last placing."""
    frame, said = run([-100.0, -10.0]), []
    for step in (1, 2, 3):
        now = run([-100.0 * 1.12**step, -10.0])
        frame = re_ranked(now, snapshot(frame))
        said.append(frame["x_change"].iloc[0])
    assert said == ["same", "up", "same"]


def test_what_moved_is_told_in_codes_and_figures():
    first = run([-100.0, -90.0, 5.0], tiers=[5, 5, 4])
    now = run([-100.0, 1.0, 5.0], tiers=[5, 1, 4], evidence=["none", "confirmed", "none"],
              probability=[0.1, 1.0, 0.1])  # fmt: skip
    second = re_ranked(now, snapshot(first))
    assert second["x_change"].tolist() == ["same", "up", "same"]
    assert moves(second["x_change_because"].iloc[1]) == (
        Moved("tier", "5", "1"),
        Moved("evidence", "none", "confirmed"),
        Moved("probability", "0.100000", "1.000000"),
    )
    assert second["rank"].tolist() == [3, 1, 2]


def test_a_key_that_moved_names_the_key():
    second = re_ranked(run([-150.0]), snapshot(run([-100.0])))
    assert second["x_change_because"].tolist() == ["key:-100.000000>-150.000000"]


def test_new_vehicles_and_new_hazards_are_called_so():
    first = run([-100.0])
    now = pd.concat([run([-100.0, -50.0]), run([-40.0]).assign(hazard_id="hose")])
    second = re_ranked(now.reset_index(drop=True), snapshot(first))
    assert second["x_change"].tolist() == ["same", "new", "new"]
    assert second["x_change_because"].tolist() == ["", "vehicle_new:>B", "hazard_new:>hose"]


@pytest.mark.parametrize(
    ("then", "now", "change"),
    [
        (40.0, 33.0, "same"),  # a week went by and the date is the same
        (40.0, 20.0, "up"),  # the date came 13 days nearer on top of that
        (3.0, 0.0, "same"),  # fell due in between
        (-30.0, -37.0, "same"),  # overdue, and a week more so
        (20.0, 40.0, "down"),
    ],
)
def test_a_date_that_only_came_nearer_has_not_moved(then, now, change):
    """A fifth of the sixty days that count as soon is twelve days."""
    second = re_ranked(
        run([now], tiers=4), snapshot(run([then], tiers=4)),
        as_of=dt.date(2026, 10, 8), before_as_of=dt.date(2026, 10, 1),
    )  # fmt: skip
    assert second["x_change"].tolist() == [change]


def test_an_urgency_that_counts_from_each_run_has_not_moved():
    """A sign asks for two weeks, four weeks ago as today."""
    second = re_ranked(
        run([14.0], tiers=4), snapshot(run([14.0], tiers=4)),
        as_of=dt.date(2026, 10, 29), before_as_of=dt.date(2026, 10, 1),
    )  # fmt: skip
    assert second["x_change"].tolist() == ["same"]


def test_a_first_run_has_nothing_to_compare():
    for before in (None, snapshot(run([1.0])).iloc[:0]):
        only = re_ranked(run([-1.0, -2.0]), before)
        assert only["x_change"].tolist() == ["", ""]
        assert only["rank"].tolist() == [2, 1]


def test_rows_that_left_the_list_have_no_rank_and_no_change():
    now = run([-100.0, -90.0], tiers=[None, 5])
    second = re_ranked(now, snapshot(run([-100.0, -90.0])))
    assert second["x_change"].tolist() == ["", "same"]
    assert second["rank"].isna().tolist() == [True, False]
    assert second["rank"].iloc[1] == 1


def test_the_same_look_led_by_another_hazard_is_the_same_call():
    """Hose and tyre change places as leader of one vehicle's look; the call stays the same."""

    def looked(keys, tiers, leads):
        frame = run(keys, tiers=tiers, hazard_id=["hose", "tyre", "belt"])
        reasons = ["harm_over_line" if led else "in_combined_look" for led in leads]
        return frame.assign(
            vehicle_id=["A", "A", "B"], x_look_lead=leads, x_tier_reason=[*reasons[:2], "money"]
        )

    first = looked([-5e-5, 9.0, -4.9e-5], [3, 7, 3], [True, False, False])
    second = re_ranked(looked([9.0, -5.1e-5, -5.2e-5], [7, 3, 3], [False, True, False]),
                       snapshot(first))  # fmt: skip
    assert second["x_change"].tolist() == ["same", "same", "same"]
    assert second["rank"].tolist() == [3, 1, 2]


@pytest.mark.parametrize(
    ("tier", "then", "now", "change"),
    [
        (5, -100.0, -120.0, "same"),  # exactly 20 %
        (5, -100.0, -120.001, "up"),
        (5, -100.0, -80.0, "same"),
        (5, -100.0, -79.999, "down"),
        (3, -0.35e-5, -0.42e-5, "same"),  # 20 % to the last digit, whatever the binary fraction
        (3, -0.35e-5, -0.4201e-5, "up"),
        (6, 0.0, 0.0, "same"),
        (6, 0.0, -0.01, "up"),  # a fifth of nothing is nothing
        (7, 4.0, -4.0, "up"),
        (1, 1 - 1e-5, 1 - 1.2e-5, "same"),  # severity I, harm a fifth more
        (1, 1 - 1e-5, 1 - 1.21e-5, "up"),
        (1, 1 - 1e-5, 2 - 1e-5, "down"),  # now severity II
        (2, 40.0, 28.0, "same"),  # twelve days nearer
        (2, 40.0, 27.9, "up"),
        (4, 40.0, 52.0, "same"),
        (4, 40.0, 52.1, "down"),
    ],
)
def test_a_fifth_is_still_no_move(tier, then, now, change):
    second = re_ranked(run([now], tiers=tier), snapshot(run([then], tiers=tier)))
    assert second["x_change"].tolist() == [change]
    assert second["x_key_value"].iloc[0] == (then if change == "same" else now)


def test_another_tier_is_a_move_whatever_the_key():
    for then, now, change in ((5, 4, "up"), (4, 5, "down"), (6, 7, "down"), (3, 1, "up")):
        second = re_ranked(run([9.0], tiers=now), snapshot(run([9.0], tiers=then)))
        assert second["x_change"].tolist() == [change]
        assert moves(second["x_change_because"].iloc[0])[0] == Moved("tier", str(then), str(now))


def test_what_vanishes_and_comes_back_is_new_again():
    """Once closed (no tier), once missing from the workbook altogether."""
    first = run([-100.0, -90.0, -80.0])
    closed = run(
        [-100.0, np.nan, -80.0], tiers=[5, None, 5], status=["exposed", "closed", "exposed"]
    )
    gone = re_ranked(closed, snapshot(first)).iloc[:2]
    assert gone["x_change"].tolist() == ["same", ""]
    back = re_ranked(run([-100.0, -90.0, -80.0]), snapshot(gone))
    assert back["x_change"].tolist() == ["same", "new", "new"]
    because = back["x_change_because"].tolist()
    assert moves(because[1])[:2] == (Moved("tier", "", "5"), Moved("status", "closed", "exposed"))
    assert because[2] == "vehicle_new:>C"
    assert back["rank"].tolist() == [1, 2, 3]


@pytest.mark.parametrize("seed", range(6))
def test_ranks_are_always_one_to_n_and_tiers_never_cross(seed):
    """Over five runs of random keys, tiers and absences."""
    rng = np.random.default_rng(seed)
    frame = None
    for _ in range(5):
        n = 12
        keys = rng.normal(0.0, 50.0, n) * rng.choice([1.0, 1e-6], n)
        tiers = [None if rng.random() < 0.2 else int(rng.integers(1, 8)) for _ in range(n)]
        now = run(keys, tiers=tiers).sample(frac=0.8, random_state=seed)
        now["rank"] = now["rank"].rank().astype("Int64")
        frame = re_ranked(now, None if frame is None else snapshot(frame))
        listed = frame[frame["tier"].notna()].sort_values("rank")
        assert listed["rank"].tolist() == list(range(1, len(listed) + 1))
        assert listed["tier"].is_monotonic_increasing
        assert frame.loc[frame["tier"].isna(), "rank"].isna().all()
