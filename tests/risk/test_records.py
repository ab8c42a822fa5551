"""What a record says of a part's age, worked by hand: renewals, part renewals, looks, silence.

Age after an imperfect job is q times the age before (Kijima 1989, type II, from memory).  Where no
renewal is on file the belief about one before our record began is the project's own (invented):
60 of 100 vehicles once past the usual interval, which runs from 0.55 to 1.0 of the B10 life.
"""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest

from riskcheck.risk.branches import MIDDLE_RATE, histories, use_ahead
from riskcheck.risk.history import UNSEEN_SLICES, lived, seen_since, unseen_renewals

ONE = {"value": 1.0, "unit": "1", "source": "invented"}
A_YEAR = 12_000.0  # miles, of the made-up vehicles


def ago(shop, miles):
    """The day on which the odometer stood ``miles`` below today's."""
    return str(pd.Timestamp(shop.as_of) - pd.Timedelta(days=round(miles / A_YEAR * 365.25)))[:10]


def belt(shop, kept=0.5, **changes):
    """Belt with a job that keeps a share of age, and a look."""
    jobs = shop.hazard().model_dump()["remedies"]
    lessens = {"id": "tension", "title": "t", "effect": "lessens", "proof": "p",
               "kept_age": {**ONE, "value": kept},
               "recorded_as": [{"topics": ["tension"], "marks": ["done"]}]}  # fmt: skip
    look = {"title": "look", "recorded_as": [{"topics": ["belt_cover"], "marks": ["checked_good"]}],
            "minutes": ONE, "cost": ONE, "finds": ONE}  # fmt: skip
    return shop.hazard(**{"remedies": [*jobs, lessens], "look": look, **changes})


def record(shop, miles, *happened, kept=0.5, hazard=None):
    """``lived`` of one vehicle with ``miles`` today; events as (miles ago, topic, mark)."""
    use = shop.use(("V0",), np.array([miles / A_YEAR]))
    rows = [("V0", ago(shop, back), topic, mark) for back, topic, mark in happened]
    return lived(hazard or belt(shop, kept), shop.events(*rows), use)


def close(found, *expected):
    """Ages agree to the day's use (33 miles)."""
    assert np.ravel(found).tolist() == pytest.approx(list(expected), abs=40.0)


def test_without_a_line_the_part_is_as_old_as_the_vehicle(shop):
    past = record(shop, 90_000)
    close(past.now, 90_000)
    close(past.ok_at, 0)
    assert not past.on_file[0]


def test_a_renewal_starts_again_and_drops_what_was_survived(shop):
    past = record(shop, 90_000, (50_000, "tension", "done"), (30_000, "timing_belt", "done"))
    close(past.now, 30_000)
    close(past.lived_to, 0)
    close(past.offset, 60_000)
    assert past.on_file[0]


def test_a_part_renewal_keeps_its_share_of_age_and_what_was_survived(shop):
    """q 0.6 at 50,000: 30,000 left, and 40,000 more by today."""
    past = record(shop, 90_000, (40_000, "tension", "done"), kept=0.6)
    close(past.lived_from, 0)
    close(past.lived_to, 50_000)
    close(past.current_from, 30_000)
    close(past.now, 70_000)
    close(past.ok_at, 30_000)


def test_a_good_look_moves_only_what_is_known(shop):
    past = record(shop, 90_000, (40_000, "belt_cover", "checked_good"))
    close(past.now, 90_000)
    close(past.ok_at, 50_000)
    close(past.current_from, 0)
    assert str(past.ok_day[0])[:10] == ago(shop, 40_000)


def test_a_look_after_a_part_renewal_counts_in_virtual_age(shop):
    """q 0.5 at 40,000 leaves 20,000; looked good 30,000 later at virtual 50,000."""
    past = record(shop, 90_000, (50_000, "tension", "done"), (20_000, "belt_cover", "checked_good"))
    close(past.ok_at, 50_000)
    close(past.current_from, 20_000)
    close(past.now, 70_000)


def test_the_odometer_on_the_line_goes_before_the_day(shop):
    """The line says 55,000 although the day would say 60,000."""
    use = shop.use(("V0",), np.array([90_000 / A_YEAR]))
    rows = shop.events(("V0", ago(shop, 30_000), "timing_belt", "done")).assign(
        odometer_mi=55_000.0
    )
    close(lived(belt(shop), rows, use).now, 35_000)


def test_a_finding_counts_from_its_day_in_virtual_age(shop):
    """Renewed 60,000 ago, seen 25,000 ago: at 35,000 of the new part; never outside its life."""
    use = shop.use(("V0",), np.array([90_000 / A_YEAR]))
    events = shop.events(("V0", ago(shop, 60_000), "timing_belt", "done"))
    past = lived(belt(shop), events, use)
    for back, age in ((25_000, 35_000), (80_000, 0), (0, 60_000)):
        day = np.array([np.datetime64(ago(shop, back), "s")])
        close(seen_since(past, day, ["miles"], use).seen, age)
    nowhere = np.array([np.datetime64("NaT", "s")])
    close(seen_since(past, nowhere, ["miles"], use).seen, 60_000)


def silent(shop, hazard, today, began):
    """Unseen renewals of a vehicle whose record began at ``began`` miles."""
    use = shop.use(("V0",), np.array([today / A_YEAR]))
    coverage = pd.DataFrame(
        {"vehicle_id": ["V0"], "from_date": [pd.Timestamp(ago(shop, today - began))]}
    )
    past = lived(hazard, shop.events(), use)
    at, weight = unseen_renewals(hazard, coverage, use, past)
    return at[0], float(weight[0])


# B10 110,000: usual interval 60,500 to 110,000.  Record begun at: weight, earliest, latest.
SILENT = [
    (60_000, 0.0, None, None),
    (80_000, 0.60 * (80_000 - 60_500) / 49_500, 60_500, 80_000),
    (110_000, 0.60, 60_500, 110_000),
    (150_000, 0.60, 60_500, 150_000),
    (250_000, 0.60, 140_000, 250_000),
]


@pytest.mark.parametrize(("began", "weight", "low", "high"), SILENT)
def test_a_renewal_before_the_record_lies_in_the_usual_interval(shop, began, weight, low, high):
    """Midpoints of five equal slices of the interval that ends where the record begins."""
    at, found = silent(shop, belt(shop), 260_000, began)
    assert found == pytest.approx(weight, abs=8e-4)
    if low is not None:
        slices = low + (high - low) * np.array([0.1, 0.3, 0.5, 0.7, 0.9])
        assert at.tolist() == pytest.approx(slices.tolist(), abs=40.0)


def test_a_hazard_may_state_how_many_were_renewed_unseen(shop):
    jobs = shop.hazard().model_dump()["remedies"]
    stated = shop.hazard(remedies=[{**jobs[0], "unseen_share": {**ONE, "value": 0.15}}])
    assert silent(shop, stated, 260_000, 150_000)[1] == pytest.approx(0.15)


def test_a_renewal_on_file_leaves_no_room_for_an_unseen_one(shop):
    use = shop.use(("V0",), np.array([260_000 / A_YEAR]))
    past = lived(belt(shop), shop.events(("V0", ago(shop, 30_000), "timing_belt", "done")), use)
    coverage = pd.DataFrame({"vehicle_id": ["V0"], "from_date": [pd.Timestamp(ago(shop, 60_000))]})
    assert unseen_renewals(belt(shop), coverage, use, past)[1].tolist() == [0.0]


def test_a_clock_started_by_other_work_has_no_unseen_renewals(shop):
    """A wheel that was never off was not re-torqued unseen."""
    life = shop.hazard().model_dump()["life"]
    starts = [{"topics": ["wheel_off"], "marks": ["done"]}]
    wheel = shop.hazard(life={**life, "starts": starts})
    assert silent(shop, wheel, 260_000, 150_000)[1] == 0.0


def branches_of(shop, hidden):
    """Histories of a silent vehicle of 150,000 whose record began at 110,000, exposed with 0.7."""
    reveals = {"reveals": "by_looking", "harm": {"per_year_present": ONE}} if hidden else {}
    hazard = belt(shop, **reveals)
    use = shop.use(("V0",), np.array([150_000 / A_YEAR]))
    events = shop.events(("V0", ago(shop, 20_000), "belt_cover", "checked_good"))
    past = lived(hazard, events, use)
    past = seen_since(past, np.array([np.datetime64(ago(shop, 50_000), "s")]), ["miles"], use)
    coverage = pd.DataFrame({"vehicle_id": ["V0"], "from_date": [pd.Timestamp(ago(shop, 40_000))]})
    unseen = unseen_renewals(hazard, coverage, use, past)
    two = np.full(1, 1.0), np.full(1, 2.0)
    return histories(
        hazard, past, np.array([0]), unseen, np.full(1, 0.7), two, np.full(1, A_YEAR)
    )  # fmt: skip


@pytest.mark.parametrize("hidden", [True, False])
def test_branches_carry_the_record_and_five_renewals(shop, hidden):
    """Renewed at 65,450 ... 105,050; hidden: known clear at the look (130,000), else today."""
    found = branches_of(shop, hidden)
    assert found.prior[0].tolist() == pytest.approx([0.28, *[0.084] * 5], abs=2e-4)
    assert found.absent[0] == pytest.approx(0.3)
    renewed = np.array([0.0, *(60_500 + 49_500 * np.array([0.1, 0.3, 0.5, 0.7, 0.9]))])
    known = 130_000 if hidden else 150_000
    close(found.now, *(150_000 - renewed))
    close(found.ok_at, *(known - renewed))
    close(found.lived_to[0, :, -1], *(known - renewed))
    close(found.seen, *np.maximum(100_000 - renewed, 0.0))
    assert (found.lived_from == 0.0).all()


def window(shop, **changes):
    """A joint that is watched for 500 miles after it was opened."""
    life = shop.hazard().model_dump()["life"]
    starts = [{"topics": ["wheel_off"], "marks": ["done"]}]
    watch = {"clock": "miles", "length": {**ONE, "value": 500.0, "unit": "mi"}}
    return shop.hazard(life={**life, "starts": starts}, watch_window=watch, **changes)


@pytest.mark.parametrize(("since", "left"), [(100.0, 400.0), (450.0, 50.0), (700.0, 0.0)])
def test_a_watched_joint_gains_no_use_beyond_its_window(shop, since, left):
    """100 miles since the work: 400 of 500 are left, whatever is driven in the year."""
    use = shop.use(("V0",), np.array([90_000 / A_YEAR]))
    rows = shop.events(("V0", str(shop.as_of), "wheel_off", "done")).assign(
        odometer_mi=90_000.0 - since
    )
    hazard = window(shop)
    past = lived(hazard, rows, use)
    ahead = use_ahead(hazard, use, past, np.array([0.0, 0.1, 12.0]))
    assert ahead.window_left[0] == pytest.approx(left, abs=1e-6)
    close(ahead.gain[0, :, 2], *[left] * 5)
    assert ahead.gain[0, :, 1, 0].tolist() == pytest.approx(
        [min(100.0 * pace, left) for pace in (0.7, 0.9, 1.0, 1.1, 1.3)], rel=1e-9
    )


def test_the_pace_of_the_first_clock_is_its_middle_one(shop):
    use = shop.use(("V0",), np.array([5.0]))
    past = lived(belt(shop), shop.events(), use)
    ahead = use_ahead(belt(shop), use, past, np.array([0.0, 12.0]))
    assert ahead.a_year[0] == A_YEAR == use.rates("miles")[0, MIDDLE_RATE]
    assert ahead.pace.tolist() == [[1.0]]


def test_five_slices_stand_for_an_unseen_renewal():
    assert UNSEEN_SLICES == 5


def test_many_vehicles_are_each_read_by_themselves(shop):
    """The same lines for V1 alone and between others with other lines."""
    lines = [("V1", ago(shop, 60_000), "tension", "done"),
             ("V1", ago(shop, 20_000), "belt_cover", "checked_good")]  # fmt: skip
    others = [("V0", ago(shop, 10_000), "timing_belt", "done"),
              ("V2", ago(shop, 70_000), "tension", "done"),
              ("V2", ago(shop, 30_000), "timing_belt", "done")]  # fmt: skip
    ages = np.array([90_000, 100_000, 110_000]) / A_YEAR
    together = lived(belt(shop), shop.events(*others, *lines), shop.use(("V0", "V1", "V2"), ages))
    alone = lived(belt(shop), shop.events(*lines), shop.use(("V1",), ages[1:2]))
    for name in ("now", "ok_at", "current_from", "offset"):
        assert getattr(together, name)[1].tolist() == getattr(alone, name)[0].tolist(), name
    stretches = SimpleNamespace(one=together.lived_to[1].ravel(), other=alone.lived_to[0].ravel())
    assert stretches.one.sum() == stretches.other.sum()
    assert together.on_file.tolist() == [True, False, True]
