"""What changes for one fleet between two rulebooks: which exposures enter, leave and move, and why.

Both rulebooks judge the same fleet on the same day by the ordinary run; nothing is estimated from
one to the other.
"""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Hashable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pandas as pd

from riskcheck import assessment, rulebook
from riskcheck.rulebook import Change, Rulebook
from riskcheck.rulebook.compare import platform_name
from riskcheck.rulebook.covered import covering
from riskcheck.rulebook.facts import topics_and_marks

CONCLUSIONS = ("status", "evidence")
FIGURES = (
    "tier", "probability", "p_harm", "cost_if_fails", "cost_to_prevent", "net_benefit",
    "act_by_date",
)  # fmt: skip
COMPARED = (*CONCLUSIONS, *FIGURES, "rank")
PAIR = ["vehicle_id", "hazard_id"]
# Findings that hold, needed to tell whether a changed rule made a difference to a pair.
HELD = ("findings", "x_factors")
# Relative differences below this are rounding, not rules.
SAME = 1e-9

Row = Mapping[Hashable, Any]


@dataclass(frozen=True)
class Comparison:
    """Two rulebooks on one fleet.

    ``changes``: every entry that differs.  ``pairs``: one row per vehicle-hazard pair that comes
    out differently: vehicle_id, hazard_id, move (enters | leaves | moves | starts | stops), then
    for each name of COMPARED the columns NAME_before and NAME_after (missing where the pair was
    not judged or not ranked), ``why`` (tuple of the Changes that bear on it); most pressing first.
    ``pushed``: pairs that only changed places in the list because others came, went or moved.
    """

    path: Path
    as_of: dt.date
    before: assessment.Assessment
    after: assessment.Assessment
    changes: tuple[Change, ...]
    pairs: pd.DataFrame
    pushed: int


def compare_rulebooks(
    path: str | Path,
    before: Rulebook,
    after: Rulebook,
    *,
    as_of: dt.date,
    horizon_months: int = 12,
    mapping: Sequence[str] = (),
    progress: assessment.Progress = lambda stage: None,
) -> Comparison:
    """Judge the fleet at ``path`` by two rulebooks and say what comes out differently.

    A pair *enters* when it has a place in the list only afterwards, *leaves* when it had one only
    before, and *moves* when its status, evidence, tier or a figure differs.  One that is judged by
    one of the rulebooks only and has no place in the list *starts* or *stops*.  Raises what
    ``assessment.assess`` raises.
    """
    source = Path(path)
    changes = rulebook.diff(before, after)
    progress("reading the fleet")
    fleet = assessment.read(source, before, as_of, mapping)
    reread = any(change.section in ("fact", "wording") for change in changes)
    runs = []
    for name, book in (("before", before), ("after", after)):
        progress(f"judging by the rules {name}")
        if reread and book is after:
            fleet = assessment.read(source, after, as_of, mapping)
        runs.append(
            assessment.judge(fleet, book, source=source, as_of=as_of, horizon_months=horizon_months)
        )
    pairs, pushed = _pairs(runs[0], runs[1], changes)
    return Comparison(source, as_of, runs[0], runs[1], changes, pairs, pushed)


def _pairs(
    before: assessment.Assessment, after: assessment.Assessment, changes: Sequence[Change]
) -> tuple[pd.DataFrame, int]:
    columns = [*PAIR, *COMPARED, *HELD]
    joined = before.exposures[columns].merge(
        after.exposures[columns], on=PAIR, how="outer", suffixes=("_before", "_after"), sort=True
    )
    ranked_before, ranked_after = joined["tier_before"].notna(), joined["tier_after"].notna()
    differs = _differs(joined, (*CONCLUSIONS, *FIGURES))
    move = pd.Series("moves", index=joined.index, dtype=object)
    move[ranked_after & ~ranked_before] = "enters"
    move[ranked_before & ~ranked_after] = "leaves"
    unlisted = ~ranked_before & ~ranked_after
    move[unlisted & joined["status_before"].isna()] = "starts"
    move[unlisted & joined["status_after"].isna()] = "stops"
    pushed = int((~differs & _differs(joined, ("rank",))).sum())
    told = joined.assign(move=move)[differs]
    tier = told[["tier_before", "tier_after"]].astype("Float64").min(axis=1)
    place = told[["rank_after", "rank_before"]].astype("Float64").bfill(axis=1)["rank_after"]
    told = told.assign(_tier=tier, _place=place).sort_values(
        ["_tier", "_place", *PAIR], kind="stable", ignore_index=True
    )
    why = _Attribution(before, after, changes)
    reasons = [why.of(row) for row in told.to_dict("records")]
    told["why"] = pd.Series(reasons, index=told.index, dtype=object)
    sides = [f"{name}_{side}" for name in COMPARED for side in ("before", "after")]
    return told[[*PAIR, "move", *sides, "why"]], pushed


def _differs(joined: pd.DataFrame, names: Sequence[str]) -> pd.Series:
    """Whether any of the named values differs between the two sides."""
    found = pd.Series(False, index=joined.index)
    for name in names:
        one, two = joined[f"{name}_before"], joined[f"{name}_after"]
        if pd.api.types.is_numeric_dtype(one) and pd.api.types.is_numeric_dtype(two):
            left, right = one.astype("Float64"), two.astype("Float64")
            gap = (left - right).abs() > SAME * left.abs()
            found |= gap.fillna(False) | (left.isna() != right.isna())
        else:
            found |= one.astype(object).fillna("") != two.astype(object).fillna("")
    return found.astype(bool)


class _Attribution:
    """Which changed entries bear on a pair: its hazard's, its facts', its platform's, policy's."""

    def __init__(
        self,
        before: assessment.Assessment,
        after: assessment.Assessment,
        changes: Sequence[Change],
    ) -> None:
        self._runs = (before, after)
        self._changes = [change for change in changes if change.bearing != "words"]
        self._topics: dict[str, set[str]] = {}
        self._facts: dict[str, set[str]] = {}
        self._platform: dict[str, set[str]] = {}

    def of(self, row: Row) -> tuple[Change, ...]:
        """The changes behind one row: of rules where conclusions differ, else of figures."""
        bearing = [change for change in self._changes if self._bears(change, row)]
        rules = tuple(change for change in bearing if change.bearing == "conclusions")
        figures = tuple(change for change in bearing if change.bearing == "figures")
        if any(_unlike(row, name) for name in CONCLUSIONS):
            return rules or figures
        if any(_unlike(row, name) for name in HELD):
            return (*rules, *figures)
        return figures or rules

    def _bears(self, change: Change, row: Row) -> bool:
        hazard_id = str(row["hazard_id"])
        match change.section:
            case "hazard":
                return change.name == hazard_id and self._factor_acts(change, row)
            case "fact":
                return change.name in self._facts_of(hazard_id)
            case "platform":
                return change.name in self._platforms_of(str(row["vehicle_id"]))
            case "wording":
                said = f"{change.name} {change.before} {change.after}"
                return bool(self._topics_of(hazard_id) & set(re.findall(r"\w+", said)))
            case _:
                return True

    def _factor_acts(self, change: Change, row: Row) -> bool:
        """A changed factor bears only on vehicles on which it acts, then or now."""
        parts = change.where.split(".")
        if parts[0] != "factors" or len(parts) < 2:
            return True
        acting = f"{row['x_factors_before']}; {row['x_factors_after']}".split("; ")
        place = int(parts[1]) - 1
        named = {
            factors[place].finding
            for run in self._runs
            if change.name in run.rulebook.hazards
            and place < len(factors := run.rulebook.hazards[change.name].factors)
        }
        return bool(named & set(acting))

    def _facts_of(self, hazard_id: str) -> set[str]:
        if hazard_id not in self._facts:
            self._facts[hazard_id] = {
                fact
                for run in self._runs
                if hazard_id in run.reasoning.compiled
                for fact in run.reasoning.compiled[hazard_id].facts
            }
        return self._facts[hazard_id]

    def _topics_of(self, hazard_id: str) -> set[str]:
        if hazard_id not in self._topics:
            found: set[str] = set()
            for run in self._runs:
                vocabulary, hazard = run.rulebook.vocabulary, run.rulebook.hazards.get(hazard_id)
                for name in self._facts_of(hazard_id):
                    if name in vocabulary:
                        found |= {topic for topic, _ in topics_and_marks(vocabulary[name])}
                for remedy in hazard.remedies if hazard else ():
                    found |= {topic for ref in remedy.recorded_as for topic in ref.topics}
            self._topics[hazard_id] = found
        return self._topics[hazard_id]

    def _platforms_of(self, vehicle_id: str) -> set[str]:
        if vehicle_id not in self._platform:
            names: set[str] = set()
            for run in self._runs:
                vehicles = run.fleet.vehicles
                vehicle = vehicles[vehicles["vehicle_id"] == vehicle_id].iloc[0]
                year = vehicle["model_year"]
                name = (str(vehicle["make"]), str(vehicle["model"]), str(vehicle["engine"]))
                platforms = run.rulebook.platforms
                at = covering(platforms, name, None if pd.isna(year) else int(year))
                names |= {platform_name(platforms[place]) for place in at}
            self._platform[vehicle_id] = names
        return self._platform[vehicle_id]


def _unlike(row: Row, name: str) -> bool:
    one, two = row[f"{name}_before"], row[f"{name}_after"]
    if pd.isna(one) or pd.isna(two):
        return not (pd.isna(one) and pd.isna(two))
    return bool(one != two)
