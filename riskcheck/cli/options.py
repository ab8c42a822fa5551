"""Options that several commands share, declared once."""

from __future__ import annotations

import datetime as dt
from pathlib import Path
from typing import Annotated

import typer

FleetArgument = Annotated[
    Path, typer.Argument(help="Fleet workbook (.xlsx .xls .ods .csv .parquet) or folder of CSVs.")
]
RulesOption = Annotated[
    list[Path] | None,
    typer.Option("--rules", help="A folder of your own rules, layered over the shipped ones."),
]
AsOfOption = Annotated[
    dt.datetime | None,
    typer.Option("--as-of", formats=["%Y-%m-%d"], help="The day to judge by (default: today)."),
]
HorizonOption = Annotated[
    int, typer.Option("--horizon", min=1, max=60, help="How far to look ahead, in months.")
]
OutOption = Annotated[Path, typer.Option("--out", help="Folder for the files that are written.")]
JsonOption = Annotated[bool, typer.Option("--json", help="Print JSON for machines instead.")]
QuietOption = Annotated[bool, typer.Option("--quiet", "-q", help="Print nothing but errors.")]
StrictOption = Annotated[bool, typer.Option("--strict", help="Exit 1 if anything needs attention.")]
MapOption = Annotated[
    list[str] | None,
    typer.Option("--map", help='Settle a heading: --map "Their heading=odometer_mi".'),
]
LedgerOption = Annotated[
    str | None,
    typer.Option(
        "--ledger",
        envvar="RISKCHECK_LEDGER",
        help="Ledger file or postgresql:// address (default: beside the fleet file).",
    ),
]
NoLedgerOption = Annotated[
    bool, typer.Option("--no-ledger", help="Leave out what the ledger remembers.")
]
OnlyOption = Annotated[
    str, typer.Option("--only", help="Hazard ids to look at, separated by commas.")
]
EverythingOption = Annotated[
    bool, typer.Option("--everything", help="Show hazards that ask for nothing today too.")
]
ByOption = Annotated[str, typer.Option("--by", help="Who says so (default: your login name).")]
OUT_DEFAULT = Path("riskcheck-out")


def hazard_ids(only: str) -> list[str]:
    """The ids that ``--only`` names; none where it is not given."""
    return [hazard_id.strip() for hazard_id in only.split(",") if hazard_id.strip()]


def judged_day(as_of: dt.datetime | None) -> dt.date:
    """The day to judge by; the only place in riskcheck that asks what day it is."""
    return dt.date.today() if as_of is None else as_of.date()


def judged_moment(as_of: dt.datetime | None) -> dt.datetime:
    """The moment to write down: now, or the time of day it is now on the day given."""
    now = dt.datetime.now().replace(microsecond=0)
    return now if as_of is None else dt.datetime.combine(as_of.date(), now.time())
