"""``riskcheck rules diff``: what two rulebooks say differently, and what that does to a fleet."""

from __future__ import annotations

import json
import sys
from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from riskcheck.cli.options import AsOfOption, HorizonOption, JsonOption, MapOption, judged_day
from riskcheck.cli.progress import stages
from riskcheck.errors import EXIT_DONE, EXIT_NO_ANSWER

if TYPE_CHECKING:
    from riskcheck.rulebook import Rulebook


SHIPPED = "shipped"


def diff(
    before: Annotated[Path, typer.Argument(help='Rule folder, or "shipped".')],
    after: Annotated[Path, typer.Argument(help='Another rule folder, or "shipped".')],
    fleet: Annotated[
        Path | None, typer.Argument(help="A fleet: say what changes for its vehicles.")
    ] = None,
    as_of: AsOfOption = None,
    horizon: HorizonOption = 12,
    map_: MapOption = None,
    show: Annotated[
        int, typer.Option("--show", min=0, help="Vehicles to name per hazard and kind of change.")
    ] = 5,
    as_json: JsonOption = False,
) -> int:
    """Say which entries two rulebooks state differently and what that does to a fleet.

    Each folder is layered over the shipped rules, unless it holds facts and policy of its own.

    Example: riskcheck rules diff shipped my_rules sample_data/fleet.xlsx
    """
    from riskcheck import rulebook

    one, two = _book(before), _book(after)
    if fleet is None:
        changes = rulebook.diff(one, two)
        if as_json:
            _print_json([asdict(change) for change in changes])
        else:
            noun = "difference" if len(changes) == 1 else "differences"
            _print([*(change.words() for change in changes), f"{len(changes) or 'No'} {noun}."])
        return EXIT_DONE

    from riskcheck import comparing
    from riskcheck.reports import comparison_text

    with stages(quiet=False) as progress:
        compared = comparing.compare_rulebooks(
            fleet,
            one,
            two,
            as_of=judged_day(as_of),
            horizon_months=horizon,
            mapping=map_ or (),
            progress=progress,
        )
    if as_json:
        _print_json(comparison_text.machine(compared))
    else:
        vehicles = len(compared.after.fleet.vehicles)
        _print(comparison_text.lines(compared, vehicles, show))
    unsure = compared.before.unsure or compared.after.unsure
    return EXIT_NO_ANSWER if unsure else EXIT_DONE


def _book(folder: Path) -> Rulebook:
    """A folder's rulebook: the folder alone where it is whole, else over the shipped rules."""
    from riskcheck import rulebook

    if str(folder) == SHIPPED and not folder.exists():
        return rulebook.load()
    complete = (folder / "facts.yaml").is_file() and (folder / "policy.yaml").is_file()
    return rulebook.load(folder) if complete else rulebook.load(rulebook.shipped_dir(), folder)


def _print(lines: list[str]) -> None:
    sys.stdout.writelines(f"{line}\n" for line in lines)


def _print_json(data: object) -> None:
    sys.stdout.write(json.dumps(data, indent=2, ensure_ascii=False) + "\n")
