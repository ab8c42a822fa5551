"""`riskcheck explain`: why one vehicle is on the list, at the terminal or as a page."""

from __future__ import annotations

import json
import os
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Literal

import typer

from riskcheck import errors
from riskcheck.cli.options import (
    AsOfOption,
    EverythingOption,
    FleetArgument,
    HorizonOption,
    JsonOption,
    LedgerOption,
    MapOption,
    NoLedgerOption,
    RulesOption,
    judged_day,
)
from riskcheck.cli.progress import stages

if TYPE_CHECKING:
    from rich.console import RenderableType

    from riskcheck.assessment import Assessment
    from riskcheck.explain.twin import TwinView

PLAIN_WIDTH = 80
AudienceOption = Annotated[
    Literal["counter", "owner", "technician"],
    typer.Option("--for", help="Whom it is for: counter shows everything."),
]
HtmlOption = Annotated[
    Path | None, typer.Option("--html", help="Write one self-contained page to this file.")
]
PdfOption = Annotated[
    Path | None, typer.Option("--pdf", help="Write the same page as PDF (needs riskcheck[pdf]).")
]
VersusOption = Annotated[
    str, typer.Option("--versus", help="Only what differs from this other vehicle.")
]
AllOption = Annotated[
    Path | None, typer.Option("--all", help="Write a page per vehicle and an index here.")
]


def explain(
    fleet: FleetArgument,
    vehicle: Annotated[
        str, typer.Argument(help="Vehicle id, unit number, plate, VIN or its last eight.")
    ] = "",
    rules: RulesOption = None,
    as_of: AsOfOption = None,
    horizon: HorizonOption = 12,
    map_: MapOption = None,
    audience: AudienceOption = "counter",
    html: HtmlOption = None,
    pdf: PdfOption = None,
    versus: VersusOption = "",
    all_: AllOption = None,
    everything: EverythingOption = False,
    ledger: LedgerOption = None,
    no_ledger: NoLedgerOption = False,
    as_json: JsonOption = False,
) -> int:
    """Say why one vehicle is on the list: evidence, rules, chance, cost, proof, cautions.

    Example: riskcheck explain sample_data/fleet.xlsx BUS-07 --as-of 2026-10-01 --html bus-07.html
    """
    from riskcheck import explaining
    from riskcheck.cli.ledger_place import ledger_if_any

    _sensible(vehicle, all_, versus, html or pdf)
    with stages(quiet=False) as progress, ledger_if_any(ledger, fleet, no_ledger) as kept:
        result = explaining.assessed(
            fleet,
            as_of=judged_day(as_of),
            ledger=kept,
            horizon_months=horizon,
            rules=rules or [],
            mapping=map_ or (),
            progress=progress,
        )
        if all_ is not None:
            index = explaining.write_all(result, all_, audience, progress)
    if all_ is not None:
        sys.stdout.write(f"wrote {index} and a page for every vehicle\n")
    elif versus:
        _versus(explaining.beside(result, vehicle, versus), horizon, as_json)
    else:
        _one(result, vehicle, audience, (html, pdf), (as_json, everything))
    return errors.EXIT_NO_ANSWER if result.unsure else errors.EXIT_DONE


def _one(
    result: Assessment,
    vehicle: str,
    audience: str,
    files: tuple[Path | None, Path | None],
    how: tuple[bool, bool],
) -> None:
    """Show one vehicle, or write it to ``files`` (HTML, PDF)."""
    from riskcheck import assessment
    from riskcheck.reports import explain_json, explain_text, page, page_pdf

    view = assessment.explain(result, vehicle)
    html, pdf = files
    as_json, everything = how
    written = []
    if html is not None:
        written.append(page.write(html, page.html(view, audience)))
    if pdf is not None:
        written.append(page_pdf.write(pdf, page.html(view, audience, paper=True)))
    if as_json:
        sys.stdout.write(json.dumps(explain_json.vehicle(view), indent=2) + "\n")
    elif written:
        sys.stdout.write("".join(f"wrote {path}\n" for path in written))
    else:
        show(explain_text.page(view, audience, everything))


def _versus(view: TwinView, months: int, as_json: bool) -> None:
    from riskcheck.reports import explain_twin

    if as_json:
        sys.stdout.write(json.dumps(explain_twin.json_of(view), indent=2) + "\n")
    else:
        show(explain_twin.page(view, months))


def _sensible(vehicle: str, all_: Path | None, versus: str, written: Path | None) -> None:
    """Raises UsageError for options that do not go together."""
    if not vehicle and all_ is None:
        raise errors.UsageError("Say which vehicle, or write a page for each with --all DIR.")
    if vehicle and all_ is not None:
        raise errors.UsageError("--all writes a page for every vehicle: leave the vehicle out.")
    if versus and (all_ is not None or written is not None):
        raise errors.UsageError("--versus compares two vehicles on the terminal or with --json.")


def show(told: RenderableType) -> None:
    """Print for a terminal as wide as it is, for a pipe as plain text of 80 columns."""
    from rich.console import Console

    terminal = sys.stdout.isatty()
    console = Console(
        file=sys.stdout,
        width=None if terminal else PLAIN_WIDTH,
        color_system="auto" if terminal else None,
        no_color=bool(os.environ.get("NO_COLOR")) or None,
        highlight=False,
        markup=False,
        emoji=False,
    )
    if terminal:
        console.print(told)
        return
    with console.capture() as capture:
        console.print(told)
    lines = (line.rstrip() for line in capture.get().splitlines())
    sys.stdout.write("\n".join(lines) + "\n")
