"""What two rulebooks make of one fleet, at the terminal and for machines."""

from __future__ import annotations

import textwrap
from collections.abc import Hashable, Iterable, Mapping
from dataclasses import asdict
from typing import Any, Protocol

import pandas as pd

from riskcheck.reports import words
from riskcheck.reports.machine import plain
from riskcheck.reports.wrapping import wrapped
from riskcheck.rulebook import Change

SHOWN_REASONS = 4
# Move: as said of one pair, as said of several.
GROUPS = {
    "enters": ("enters", "enter"),
    "leaves": ("leaves", "leave"),
    "moves": ("moves", "move"),
    "starts": ("is judged for the first time", "are judged for the first time"),
    "stops": ("is not judged any more", "are not judged any more"),
}
_DIFFER = "entries differ in what they do"
_BY_NONE = "No changed entry bears on these by itself"
_WITH_OTHERS = (
    "No entry of this hazard changed: other hazards of the same vehicle did, and what is looked "
    "for together in one look moves together"
)
ALWAYS_COUNTED = ("enters", "leaves", "moves")

Row = Mapping[Hashable, Any]


class Compared(Protocol):
    """The comparison of two rulebooks, as ``riskcheck.comparing`` makes it."""

    @property
    def changes(self) -> tuple[Change, ...]: ...
    @property
    def pairs(self) -> pd.DataFrame: ...
    @property
    def pushed(self) -> int: ...


def lines(compared: Compared, vehicles: int, shown: int) -> list[str]:
    """Changed entries, then the pairs by hazard, at most ``shown`` of each hazard and move."""
    pairs = compared.pairs
    by_words = [change for change in compared.changes if change.bearing == "words"]
    bearing = [change for change in compared.changes if change.bearing != "words"]
    counts = pairs["move"].value_counts()
    told = [
        f"{words.plural(len(bearing), 'entry differs in what it does', _DIFFER)}, "
        f"{len(by_words):,} only in words.",
        f"On {words.plural(vehicles, 'vehicle')}: "
        + ", ".join(
            words.plural(int(counts.get(move, 0)), *verbs)
            for move, verbs in GROUPS.items()
            if move in ALWAYS_COUNTED or move in counts
        )
        + f" (vehicle-hazard pairs); {compared.pushed:,} more only change places in the list.",
    ]
    out = [line for text in told for line in wrapped(text)]
    for hazard_id, own in pairs.groupby("hazard_id", sort=False):
        out += ["", str(hazard_id)]
        for move, verbs in GROUPS.items():
            out += _group(verbs, own[own["move"] == move], shown)
        out += _because(own, pairs)
    return out


def machine(compared: Compared) -> dict[str, Any]:
    """The same for machines: changes by number, pairs with both sides and the numbers behind."""
    number = {change: place for place, change in enumerate(compared.changes)}
    return {
        "changes": [{**asdict(change), "bearing": change.bearing} for change in compared.changes],
        "pairs": [
            {
                **{str(name): plain(value) for name, value in row.items() if name != "why"},
                "why": [number[change] for change in row["why"]],
            }
            for row in compared.pairs.to_dict("records")
        ],
        "pushed": compared.pushed,
    }


def _group(verbs: tuple[str, str], own: pd.DataFrame, shown: int) -> list[str]:
    if own.empty:
        return []
    out = [f"  {words.plural(len(own), *verbs)}"]
    for row in own.head(shown).to_dict("records"):
        text = f"{row['vehicle_id']}: {'; '.join(_steps(row)) or 'nothing shown'}"
        out += wrapped(text, " " * 4, " " * 6)
    if len(own) > shown:
        out.append(f"    and {len(own) - shown:,} more (--show {len(own)} or --json names them)")
    return out


def _steps(row: Row) -> Iterable[str]:
    """What differs for one pair, most telling first."""
    yield from _step(row, "status", "", words.STATUS_WORDS)
    yield from _step(row, "evidence", "", words.EVIDENCE_WORDS)
    yield from _step(row, "tier", "group ", {})
    yield from _step(row, "rank", "place ", {})
    chance = [row["probability_before"], row["probability_after"]]
    if _differ(*chance):
        of = words.denominator(float(p) for p in chance if pd.notna(p))
        said = [f"{words.count_of(float(p), of)} of {of:,}" if pd.notna(p) else "" for p in chance]
        yield _arrow("chance ", said[0], said[1])
    for name, label in (("net_benefit", "net of the job "), ("cost_to_prevent", "job ")):
        usd = [row[f"{name}_before"], row[f"{name}_after"]]
        said = [words.money(float(v)) if pd.notna(v) else "" for v in usd]
        if said[0] != said[1]:
            yield _arrow(label, said[0], said[1])


def _step(row: Row, name: str, label: str, said: Mapping[str, str]) -> Iterable[str]:
    before, after = row[f"{name}_before"], row[f"{name}_after"]
    if _differ(before, after):
        yield _arrow(label, _word(before, said), _word(after, said))


def _word(value: Any, said: Mapping[str, str]) -> str:
    return "" if pd.isna(value) else said.get(str(value), str(value))


def _arrow(label: str, before: str, after: str) -> str:
    if before and after:
        return f"{label}{before} -> {after}"
    return f"{label}{after}, new" if after else f"{label}{before} before, none now"


def _differ(before: Any, after: Any) -> bool:
    if pd.isna(before) or pd.isna(after):
        return not (pd.isna(before) and pd.isna(after))
    return bool(before != after)


def _because(own: pd.DataFrame, pairs: pd.DataFrame) -> list[str]:
    """Entries behind the pairs of one hazard, most often named first.

    Hidden hazards of a vehicle are looked for together: where one of them changes, the others'
    look, its date and their figures move with it, though no entry of theirs changed.
    """
    counts: dict[Change, int] = {}
    for why in own["why"]:
        for change in why:
            counts[change] = counts.get(change, 0) + 1
    ordered = sorted(counts, key=lambda c: (-counts[c], c.section != "hazard", c))
    explained = set(pairs.loc[pairs["why"].map(bool), "vehicle_id"])
    together = set(own["vehicle_id"]) <= explained
    out = ["  Because"] if ordered else wrapped(_WITH_OTHERS if together else _BY_NONE, "  ", "  ")
    for change in ordered[:SHOWN_REASONS]:
        text = textwrap.shorten(change.words(), 300, placeholder=" ...")
        out += wrapped(text, "    - ")
    if len(ordered) > SHOWN_REASONS:
        out.append(f"    - and {len(ordered) - SHOWN_REASONS:,} more changed entries")
    return out
