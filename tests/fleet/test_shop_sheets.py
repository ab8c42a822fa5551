"""The shop's own sheets; all data invented, expectations written by hand."""

import datetime as dt

import pandas as pd

VEHICLES = [
    ["Unit #", "Make", "Year", "Inspection due", "Open recall", "Warranty end", "Vehicle value"],
    ["B1", "Brackmoor", 2015, dt.date(2026, 12, 10), "", dt.date(2027, 1, 31), "$14,500"],
    ["B2", "Tovask", 2018, None, "seat belt anchor, told owner", None, None],
]
DAY = pd.Timestamp


def rows(frame, *columns):
    return frame[list(columns)].astype(object).where(frame[list(columns)].notna(), None).to_numpy(
        dtype=object
    ).tolist()  # fmt: skip


def test_every_sheet_of_the_shop_reaches_the_plan(book, read, told):
    fleet = read(
        book(
            V=VEHICLES,
            Parts=[["Part no", "On hand", "Lead time days"], ["HOSE-A", 4, "3"], ["BELT-B", 0, 12]],
            Week=[["Week of", "Bay hours", "Bays"], [dt.date(2026, 11, 2), 98, 4]],
            Away=[
                ["Unit #", "Bay", "Tech", "From", "To", "Reason"],
                ["B1", None, None, dt.date(2026, 11, 9), dt.date(2026, 11, 20), "school term"],
                [None, "2", None, dt.date(2026, 12, 1), dt.date(2026, 12, 3), "lift service"],
                [None, None, "RJ", dt.date(2026, 12, 24), dt.date(2026, 12, 31), "leave"],
                ["B9", None, None, dt.date(2026, 12, 1), None, "who is B9?"],
                [None, None, None, dt.date(2026, 12, 1), None, "whose?"],
            ],
            Bays=[
                ["Bay", "Hours a day", "Lift type", "Weight limit (kg)"],
                [1, 8, "two-post", 4000],
            ],
            People=[["Technician", "Skills", "Hours per day"], ["RJ", "A; brakes", 6.5]],
            Fixed=[
                ["Unit #", "What for", "Fixed date", "Tolerance days"],
                ["B2", "state inspection", dt.date(2027, 2, 1), 7],
            ],
            Pins=[
                ["Unit #", "Hazard", "Week of", "Pinned or forbidden"],
                ["B1", "coolant-age", dt.date(2026, 11, 16), "Pinned"],
                ["B2", "coolant-age", dt.date(2026, 11, 16), "must not"],
                ["B2", "coolant-age", dt.date(2026, 11, 23), "perhaps"],
            ],
            Due=[
                ["Unit #", "Service due", "Due date", "Due at (km)"],
                ["B1", "PM-A", dt.date(2026, 11, 30), None],
                ["B2", "PM-B", None, 160934.4],
            ],
            Policy=[
                ["Policy figure", "Value", "Unit", "Where from"],
                ["labour.rate", 165, "USD/h", "our door rate"],
                ["", 3, "", ""],
            ],
        )
    )
    assert rows(fleet.parts, "part", "on_hand", "lead_days") == [
        ["HOSE-A", 4.0, 3.0], ["BELT-B", 0.0, 12.0],
    ]  # fmt: skip
    assert rows(fleet.hours, "date", "bay_hours", "bays") == [[DAY("2026-11-02"), 98.0, 4.0]]
    assert rows(
        fleet.availability,
        "vehicle_id",
        "bay",
        "technician",
        "from_date",
        "to_date",
        "what",
        "cell",
    ) == [
        ["B1", "", "", DAY("2026-11-09"), DAY("2026-11-20"), "school term", "D2"],
        ["", "2", "", DAY("2026-12-01"), DAY("2026-12-03"), "lift service", "D3"],
        ["", "", "RJ", DAY("2026-12-24"), DAY("2026-12-31"), "leave", "D4"],
    ]
    assert rows(fleet.bays, "bay", "hours_per_day", "equipment") == [["1", 8.0, "two-post"]]
    # 4,000 kg at 0.45359237 kg a pound (NIST SP 811, Appendix B)
    assert round(fleet.bays["max_weight_lb"].iloc[0], 2) == 8818.49
    assert rows(fleet.technicians, "name", "skills", "hours_per_day") == [["RJ", "A; brakes", 6.5]]
    assert rows(fleet.fixed_dates, "vehicle_id", "what", "date", "tolerance_days") == [
        ["B1", "inspection due", DAY("2026-12-10"), None],
        ["B2", "state inspection", DAY("2027-02-01"), 7.0],
    ]
    assert rows(fleet.pins, "vehicle_id", "job", "date", "pin") == [
        ["B1", "coolant-age", DAY("2026-11-16"), "pinned"],
        ["B2", "coolant-age", DAY("2026-11-16"), "forbidden"],
    ]
    assert rows(fleet.services_due, "vehicle_id", "what", "date", "odometer_mi") == [
        ["B1", "PM-A", DAY("2026-11-30"), None],
        ["B2", "PM-B", None, 100000.0],  # NIST SP 811: 1.609344 km a mile
    ]
    assert rows(fleet.policy, "figure", "value", "unit", "where_from", "cell") == [
        ["labour.rate", "165", "USD/h", "our door rate", "B2"]
    ]
    for words in ("goes by 'B9'", "lacks a readable vehicle id or bay or technician",
                  "lacks a readable pin", "lacks a readable figure"):  # fmt: skip
        assert words in told(fleet)
    assert rows(fleet.vehicles, "warranty_end", "value_usd", "open_recall") == [
        [DAY("2027-01-31"), 14500.0, ""],
        [None, None, "seat belt anchor, told owner"],
    ]


def test_without_such_sheets_the_frames_are_there_and_empty(book, read):
    fleet = read(book(V=VEHICLES[:1] + VEHICLES[2:]))
    for name in ("parts", "hours", "availability", "bays", "technicians", "fixed_dates", "pins",
                 "services_due", "policy"):  # fmt: skip
        assert len(getattr(fleet, name)) == 0
    assert str(fleet.availability["from_date"].dtype) == "datetime64[s]"
    assert str(fleet.parts["on_hand"].dtype) == "float64"
