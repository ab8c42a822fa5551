"""One vehicle explained at the terminal, for the advisor with the owner at the counter.

Everything from the fleet file is put as plain text, never as markup, so that no name or line can
colour, link or break the screen.
"""

from __future__ import annotations

from collections.abc import Iterator

from rich.console import Console, Group, RenderableType
from rich.padding import Padding
from rich.text import Text

from riskcheck.explain import HazardView, VehicleView
from riskcheck.reports import explain_sections as said
from riskcheck.reports import words
from riskcheck.reports.explain_terms import Line, shown, where
from riskcheck.sheets import one_line

WIDTH = 80
_STYLES = {"care": "bold", "chance": "bold"}


def page(view: VehicleView, audience: str = "counter", everything: bool = False) -> RenderableType:
    """The whole explanation, ready for a rich console of any width.

    Hazards that ask for nothing now are listed in a line each, unless ``everything``.
    """
    full = view.hazards if everything else view.pressing
    parts: list[RenderableType] = [*_heading(view)]
    for place, hazard in enumerate(full, start=1):
        parts += ["", *_hazard(hazard, place, view.horizon_months, audience)]
    look = said.combined_look(view)
    if look:
        parts += ["", hung(Text(f"One visit for several looks: {look}"), 0)]
    waiting = [] if everything else said.waiting(view)
    if waiting:
        parts += ["", Text("Also on the books: at one visit, or later", "bold")]
        parts += [
            hung(Text(f"{h.hazard.title}: {said.short(h, view.horizon_months, later=True)}"), 2)
            for h in waiting
        ]
    for told in said.silent(view):
        parts += ["", hung(Text(one_line(told)), 0)]
    parts += ["", Text("Cautions", "bold"), *(hung(Text(c), 2) for c in words.CAUTIONS)]
    return Group(*parts)


def lines(view: VehicleView, audience: str = "counter", everything: bool = False) -> list[str]:
    """The same as plain lines of at most 80 columns."""
    console = Console(width=WIDTH, color_system=None, highlight=False, markup=False, emoji=False)
    with console.capture() as capture:
        console.print(page(view, audience, everything))
    return [line.rstrip() for line in capture.get().splitlines()]


def _heading(view: VehicleView) -> Iterator[RenderableType]:
    vehicle = view.vehicle
    unit = f", unit {vehicle['unit']}" if vehicle["unit"] else ""
    head = f"{vehicle['vehicle_id']}{unit}: {said.name(view)}, {said.reading(view)}"
    yield hung(Text(one_line(shown(head)), "bold"), 0)
    place = f"Vehicle sheet {vehicle['sheet']!r}, row {vehicle['row']}; as of {view.as_of}"
    yield hung(Text(one_line(place)), 0)
    for correction in view.corrections:
        yield hung(Text(one_line(f"Set right: {said.correction(correction)}")), 0)
    for repair in view.repairs:
        now = f", now {repair.now}" if repair.now else ""
        told = f"{where(repair.source)}: was {shown(repair.was, 80)}{now}: {repair.reason}"
        yield hung(Text(one_line(told), "dim"), 0)


def _hazard(view: HazardView, place: int, months: int, audience: str) -> Iterator[RenderableType]:
    head = f"{place}. {view.hazard.title}"
    yield hung(Text(one_line(head), "bold"), 0)
    yield Text("-" * min(WIDTH, len(head)))
    yield hung(Text(one_line(said.headline(view)), "bold"), 2)
    for section in said.sections(view, months, audience):
        yield Text(f"  {section.title}", "underline")
        for line in section.lines:
            yield _item(line, _STYLES.get(section.key, ""))


def _item(line: Line, style: str) -> RenderableType:
    label = f"{line.label}: " if line.label else ""
    quote = f'"{line.quote}" ' if line.quote else ""
    told = Text("- ", style)
    if line.quote and line.text.startswith("read as"):
        told.append(one_line(quote))
        told.append(one_line(line.text))
    else:
        told.append(one_line(f"{label}{line.text}"))
        told.append(one_line(f". {quote}".rstrip() if quote else ""))
    if line.where:
        told.append(one_line(f" ({line.where})"), "dim")
    return hung(told, 4, 2)


def hung(text: Text, indent: int, hang: int = 2) -> RenderableType:
    """Text wrapped, with every further line indented by ``hang`` more columns."""
    text.overflow = "fold"
    return Padding(_Hung(text, hang), (0, 0, 0, indent))


class _Hung:
    """Wraps text to the width it is given, further lines indented."""

    def __init__(self, text: Text, hang: int) -> None:
        self._text, self._hang = text, hang

    def __rich_console__(self, console: Console, options: object) -> Iterator[RenderableType]:
        width = min(options.max_width, 100)  # type: ignore[attr-defined]
        wrapped = self._text.wrap(console, max(width - self._hang, 10))
        for place, part in enumerate(wrapped):
            part.rstrip()
            yield part if place == 0 else Text(" " * self._hang) + part
