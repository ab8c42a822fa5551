"""The page says what the JSON says, the JSON what exposures.csv says, and every quote is a cell."""

from __future__ import annotations

import csv
import html.parser
import json
import math
from pathlib import Path
from typing import Any

import openpyxl
import pytest

from riskcheck.assessment import DECIMALS, Assessment, write
from riskcheck.explain import VehicleView
from riskcheck.reports import page

Told = dict[str, dict[str, Any]]


class Marked(html.parser.HTMLParser):
    """Text of every element with a ``data-at``, in order."""

    def __init__(self) -> None:
        super().__init__()
        self.found: list[tuple[str, str]] = []
        self._open = ""

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        at = dict(attrs).get("data-at")
        if at:
            self._open = at
            self.found.append((at, ""))

    def handle_endtag(self, tag: str) -> None:
        if tag in ("span", "li"):
            self._open = ""

    def handle_data(self, data: str) -> None:
        if self._open:
            at, text = self.found[-1]
            self.found[-1] = (at, text + data)


def marked(page_html: str) -> list[tuple[str, str]]:
    parser = Marked()
    parser.feed(page_html)
    return parser.found


def at(told: Any, path: str) -> Any:
    for step in path.split("/"):
        told = told[int(step)] if isinstance(told, list) else told[step]
    return told


def rounded(value: float) -> int:
    """Half up, as a person rounds; written here anew to stand apart from the product's own."""
    return math.floor(value + 0.5)


def many(p: float, of: int) -> str:
    if p <= 0:
        return "0"
    if p >= 1:
        return f"{of:,}"
    if p * of < 0.5:
        return "fewer than 1"
    if p * of >= of - 0.5:
        return f"more than {of - 1:,}"
    return f"{rounded(p * of):,}"


def chance_words(chance: dict[str, float], of: int) -> tuple[str, str]:
    middle = many(chance["p"], of)
    return f"{middle} of {of:,}", f"({many(chance['low'], of)} to {many(chance['high'], of)})"


def sure(hazard: dict[str, Any]) -> bool:
    """Whether it applies to more than 95 of 100, so that the range is not that of the doubt."""
    weight: float = hazard["exposure"]["exposed_weight"]
    return weight >= 0.955


def denominator(hazard: dict[str, Any]) -> int:
    """One denominator for all figures of a hazard: 1,000 as soon as one is below 1 of 100."""
    if not hazard["chances"]:
        return 100
    told = [hazard["if_it_applies"]]
    if sure(hazard):
        told = [*hazard["chances"], *([hazard["by_look"]] if hazard["by_look"] else [])]
    figures = [chance[name] for chance in told for name in ("p", "low", "high")]
    figures += [] if sure(hazard) else [hazard["exposure"]["exposed_weight"]]
    return 1000 if any(0 < figure < 0.01 for figure in figures) else 100


def dollars(value: float) -> str:
    return f"${round(value):,}"


def test_every_marked_figure_of_every_page_is_the_figure_of_the_json(
    pages: dict[str, str], told: Told
) -> None:
    """Words are worked out here from the JSON alone and must stand on the page."""
    checked = dict.fromkeys(
        ("chances", "by_look", "if_it_applies", "applies", "price", "waits", "exposure", "short"), 0
    )
    for name, shown in pages.items():
        for path, text in marked(shown):
            kind = check(told[name], path, text)
            if kind in checked:
                checked[kind] += 1
    least = {
        "chances": 600, "by_look": 80, "if_it_applies": 300, "applies": 600, "price": 500,
        "waits": 300, "exposure": 600, "short": 500,
    }  # fmt: skip
    assert all(checked[kind] > count for kind, count in least.items()), checked


def check(vehicle: dict[str, Any], path: str, text: str) -> str:
    """Hold one marked text against the JSON; returns what kind of figure it was."""
    steps = path.split("/")
    if steps[0] != "hazards":
        assert at(vehicle, path) is not None, path
        return steps[0]
    hazard = vehicle["hazards"][int(steps[1])]
    of = denominator(hazard)
    if steps[2] in ("chances", "by_look", "if_it_applies"):
        middle, span = chance_words(at(vehicle, path), of)
        assert middle in text, (path, text)
        assert span in text, (path, text)
        return steps[2]
    if steps[-1] in ("exposed_weight", "probability"):
        assert f"{many(at(vehicle, path), of)} of {of:,}" in text, (path, text)
        return "applies"
    if steps[-1] == "price":
        price = at(vehicle, path)
        words = f"{dollars(price['value'])} ({dollars(price['low'])} to {dollars(price['high'])})"
        assert words in text, (path, text)
        return "price"
    if steps[2] == "waits":
        for wait in hazard["waits"]:
            assert dollars(abs(wait["usd"])) in text, (path, text)
        return "waits"
    if steps[2] in ("short", "later"):
        check_short(hazard, text, of, look=steps[2] == "short")
        return "short"
    if steps[2] == "exposure":
        value = at(vehicle, path)
        shown = f"{value:,.0f}" if isinstance(value, float) and value >= 20 else value
        if isinstance(shown, float):
            shown = f"{shown:.1f}".removesuffix(".0")
        assert str(shown) in text, (path, text)
        return "exposure"
    if steps[2] == "evidence":
        assert at(vehicle, path)["value"].replace("_", " ") in text, (path, text)
    else:
        assert at(vehicle, path) is not None, path
    return steps[2]


def check_short(hazard: dict[str, Any], text: str, of: int, *, look: bool) -> None:
    if hazard["exposure"]["evidence"] == "confirmed":
        assert text.startswith("found on this vehicle")
    if hazard["exposure"]["evidence"] == "confirmed" or not hazard["chances"]:
        return
    told = hazard["chances"][-1] if sure(hazard) else hazard["if_it_applies"]
    if not sure(hazard):
        weight = hazard["exposure"]["exposed_weight"]
        assert f"{many(weight, of)} of {of:,} described like it" in text
    if told["high"] - told["low"] > 0.8:  # a range that informs nobody
        assert "not known" in text
        return
    assert chance_words(told, of)[0] in text
    assert chance_words(told, of)[1] in text
    if look and sure(hazard) and hazard["by_look"]:
        share = hazard["by_look"]
        span = f"{many(share['p'], of)} ({many(share['low'], of)} to {many(share['high'], of)})"
        assert (
            text.split("a look today would find it on ")[1].removeprefix("about ").startswith(span)
        )


def test_a_look_finds_its_share_of_what_is_there(told: Told, assessed: Assessment) -> None:
    """Chance that a look finds it = chance that it is there times the share that a look finds."""
    compared = 0
    for vehicle in told.values():
        for hazard in vehicle["hazards"]:
            look = assessed.rulebook.hazards[hazard["id"]].look
            if hazard["by_look"] is None or look is None:
                continue
            row = hazard["exposure"]
            there = (row["probability_now"], row["x_now_low"], row["x_now_high"])
            for name, share in zip(("p", "low", "high"), there, strict=True):
                expected = look.finds.value * share
                assert math.isclose(hazard["by_look"][name], expected, abs_tol=1e-12)
            compared += 1
    assert compared > 1000


def test_the_json_says_what_exposures_csv_says(
    assessed: Assessment, told: Told, tmp_path: Path
) -> None:
    files = write(assessed, tmp_path)
    with files["exposures.csv"].open(encoding="utf-8", newline="") as file:
        rows = {(row["vehicle_id"], row["hazard_id"]): row for row in csv.DictReader(file)}
    compared = 0
    for name, vehicle in told.items():
        for hazard in vehicle["hazards"]:
            row = rows[(name, hazard["id"])]
            for column, written in row.items():
                assert same(hazard["exposure"][column], written, column), (name, column, written)
                compared += 1
            for chance in hazard["chances"]:
                if chance["months"] == 12:
                    assert f"{chance['p']:.8f}" == row["probability_12m"]
    assert compared > 50_000


def same(value: Any, written: str, column: str) -> bool:
    if value is None:
        return written == ""
    if isinstance(value, float) and column in DECIMALS:
        return math.isclose(value, float(written), rel_tol=0, abs_tol=0.6 * 10 ** -DECIMALS[column])
    return str(value) == written


def test_every_quoted_cell_of_the_sample_exists_and_holds_the_words(
    assessed: Assessment, told: Told
) -> None:
    """Read with openpyxl here; riskcheck reads with another library."""
    book = openpyxl.load_workbook(assessed.path, data_only=True)
    quoted = 0
    for name, vehicle in told.items():
        for hazard in vehicle["hazards"]:
            for item in [*hazard["evidence"], *hazard["record"]]:
                if item.get("how", "sheet") != "sheet":
                    continue
                cell = book[item["sheet"]][item["cell"]].value
                whole = isinstance(cell, float) and cell.is_integer()
                text = " ".join(str(int(cell) if whole else cell).split())
                assert item["words"], (name, item)
                assert item["words"] in text, (name, item, text)
                quoted += 1
        reading, since = vehicle["reading"], vehicle["in_service"]
        assert reading is None or book[reading["sheet"]][reading["cell"]].value is not None
        assert since is None or book[since[1]["sheet"]][since[1]["cell"]].value is not None
    assert quoted > 5_000


def test_the_json_holds_no_number_that_json_cannot_say(told: Told) -> None:
    for vehicle in told.values():
        json.dumps(vehicle, allow_nan=False)


def test_a_line_is_quoted_whole_with_the_words_read(
    views: dict[str, VehicleView],
) -> None:
    """A line that says "not replaced" stands there with its reason, and with its reading."""
    shown = page.html(views["B31"])
    assert "<q><bdi>brake hose NOT replaced - part B/O</bdi></q>" in shown
    assert "read as: not done (brake hose), by the words &#39;brake hose NOT replaced&#39;" in shown


@pytest.mark.parametrize("name", ["1201", "B31"])
def test_the_same_view_gives_the_same_bytes(views: dict[str, VehicleView], name: str) -> None:
    from riskcheck.reports import page_curve

    first = page.html(views[name])
    page_curve._drawn.cache_clear()
    assert page.html(views[name]) == first
