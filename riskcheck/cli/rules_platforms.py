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

    A worksheet with answers that your rules do not have yet is never overwritten.

    Example: riskcheck rules platforms sample_data/fleet.xlsx --out features.xlsx
    """
    if back is not None:
        return _read_back(back, into, list(rules or []))
    from riskcheck import assessment, rulebook, sheets
    from riskcheck.actions.kept_typing import free_target
    from riskcheck.reports.feature_sheet import feature_workbook, holds_answers
    from riskcheck.rulebook.worksheet import features

    with stages(quiet=False) as progress:
        result = assessment.assess(
            fleet, as_of=judged_day(as_of), rules=rules or [], progress=progress
        )
    asked = features(result.rulebook)
    stakes = rulebook.feature_stakes(result.exposures, asked)
    groups = rulebook.platform_groups(result.fleet.vehicles, result.rulebook, stakes)
    place = free_target(
        out, result.as_of, lambda path: path.exists() and holds_answers(path, result.rulebook)
    )
    written = sheets.write_workbook(place, feature_workbook(groups, asked))
    if place != out:
        sys.stdout.write(f"{out} holds answers that are not read back yet: it was left alone\n")
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
    own = rulebook.own_platforms(into)
    target = into / "platforms.yaml"
    if answers.platforms:
        text = rulebook.platforms_text(rulebook.joined(own, answers.platforms))
        target = sheets.replace_file(target, text.encode("utf-8"))
    told = sum(len(platform.features) for platform in answers.platforms)
    said = (
        f"wrote {target}: {plural(told, 'answer')} for {plural(len(answers.platforms), 'group')}"
        if told
        else "nothing new in it, nothing written"
    )
    unused = plural(len(answers.problems), "answer")
    kept = f"; {plural(len(own), 'earlier entry', 'earlier entries')} kept" if own else ""
    sys.stdout.write("".join(f"{words}\n" for words in answers.problems))
    sys.stdout.write(f"{said}, {unused} not used{kept}\n")
    if told or own:
        sys.stdout.write(f"Use it with --rules {into}\n")
    return EXIT_NEEDS_ATTENTION if answers.problems else EXIT_DONE
