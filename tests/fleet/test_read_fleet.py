"""Whole small workbooks through the reader; all data invented, expectations written by hand."""

import csv
import datetime as dt

import openpyxl
import pandas as pd
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from riskcheck.errors import InputError, UsageError
from riskcheck.fleet import read_fleet, to_contract_csvs
from riskcheck.fleet.blank import write_blank_workbook
from riskcheck.fleet.events import in_order, matching
from riskcheck.fleet.fields import KINDS
from riskcheck.fleet.mapping import parse_mapping, write_mapping
from riskcheck.vocabulary import Derivation, Fact, Vocabulary

AS_OF = dt.date(2026, 11, 1)
VOCABULARY = Vocabulary(
    {
        "road_salt": Fact(
            "road_salt", "flag", "driven on salt", Derivation("column"), "at_random",
            headings=("salted roads",),
        ),
        "strap_section_mm2": Fact(
            "strap_section_mm2", "number", "strap section", Derivation("column"), "at_random",
            unit="mm2", low=0, high=100,
        ),
    }
)  # fmt: skip


class Words:
    """A lexicon of one word, so that these tests are about sheets and not about wording."""

    def read(self, lines):
        hits = [number for number, line in enumerate(lines) if "belt" in line]
        marks = ["not_done" if "declined" in list(lines)[n] else "done" for n in hits]
        return pd.DataFrame(
            {
                "line_no": pd.Series(hits, dtype="int64"),
                "topic": pd.Series(["timing_belt"] * len(hits), dtype=object),
                "hazards": "timing-belt-overdue",
                "mark": pd.Series(marks, dtype=object),
                "quantity": "",
                "value": float("nan"),
                "unit": "",
                "words": "belt",
                "needs_attention": False,
            }
        )


def read(path, **more):
    return read_fleet(path, vocabulary=VOCABULARY, lexicon=Words(), as_of=AS_OF, **more)


def book(tmp_path, **sheets):
    path = tmp_path / "fleet.xlsx"
    made = openpyxl.Workbook()
    made.remove(made.active)
    for name, rows in sheets.items():
        sheet = made.create_sheet(name)
        for row in rows:
            sheet.append(row)
    made.save(path)
    return path


VEHICLES = [
    ["Vehicle ID", "Unit #", "VIN", "Make", "Model", "Year", "In service", "Salted roads"],
    ["V1", "007", "1M8GDM9AXKP042788", "Brackmoor", "T", 2015, dt.date(2015, 3, 1), "Y"],
    ["V2", "12", "1ZZAA1AA0AA000005", "Tovask", "U", 2010, "03/15/2012", "?"],
]
SERVICE = [
    ["Date", "Unit", "Mileage", "Description", "Invoice #", "Status"],
    ["03/15/2024", "7", "120,000", "replaced timing belt", 1, "closed"],
    ["04/05/2024", "12", "85k", "oil change", 2, "closed"],
]


def adds_up(fleet):
    for tally in fleet.tallies:
        assert tally.used + tally.repaired + tally.set_aside == tally.rows
    set_aside = fleet.problems[fleet.problems["action"] == "set_aside"]
    assert len(set_aside) == sum(tally.set_aside for tally in fleet.tallies)


def reasons(fleet, action="set_aside"):
    return fleet.problems.loc[fleet.problems["action"] == action, "reason"].str.cat(sep="\n")


def test_clean_workbook(tmp_path):
    fleet = read(book(tmp_path, Lorries=VEHICLES, Arbeit=SERVICE))
    assert fleet.vehicles["vehicle_id"].tolist() == ["V1", "V2"]
    assert fleet.vehicles["unit"].tolist() == ["007", "12"]
    assert fleet.vehicles["road_salt"].fillna("silent").tolist() == ["yes", "silent"]
    assert fleet.vehicles["in_service_lo"].tolist() == [
        pd.Timestamp("2015-03-01"),
        pd.Timestamp("2012-03-15"),
    ]
    assert fleet.service["vehicle_id"].tolist() == ["V1", "V2"]
    assert fleet.service["odometer_mi"].tolist() == [120000.0, 85000.0]
    assert fleet.events[["vehicle_id", "topic", "mark", "cell"]].to_numpy().tolist() == [
        ["V1", "timing_belt", "done", "D2"]
    ]
    assert fleet.coverage["from_date"].tolist()[0] == pd.Timestamp("2024-03-15")
    adds_up(fleet)


def test_messy_sheet_loses_nothing(tmp_path):
    service = [
        ["Shop export", None, None, None, None, None],
        [None] * 6,
        *SERVICE,
        SERVICE[0],
        ["05/06/2024", "99", 1000, "no such vehicle", 3, "closed"],
        ["", "12", 5000, "undated", 4, ""],
        ["03/15/2034", "12", 5000, "in the future", 4, ""],
        ["04/05/2024", "12", "85k", "oil change", 2, "closed"],
        ["06/06/2024", "12", None, "timing belt", 5, "estimate"],
        ["Total", None, 210000, None, None, None],
    ]
    fleet = read(book(tmp_path, Vehicles=VEHICLES, Work=service))
    assert fleet.service["line"].tolist() == ["replaced timing belt", "oil change", "timing belt"]
    assert fleet.events["mark"].tolist() == ["done", "recommended"]
    told = reasons(fleet)
    for words in ("title", "repeated inside", "no vehicle sheet row", "no readable date",
                  "after the as-of", "earlier row", "total or footer"):  # fmt: skip
        assert words in told
    adds_up(fleet)


def test_two_row_headings_and_blocks_on_one_sheet(tmp_path):
    rows = [
        ["Vehicle", None, "Model", "Odometer"],
        ["ID", "Make", "Year", "(km)"],
        ["V1", "Brackmoor", 2015, 160934.4],
        [None] * 4,
        ["Vehicle", "Date", "Work done", None],
        ["V1", "2024-03-15", "timing belt", None],
    ]
    fleet = read(book(tmp_path, Everything=rows))
    assert fleet.vehicles["odometer_mi"].tolist() == [100000.0]  # NIST SP 811
    assert fleet.vehicles["model_year"].tolist() == [2015]
    assert fleet.service["line"].tolist() == ["timing belt"]
    adds_up(fleet)


def test_flat_csv_with_semicolons_and_decimal_commas(tmp_path):
    path = tmp_path / "export.csv"
    lines = [
        "sep=;", "Unit;VIN;Make;Year;Date;Odometer km;Description",
        "0042;1M8GDM9AXKP042788;Brackmoor;2015;25.03.2024;197.000;timing belt",
        "0042;1M8GDM9AXKP042788;;2015;26.04.2024;198.000,5;oil; more", "",
    ]  # fmt: skip
    path.write_bytes("\r\n".join(lines).encode("cp1252"))
    fleet = read(path)
    assert fleet.vehicles[["vehicle_id", "make"]].to_numpy().tolist() == [["0042", "Brackmoor"]]
    assert fleet.service["odometer_mi"].round().tolist() == [122410.0, 123032.0]
    assert fleet.service["row"].tolist() == [3, 4]
    adds_up(fleet)


def test_folder_of_csvs_equals_the_workbook(tmp_path):
    folder = tmp_path / "folder"
    folder.mkdir()
    for name, rows in (("vehicles", VEHICLES), ("work", SERVICE)):
        with (folder / f"{name}.csv").open("w", newline="", encoding="utf-8") as file:
            csv.writer(file).writerows(rows)
    one, other = read(folder), read(book(tmp_path, vehicles=VEHICLES, work=SERVICE))
    same = ["vehicle_id", "date_lo", "date_hi", "odometer_mi", "line"]
    pd.testing.assert_frame_equal(one.service[same], other.service[same])


def test_what_cannot_be_used_is_said_in_one_paragraph(tmp_path):
    for sheets, words in (
        ({"A": [["x", "y"], [1, 2]]}, "no vehicle sheet"),
        ({"A": [["Make", "Model", "Year", "Odometer"], ["B", "T", 2015, 1000]]}, "--map"),
        ({"V": VEHICLES, "S": [["Unit", "Mileage", "Description", "Status"], ["7", 1, "x", ""]]},
         "looks like service history, but no column for date"),
        ({"A": []}, "nothing to read"),
    ):  # fmt: skip
        with pytest.raises(InputError, match=words) as caught:
            read(book(tmp_path, **sheets))
        assert "\n" not in str(caught.value)


def test_mapping_names_a_strange_heading(tmp_path):
    sheet = [["Gefährt", "Make", "Year"], ["V9", "Brackmoor", 2015]]
    with pytest.raises(InputError):
        read(book(tmp_path, A=sheet))
    fleet = read(book(tmp_path, A=sheet), mapping={"Gefährt": "vehicle_id"})
    assert fleet.vehicles["vehicle_id"].tolist() == ["V9"]
    assert "your mapping" in fleet.reports["how"].tolist()


def test_unsure_heading_is_reported_not_guessed(tmp_path):
    sheet = [[*VEHICLES[0], "Odometr raeding"], [*VEHICLES[1], 100000]]
    report = read(book(tmp_path, A=sheet)).reports.set_index("heading").loc["Odometr raeding"]
    assert report["field"] == "odometer" or "--map" in report["how"]


def test_two_vehicles_under_one_number_and_one_told_twice(tmp_path):
    sheet = [
        ["Unit", "VIN", "Make"],
        ["7", "1M8GDM9AXKP042788", "Brackmoor"],
        ["7", "1ZZAA1AA0AA000005", "Tovask"],
        ["8", "1ZZAA1AA1AA000014", "Tovask"],
        ["8", "1ZZAA1AA1AA000014", "Tovask"],
    ]
    work = [["VIN", "Date", "Work done"], ["1ZZAA1AA0AA000005", "2024-03-15", "timing belt"]]
    fleet = read(book(tmp_path, V=sheet, W=work))
    assert fleet.vehicles["vehicle_id"].tolist() == ["7", "7/000005", "8"]
    assert fleet.service["vehicle_id"].tolist() == ["7/000005"]
    adds_up(fleet)


@pytest.mark.parametrize(
    ("readings", "expected", "action"),
    [
        ([50000, 56000, 100000, 68000], [50000, 56000, 62137.1, 68000], "repaired"),  # km
        ([50000, 56000, 620000, 68000], [50000, 56000, 62000, 68000], "repaired"),  # tenfold
        ([50000, 56000, 6200, 68000], [50000, 56000, 62000, 68000], "repaired"),  # a tenth
        ([50000, 56000, 26000, 68000], [50000, 56000, None, 68000], "noted"),  # swapped digits
        ([50000, 56000, 56000, 68000], [50000, 56000, None, 68000], "noted"),  # copied forward
        ([50000, 95000, 140000, 185000], [50000, 95000, 140000, 185000], ""),  # a courier
    ],
)
def test_odometers_across_rows(tmp_path, readings, expected, action):
    """100,000 km are 62,137.1 miles (NIST SP 811); the other cases by inspection."""
    dates = ["2023-01-10", "2023-07-10", "2024-01-10", "2024-07-10"]
    work = [["Vehicle", "Date", "Odometer", "Work done"]]
    work += [["V1", day, miles, "oil"] for day, miles in zip(dates, readings, strict=True)]
    fleet = read(book(tmp_path, V=VEHICLES, W=work))
    assert (
        fleet.readings["odometer_mi"]
        .astype(object)
        .where(fleet.readings["odometer_mi"].notna(), None)
        .tolist()
        == expected
    )
    assert fleet.service["odometer_mi"].tolist() == pytest.approx(
        [float("nan") if miles is None else miles for miles in expected], nan_ok=True
    )
    here = fleet.problems[fleet.problems["cell"] == "C4"]["action"].tolist()
    assert here == ([action] if action else [])
    adds_up(fleet)


def test_contact_details_are_masked_in_problems(tmp_path):
    people = [["Customer ID", "Name", "Phone", "Email"], ["C1", "Ann Ebb", "ring Ann", "no mail"]]
    fleet = read(book(tmp_path, V=VEHICLES, P=people))
    told = fleet.problems.to_csv()
    assert "ring Ann" not in told
    assert "no mail" not in told
    assert "contact detail" in told


def test_contract_files_are_inert_and_reproducible(tmp_path):
    work = [*SERVICE, ["05/06/2024", "7", 121000, '=HYPERLINK("x")', 3, "closed"]]
    path = book(tmp_path, V=VEHICLES, W=work)
    first = [file.read_bytes() for file in to_contract_csvs(read(path), tmp_path / "a")]
    second = [file.read_bytes() for file in to_contract_csvs(read(path), tmp_path / "b")]
    assert first == second
    assert b"\"'=HYPERLINK(" in first[1] or b"=HYPERLINK" not in first[1]
    with (tmp_path / "a" / "service.csv").open(encoding="utf-8") as file:
        rows = list(csv.DictReader(file))
    assert rows[0]["date_lo"] == "2024-03-15"


def test_last_event_order():
    """Same day: a higher odometer, then the mark that ranks later (design order of marks)."""
    events = pd.DataFrame(
        {
            "vehicle_id": ["A", "A", "B", "B"],
            "date_hi": pd.to_datetime(["2024-01-01", "2024-01-01", "2024-01-01", "2023-01-01"]),
            "odometer_mi": [100.0, 100.0, 90.0, 200.0],
            "topic": "coolant",
            "mark": ["done", "finding", "checked_good", "done"],
        }
    )
    last = in_order(matching(events, ["coolant"])).drop_duplicates("vehicle_id", keep="last")
    marks = last.set_index("vehicle_id")["mark"].to_dict()
    assert marks == {"A": "done", "B": "checked_good"}
    assert len(matching(events, ["coolant"], ["done"])) == 2
    assert matching(events, ["tyre"]).empty


CELLS = st.one_of(
    st.none(), st.booleans(), st.integers(-10, 10**7), st.floats(allow_nan=False, width=32),
    st.dates(dt.date(1900, 1, 1)),
    st.sampled_from(["V1", "12", "=1+1", "Total", "Vehicle", "Date", "timing belt", "85k", "N/A",
                     "03/04/2024", "25/03/2024", "1M8GDM9AXKP042788", "-", "'", "[/x]", "",
                     "Unit 12", "Vehicle: V1", "1ZZAA1AA0AA000005", "999999", "1.2E+16"]),
    st.text(max_size=12),
)  # fmt: skip
HEADINGS = st.lists(
    st.sampled_from(["Vehicle", "Unit", "VIN", "Date", "Odometer", "Work done", "Make", "Year",
                     "Phone", "Customer", "Code", "Value", "Quantity", "Status", "", "Notes"]),
    min_size=2, max_size=7,
)  # fmt: skip


@settings(max_examples=25, deadline=None, suppress_health_check=list(HealthCheck))
@given(HEADINGS, st.lists(st.lists(CELLS, min_size=2, max_size=7), max_size=12))
def test_hostile_sheets_add_up_or_are_refused_in_words(tmp_path_factory, headings, rows):
    """Whatever stands in the cells: a paragraph for a person, or rows that add up."""
    path = tmp_path_factory.mktemp("hostile") / "fleet.csv"
    with path.open("w", newline="", encoding="utf-8", errors="replace") as file:
        csv.writer(file).writerows([headings, *rows])
    try:
        fleet = read(path)
    except InputError as error:
        assert "\n" not in str(error)  # noqa: PT017
        return
    adds_up(fleet)
    to_contract_csvs(fleet, path.parent / "out")


def test_blank_workbook_is_read_back_sheet_by_sheet(tmp_path):
    path = write_blank_workbook(tmp_path / "blank.xlsx", VOCABULARY)
    assert path.read_bytes() == write_blank_workbook(tmp_path / "b.xlsx", VOCABULARY).read_bytes()
    fleet = read(path)
    taken = set(fleet.reports["taken_for"])
    assert taken >= {kind.says for kind in KINDS}
    assert (fleet.reports.loc[fleet.reports["heading"] != "", "field"] != "").all()
    assert fleet.vehicles["vehicle_id"].tolist() == ["EXAMPLE-1"]
    assert fleet.parts["on_hand"].tolist() == [2.0]
    adds_up(fleet)


def test_mapping_file_is_offered_and_read_back(tmp_path):
    path = book(tmp_path, A=[["Gefährt", "Make", "Year", "Unit"], ["V9", "Brackmoor", 2015, "3"]])
    offered = write_mapping(read(path), tmp_path / "map.csv")
    text = offered.read_text(encoding="utf-8").replace('"Gefährt",""', '"Gefährt","vehicle_id"')
    offered.write_text(text, encoding="utf-8")
    mapping = parse_mapping([str(offered)], VOCABULARY)
    assert read(path, mapping=mapping).vehicles["vehicle_id"].tolist() == ["V9"]
    with pytest.raises(UsageError, match="no field is called"):
        parse_mapping(["Make=nonsense"], VOCABULARY)
