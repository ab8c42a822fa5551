"""One contact per decision-maker; nobody is dropped without a reason; room is kept to."""

from __future__ import annotations

import datetime as dt
import itertools

import numpy as np
import pandas as pd
import pytest

from riskcheck.actions.consent import consents
from riskcheck.actions.contact_log import COLUMNS as LOG_COLUMNS
from riskcheck.actions.contact_log import contact_log, result_code
from riskcheck.actions.declined import COLUMNS as DECLINED_COLUMNS
from riskcheck.actions.declined import declined_work, of_present_owners, with_answers
from riskcheck.actions.known import Known
from riskcheck.actions.outreach import Capacity, cut, plan_outreach
from riskcheck.rulebook import load, shipped_dir

BOOK = load(shipped_dir())
AS_OF = dt.date(2026, 10, 1)
HOSE, BELT, BATTERY = "brake-hose-ageing", "timing-belt-overdue", "battery-age-parasitic"
CUSTOMERS = pd.DataFrame(
    {
        "customer_id": ["C1", "C2", "C3"],
        "name": ["Orchard Lane Dairy", "R. Fenwick", "Tamsin Vale"],
        "kind": ["fleet", "retail", "retail"],
        "phone": ["+14065550101", "+14065550102", "+14065550103"],
        "email": ["", "", ""],
        "address": ["1 Lane", "", "3 Lane"],
        "consent_call": ["yes", "no", "yes"],
        "consent_text": ["", "", ""],
        "consent_email": ["", "", ""],
        "opt_out": ["", "", "no calls please"],
        "notes": ["", "", ""],
    }
)


def known(
    log: pd.DataFrame | None = None, declined: pd.DataFrame | None = None, coming: str = ""
) -> Known:
    """A shop that knows the three customers, and nothing else unless said."""
    log = pd.DataFrame(columns=LOG_COLUMNS) if log is None else log
    empty = pd.DataFrame({name: pd.Series(dtype=object) for name in DECLINED_COLUMNS})
    empty["date"] = pd.Series(dtype="datetime64[s]")
    empty["odometer_mi"] = pd.Series(dtype=float)
    empty["signed"] = pd.Series(dtype=bool)
    return Known(
        as_of=AS_OF,
        customers=CUSTOMERS,
        vehicles=pd.DataFrame(
            {"vehicle_id": ["A", "S"], "odometer_mi": [60_000.0, 1.0], "state": ["active", "sold"]}
        ),
        log=log,
        consents=consents(CUSTOMERS, log),
        declined=empty if declined is None else declined,
        last_visit=pd.Series({name: pd.Timestamp(AS_OF) for name in ("C1", "C2", "C3", "")}),
        coming_in=pd.Series({coming: pd.Timestamp(AS_OF)} if coming else {}, dtype=object),
        miles_a_year=pd.Series({"A": 10_000.0}),
        parts_days=pd.Series(dtype=float),
        bay_hours=None,
    )


def exposures(*rows: tuple[str, str | None, int, str]) -> pd.DataFrame:
    """Exposures in rank order as (vehicle, customer, tier, hazard)."""
    frame = pd.DataFrame(rows, columns=["vehicle_id", "customer_id", "tier", "hazard_id"])
    frame["tier"] = frame["tier"].astype("Int64")
    frame["rank"] = range(1, len(frame) + 1)
    frame["status"], frame["evidence"] = "exposed", "none"
    frame["x_tier_reason"], frame["hours"], frame["act_by_date"] = "money", 1.5, "2026-11-01"
    return frame


def test_a_contact_ranks_by_its_best_row_and_covers_all_its_vehicles() -> None:
    frame = exposures(("B", "C1", 3, BELT), ("D", None, 4, BATTERY), ("A", "C1", 5, BATTERY))
    plan = plan_outreach(frame, known(), BOOK)
    # A vehicle without a customer stays on the list under its own name.
    assert plan.calls[["contact", "vehicles", "hours", "channel"]].values.tolist() == [
        ["C1", 2, 3.0, "call"],
        ["vehicle D", 1, 1.5, "none"],
    ]
    assert plan.rows["vehicle_id"].tolist() == ["B", "A", "D"]


def test_a_customer_who_refused_calls_is_listed_or_reached_by_letter() -> None:
    plan = plan_outreach(exposures(("A", "C2", 5, BELT), ("B", "C3", 4, BELT)), known(), BOOK)
    assert plan.not_called[["customer_id", "reason"]].values.tolist() == [["C2", "no_consent"]]
    assert plan.calls[["customer_id", "channel"]].values.tolist() == [["C3", "letter"]]


@pytest.mark.parametrize("tier", [1, 2])
def test_a_duty_reaches_even_those_who_opted_out_by_letter(tier: int) -> None:
    plan = plan_outreach(exposures(("B", "C3", tier, HOSE)), known(), BOOK)
    assert plan.calls["channel"].tolist() == ["letter"]


def test_every_ranked_exposure_ends_somewhere() -> None:
    hazards = itertools.cycle([HOSE, BELT, BATTERY])
    frame = exposures(*[(f"V{i}", f"C{1 + i % 3}", 1 + i % 7, next(hazards)) for i in range(42)])
    plan = plan_outreach(frame, known(coming="V2"), BOOK)
    shown = len(plan.rows) + len(plan.find_out) + len(plan.not_now) + len(plan.coming_in)
    assert shown + plan.not_called["exposures"].sum() == len(frame)
    assert set(plan.coming_in["vehicle_id"]) == {"V2"}


def test_what_is_due_before_the_appointment_does_not_wait_for_it() -> None:
    """Booked in on 1 October: a belt due in September and a look that was called for are told."""
    frame = exposures(
        ("V2", "C1", 4, BELT),
        ("V2", "C1", 4, BATTERY),
        ("V2", "C1", 3, HOSE),
        ("V2", "C1", 3, BELT),
    )
    frame["act_by_date"] = ["2026-09-30", "2026-10-01", "2026-11-01", "2026-11-01"]
    plan = plan_outreach(frame, known(coming="V2"), BOOK)
    assert plan.rows[["hazard_id", "tier"]].values.tolist() == [[BELT, 4], [HOSE, 3]]
    assert plan.coming_in[["hazard_id", "tier"]].values.tolist() == [[BATTERY, 4], [BELT, 3]]


def test_people_are_called_before_money_whatever_the_order_of_the_last_list() -> None:
    frame = exposures(("A", "C1", 4, BELT), ("B", None, 3, HOSE), ("C", None, 2, HOSE))
    plan = plan_outreach(frame, known(), BOOK)
    assert plan.calls["tier"].tolist() == [2, 3, 4]


@pytest.mark.parametrize("tier", [1, 2])
def test_nothing_holds_back_what_was_found(tier: int) -> None:
    yesterday = pd.Timestamp(AS_OF) - pd.Timedelta(days=1)
    for result in ("declined", "talked", "no_answer", "booked", "opt_out", "done_elsewhere"):
        log = pd.DataFrame(
            [("C1", "A", HOSE, yesterday, "call", "", result, "")], columns=LOG_COLUMNS[:8]
        )
        plan = plan_outreach(exposures(("A", "C1", tier, HOSE)), known(log), BOOK)
        wanted = "letter" if result == "opt_out" else "call"
        assert plan.calls["channel"].tolist() == [wanted], result


@pytest.mark.parametrize("seed", range(20))
def test_the_cut_is_what_a_clerk_with_a_list_would_cut(seed: int) -> None:
    """Walk down the list, adding up what is likely to be booked and the attempts it takes."""
    dice = np.random.default_rng(seed)
    count = int(dice.integers(1, 40))
    contacts = pd.DataFrame(
        {
            "hours": dice.uniform(0.1, 20.0, count).round(1),
            "need": dice.choice(["safety", "ours", "book", "look"], count),
            "channel": dice.choice(["call", "text", "letter"], count),
            "reason": dice.choice(["", "", "", "cool_down"], count),
        }
    )
    room = Capacity(bay_hours=8.0, calls=20, reach=0.5, booked=0.3)
    hours = attempts = 0.0
    expected = []
    for row in contacts.to_dict("records"):
        reason = row["reason"]
        if not reason:
            hours += min(row["hours"], 8.0) * 0.5 * 0.3
            attempts += 2.0 if row["channel"] == "call" else 1.0
            full = hours > 8.0 or attempts > 20.0
            if full and row["need"] not in ("safety", "ours"):
                reason = "no_room"
        expected.append(reason)
    assert cut(contacts, room)["reason"].tolist() == expected


def test_declined_work_stays_open_until_a_later_job_answers_it() -> None:
    def line(day: str, mark: str, words: str, vehicle: str = "A") -> dict[str, object]:
        return {"vehicle_id": vehicle, "date_hi": pd.Timestamp(day), "odometer_mi": 50_000.0,
                "topic": "brake_hose", "mark": mark, "line": words}  # fmt: skip

    events = pd.DataFrame(
        [
            line("2024-01-01", "recommended", "rec hoses, declined"),
            line("2025-01-01", "recommended", "hoses cracked, cust declined, signed"),
            line("2024-01-01", "recommended", "rec hoses - decl", "B"),
            line("2024-06-01", "done", "replaced hoses", "B"),
            line("2024-01-01", "recommended", "rec hoses next time", "D"),
        ]
    )
    open_ = declined_work(events, BOOK.hazards)
    hoses = open_[open_["hazard_id"] == HOSE]
    assert hoses[["vehicle_id", "signed"]].values.tolist() == [["A", True]]
    assert hoses["date"].iloc[0] == pd.Timestamp("2025-01-01")


@pytest.mark.parametrize(
    ("declined_on", "miles_then", "need"),
    [
        ("2026-09-25", 40_000.0, "not now"),  # six days ago: too fresh, whatever changed
        ("2026-09-15", 59_000.0, "not now"),  # 1,000 miles and no season since
        ("2026-09-15", 55_000.0, "declined"),  # 5,000 miles since
        ("2025-09-15", 59_000.0, "declined"),  # a frost since
    ],
)
def test_declined_safety_work_is_raised_again_only_if_something_changed(
    declined_on: str, miles_then: float, need: str
) -> None:
    declined = pd.DataFrame(
        [("A", BELT, pd.Timestamp(declined_on), miles_then, "belt due, decl", False)],
        columns=DECLINED_COLUMNS,
    )
    plan = plan_outreach(exposures(("A", "C1", 3, BELT)), known(declined=declined), BOOK)
    assert (plan.calls["need"].tolist() or ["not now"]) == [need]


def test_an_answer_that_ended_the_talk_is_not_raised_again_but_a_find_is() -> None:
    log = pd.DataFrame(
        [("C1", "A", BELT, pd.Timestamp("2026-01-01"), "call", "", "done_elsewhere", "")],
        columns=LOG_COLUMNS[:8],
    )
    quiet = plan_outreach(exposures(("A", "C1", 5, BELT)), known(log), BOOK)
    assert quiet.not_now["why_later"].tolist() == ["ended"]
    duty = plan_outreach(exposures(("A", "C1", 1, BELT)), known(log), BOOK)
    assert duty.calls["need"].tolist() == ["safety"]


def test_what_an_earlier_owner_declined_is_not_held_against_the_present_one() -> None:
    line = [("A", BELT, pd.Timestamp("2025-01-01"), 40_000.0, "belt due, decl", False)]
    declined = pd.DataFrame(line, columns=DECLINED_COLUMNS)
    vehicles = pd.DataFrame({"vehicle_id": ["A"], "owner_since": [pd.Timestamp("2025-06-01")]})
    assert of_present_owners(declined, vehicles).empty
    kept = vehicles.assign(owner_since=pd.NaT)
    assert len(of_present_owners(declined, kept)) == 1


def test_a_no_to_one_hazard_rests_that_hazard_only() -> None:
    log = pd.DataFrame(
        [("C1", "A", BELT, pd.Timestamp("2026-09-20"), "call", "", "declined", "too dear")],
        columns=LOG_COLUMNS[:8],
    )
    none = known().declined
    answers = with_answers(none, log)
    assert answers[["vehicle_id", "hazard_id", "line"]].values.tolist() == [["A", BELT, "too dear"]]
    frame = exposures(("A", "C1", 5, BELT), ("A", "C1", 5, BATTERY))
    plan = plan_outreach(frame, known(log.iloc[:0], answers), BOOK)
    assert plan.rows["hazard_id"].tolist() == [BATTERY]
    assert plan.not_now["why_later"].tolist() == ["declined_lately"]
    taken_back = log.assign(date=pd.Timestamp("2026-09-21"), result="booked")
    assert with_answers(none, pd.concat([log, taken_back])).empty


def test_a_vehicle_that_is_gone_is_not_called_about() -> None:
    plan = plan_outreach(exposures(("S", "C1", 1, HOSE), ("A", "C1", 3, BELT)), known(), BOOK)
    assert plan.rows["vehicle_id"].tolist() == ["A"]
    assert plan.not_now[["vehicle_id", "why_later"]].values.tolist() == [["S", "gone"]]


def test_a_wrong_number_is_not_dialled_again() -> None:
    log = pd.DataFrame(
        [("C1", "A", "", pd.Timestamp("2026-01-01"), "call", "", "wrong_number", "")],
        columns=LOG_COLUMNS[:8],
    )
    plan = plan_outreach(exposures(("A", "C1", 1, HOSE)), known(log), BOOK)
    assert plan.calls["channel"].tolist() == ["letter"]


@pytest.mark.parametrize(
    ("said", "code"),
    [("Left voicemail", "message_left"), ("no answer", "no_answer"),
     ("Wrong number", "wrong_number"), ("declined, signed", "declined_signed"),
     ("cust decl", "declined"), ("BOOKED for Tue", "booked"),
     ("will call back", "call_back"), ("sold it", "sold"), ("asked for no more calls", "opt_out"),
     ("had it done elsewhere", "done_elsewhere"), ("wants price by text", "talked"), ("", "")],
)  # fmt: skip
def test_results_in_the_shops_own_words(said: str, code: str) -> None:
    assert result_code(said) == code


def test_the_shops_log_and_the_ledger_are_one_history() -> None:
    shop = pd.DataFrame(
        [("", "A", pd.Timestamp("2026-03-01"), "Phone", "tires", "no answer", "")],
        columns=["customer_id", "vehicle_id", "date", "channel", "topic", "result", "note"],
    )
    ledger = pd.DataFrame(
        [("C1", "A", HOSE, pd.Timestamp("2026-02-01"), "call", "booked", "")],
        columns=["customer_id", "vehicle_id", "hazard_id", "date", "channel", "result", "note"],
    )
    vehicles = pd.DataFrame({"vehicle_id": ["A"], "customer_id": ["C1"]})
    log = contact_log(shop, ledger, vehicles, AS_OF)
    assert log[["customer_id", "result", "channel"]].values.tolist() == [
        ["C1", "booked", "call"],
        ["C1", "no_answer", "call"],
    ]
    assert contact_log(shop, ledger, vehicles, dt.date(2026, 2, 15))["result"].tolist() == [
        "booked"
    ]
