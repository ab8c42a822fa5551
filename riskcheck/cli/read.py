"""``riskcheck read``: what was read, how, and what was set aside."""

from __future__ import annotations

import json
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from riskcheck import errors
from riskcheck.cli.options import (
    OUT_DEFAULT,
    AsOfOption,
    JsonOption,
    MapOption,
    OutOption,
    QuietOption,
    RulesOption,
    StrictOption,
    judged_day,
)
from riskcheck.cli.progress import stages

if TYPE_CHECKING:
    import pandas as pd

    from riskcheck.fleet import Fleet
    from riskcheck.fleet.lexicon_model import Wording


_FleetArgument = Annotated[Path | None, typer.Argument(help="Fleet workbook or folder of CSVs.")]
_BlankOption = Annotated[
    Path | None, typer.Option("--blank", help="Write an empty workbook to start from, here.")
]
_UnreadOption = Annotated[
    Path | None,
    typer.Option("--unread", help="Write the wordings nobody has explained yet, here (.xlsx)."),
]
_TeachOption = Annotated[
    Path | None,
    typer.Option("--teach", help="Take a filled-in --unread worksheet into the --rules DIR."),
]


def read(
    fleet: _FleetArgument = None,
    out: OutOption = OUT_DEFAULT,
    rules: RulesOption = None,
    as_of: AsOfOption = None,
    map_: MapOption = None,
    blank: _BlankOption = None,
    unread: _UnreadOption = None,
    teach: _TeachOption = None,
    as_json: JsonOption = False,
    quiet: QuietOption = False,
    strict: StrictOption = False,
) -> int:
    """Read a fleet and say what became of every row; write it out clean.

    Example: riskcheck read sample_data/fleet.xlsx --as-of 2026-10-01

    Wordings it cannot read: --unread words.xlsx, fill in, --teach words.xlsx --rules my-rules
    """
    from riskcheck import assessment
    from riskcheck import fleet as fleets
    from riskcheck.fleet import lexicon
    from riskcheck.reports import read_text, wrapping

    if teach is not None:
        return _teach(teach, rules or [])
    book = assessment.load_rules(rules or [])
    if blank is not None:
        path = fleets.write_blank_workbook(blank, book.vocabulary)
        sys.stdout.write(f"{path}  an empty workbook; delete its example rows\n")
        return errors.EXIT_DONE
    if fleet is None:
        raise errors.UsageError("Say which fleet to read, or --blank FILE.xlsx for an empty one.")
    words = lexicon.load(book.wording_dirs)
    with stages(quiet) as progress:
        found = fleets.read_fleet(
            fleet,
            vocabulary=book.vocabulary,
            lexicon=words,
            as_of=judged_day(as_of),
            mapping=fleets.parse_mapping(map_ or (), book.vocabulary) or None,
            progress=progress,
        )
        progress("listing wordings nobody has explained")
        untaught = words.unread(found.service["line"])
        progress("writing")
        written = _write(found, out)
        if unread is not None:
            written.append(_write_unread(untaught, words.wording, unread))
    if as_json:
        answer = read_text.answer(found, untaught, written)
        sys.stdout.write(json.dumps(answer, indent=2) + "\n")
    elif not quiet:
        sys.stdout.write(wrapping.joined(read_text.report(found, untaught, written)))
    attention = read_text.needs_attention(found)
    return errors.EXIT_NEEDS_ATTENTION if strict and attention else errors.EXIT_DONE


def _write(found: Fleet, out: Path) -> list[Path]:
    from riskcheck import fleet as fleets

    out.mkdir(parents=True, exist_ok=True)
    mapping = fleets.write_mapping(found, out / "mapping.csv")
    return [*fleets.to_contract_csvs(found, out), mapping]


def _write_unread(untaught: pd.DataFrame, wording: Wording, path: Path) -> Path:
    from riskcheck.fleet.lexicon_unread import worksheet_rows
    from riskcheck.reports.wording_sheet import wording_workbook
    from riskcheck.sheets import write_workbook

    rows = worksheet_rows(untaught, wording)
    return write_workbook(path, wording_workbook(rows, wording.topics))


def _teach(sheet: Path, rules: list[Path]) -> int:
    from riskcheck import assessment
    from riskcheck.fleet import lexicon, lexicon_unread
    from riskcheck.reports import wording_sheet

    if not rules:
        raise errors.UsageError(
            "Say which folder of your own rules is to keep the meanings: "
            f"read --teach {sheet} --rules my-rules"
        )
    own = rules[-1]
    known = assessment.load_rules([folder for folder in rules if folder.exists()])
    words = lexicon.load(known.wording_dirs)
    path, taught = lexicon_unread.teach(wording_sheet.filled_rows(sheet), own, words.wording)
    plural = "wording" if taught == 1 else "wordings"
    sys.stdout.write(f"{path}  {taught} {plural} taught; use them with --rules {own}\n")
    return errors.EXIT_DONE
