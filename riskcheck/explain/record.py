"""What the record says of one vehicle and one hazard, in the record's own words."""

from __future__ import annotations

from collections.abc import Hashable, Iterable, Mapping, Sequence
from typing import Any

import pandas as pd

from riskcheck.explain.view import Correction, Evidence, RecordLine, Repair, Source
from riskcheck.reasoning.corrected import LEDGER
from riskcheck.rulebook import Rulebook
from riskcheck.rulebook.model import Hazard
from riskcheck.vocabulary import Fact

Record = Mapping[Hashable, Any]
PLATFORM_FILE = "platforms.yaml"


def topics_of(hazard: Hazard, facts: Iterable[Fact]) -> frozenset[str]:
    """Every topic that this hazard or one of its facts reads events of."""
    refs = [*hazard.life.starts, *(ref for remedy in hazard.remedies for ref in remedy.recorded_as)]
    refs += hazard.look.recorded_as if hazard.look else []
    found = {topic for ref in refs for topic in ref.topics}
    for fact in facts:
        found.update(_topics_in(fact.derivation.params))
    return frozenset(found)


def _topics_in(params: Any) -> Iterable[str]:
    """Topics anywhere inside a derivation's parameters."""
    if isinstance(params, Mapping):
        for name, value in params.items():
            yield from value if name == "topics" else _topics_in(value)


def evidence_of(provenance: Iterable[Record], book: Rulebook) -> tuple[Evidence, ...]:
    """Evidence from provenance rows: what a person set right first, then the sheets, then design.

    ``provenance``: value_words, words, file, sheet, cell, date, fact of one vehicle and hazard.
    """
    found = [
        Evidence(
            fact=book.vocabulary[record["fact"]],
            value=record["value_words"],
            words=record["words"],
            how=_how(record["file"]),
            source=_source(record),
        )
        for record in provenance
    ]
    order = {"correction": 0, "sheet": 1, "stated": 2, "platform": 3}
    return tuple(sorted(found, key=lambda item: order[item.how]))


def _how(file: str) -> str:
    if file == PLATFORM_FILE:
        return "platform"
    if file == LEDGER:
        return "correction"
    return "sheet" if file else "stated"


def dated_events(events: pd.DataFrame) -> Sequence[Record]:
    """The events of one vehicle, newest first, with ``date`` as ISO text; each told once."""
    rows = events.assign(date=events["date_hi"].dt.strftime("%Y-%m-%d").fillna(""))
    rows = rows.drop_duplicates(["file", "sheet", "cell", "topic", "mark", "words"])
    return rows.sort_values("date", kind="stable", ascending=False).to_dict("records")


def lines_of(
    events: Iterable[Record], topics: frozenset[str], evidence: Iterable[Evidence]
) -> tuple[RecordLine, ...]:
    """Every line about the hazard with what each was read as, in the order of ``events``."""
    settled: dict[tuple[str, str, str], list[str]] = {}
    for item in evidence:
        if item.how == "sheet":
            key = (item.source.file, item.source.sheet, item.source.cell)
            settled.setdefault(key, []).append(item.fact.name)
    return tuple(
        RecordLine(
            words=record["line"] or record["words"],
            piece=record["words"],
            topic=record["topic"],
            mark=record["mark"],
            odometer_mi=float(record["odometer_mi"]),
            settles=tuple(settled.get((record["file"], record["sheet"], record["cell"]), ())),
            source=_source(record),
        )
        for record in events
        if record["topic"] in topics
    )


def reading_of(readings: pd.DataFrame) -> Source | None:
    """Where the latest odometer reading of one vehicle stands."""
    read = readings.dropna(subset=["odometer_mi"])
    if read.empty:
        return None
    last = read.iloc[-1]
    return Source(last["file"], last["sheet"], last["cell"], _day(last["date"]))


def in_service_of(
    written: Mapping[str, pd.DataFrame], vehicle: Mapping[Any, Any], place: int
) -> tuple[str, Source] | None:
    """The words that say since when the vehicle runs, and their cell."""
    if "in_service" not in written:
        return None
    cell = written["in_service"].iloc[place]
    if pd.isna(cell["words"]):
        return None
    address = f"{cell['letters']}{cell['row']}"
    return str(cell["words"]), Source(str(vehicle["file"]), str(vehicle["sheet"]), address, "")


def corrections_of(
    corrections: pd.DataFrame | None, vehicle_id: str, book: Rulebook
) -> tuple[Correction, ...]:
    """The vehicle's live corrections.

    ``corrections``: vehicle_id, fact, value, and because, by, at where the ledger knows them.
    """
    if corrections is None or corrections.empty:
        return ()
    own = corrections[corrections["vehicle_id"] == vehicle_id]
    return tuple(
        Correction(
            fact=str(record["fact"]),
            meaning=_meaning(str(record["fact"]), book),
            value=str(record["value"]),
            because=_text(record.get("because")),
            by=_text(record.get("by")),
            at=_day(record.get("at")),
        )
        for record in own.to_dict("records")
    )


class Repairs:
    """What was done to cells that were not used as written, by the row they stand on."""

    def __init__(self, problems: pd.DataFrame) -> None:
        told = problems[problems["action"] != "used"]
        row = told["cell"].astype(str).str.extract(r"(\d+)$")[0].fillna("")
        self._rows: dict[tuple[str, str, str], list[Repair]] = {}
        for record, number in zip(told.to_dict("records"), row, strict=True):
            source = Source(record["file"], record["sheet"], record["cell"], "")
            repair = Repair(
                str(record["action"]), str(record["was"]), str(record["now"]),
                str(record["reason"]), source,
            )  # fmt: skip
            self._rows.setdefault((source.file, source.sheet, number), []).append(repair)

    def of(self, vehicle: Record, service: pd.DataFrame) -> tuple[Repair, ...]:
        """Repairs on the rows of one vehicle: its own and those of its service lines."""
        rows = [(str(vehicle["file"]), str(vehicle["sheet"]), str(vehicle["row"]))]
        rows += [
            (str(file), str(sheet), str(row))
            for file, sheet, row in zip(
                service["file"], service["sheet"], service["row"], strict=True
            )
        ]
        return tuple(repair for row in dict.fromkeys(rows) for repair in self._rows.get(row, ()))


def _meaning(fact: str, book: Rulebook) -> str:
    return book.vocabulary[fact].meaning if fact in book.vocabulary else fact


def _source(record: Mapping[Any, Any]) -> Source:
    return Source(record["file"], record["sheet"], record["cell"], record["date"])


def _text(value: object) -> str:
    return "" if value is None or value != value else str(value)


def _day(value: object) -> str:
    """ISO day of a timestamp or text; "" where there is none."""
    if value is None or value is pd.NaT or value != value:
        return ""
    return str(value)[:10]
