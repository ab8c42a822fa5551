"""``riskcheck rules platforms``: a worksheet of the fleet's makes and models, out and back in."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Annotated

import typer

from riskcheck.cli.options import AsOfOption, FleetArgument, RulesOption, judged_day
from riskcheck.cli.progress import stages
from riskcheck.errors import EXIT_DONE, EXIT_NEEDS_ATTENTION, InputError


def platforms(
    fleet: FleetArgument,
    out: Annotated[Path, typer.Option("--out", help="Where the worksheet goes.")] = Path(
        "features.xlsx"
    ),
    back: Annotated[
        Path | None, typer.Option("--back", help="A filled-in worksheet to read back.")
    ] = None,
    into: Annotated[Path, typer.Option("--into", help="Your own rule folder.")] = Path("my_rules"),
    rules: RulesOption = None,
    as_of: AsOfOption = None,
) -> int:
    """Write a worksheet of your makes and models to fill in, or read it back with --back.

    Example: riskcheck rules platforms sample_data/fleet.xlsx --out features.xlsx
    """
    if back is not None:
        return _read_back(back, into, list(rules or []))
    from riskcheck import assessment, rulebook, sheets
    from riskcheck.reports.feature_sheet import feature_workbook
    from riskcheck.rulebook.worksheet import features

    with stages(quiet=False) as progress:
        result = assessment.assess(
            fleet, as_of=judged_day(as_of), rules=rules or [], progress=progress
        )
    asked = features(result.rulebook)
    stakes = rulebook.feature_stakes(result.exposures, asked)
    groups = rulebook.platform_groups(result.fleet.vehicles, result.rulebook, stakes)
    written = sheets.write_workbook(out, feature_workbook(groups, asked))
    sys.stdout.write(
        f"wrote {written}: {len(groups)} groups, most at stake first\n"
        f"Fill it in, then: riskcheck rules platforms {fleet} --back {written} --into {into}\n"
    )
    return EXIT_DONE


def _read_back(back: Path, into: Path, rules: list[Path]) -> int:
    from riskcheck import assessment, rulebook, sheets
    from riskcheck.reports.feature_sheet import filled_rows
    from riskcheck.reports.words import plural
    from riskcheck.rulebook.worksheet import features

    book = assessment.load_rules(rules)
    frame = filled_rows(back, features(book))
    if frame.empty:
        raise InputError(f"{back}: no row with the headings Make and Model; is it the worksheet?")
    answers = rulebook.read_groups(frame, book)
    text = rulebook.platforms_text(answers.platforms)
    target = sheets.replace_file(into / "platforms.yaml", text.encode("utf-8"))
    groups = plural(len(answers.platforms), "group")
    unused = plural(len(answers.problems), "answer")
    sys.stdout.write("".join(f"{words}\n" for words in answers.problems))
    sys.stdout.write(f"wrote {target}: {groups}, {unused} not used\nUse it with --rules {into}\n")
    return EXIT_NEEDS_ATTENTION if answers.problems else EXIT_DONE
