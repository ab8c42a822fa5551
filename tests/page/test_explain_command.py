"""`riskcheck explain` as a person uses it: terminal, pipe, files, ledger, wrong usage."""

from __future__ import annotations

import datetime as dt
import io
import json
import re
from pathlib import Path

import openpyxl
import pytest
from pypdf import PdfReader
from rich.console import Console

from riskcheck import assessment, explaining
from riskcheck.cli.explain import _sensible
from riskcheck.errors import UsageError
from riskcheck.explain import VehicleView
from riskcheck.ledger import Correction, open_ledger
from riskcheck.reports import explain_json, explain_text, page, page_pdf


def test_a_pipe_gets_plain_lines_of_eighty_columns(views: dict[str, VehicleView]) -> None:
    for name in ("B31", "1201", "F31"):
        lines = explain_text.lines(views[name])
        assert max(map(len, lines)) <= 80
        assert not any("\x1b" in line or line != line.rstrip() for line in lines)


@pytest.mark.parametrize("width", [40, 80, 200])
def test_the_terminal_view_keeps_to_the_width_it_is_given(
    views: dict[str, VehicleView], width: int
) -> None:
    console = Console(width=width, file=io.StringIO(), color_system=None)
    with console.capture() as capture:
        console.print(explain_text.page(views["1201"]))
    assert max(len(line.rstrip()) for line in capture.get().splitlines()) <= min(width, 104)


def test_a_name_with_markup_is_shown_as_it_is_written(views: dict[str, VehicleView]) -> None:
    from dataclasses import replace

    view = views["B31"]
    vehicle = dict(view.vehicle) | {"unit": "[bold red]x[/] [/x]\x1b[31m"}
    text = "\n".join(explain_text.lines(replace(view, vehicle=vehicle)))
    assert "[bold red]x[/] [/x][31m" in text


def test_owner_page_has_no_rules_and_technician_page_no_sales_talk(
    views: dict[str, VehicleView],
) -> None:
    owner, technician = (page.html(views["1201"], who) for who in ("owner", "technician"))
    assert "Rules that fired" not in owner
    assert "Choices" in owner
    assert "Rules that fired" in technician
    assert "In plain words" not in technician


def test_the_pdf_has_at_most_two_sheets_and_the_same_bytes_each_time(
    views: dict[str, VehicleView],
) -> None:
    text = page.html(views["B31"], "owner", paper=True)
    first, again = page_pdf.rendered(text), page_pdf.rendered(text)
    assert first == again
    pages = PdfReader(io.BytesIO(first)).pages
    assert len(pages) <= 2
    words = re.sub(r"\s+", " ", "".join(leaf.extract_text() for leaf in pages))
    assert "Rubber brake hoses grow old" in words
    assert "Not to be driven until it has been looked at" in words


def test_pdf_without_weasyprint_says_how_to_get_it(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(__import__("sys").modules, "weasyprint", None)
    with pytest.raises(UsageError, match=r"riskcheck\[pdf\]"):
        page_pdf.rendered("<p>x</p>")


@pytest.mark.parametrize(
    ("options", "said"),
    [
        (("", None, "", None), "which vehicle"),
        (("B31", Path("out"), "", None), "leave the vehicle out"),
        (("B31", None, "B32", Path("x.html")), "--versus"),
    ],
)
def test_options_that_do_not_go_together_are_refused(
    options: tuple[str, Path | None, str, Path | None], said: str
) -> None:
    with pytest.raises(UsageError, match=said):
        _sensible(*options)


def small_fleet(folder: Path) -> Path:
    """One vehicle whose heater was changed, without a word about its ground."""
    book = openpyxl.Workbook()
    vehicles = book.active
    vehicles.title = "Vehicles"
    vehicles.append(["Unit", "Make", "Model", "Engine", "Year", "In service", "Odometer"])
    since = dt.date(2012, 5, 14)
    vehicles.append(["1201", "Brackmoor", "Haul 25", "D6.6", 2012, since, 168717])
    lines = book.create_sheet("Service")
    lines.append(["Unit", "Date", "Odometer", "Description"])
    done = "captive stud grid heater upgrade installed"
    lines.append(["1201", dt.date(2025, 5, 20), 162653, done])
    book.save(folder / "fleet.xlsx")
    return folder / "fleet.xlsx"


def test_a_correction_is_shown_with_who_and_when_and_outranks_the_record(tmp_path: Path) -> None:
    source = small_fleet(tmp_path)
    said = Correction("1201", "heater_ground_fitted", "yes", "seen on the bench")
    at = dt.datetime(2026, 9, 30, 10, 0)
    with open_ledger(tmp_path / "ledger.sqlite") as ledger:
        ledger.add_correction(said, at=at, by="Ana")
        result = explaining.assessed(source, as_of=dt.date(2026, 10, 1), ledger=ledger)
    view = assessment.explain(result, "1201")
    told = explain_json.vehicle(view)["corrections"][0]
    assert (told["by"], told["at"], told["because"]) == ("Ana", "2026-09-30", "seen on the bench")
    shown = page.html(view)
    assert "by Ana on 2026-09-30: seen on the bench" in shown
    hazard = next(h for h in view.hazards if h.hazard.id == "replacement-heater-no-ground")
    assert hazard.row["status"] == "unproven"
    assert any(item.how == "correction" for item in hazard.evidence)
    assert any("by Ana on 2026-09-30" in " ".join(line.split()) for line in
               [" ".join(explain_text.lines(view))])  # fmt: skip
    assert json.dumps(explain_json.vehicle(view), allow_nan=False)
