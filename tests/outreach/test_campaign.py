"""The campaign as files: consent, inert text, hidden people, and a memory that repeats itself."""

from __future__ import annotations

import csv
import datetime as dt
import email
import email.policy
import io
import re
from pathlib import Path

import openpyxl
import pytest

from riskcheck import calm, remembering
from riskcheck.actions.kept_typing import holds_typing
from riskcheck.ledger import Ledger
from riskcheck.outreaching import Campaign, Wanted, outreach, write
from riskcheck.reports import outreach_calendar
from riskcheck.reports.messages import greeting
from riskcheck.risk.policy_sheet import HEADINGS

AS_OF = dt.date(2026, 10, 1)
AT = dt.datetime(2026, 10, 1, 9, 30)
ONLY = ("brake-hose-ageing", "tyre-age-tread", "timing-belt-overdue")
FORMULA = '=HYPERLINK("http://example.org/x","click")'
SECRETS = (
    "HYPERLINK", "Bertil", "Quernstone", "Cleva", "Dorrit", "Ewart", "Quince", "55501", "5550",
    "example.com", "U901", "U905", "0S7SS9D40EA99", "works nights", "declined",
)  # fmt: skip


@pytest.fixture(scope="module")
def sent(campaign: Campaign, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Everything that can be written, in one folder."""
    from riskcheck.ledger import open_ledger

    out = tmp_path_factory.mktemp("sent")
    wanted = Wanted(messages=out / "messages", calendar=out / "f.ics", redact=True, caller="Dana")
    with open_ledger(out / "ledger.sqlite") as ledger:
        write(campaign, out, ledger=ledger, at=AT, wanted=wanted)
    return out


def table(path: Path) -> list[dict[str, str]]:
    raw = path.read_bytes()
    assert raw.startswith(b"\xef\xbb\xbf")  # merge programs take UTF-8 only with a mark
    return list(csv.DictReader(io.StringIO(raw.decode("utf-8-sig"))))


def test_a_message_by_machine_needs_a_consent_with_its_source(
    campaign: Campaign, sent: Path
) -> None:
    """C2 agreed to texts, C3 to e-mail, C5 to nothing and C4 opted out."""
    said = {"C1": "Y", "C2": "Y"}
    contacts = campaign.run.outreach.calls.set_index("customer_id")
    texts = table(sent / "messages/texts.csv")
    assert texts
    for row in texts:
        who = contacts[contacts["call"] == int(row["call"])].index[0]
        assert said[who] == "Y"
        assert row["consent_source"] == "customer sheet"
        assert re.fullmatch(r"\+1406555\d{4}", row["phone"])
        assert (row["not_before"], row["not_after"]) == ("08:00", "21:00")  # 47 CFR 64.1200(c)(1)
        assert row["time_zone"] == "America/Denver"
        assert "STOP" in row["message"]
    mails = sorted((sent / "messages/emails").glob("*.eml"))
    assert [contacts.loc["C3", "call"]] == [int(path.name[:3]) for path in mails]


def test_an_email_draft_is_a_standard_message_with_a_way_out(sent: Path) -> None:
    """RFC 5322 header fields, read by the standard library; 15 USC 7704(a)(5): postal address."""
    path = next((sent / "messages/emails").glob("*.eml"))
    mail = email.message_from_bytes(path.read_bytes(), policy=email.policy.default)
    assert mail["To"].addresses[0].addr_spec == "cleva@example.com"
    assert mail["From"].addresses[0].addr_spec == "desk@example.org"
    assert mail["Subject"] and mail["Date"] and mail["Message-ID"]  # noqa: PT018
    assert mail["List-Unsubscribe"].startswith("<mailto:desk@example.org")
    body = mail.get_content()
    assert "4 Teasel Lane, Sedgewater" in body
    assert "STOP" in body
    assert "Cleva Will Fail Recall" in body  # a name is nobody's claim


def test_every_message_and_call_sheet_is_calm(campaign: Campaign, sent: Path) -> None:
    names = [str(name) for name in campaign.run.fleet.customers["name"]]
    pages = [
        page
        for name in ("phone-scripts.txt", "letters.txt")
        for page in (sent / "messages" / name).read_text(encoding="utf-8").split("\f")
    ]
    book = openpyxl.load_workbook(sent / "outreach.xlsx")
    cells = [
        str(cell.value)
        for name in ("Safety first", "Said no before", "Call to book", "Worth a look")
        if name in book.sheetnames
        for row in book[name].iter_rows(min_row=4)
        for cell in row
        if cell.value is not None
    ]
    assert len(pages) >= 2
    assert len(cells) > 10
    assert [calm.faults(text, names=names) for text in (*pages, *cells) if
            calm.faults(text, names=names)] == []  # fmt: skip


def test_text_that_looks_like_a_formula_is_inert_and_comes_back_unchanged(sent: Path) -> None:
    book = openpyxl.load_workbook(sent / "outreach.xlsx")
    cells = [cell for sheet in book for row in sheet.iter_rows() for cell in row]
    assert [cell.coordinate for cell in cells if cell.data_type == "f"] == []
    assert any(FORMULA in str(cell.value) for cell in cells)
    for path in (sent / "outreach.csv", *(sent / "messages").glob("*.csv")):
        text = path.read_text(encoding="utf-8-sig")
        for row in csv.reader(io.StringIO(text)):
            for field in row:
                signed = re.fullmatch(r"[+-]?\d+([.,]\d+)?", field)
                assert signed or not re.match(r"[ ]*[=+\-@\t\r]", field)


def test_the_list_without_people_names_nobody(sent: Path) -> None:
    book = openpyxl.load_workbook(sent / "outreach-redacted.xlsx")
    cells = [str(cell.value) for sheet in book for row in sheet.iter_rows() for cell in row]
    text = "\n".join([*cells, (sent / "outreach-redacted.csv").read_text(encoding="utf-8")])
    assert "Customer 1" in text
    assert [secret for secret in SECRETS if secret in text] == []


def test_the_calendar_keeps_the_rules_of_rfc_5545(sent: Path, campaign: Campaign) -> None:
    """Sections 3.1 (lines of at most 75 octets, CRLF), 3.4, 3.6 and 3.6.1 (what must be there)."""
    raw = (sent / "f.ics").read_bytes()
    assert raw.endswith(b"\r\n")
    assert b"\n" not in raw.replace(b"\r\n", b"")
    assert max(len(line) for line in raw.split(b"\r\n")) <= 75
    lines = raw.decode("utf-8").replace("\r\n ", "").split("\r\n")[:-1]
    assert lines[0] == "BEGIN:VCALENDAR"
    assert lines[-1] == "END:VCALENDAR"
    assert {"VERSION:2.0", f"PRODID:{outreach_calendar.PRODUCT}"} < set(lines)
    events = "\n".join(lines).split("BEGIN:VEVENT\n")[1:]
    assert len(events) == (campaign.run.outreach.calls["act_by_date"] != "").sum()
    uids = []
    for event in events:
        fields = dict(line.split(":", 1) for line in event.split("\n") if ":" in line)
        assert {"UID", "DTSTAMP", "SUMMARY", "END"} <= set(fields)
        assert re.fullmatch(r"\d{8}T\d{6}Z", fields["DTSTAMP"])
        start, end = fields["DTSTART;VALUE=DATE"], fields["DTEND;VALUE=DATE"]
        assert dt.date.fromisoformat(end) - dt.date.fromisoformat(start) == dt.timedelta(days=1)
        assert not re.search(r"(?<!\\)[,;]", fields["SUMMARY"])
        uids.append(fields["UID"])
    assert len(uids) == len(set(uids))


def test_every_typed_row_has_a_key_of_its_own_that_the_hidden_sheet_explains(sent: Path) -> None:
    book = openpyxl.load_workbook(sent / "outreach.xlsx")
    explained = {row[0].value for row in book["Row keys"].iter_rows(min_row=2)}
    found = []
    for sheet in book:
        for row in sheet.iter_rows():
            texts = [cell.value for cell in row]
            if "Result" in texts:
                at = texts.index("Row key")
                assert texts[texts.index("Result"):at + 1] == [
                    "Result", "Date", "Note", "Next step", "Row key",
                ]  # fmt: skip
                letter = row[at].column_letter
                assert sheet.column_dimensions[letter].hidden
                found += [c.value for c in sheet[letter][row[0].row :] if c.value]
    assert len(found) > 10
    assert len(found) == len(set(found))
    assert set(found) <= explained


def test_the_same_run_on_the_same_ledger_writes_the_same_bytes(
    campaign: Campaign, fleet_file: Path, shop_rules: Path, tmp_path: Path, ledger: Ledger
) -> None:
    written = []
    for number in (1, 2):
        made = campaign
        if number == 2:
            made = outreach(fleet_file, as_of=AS_OF, ledger=ledger, rules=[shop_rules], only=ONLY)
        out = tmp_path / str(number)
        wanted = Wanted(messages=out / "messages", calendar=out / "f.ics", redact=True)
        write(made, out, ledger=ledger, at=AT + dt.timedelta(hours=number), wanted=wanted)
        files = sorted(path for path in out.rglob("*") if path.is_file())
        written.append({str(path.relative_to(out)): path.read_bytes() for path in files})
    assert written[0].keys() == written[1].keys()
    assert [name for name in written[0] if written[0][name] != written[1][name]] == []
    assert len(ledger.runs()) == 1


def test_a_workbook_with_typing_is_left_alone_until_it_is_recorded(
    campaign: Campaign, tmp_path: Path, ledger: Ledger
) -> None:
    first = write(campaign, tmp_path, ledger=ledger, at=AT)
    path = first.files["outreach.xlsx"]
    assert not holds_typing(path, AS_OF)
    again = write(campaign, tmp_path, ledger=ledger, at=AT)
    assert again.files["outreach.xlsx"] == path  # nothing typed: replaced in place
    book = openpyxl.load_workbook(path)
    sheet = book["Safety first"]
    heading = next(row for row in sheet.iter_rows() if row[0].value == "Call")
    place = [cell.value for cell in heading].index("Note")
    sheet.cell(heading[0].row + 1, place + 1, "spoke to his brother")
    book.save(path)
    before = path.read_bytes()
    assert holds_typing(path, AS_OF)  # so `assess`, which knows no ledger, leaves it alone too
    assert not holds_typing(path.with_name("none.xlsx"), AS_OF)
    third = write(campaign, tmp_path, ledger=ledger, at=AT)
    assert path.read_bytes() == before
    assert third.files["outreach.xlsx"].name == "outreach-2026-10-01.xlsx"
    assert "riskcheck record" in third.notes[0]


def test_what_was_recorded_is_remembered_by_the_next_list(
    campaign: Campaign, fleet_file: Path, shop_rules: Path, tmp_path: Path, ledger: Ledger
) -> None:
    """A no on the call sheet keeps the customer off the next list; the safety find stays."""

    made = campaign
    path = write(made, tmp_path, ledger=ledger, at=AT).files["outreach.xlsx"]
    book = openpyxl.load_workbook(path)
    for sheet in book:
        heading = [row for row in sheet.iter_rows() if row[0].value == "Call"]
        if sheet.sheet_state == "visible" and heading and sheet.title != "Vehicle by vehicle":
            texts = [cell.value for cell in heading[0]]
            for row in sheet.iter_rows(min_row=heading[0][0].row + 1):
                row[texts.index("Result")].value = "said no for now"
                row[texts.index("Date")].value = dt.datetime(2026, 10, 2)
    book.save(path)
    remembering.record_workbooks(ledger, [path], at=AT, by="Dana")
    later = dt.date(2026, 10, 14)  # the day before the frost date, which would be a change
    second = outreach(fleet_file, as_of=later, ledger=ledger, rules=[shop_rules], only=ONLY)
    assert second.compared_with[1] == "2026-10-01"
    found = remembering.changes(ledger, second.run, second.compared_with[0])
    assert second.moved == found.counts
    before, after = made.run.outreach.calls, second.run.outreach.calls
    assert set(before["customer_id"]) >= {"C1", "C2", "C3", "C5"}
    assert after["customer_id"].tolist() == ["C5"]
    assert after["last_result"].tolist() == ["declined"]
    quiet = second.run.outreach.not_called.set_index("customer_id")["reason"]
    assert quiet[["C1", "C2", "C3"]].tolist() == ["nothing_changed"] * 3


@pytest.mark.parametrize(
    ("name", "said"),
    [("Quernstone, Bertil", "Bertil Quernstone"), ("Bertil Quernstone", "Bertil Quernstone"),
     ("Quern, Stone, and Sons", "Quern, Stone, and Sons"), ("", "customer")],
)  # fmt: skip
def test_a_letter_greets_people_by_their_name(name: str, said: str) -> None:
    assert greeting(name) == said


def test_the_owners_policy_sheet_holds_for_a_campaign_too(
    fleet_file: Path, shop_rules: Path, tmp_path: Path, ledger: Ledger
) -> None:
    """One attempt in two weeks: the safety call stays, every other contact waits for room."""
    book = openpyxl.load_workbook(fleet_file)
    sheet = book.create_sheet("What we charge")
    for row in (list(HEADINGS), ["Calls a day", 0.1, "", "we are two"]):
        sheet.append(row)
    book.save(tmp_path / "own.xlsx")
    made = outreach(
        tmp_path / "own.xlsx", as_of=AS_OF, ledger=ledger, rules=[shop_rules], only=ONLY
    )
    assert made.run.rulebook.policy.calls_per_day.value == pytest.approx(0.1)
    assert made.run.outreach.calls["need"].tolist() == ["safety"]
    waiting = made.run.outreach.not_called
    assert waiting.loc[waiting["reason"].eq("no_room"), "contact"].tolist() == ["C1", "C2", "C3"]
