"""Strap verdicts and readings.  Trade facts here are "common practice, no source": the tests hold
rankings and ranges, never one run's figure."""

from __future__ import annotations

import numpy as np
import pytest

from riskcheck.errors import UsageError
from riskcheck.physics import FACT_FUNCTIONS, trade
from riskcheck.physics.conductors import awg
from riskcheck.physics.ground import StrapCase, assess_strap, explain_rise, interpret_reading
from riskcheck.physics.ranges import OutOfRangeError

SEEN_C = 150.0  # 300 °F within a couple of minutes on a 10 AWG lead: common practice, no source
TWENTY_INCHES_M = 0.508


def case(gauge: int, current_a: float, **more: float) -> StrapCase:
    more = {"ambient_c": 20.0, "seconds": 120.0, **more}
    return StrapCase(current_a, awg(gauge), TWENTY_INCHES_M, "GPT", **more)  # type: ignore[arg-type]


def test_thinner_is_hotter_at_fifty_amps() -> None:
    timed = [assess_strap(case(gauge, 50.0)).wire_timed_c for gauge in (6, 10, 16)]
    assert None not in timed
    assert timed == sorted(timed, key=float)  # type: ignore[arg-type]


def test_six_gauge_shows_no_visible_rise_in_a_minute() -> None:
    # common practice, no source; "visible" taken as 10 K
    reached = assess_strap(case(6, 50.0, seconds=60.0)).timed_c
    assert reached is not None
    assert reached - 20.0 < 10.0


def test_the_wire_alone_explains_a_minor_part_of_the_ten_gauge_rise() -> None:
    rise = explain_rise(case(10, 50.0), SEEN_C)
    assert rise.share is not None
    assert 0.05 < rise.share < 0.5
    assert rise.joint_cut_off_mohm is not None
    assert rise.joint_into_metal_mohm is not None
    assert 1.0 < rise.joint_cut_off_mohm < rise.joint_into_metal_mohm < 100.0


@pytest.mark.parametrize("into_metal", [False, True])
def test_the_joint_that_explains_the_rest_does_reproduce_it(into_metal: bool) -> None:
    rise = explain_rise(case(10, 50.0), SEEN_C)
    needed = rise.joint_into_metal_mohm if into_metal else rise.joint_cut_off_mohm
    assert needed is not None
    reached = assess_strap(case(10, 50.0, joint_mohm=needed, into_metal=into_metal)).timed_c
    assert reached == pytest.approx(SEEN_C, abs=0.5)


def test_hair_thin_leads_pass_their_rating_in_seconds() -> None:
    # common practice, no source: 16 or 18 AWG is gone before the heater is warm
    for gauge in (16, 18):
        verdict = assess_strap(case(gauge, 55.0))
        assert verdict.physics_says == "does_not_serve"
        assert verdict.seconds_to_limit is not None
        assert verdict.seconds_to_limit < 60.0
    assert assess_strap(case(6, 55.0)).seconds_to_limit is None


@pytest.mark.parametrize(
    ("gauge", "current_a", "says"),
    # common practice, no source: 6 AWG for 50 to 55 A; 4 to 1/0 AWG for 150 to 200 A
    [
        (6, 55.0, "meets"),
        (8, 55.0, "below"),
        (10, 50.0, "below"),
        (6, 40.0, "meets"),
        (10, 30.0, "no_figure"),
        (8, 100.0, "below"),
        (6, 100.0, "no_figure"),
        (4, 100.0, "meets"),
        (6, 190.0, "below"),
        (4, 190.0, "meets"),
        (0, 300.0, "no_figure"),
    ],
)
def test_trade_sizes(gauge: int, current_a: float, says: str) -> None:
    assert trade.strap_size(awg(gauge).section_mm2, current_a) == says


def test_the_two_judgements_stay_apart() -> None:
    verdict = assess_strap(case(10, 55.0, seconds=60.0))
    assert verdict.trade_says == "below"
    assert verdict.physics_says in ("serves", "no_margin")
    assert "trade_below" in verdict.reasons


def test_drop_is_ohms_law_of_copper_and_joints() -> None:
    # 10 AWG has 3.277 ohm/km (printed wire tables); two good joints of 0.1 mohm on top.
    verdict = assess_strap(case(10, 55.0))
    assert verdict.drop_v == pytest.approx(55.0 * (3.277e-3 * 0.508 + 0.2e-3), rel=1e-3)


def test_larger_heaters_need_larger_straps() -> None:
    sizes = [assess_strap(case(0, amps)).smallest_awg for amps in (30.0, 55.0, 100.0, 190.0)]
    assert None not in sizes
    assert sizes == sorted(sizes, key=lambda number: -float(number or 0))
    assert sizes[0] != sizes[-1]


def test_smallest_size_itself_serves() -> None:
    for amps in (30.0, 55.0, 100.0):
        number = assess_strap(case(0, amps)).smallest_awg
        assert number is not None
        assert assess_strap(case(number, amps)).physics_says == "serves"


def test_worse_joint_is_hotter() -> None:
    reached = [assess_strap(case(6, 55.0, joint_mohm=mohm)).timed_c for mohm in (0.1, 1.0, 5.0)]
    assert reached[0] < reached[1] < reached[2]  # type: ignore[operator]


@pytest.mark.parametrize(
    ("changes", "range_words"),
    [
        ({"seconds": 1e6}, "0.1 to 14400 s"),
        ({"ambient_c": 300.0}, "-60 to 150"),
        ({"joint_mohm": -1.0}, "0 to 1000"),
    ],
)
def test_inputs_out_of_range_are_refused(changes: dict[str, float], range_words: str) -> None:
    with pytest.raises(OutOfRangeError, match=range_words):
        assess_strap(case(10, 55.0, **changes))


@pytest.mark.parametrize(
    ("reading", "verdict", "place"),
    [
        # no way back: the clamp reads 0 A (common practice, no source), the plate floats
        ({"supply_v": 12.4, "feed_a": 0.0, "drop_v": 12.3}, "open", "return"),
        ({"supply_v": 12.4, "feed_a": 0.0, "drop_v": 0.0}, "open", "feed_or_element"),
        ({"supply_v": 0.1, "feed_a": 0.0}, "open", "supply"),
        ({"feed_a": 0.0}, "open", ""),
        ({"feed_a": 54.0, "return_a": 20.0}, "stray_path", "other_path"),
        ({"feed_a": 54.0, "return_a": 0.0}, "stray_path", "other_path"),
        ({"feed_a": 54.0, "return_a": 54.0, "drop_v": 0.3}, "weak", "return"),
        ({"feed_a": 54.0, "drop_v": 0.3, "strap_drop_v": 0.28}, "weak", "strap"),
        ({"feed_a": 54.0, "drop_v": 0.5, "strap_drop_v": 0.05}, "weak", "beyond_strap"),
        ({"feed_a": 30.0, "nominal_a": 55.0}, "weak", "feed_or_element"),
        ({"feed_a": 80.0, "nominal_a": 55.0}, "weak", "feed_or_element"),
        (
            {"feed_a": 54.0, "return_a": 53.5, "drop_v": 0.05, "nominal_a": 55.0},
            "in_range",
            "",
        ),
        ({"feed_a": 54.0}, "no_answer", ""),
    ],
)
def test_readings(reading: dict[str, float], verdict: str, place: str) -> None:
    meaning = interpret_reading(**reading)
    assert (meaning.verdict, meaning.place) == (verdict, place)


def test_a_heater_falling_from_55_to_50_amps_stays_in_range() -> None:
    # common practice, no source: resistance rises as the element heats
    for amps in (55.0, 52.0, 50.0):
        meaning = interpret_reading(feed_a=amps, return_a=amps, drop_v=0.05, nominal_a=55.0)
        assert meaning.verdict == "in_range"


def test_implied_resistances_are_ohms_law() -> None:
    meaning = interpret_reading(
        supply_v=12.0, feed_a=40.0, return_a=30.0, drop_v=0.6, strap_drop_v=0.3, nominal_a=50.0
    )
    assert meaning.return_mohm == pytest.approx(20.0)
    assert meaning.strap_mohm == pytest.approx(10.0)
    assert meaning.stray_mohm == pytest.approx(60.0)
    assert meaning.excess_mohm == pytest.approx(1000.0 * (12.0 / 40.0 - 12.5 / 50.0))


def test_in_range_without_all_readings_names_what_is_missing() -> None:
    meaning = interpret_reading(feed_a=54.0, nominal_a=55.0)
    assert meaning.verdict == "in_range"
    assert set(meaning.reasons) == {"measure_feed_and_return", "measure_drop"}


def test_nothing_measured_is_refused() -> None:
    with pytest.raises(UsageError, match="clamp"):
        interpret_reading(nominal_a=55.0)


def test_facts_for_the_rulebook_follow_the_single_strap() -> None:
    current = np.array([55.0, 55.0, 190.0, np.nan, 55.0, 100.0, -5.0])
    section = np.array([5.26, 13.3, 8.37, 25.0, np.nan, 16.0, 16.0])
    below = FACT_FUNCTIONS["strap_below_trade_size"](
        heater_rated_current_a=current, strap_section_mm2=section
    )
    np.testing.assert_array_equal(below, [1.0, 0.0, 1.0, np.nan, np.nan, np.nan, np.nan])
    rise = FACT_FUNCTIONS["strap_temperature_rise_k"](
        heater_rated_current_a=current[:2], strap_section_mm2=section[:2]
    )
    single = assess_strap(StrapCase(55.0, awg(10), 0.5, "GPT", 50.0)).wire_steady_c
    assert single is not None
    assert rise[0] == pytest.approx(single - 50.0, abs=0.05)
    assert rise[1] < rise[0]


def test_measured_facts_are_arithmetic_and_silent_where_silent() -> None:
    path = FACT_FUNCTIONS["ground_path_mohm"](
        heater_ground_drop_v=np.array([0.1, 0.1, np.nan]),
        heater_return_current_a=np.array([100.0, 0.0, 50.0]),
    )
    np.testing.assert_allclose(path, [1.0, np.nan, np.nan])
    stray = FACT_FUNCTIONS["heater_stray_current_a"](
        heater_feed_current_a=np.array([94.0, 50.0]), heater_return_current_a=np.array([60.0, 51.0])
    )
    np.testing.assert_allclose(stray, [34.0, 0.0])
    joint = FACT_FUNCTIONS["strap_joint_mohm"](
        strap_drop_v=np.array([0.2]),
        heater_return_current_a=np.array([50.0]),
        strap_section_mm2=np.array([17.241]),
        strap_length_m=np.array([1.0]),
    )
    np.testing.assert_allclose(joint, [3.0])  # 4 mohm in all, 1 of it copper


def test_every_fact_function_survives_silence() -> None:
    for function in FACT_FUNCTIONS.values():
        names = function.__code__.co_varnames[: function.__code__.co_argcount]
        silent = function(**{name: np.full(3, np.nan) for name in names})
        assert silent.shape == (3,)
        assert np.isnan(silent).all()
