"""Pages in a real headless Chromium: silent, offline, two sheets, accessible, deaf to hostile text.

Accessibility is judged by axe-core 4 (its rules for WCAG 2.0 to 2.2, levels A and AA).
"""

from __future__ import annotations

import datetime as dt
import io
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, Page
from pypdf import PdfReader

from riskcheck import assessment, calm, explaining
from riskcheck.assessment import Assessment
from riskcheck.explain import VehicleView
from riskcheck.reports import page, page_index
from riskcheck.reports.explain_sections import AUDIENCES

TAGS = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]
WCAG = {"runOnly": {"type": "tag", "values": TAGS}}
STORIES = ("B31", "1201", "1206", "F31", "V31")
HOSTILE = {
    "script": "<script>window.hit=1</script>",
    "right to left": "\u202e\u05d1\u05d3\u05d9\u05e7\u05d4 7",
    "five thousand": "Q" * 5000,
    "emoji": "\U0001f69a\U0001f525 truck",
    "markup": "[/x][bold]unit 9[/bold] {{ 7*7 }} <img src=x onerror=window.hit=1>",
}


class Watched:
    """A page whose console messages, errors and requests are kept."""

    def __init__(self, browser: Browser, **options: Any) -> None:
        self.page: Page = browser.new_context(**options).new_page()
        self.said: list[str] = []
        self.asked: list[str] = []
        self.page.on("console", lambda message: self.said.append(message.text))
        self.page.on("pageerror", lambda error: self.said.append(str(error)))
        self.page.on("request", lambda request: self.asked.append(request.url))

    def open(self, file: Path) -> Page:
        self.page.goto(file.as_uri())
        return self.page

    def quiet(self, file: Path) -> bool:
        return self.said == [] and self.asked == [file.as_uri()]


def sheets(shown: Page, size: str) -> int:
    pdf = shown.pdf(format=size, prefer_css_page_size=False)
    return len(PdfReader(io.BytesIO(pdf)).pages)


@pytest.fixture(scope="module")
def files(
    views: dict[str, VehicleView], tmp_path_factory: pytest.TempPathFactory
) -> dict[str, Path]:
    """Pages of the stories and of the vehicle with the longest page, and one per audience."""
    folder = tmp_path_factory.mktemp("pages")
    longest = max(views, key=lambda name: sum(len(h.lines) + 5 for h in views[name].pressing))
    made = {}
    for name in (*STORIES, longest):
        made[name] = page.write(folder / f"{name}.html", page.html(views[name]))
    for audience in AUDIENCES:
        file = folder / f"1201-{audience}.html"
        made[audience] = page.write(file, page.html(views["1201"], audience))
    return made


def test_pages_open_without_a_word_or_a_request_and_print_on_two_sheets(
    browser: Browser, files: dict[str, Path]
) -> None:
    for name, file in files.items():
        watched = Watched(browser, java_script_enabled=False)
        shown = watched.open(file)
        assert shown.locator("h1").inner_text().startswith("Vehicle")
        assert sheets(shown, "Letter") <= 2, name
        assert sheets(shown, "A4") <= 2, name
        assert watched.quiet(file), (name, watched.said, watched.asked)


@pytest.mark.parametrize(
    ("name", "width", "scheme"),
    [
        ("1201", 360, "light"),
        ("B31", 1280, "dark"),
        ("owner", 360, "dark"),
        ("technician", 1280, "light"),
    ],
)
def test_pages_pass_axe_on_phone_and_desk_in_both_schemes(
    browser: Browser, files: dict[str, Path], name: str, width: int, scheme: str
) -> None:
    watched = Watched(browser, viewport={"width": width, "height": 800}, color_scheme=scheme)
    shown = watched.open(files[name])
    shown.evaluate("[...document.querySelectorAll('details')].slice(0, 2).forEach(d => d.open = 1)")
    result = Axe().run(shown, options=WCAG)
    assert result.violations_count == 0, result.generate_report()
    across = shown.evaluate("document.documentElement.scrollWidth")
    assert across <= width, f"scrolls sideways at {width} px"


def test_axe_would_have_said_something(browser: Browser, files: dict[str, Path]) -> None:
    """The same check on the same page with pale text and no language does find fault."""
    text = files["B31"].read_text(encoding="utf-8").replace(' lang="en"', "")
    watched = Watched(browser)
    watched.page.set_content(text.replace("</style>", "p { color: #bbb }</style>", 1))
    result = Axe().run(watched.page, options=WCAG)
    found = {violation["id"] for violation in result.response["violations"]}
    assert {"color-contrast", "html-has-lang"} <= found


def test_an_owner_is_told_calmly(views: dict[str, VehicleView], browser: Browser) -> None:
    """The checker of customer texts finds nothing to mend on an owner's page."""
    watched = Watched(browser)
    for name in STORIES:
        view = views[name]
        watched.page.set_content(page.html(view, "owner"))
        quoted = [item.words for h in view.hazards for item in h.evidence]
        for card in watched.page.locator("details").all():
            text = str(card.evaluate("card => card.textContent"))
            assert calm.faults(text, names=quoted) == (), name


@pytest.fixture(scope="module")
def hostile(tmp_path_factory: pytest.TempPathFactory) -> Assessment:
    """Vehicles and lines with names that would like to be something else."""
    book = openpyxl.Workbook()
    fleet = book.active
    fleet.title = "Vehicles"
    fleet.append(["Unit", "Make", "Model", "Engine", "Year", "In service", "Odometer"])
    lines = book.create_sheet("Service")
    lines.append(["Unit", "Date", "Odometer", "Description"])
    for name in HOSTILE.values():
        fleet.append([name, "Sturven", "Shuttle", "D5.9", 2014, dt.date(2014, 7, 21), 150000])
        lines.append([name, dt.date(2026, 7, 28), 149000, f"brake hoses bulging both frt {name}"])
    file = tmp_path_factory.mktemp("hostile") / "fleet.xlsx"
    book.save(file)
    return assessment.assess(file, as_of=dt.date(2026, 10, 1))


def test_hostile_names_are_inert_and_legible(
    browser: Browser, hostile: Assessment, tmp_path: Path
) -> None:
    index = explaining.write_all(hostile, tmp_path)
    watched = Watched(browser, viewport={"width": 360, "height": 800})
    listed = watched.open(index)
    links = listed.locator("#vehicles a").all()
    assert len(links) == len(HOSTILE)
    texts = [link.inner_text() for link in links]
    assert "<script>window.hit=1</script>" in texts
    assert "\U0001f69a\U0001f525 truck" in texts
    assert any(text.startswith("[/x][bold]unit 9[/bold] {{ 7*7 }} <img") for text in texts)
    assert any(
        "\u05d1\u05d3\u05d9\u05e7\u05d4 7" in text and "\u202e" not in text for text in texts
    )
    assert any(text.startswith("QQQQ") and "5,000 characters" in text for text in texts)
    assert listed.evaluate("document.documentElement.scrollWidth") <= 360
    for file in [tmp_path / str(link.get_attribute("href")) for link in links]:
        own = Watched(browser, viewport={"width": 360, "height": 800})
        shown = own.open(file)
        assert own.quiet(file), (own.said, own.asked)
        assert shown.evaluate("window.hit") is None
        assert shown.locator("main img, main script").count() == 0
        assert shown.evaluate("document.documentElement.scrollWidth") <= 360
        assert "bulging both frt" in shown.locator("main").inner_text()
        assert sheets(shown, "Letter") <= 2
    assert watched.quiet(index)


def test_the_index_sorts_and_searches_with_scripts_and_is_a_plain_table_without(
    browser: Browser, views: dict[str, VehicleView], tmp_path: Path
) -> None:
    entries = [page_index.entry(view, page_index.file_name(name)) for name, view in views.items()]
    (tmp_path / page_index.PLAN).write_text("<svg xmlns='http://www.w3.org/2000/svg'/>")
    file = page.write(
        tmp_path / page_index.INDEX, page_index.html(entries, "fleet.xlsx", "2026-10-01", tmp_path)
    )
    plain = Watched(browser, java_script_enabled=False)
    shown = plain.open(file)
    assert shown.locator("#vehicles tbody tr").count() == len(views)
    assert not shown.locator("#search").is_visible()
    assert shown.get_by_role("link", name="The plan as a picture").count() == 1
    watched = Watched(browser)
    live = watched.open(file)
    first = live.locator("#vehicles tbody tr").first
    best = min(v.pressing[0].row["rank"] for v in views.values() if v.pressing)
    lead = next(n for n, v in views.items() if v.pressing and v.pressing[0].row["rank"] == best)
    assert first.locator("th").inner_text() == lead
    live.get_by_role("button", name="Vehicle", exact=True).click()
    assert first.locator("th").inner_text() == "1001"
    live.fill("#search", "b31")
    assert live.locator("#vehicles tbody tr:visible").count() == 1
    assert live.locator("#count").inner_text() == f"1 of {len(views)} shown"
    result = Axe().run(live, options=WCAG)
    assert result.violations_count == 0, result.generate_report()
    assert watched.quiet(file), (watched.said, watched.asked)


def test_no_page_of_the_sample_names_an_address(pages: dict[str, str]) -> None:
    """Self-contained: nothing on the page points to anything outside it."""
    for text in pages.values():
        for word in ("src=", "http:", "https:", "@import", "url(", "<script", "<link"):
            assert word not in text, word
