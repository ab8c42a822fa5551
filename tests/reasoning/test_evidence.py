"""Facts read out of hand-made records; expected sets follow from the meaning of each derivation."""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import date

import numpy as np
import pandas as pd
import pytest

from riskcheck import rulebook, usage
from riskcheck.fleet.events import EVENT_COLUMNS
from riskcheck.fleet.model import (
    APPOINTMENT_COLUMNS,
    AVAILABILITY_COLUMNS,
    CODE_COLUMNS,
    CONTACT_COLUMNS,
    CUSTOMER_COLUMNS,
    MEASUREMENT_COLUMNS,
    PART_COLUMNS,
    READING_COLUMNS,
    REPORT_COLUMNS,
    SERVICE_COLUMNS,
    VEHICLE_COLUMNS,
    Fleet,
)
from riskcheck.reasoning.evidence import build
from riskcheck.rulebook.model import Platform
from riskcheck.vocabulary import Derivation, Fact, Reporting, Vocabulary

AS_OF = date(2026, 10, 1)
JOB = {"topics": ["job"], "marks": ["done"]}
UNDO = {"topics": ["undo"], "marks": ["finding"]}


def frame(columns, rows) -> pd.DataFrame:
    return pd.DataFrame([{**dict.fromkeys(columns), **row} for row in rows], columns=columns)


def dated(table: pd.DataFrame, *columns: str) -> pd.DataFrame:
    for column in columns:
        table[column] = pd.to_datetime(table[column])
    return table


def record(vehicles=("a",), events=(), measurements=(), codes=(), covered=(), **columns) -> Fleet:
    rows = [
        {
            "vehicle_id": name, "make": "Orrindale", "model": "Two", "engine": "P1",
            "model_year": 2015, "in_service_lo": "2015-01-01", "in_service_hi": "2015-01-01",
            "odometer_mi": 100_000.0, "state": "active",
        }
        for name in vehicles
    ]  # fmt: skip
    table = dated(frame(VEHICLE_COLUMNS, rows), "in_service_lo", "in_service_hi")
    table["odometer_mi"] = table["odometer_mi"].astype(float)
    table["model_year"] = table["model_year"].astype("Int64")
    table = table.assign(file="f.xlsx", sheet="vehicles", row=range(2, 2 + len(rows)), **columns)
    made = [
        {
            "vehicle_id": vehicle, "topic": topic, "mark": mark, "date_lo": low, "date_hi": high,
            "odometer_mi": miles, "words": f"{topic} {mark}", "file": "f.xlsx", "sheet": "history",
            "cell": f"C{number + 2}",
        }
        for number, (vehicle, topic, mark, low, high, miles) in enumerate(events)
    ]  # fmt: skip
    event_frame = dated(frame(EVENT_COLUMNS, made), "date_lo", "date_hi")
    for column in ("odometer_mi", "engine_hours", "value"):
        event_frame[column] = event_frame[column].astype(float)
    measured = [
        {"vehicle_id": v, "date": day, "quantity": q, "value": value, "sheet": sheet, "words": q}
        for v, day, q, value, sheet in measurements
    ]
    readings = frame(MEASUREMENT_COLUMNS, measured)
    readings["value"] = readings["value"].astype(float)
    coverage = pd.DataFrame(covered, columns=["vehicle_id", "from_date", "to_date"])
    return Fleet(
        vehicles=table,
        service=frame(SERVICE_COLUMNS, []),
        readings=dated(frame(READING_COLUMNS, []), "date"),
        measurements=dated(readings, "date"),
        codes=dated(
            frame(CODE_COLUMNS, [{"vehicle_id": v, "date": d, "code": c} for v, d, c in codes]),
            "date",
        ),
        events=event_frame,
        customers=frame(CUSTOMER_COLUMNS, []),
        contacts=frame(CONTACT_COLUMNS, []),
        appointments=frame(APPOINTMENT_COLUMNS, []),
        availability=frame(AVAILABILITY_COLUMNS, []),
        parts=frame(PART_COLUMNS, []),
        coverage=dated(coverage, "from_date", "to_date"),
        problems=pd.DataFrame(),
        reports=frame(REPORT_COLUMNS, []),
        tallies=(),
    )


def words(fact: Fact, fleet: Fleet, platforms=(), corrections=None) -> list[str]:
    evidence = evidence_of(fact, fleet, platforms, corrections)
    return [evidence.words_of(fact.name, place) for place in range(len(evidence.vehicle_ids))]


def evidence_of(fact, fleet, platforms=(), corrections=None):
    shipped = rulebook.load()
    policy = shipped.policy
    book = type(shipped)(**{
        **{name: getattr(shipped, name) for name in shipped.__dataclass_fields__},
        "vocabulary": Vocabulary({fact.name: fact}), "platforms": tuple(platforms),
    })  # fmt: skip
    clocks = usage.clocks(fleet.vehicles, fleet.readings, fleet.events, policy, AS_OF)
    return build(fleet, clocks, book, AS_OF, corrections=corrections)


def flag(kind, params, silence="on_file", reporting=None) -> Fact:
    return Fact("f", "flag", "", Derivation(kind, params), silence, reporting=reporting)


def number(kind, params, **more) -> Fact:
    settings = {"silence": "on_file", "resolution": 0.1, "low": 0, "high": 1_000_000, **more}
    return Fact("f", "number", "", Derivation(kind, params), **settings)


def day(vehicle, topic, mark, when, miles=math.nan):
    return (vehicle, topic, mark, when, when, miles)


def test_ever_and_what_silence_means():
    fleet = record(
        vehicles=("did", "seen_all_its_life", "seen_late"),
        events=[day("did", "job", "done", "2020-05-01")],
        covered=[
            ("did", "2019-01-01", "2026-09-01"),
            ("seen_all_its_life", "2015-06-01", "2026-09-01"),
            ("seen_late", "2022-01-01", "2026-09-01"),
        ],
    )
    reporting = Reporting(base=0.3, seen_if_true=0.8)
    assert words(flag("ever", JOB), fleet) == ["yes", "no", "no"]
    coverage = flag("ever", JOB, "coverage", reporting)
    assert words(coverage, fleet) == ["yes", "no", "no or yes"]
    rows = evidence_of(coverage, fleet).sets["f"].rows
    # Bayes by hand: 0.3 * 0.2 / (0.3 * 0.2 + 0.7 * 1.0) = 0.06 / 0.76.
    assert rows.weight[rows.row[2]].tolist() == pytest.approx([0.70 / 0.76, 0.06 / 0.76])


@pytest.mark.parametrize(
    ("events", "expected"),
    [
        ([], "no"),
        ([day("a", "job", "done", "2020-05-01")], "yes"),
        ([day("a", "undo", "finding", "2020-05-01")], "no"),
        # later by date, earlier by date
        ([day("a", "job", "done", "2021-01-01"), day("a", "undo", "finding", "2020-01-01")], "yes"),
        ([day("a", "job", "done", "2020-01-01"), day("a", "undo", "finding", "2021-01-01")], "no"),
        # one day: the odometer decides, then the rank of the mark (finding before done)
        ([day("a", "job", "done", "2020-01-01", 90), day("a", "undo", "finding", "2020-01-01", 99)],
         "no"),
        ([day("a", "job", "done", "2020-01-01"), day("a", "undo", "finding", "2020-01-01")], "yes"),
        # overlapping date ranges, and no date at all: either may be later
        ([("a", "job", "done", "2020-03-04", "2020-04-03", math.nan),
          day("a", "undo", "finding", "2020-03-20")], "no or yes"),
        ([day("a", "job", "done", None), day("a", "undo", "finding", "2020-03-20")], "no or yes"),
    ],
)  # fmt: skip
def test_open_until_a_later_event(events, expected):
    fact = flag("open", {**JOB, "closed_by": UNDO})
    assert words(fact, record(events=events)) == [expected]


def test_equal_marks_on_one_day_are_a_tie_and_a_tie_is_before():
    other = {"topics": ["other"], "marks": ["done"]}
    events = [day("a", "job", "done", "2020-01-01"), day("a", "other", "done", "2020-01-01")]
    assert words(flag("after", {**JOB, "than": other}), record(events=events)) == ["no"]


def test_since_counts_from_the_last_event_and_is_absent_without_one():
    events = [
        day("a", "job", "done", "2018-10-01", 30_000), day("a", "job", "done", "2020-10-01", 60_000)
    ]  # fmt: skip
    fact = number("since", {**JOB, "clock": "years"})
    assert words(fact, record(events=events)) == ["6"]
    assert words(fact, record()) == ["not on file"]


def test_count_is_of_distinct_days_inside_the_window():
    days = ["2026-09-01", "2026-09-01", "2026-03-01", "2025-12-01", "2020-01-01"]
    events = [day("a", "job", "done", when) for when in days]
    fact = number("count", {**JOB, "months": 12}, resolution=1.0, high=100)
    assert words(fact, record(events=events)) == ["3"]


def test_latest_value_and_which_readings_count():
    measured = [
        ("a", "2020-01-01", "drop", 0.9, "m"), ("a", "2022-01-01", "drop", 0.5, "m"),
        ("a", "2022-01-01", "drop", 0.1, "m"), ("a", "2021-01-01", "other", 7.0, "m"),
    ]  # fmt: skip
    done = [day("a", "job", "done", "2022-01-01")]
    latest = number("latest_value", {"quantity": "drop"})
    assert words(latest, record(measurements=measured)) == ["0.1"]
    after = number("latest_value", {"quantity": "drop", "after": JOB})
    assert words(after, record(measurements=measured)) == ["not on file"]
    assert words(after, record(measurements=measured, events=done)) == ["0.1"]
    since = number("latest_value", {"quantity": "drop", "since_last": JOB})
    assert words(since, record(measurements=measured)) == ["0.1"]
    assert words(since, record(measurements=measured, events=done)) == ["not on file"]


def test_two_sheets_that_contradict_each_other_on_one_day_leave_both_values():
    measured = [("a", "2022-01-01", "drop", 0.5, "m"), ("a", "2022-01-01", "drop", 0.1, "history")]
    assert words(number("latest_value", {"quantity": "drop"}), record(measurements=measured)) == [
        "0.1 to 0.5"
    ]


def test_percent_years_ago_and_difference():
    measured = [
        ("a", "2022-01-01", "rated", 800.0, "m"), ("a", "2023-01-01", "cca", 500.0, "m"),
        ("a", "2023-01-01", "made", 2016.0, "m"), ("a", "2023-01-01", "feed", 95.0, "m"),
        ("a", "2023-01-01", "back", 90.0, "m"), ("a", "2024-01-01", "feed", 99.0, "m"),
    ]  # fmt: skip
    fleet = record(measurements=measured)
    percent = number("latest_value", {"quantity": "cca", "percent_of": "rated"})
    assert words(percent, fleet) == ["62.5"]
    # Made in 2016: between 9.75 (end of year) and 10.75 years before October 2026.
    old = number("latest_value", {"quantity": "made", "years_ago": True}, high=100)
    assert words(old, fleet) == ["9.7 to 10.7"]
    apart = number("difference", {"minuend": "feed", "subtrahend": "back"})
    assert words(apart, fleet) == ["5"]


def test_codes():
    fleet = record(codes=[("a", "2022-01-01", "p2609")])
    assert words(flag("code", {"codes": ["P2609"]}), fleet) == ["yes"]
    assert words(flag("code", {"codes": ["P0001"]}), fleet) == ["no"]


BASE = {"gears": 0.5, "belt": 0.4, "chain": 0.1}


def drive(silence="at_random") -> Fact:
    return Fact("f", "category", "", Derivation("column"), silence, values=tuple(BASE), base=BASE)


def test_columns_platforms_and_words_that_name_no_value():
    names = ("said", "either", "silent", "nonsense")
    fleet = record(vehicles=names, f=["Belt", "belt or chain", None, "rubber bands"])
    every = "gears or belt or chain"
    assert words(drive(), fleet) == ["belt", "belt or chain", every, every]
    entry = Platform(
        make="orrindale", model="Two", engine=None, years=[2010, 2020], features={"f": "gears"},
        how_known="invented",
    )  # fmt: skip
    assert words(drive(), fleet, [entry]) == ["belt", "belt or chain", "gears", "gears"]


def test_an_entry_that_is_silent_takes_nothing_from_one_that_speaks_of_the_same_vehicles():
    """A shop's own narrower entry says one thing more; without a year it may be of neither."""
    fleet = record(vehicles=("a",))
    kind = {"make": "orrindale", "model": "Two", "how_known": "invented"}
    speaks = Platform(engine=None, years=[2010, 2020], features={"f": "gears"}, **kind)
    narrower = Platform(engine=None, years=[2014, 2016], features={"g": True}, **kind)
    apart = Platform(engine=None, years=[2021, 2024], features={"g": True}, **kind)
    every = "gears or belt or chain"
    for entries in ([speaks, narrower], [narrower, speaks], [speaks, apart]):
        assert words(drive(), fleet, entries) == ["gears"]
    undated = replace(
        fleet, vehicles=fleet.vehicles.assign(model_year=pd.array([pd.NA], dtype="Int64"))
    )
    assert words(drive(), undated, [speaks, narrower]) == ["gears"]
    assert words(drive(), undated, [speaks, apart]) == [every]


def test_silent_features_follow_the_platform_shrunk_toward_the_base():
    names = tuple(f"v{n}" for n in range(6))
    fleet = record(vehicles=names, f=["belt"] * 5 + [None])
    rows = evidence_of(drive(), fleet).sets["f"].rows
    # Ten vehicles' worth of base rate and five belts: (5 + 10 * 0.4) / 15 for belt.
    assert rows.weight[rows.row[5]].tolist() == pytest.approx([5 / 15, 9 / 15, 1 / 15])


def test_a_recorded_correction_outranks_the_record_and_is_named():
    fleet = record(vehicles=("a", "b"), f=["belt", "belt"])
    fixed = pd.DataFrame([{"vehicle_id": "b", "fact": "f", "value": "chain", "words": "looked"}])
    evidence = evidence_of(drive(), fleet, corrections=fixed)
    assert [evidence.words_of("f", place) for place in (0, 1)] == ["belt", "chain"]
    own = evidence.provenance[evidence.provenance["file"] == "ledger"]
    assert own["words"].tolist() == ["recorded correction: looked"]


def test_provenance_names_the_cell():
    fleet = record(events=[day("a", "job", "done", "2020-05-01")])
    row = evidence_of(flag("ever", JOB), fleet).provenance.iloc[0]
    assert (row["fact"], row["value_words"], row["words"], row["sheet"], row["cell"]) == (
        "f", "yes", "job done", "history", "C2",
    )  # fmt: skip


def test_provenance_quotes_the_whole_line():
    fleet = record(events=[day("a", "job", "done", "2020-05-01")])
    fleet.events["line"] = "job done - other side on order"
    row = evidence_of(flag("ever", JOB), fleet).provenance.iloc[0]
    assert row["words"] == "job done - other side on order"


def test_age_is_a_range_of_two_even_halves():
    fact = number("age", {"clock": "years"}, high=100)
    evidence = evidence_of(fact, record())
    low, high = evidence.sets["f"].low, evidence.sets["f"].high
    # First used on 1 January 2015: 11.75 years before 1 October 2026.
    assert low.min() * 0.1 - 0.1 <= 11.75 <= high.max() * 0.1 + 0.1
    assert np.isclose(evidence.sets["f"].share.sum(), 1.0)
