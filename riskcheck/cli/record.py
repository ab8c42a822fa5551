"""`riskcheck record`: take a worked-in workbook back, put a fact right, note a find."""

from __future__ import annotations

import datetime as dt
import json
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from riskcheck import errors
from riskcheck.cli.options import (
    AsOfOption,
    ByOption,
    JsonOption,
    LedgerOption,
    RulesOption,
    judged_moment,
)

if TYPE_CHECKING:
    from riskcheck.ledger import Ledger
    from riskcheck.rulebook import Rulebook

TABLE_SUFFIXES = {".xlsx", ".xlsm", ".xls", ".ods", ".csv"}


def record(
    what: Annotated[
        list[str] | None,
        typer.Argument(
            metavar="WORKBOOK...|VEHICLE NAME=VALUE...",
            help="Returned copies of a workbook, or a vehicle and what is so about it.",
        ),
    ] = None,
    because: Annotated[
        str, typer.Option("--because", help="How you know: seen, measured, told by whom.")
    ] = "",
    hours: Annotated[
        float | None, typer.Option("--hours", min=0.0, help="Hours at the bay, with a find.")
    ] = None,
    undo: Annotated[
        bool, typer.Option("--undo", help="Take the last correction or find back.")
    ] = False,
    workbook: Annotated[
        bool, typer.Option("--workbook", help="With --undo: take a whole workbook back too.")
    ] = False,
    fleet: Annotated[
        Path | None, typer.Option("--fleet", help="The fleet whose ledger is meant.")
    ] = None,
    ledger: LedgerOption = None,
    by: ByOption = "",
    rules: RulesOption = None,
    as_of: AsOfOption = None,
    as_json: JsonOption = False,
) -> int:
    """Record what came back: worked-in call sheets, a corrected fact, a find at the bay.

    Examples: riskcheck record riskcheck-out/outreach.xlsx
    riskcheck record BUS-07 intake_heater_as_built=captive --because "horn off, photo taken"
    riskcheck record BUS-07 brake-hose-ageing=not_found --hours 0.3
    """
    from riskcheck.cli.ledger_place import named_ledger, who

    at, name, given = judged_moment(as_of), who(by), list(what or [])
    books = [Path(text) for text in given if Path(text).suffix.lower() in TABLE_SUFFIXES]
    if undo == bool(given) or (books and len(books) != len(given)):
        raise errors.UsageError(
            "Give workbooks, or a vehicle and NAME=VALUE, or --undo; one of the three."
        )
    with named_ledger(ledger, fleet, books) as memory:
        if undo:
            taken = memory.undo(at=at, workbooks=workbook)
            said = f"Taken back: {taken}." if taken else "There is nothing to take back."
            return _say(as_json, [said], {"taken_back": taken})
        if books:
            return _workbooks(memory, books, at, name, as_json)
        statements = _Statements(memory, fleet, rules or [], at, name)
        return _say(as_json, *statements.record(given[0], given[1:], because, hours))


def _say(as_json: bool, lines: list[str], data: Any) -> int:
    from riskcheck.reports import wrapping

    text = json.dumps(data, indent=2, ensure_ascii=False) + "\n" if as_json else None
    sys.stdout.write(text or wrapping.joined(lines))
    return errors.EXIT_DONE


def _workbooks(memory: Ledger, books: list[Path], at: dt.datetime, by: str, as_json: bool) -> int:
    from riskcheck import remembering
    from riskcheck.reports import recorded_text

    done = remembering.record_workbooks(memory, books, at=at, by=by)
    _say(as_json, recorded_text.recorded(done), recorded_text.recorded_data(done))
    return errors.EXIT_DONE


class _Statements:
    """Records NAME=VALUE about a vehicle: corrections of facts and finds of hazards."""

    def __init__(
        self, memory: Ledger, fleet: Path | None, rules: list[Path], at: dt.datetime, by: str
    ) -> None:
        self._memory, self._fleet, self._rules = memory, fleet, rules
        self._at, self._by = at, by

    def record(
        self, vehicle: str, statements: list[str], because: str, hours: float | None
    ) -> tuple[list[str], Any]:
        from riskcheck import assessment, remembering
        from riskcheck.ledger import Outcome
        from riskcheck.reports import recorded_text

        if not statements:
            raise errors.UsageError(
                f"{vehicle}: say what is so, as NAME=VALUE, or give a workbook (.xlsx, .ods)."
            )
        book = assessment.load_rules(self._rules)
        vehicle_id = self._vehicle_id(vehicle, book)
        # All of them are checked before the first is kept.
        finds = [s for s in statements if remembering.is_outcome(book, s)]
        facts = [s for s in statements if s not in finds]
        for statement in facts:
            remembering.stated_fact(book, statement)
        at, by = self._at, self._by
        blank = Outcome(vehicle_id, "", self._at.date(), "", hours, because)
        for statement in finds:
            remembering.checked_find(statement, blank)
        lines: list[str] = []
        for statement in facts:
            made = remembering.record_statement(
                self._memory, book, vehicle_id, statement, because, at=at, by=by
            )
            lines += recorded_text.corrected(made, book.vocabulary[made.fact], self._by)
        for statement in finds:
            find = remembering.record_find(self._memory, statement, blank, at=at, by=by)
            lines += recorded_text.found(find, book.hazards[find.hazard_id])
        return lines, {"vehicle_id": vehicle_id, "facts": facts, "finds": finds}

    def _vehicle_id(self, vehicle: str, book: Rulebook) -> str:
        """By the fleet file if it can be found, else by the vehicle ids of the last run."""
        import pandas as pd

        from riskcheck import assessment
        from riskcheck.explain import find_vehicle

        runs = self._memory.runs()
        last = Path(str(runs["fleet_path"].iloc[-1])) if len(runs) else None
        fleet = self._fleet or last
        if fleet is not None and fleet.exists():
            vehicles = assessment.read(fleet, book, self._at.date()).vehicles
            return find_vehicle(vehicles, vehicle)
        if not len(runs):
            raise errors.UsageError("Say which fleet the vehicle belongs to: --fleet FLEET.xlsx.")
        known = self._memory.snapshot(str(runs["run_id"].iloc[-1]))["vehicle_id"].unique()
        blank = pd.DataFrame({"vehicle_id": known}).assign(unit="", plate="", vin="")
        return find_vehicle(blank, vehicle)
