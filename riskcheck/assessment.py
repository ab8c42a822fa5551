"""The whole story in one function: fleet workbook in; exposures, calls and explanations out."""

from __future__ import annotations

import datetime as dt
import hashlib
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import pandas as pd

from riskcheck import explain as explaining
from riskcheck import fleet as fleets
from riskcheck import reasoning, risk, rulebook, sheets, usage
from riskcheck.actions.kept_typing import free_target, holds_typing
from riskcheck.actions.known import known_of
from riskcheck.actions.outreach import Outreach, plan_outreach
from riskcheck.errors import InternalError, UsageError
from riskcheck.fleet import lexicon
from riskcheck.reports import outreach_book
from riskcheck.risk.price import COLUMNS as EXPOSURE_COLUMNS

Progress = Callable[[str], None]

DECIMALS = {
    "usage": 1, "probability": 8, "probability_low": 8, "probability_high": 8,
    "cost_if_fails": 2, "cost_to_prevent": 2, "net_benefit": 2, "act_by_odometer_mi": 0,
    "exposed_weight": 6, "probability_now": 8, "p_harm": 12, "wait_month": 2, "hours": 2,
    "probability_12m": 8,
}  # fmt: skip


@dataclass(frozen=True)
class Assessment:
    """Everything one run concluded, for reports and for callers of the Python API.

    ``exposures``: one row per vehicle and hazard, contract columns first (``EXPOSURE_COLUMNS``),
    then detail columns with the prefix ``x_``.
    """

    path: Path
    as_of: dt.date
    horizon_months: int
    rulebook: rulebook.Rulebook
    fleet: fleets.Fleet
    usage: usage.Usage
    reasoning: reasoning.Reasoning
    exposures: pd.DataFrame
    outreach: Outreach
    digests: Mapping[str, str]
    corrections: pd.DataFrame | None = None

    @property
    def unanswered(self) -> int:
        """How many vehicle-hazard pairs the engine gave no answer for."""
        return int((self.exposures["status"] == "no_answer").sum())

    @property
    def unsure(self) -> bool:
        """Whether the engine was lost for some pair, or for a chain that checks the tables."""
        return bool(self.unanswered or self.reasoning.unaudited)


def assess(
    path: str | Path,
    *,
    as_of: dt.date,
    horizon_months: int = 12,
    rules: Sequence[str | Path] = (),
    only: Sequence[str] = (),
    mapping: Sequence[str] = (),
    corrections: pd.DataFrame | None = None,
    progress: Progress = lambda stage: None,
) -> Assessment:
    """Read a fleet, reason about it, price every exposure and rank the calls.

    ``rules`` are folders layered over the shipped rulebook; ``only`` limits the run to these
    hazard ids; ``mapping`` holds "Their heading=field" items or mapping files; ``corrections``
    is what people put right (``Ledger.corrections``; see ``judge``); ``progress`` is told the
    name of each stage.  Nothing is written.

    Raises InputError (the fleet cannot be used), RulebookError (the rules cannot be used),
    UsageError (``only`` names no hazard) and InternalError (tables and engine disagree).
    """
    source = Path(path)
    progress("reading the rules")
    book = limited(load_rules(rules), only)
    progress("reading the fleet")
    fleet = read(source, book, as_of, mapping)
    return judge(
        fleet,
        book,
        source=source,
        as_of=as_of,
        horizon_months=horizon_months,
        corrections=corrections,
        progress=progress,
    )


def judge(
    fleet: fleets.Fleet,
    book: rulebook.Rulebook,
    *,
    source: Path,
    as_of: dt.date,
    horizon_months: int = 12,
    corrections: pd.DataFrame | None = None,
    progress: Progress = lambda stage: None,
) -> Assessment:
    """The part of ``assess`` after reading: any fleet with any rulebook.

    ``source``: what the fleet was read from (it need not exist, as for a typed-in vehicle).
    ``corrections``: vehicle_id, fact, value, words; they outrank the record.
    """
    fleet, book = with_policy_sheet(fleet, book)
    progress("measuring use")
    clocks = usage.clocks(fleet.vehicles, fleet.readings, fleet.events, book.policy, as_of)
    progress("reasoning")
    reasoned = reasoning.reason_all(
        fleet,
        clocks,
        book,
        as_of,
        cache_dir=reasoning.default_cache_dir(),
        corrections=corrections,
    )
    progress("pricing")
    priced = risk.price(book, reasoned.hazards, fleet, clocks, as_of, horizon_months)
    exposures = _checked(priced.exposures, fleet, book)
    return Assessment(
        path=source,
        as_of=as_of,
        horizon_months=horizon_months,
        rulebook=book,
        fleet=fleet,
        usage=clocks,
        reasoning=reasoned,
        exposures=exposures,
        outreach=plan_outreach(exposures, known_of(fleet, clocks, book, as_of), book),
        digests={
            "fleet": file_digest(source) if source.exists() else "",
            "rules": book.digest,
        },
        corrections=corrections,
    )


def with_policy_sheet(
    fleet: fleets.Fleet, book: rulebook.Rulebook
) -> tuple[fleets.Fleet, rulebook.Rulebook]:
    """The figures that the owner set on the workbook's policy sheet, put in force.

    What cannot be applied joins the fleet's problems, with its cell.
    """
    sheet = risk.applied(book.policy, fleet.policy)
    if len(sheet.problems):
        problems = pd.concat([fleet.problems, sheet.problems], ignore_index=True)
        fleet = replace(fleet, problems=problems)
    return fleet, replace(book, policy=sheet.policy)


def read(
    source: Path, book: rulebook.Rulebook, as_of: dt.date, mapping: Sequence[str] = ()
) -> fleets.Fleet:
    """Read a fleet by the rulebook's facts and wordings; see ``fleet.read_fleet``."""
    return fleets.read_fleet(
        source,
        vocabulary=book.vocabulary,
        lexicon=lexicon.load(book.wording_dirs),
        as_of=as_of,
        mapping=fleets.parse_mapping(mapping, book.vocabulary) or None,
    )


def explain(assessment: Assessment, vehicle: str) -> explaining.VehicleView:
    """Everything that stands behind the conclusions about one vehicle, with live rule chains.

    ``vehicle``: id, unit number, plate, VIN or its last eight.  Raises UsageError if it names
    no vehicle or several.
    """
    vehicle_id = explaining.find_vehicle(assessment.fleet.vehicles, vehicle)
    return explaining.view_vehicle(explainable(assessment), vehicle_id)


def explainable(assessment: Assessment) -> explaining.Case:
    """The assessment as ``riskcheck.explain`` takes it, for one vehicle or for many."""
    return explaining.Case(
        exposures=assessment.exposures,
        fleet=assessment.fleet,
        usage=assessment.usage,
        book=assessment.rulebook,
        reasoning=assessment.reasoning,
        as_of=assessment.as_of,
        horizon_months=assessment.horizon_months,
        digests=assessment.digests,
        corrections=assessment.corrections,
    )


def load_rules(folders: Sequence[str | Path]) -> rulebook.Rulebook:
    """The shipped rulebook with the given folders layered over it."""
    return rulebook.load(rulebook.shipped_dir(), *(Path(folder) for folder in folders))


def limited(book: rulebook.Rulebook, only: Sequence[str]) -> rulebook.Rulebook:
    """The rulebook with only the named hazards; all of them if none is named."""
    unknown = [hazard_id for hazard_id in only if hazard_id not in book.hazards]
    if unknown:
        raise UsageError(
            f"No hazard is called {unknown[0]!r}. The rulebook holds: {', '.join(book.hazards)}."
        )
    return book.keeping(only) if only else book


def write(assessment: Assessment, out: Path) -> dict[str, Path]:
    """Write exposures.csv, outreach.csv and outreach.xlsx into ``out``; returns name -> path.

    A workbook that somebody typed into is left alone: the new one has the as-of date in its name.
    """
    out.mkdir(parents=True, exist_ok=True)
    table = assessment.exposures[list(EXPOSURE_COLUMNS)]
    flat = outreach_book.call_frame(assessment)
    day = assessment.as_of
    workbook = free_target(out / "outreach.xlsx", day, lambda path: holds_typing(path, day))
    return {
        "exposures.csv": sheets.write_csv(out / "exposures.csv", table, decimals=DECIMALS),
        "outreach.csv": sheets.write_csv(out / "outreach.csv", flat, decimals={"hours": 2}),
        "outreach.xlsx": sheets.write_workbook(workbook, outreach_book.workbook(assessment, flat)),
    }


def _checked(exposures: pd.DataFrame, fleet: fleets.Fleet, book: rulebook.Rulebook) -> pd.DataFrame:
    """Every vehicle meets every hazard exactly once, or it is our own fault."""
    expected = len(fleet.vehicles) * len(book.hazards)
    pairs = exposures[["vehicle_id", "hazard_id"]].drop_duplicates()
    if len(exposures) != expected or len(pairs) != expected:
        raise InternalError(
            f"{expected} vehicle-hazard pairs went in and {len(exposures)} came out"
        )
    return exposures.reset_index(drop=True)


def file_digest(source: Path) -> str:
    """SHA-256 of the input: of the file, or of the names and contents of a folder's files."""
    digest = hashlib.sha256()
    files = sorted(source.iterdir()) if source.is_dir() else [source]
    for file in files:
        if file.is_file():
            digest.update(file.name.encode() if source.is_dir() else b"")
            digest.update(file.read_bytes())
    return digest.hexdigest()
