"""A worksheet on which a shop says what design features its makes and models have.

One row a make/model/engine/year group of the fleet, one column a design feature.  What comes
back becomes entries of ``platforms.yaml``; an answer that contradicts another is reported and
left out, because a wrong feature silently clears or condemns every vehicle of the group.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from riskcheck import yamlfile
from riskcheck.rulebook.book import Rulebook
from riskcheck.rulebook.checks.platforms import overlap
from riskcheck.rulebook.checks.values import constant_faults
from riskcheck.rulebook.covered import known_features, matching
from riskcheck.rulebook.model import APPLIES, Platform, Scalar
from riskcheck.vocabulary import Fact

if TYPE_CHECKING:
    import pandas as pd

GROUP_COLUMNS = ("make", "model", "engine", "first_year", "last_year", "vehicles", "at_stake_usd")
KEY_COLUMNS = GROUP_COLUMNS[:5]
# TRUE typed into a cell comes back as 1 from some spreadsheet programs.
_FLAGS = {
    "yes": True, "true": True, "1": True, "1.0": True,
    "no": False, "false": False, "0": False, "0.0": False,
}  # fmt: skip
HOW_KNOWN = "answered on the shop's feature worksheet"


@dataclass(frozen=True)
class Answers:
    """Platforms read back from a worksheet, and what could not be used, in words."""

    platforms: tuple[Platform, ...]
    problems: tuple[str, ...]


def features(rulebook: Rulebook) -> tuple[Fact, ...]:
    """Design features worth asking of a group: those of platform entries and of ``applies``.

    Duty (salt, towing, ...) differs from vehicle to vehicle of one group and is left out, which
    is why the platform entries decide wherever there are any.
    """
    named = {name for platform in rulebook.platforms for name in platform.features}
    if not named:
        for hazard_id in rulebook.hazards:
            named |= set(rulebook.compiled(hazard_id).facts_behind(APPLIES))
    return tuple(fact for fact in rulebook.vocabulary.derived_by("column") if fact.name in named)


def choices(fact: Fact) -> tuple[str, ...]:
    """Words of the drop-down of one feature; empty for a number, which is typed."""
    return fact.codes if fact.kind != "number" else ()


def feature_stakes(exposures: pd.DataFrame, asked: Sequence[Fact]) -> dict[str, float]:
    """Worth of asking by vehicle id, USD, over exposures whose questions name such a feature.

    ``exposures``: columns vehicle_id, questions ("; " joined fact names), x_worth_asking (USD).
    """
    names = {fact.name for fact in asked}
    by_feature = [
        bool(names & set(questions.split("; ")))
        for questions in exposures["questions"].astype(object).fillna("")
    ]
    worth = exposures["x_worth_asking"].fillna(0.0)[by_feature]
    sums = worth.groupby(exposures["vehicle_id"][by_feature], sort=True).sum()
    return {str(vehicle_id): float(usd) for vehicle_id, usd in sums.items()}


def platform_groups(
    vehicles: pd.DataFrame,
    rulebook: Rulebook,
    stake_usd: Mapping[str, float] | None = None,
) -> pd.DataFrame:
    """One row a make/model/engine/year group of the fleet, most at stake first.

    ``vehicles``: columns vehicle_id, make, model, engine (str), model_year (Int64), as from the
    fleet reader.  ``stake_usd``: worth of asking by vehicle id; without it the larger group comes
    first.  Result: GROUP_COLUMNS, then one text column a feature, filled where it is known.
    """
    import pandas as pd

    asked = features(rulebook)
    groups: dict[tuple[str, str, str, int], _Group] = {}
    for vehicle in vehicles.itertuples(index=False):
        make, model = _text(vehicle.make), _text(vehicle.model)
        if not make or not model:
            continue
        engine, year = _text(vehicle.engine), _year(vehicle.model_year)
        entry = matching(rulebook.platforms, (make, model, engine), year)
        key = (make.casefold(), model.casefold(), engine.casefold(), entry)
        group = groups.setdefault(key, _Group(make, model, engine, entry))
        stake = (stake_usd or {}).get(str(vehicle.vehicle_id), 0.0)
        group.add(year, stake)
    ordered = sorted(groups.items(), key=lambda item: (-item[1].stake, -item[1].count, item[0]))
    rows = [group.row(asked, rulebook.platforms) for _, group in ordered]
    return pd.DataFrame(rows, columns=[*GROUP_COLUMNS, *(fact.name for fact in asked)])


def read_groups(frame: pd.DataFrame, rulebook: Rulebook) -> Answers:
    """Platforms from a filled-in worksheet; conflicting or impossible answers are reported.

    ``frame`` has the columns of ``platform_groups``, in any order, its rows as typed; blank
    means not known.  A platform carries only what the rulebook does not say already: what the
    worksheet was filled with beforehand is no answer of the shop.  Problems name the row given in
    the column ``row``, or without one count from 2, below the heading.
    """
    problems: list[str] = []
    read: list[tuple[int, Platform]] = []
    asked = {fact.name: fact for fact in features(rulebook)}
    for position, row in enumerate(frame.to_dict("records"), start=2):
        number = int(row.get("row", position))
        cells = {str(key): value for key, value in row.items()}
        platform = _platform(cells, asked, number, problems, rulebook.platforms)
        if platform is not None:
            read.append((number, platform))
    agreed = _without_conflicts(read, rulebook.platforms, problems)
    return Answers(tuple(p for p in agreed if p.features), tuple(problems))


def joined(earlier: Sequence[Platform], answered: Sequence[Platform]) -> tuple[Platform, ...]:
    """Entries of a shop's own folder with new answers: none is lost, a new answer replaces."""
    entries = {_key(platform): platform for platform in earlier}
    for platform in answered:
        before = entries.get(_key(platform))
        said = {**(before.features if before else {}), **platform.features}
        entries[_key(platform)] = platform.model_copy(update={"features": said})
    return tuple(entries.values())


def platforms_text(platforms: Sequence[Platform]) -> str:
    """``platforms.yaml`` of these platforms, for a shop's own rule folder."""
    entries = [platform.model_dump(mode="json", exclude_none=True) for platform in platforms]
    return "# Written from the feature worksheet.\n" + yamlfile.dump({"platforms": entries})


@dataclass
class _Group:
    make: str
    model: str
    engine: str
    entry: int
    count: int = 0
    stake: float = 0.0
    first: int | None = None
    last: int | None = None

    def add(self, year: int | None, stake: float) -> None:
        self.count += 1
        self.stake += stake
        if year is not None:
            self.first = year if self.first is None else min(self.first, year)
            self.last = year if self.last is None else max(self.last, year)

    def row(self, asked: Sequence[Fact], platforms: Sequence[Platform]) -> list[Any]:
        name = (self.make, self.model, self.engine)
        known = known_features(platforms, name, (self.first, self.last))
        answers = [_shown(known.get(fact.name)) for fact in asked]
        key = [self.make, self.model, self.engine, self.first, self.last]
        return [*key, self.count, round(self.stake, 2), *answers]


def _platform(
    row: Mapping[str, Any],
    asked: Mapping[str, Fact],
    number: int,
    problems: list[str],
    known: Sequence[Platform],
) -> Platform | None:
    """What one row says beyond ``known``; None where that is nothing or cannot be used."""
    make, model, engine = (_text(row.get(part)) for part in ("make", "model", "engine"))
    first, last = _year(row.get("first_year")), _year(row.get("last_year"))
    said = known_features(known, (make, model, engine), (first, last))
    answered = {
        name: text
        for name in asked
        if (text := _text(row.get(name)))
        and (name not in said or value_of(asked[name], text) != said[name])
    }
    if not answered:
        return None
    if not make or not model or first is None or last is None or first > last:
        problems.append(f"row {number}: make, model, first_year and last_year are needed to use it")
        return None
    values: dict[str, Scalar] = {}
    for name, text in answered.items():
        value, fault = typed_value(asked[name], text)
        if fault:
            problems.append(f"row {number}, {name}: {fault}")
        else:
            values[name] = value
    return Platform(
        make=make,
        model=model,
        engine=engine or None,
        years=[first, last],
        features=values,
        how_known=HOW_KNOWN,
    )


def _without_conflicts(
    read: Sequence[tuple[int, Platform]], known: Sequence[Platform], problems: list[str]
) -> list[Platform]:
    """The platforms without features on which two answers, or answer and rulebook, disagree."""
    dropped: set[tuple[int, str]] = set()
    for position, (number, platform) in enumerate(read):
        for name, value in platform.features.items():
            for other_number, other in read[:position]:
                if overlap(platform, other) and other.features.get(name, value) != value:
                    dropped |= {(number, name), (other_number, name)}
                    problems.append(
                        f"row {number}, {name}: {_shown(value)} here but "
                        f"{_shown(other.features[name])} in row {other_number}; neither is used"
                    )
            for entry in known:
                same = _key(entry) == _key(platform)
                if (
                    not same
                    and overlap(platform, entry)
                    and entry.features.get(name, value) != value
                ):
                    dropped.add((number, name))
                    problems.append(
                        f"row {number}, {name}: {_shown(value)} here but "
                        f"{_shown(entry.features[name])} in platforms.yaml for {entry.make} "
                        f"{entry.model} {entry.years[0]}-{entry.years[1]}; correct one of the two"
                    )
    return [
        platform.model_copy(
            update={
                "features": {
                    name: value
                    for name, value in platform.features.items()
                    if (number, name) not in dropped
                }
            }
        )
        for number, platform in read
    ]


def _key(platform: Platform) -> tuple[str, str, str, int, int]:
    first, last = platform.years
    engine = (platform.engine or "").casefold()
    return platform.make.casefold(), platform.model.casefold(), engine, first, last


def typed_value(fact: Fact, text: str) -> tuple[Scalar, str]:
    """(value, what is wrong with it and what would be right): "" where nothing is."""
    value = value_of(fact, text)
    for what, instead in constant_faults(fact, value):
        if fact.kind == "flag":
            return value, f"{fact.name} is yes or no, not '{text}'"
        return value, f"{what}; {instead}" if instead else what
    return value, ""


def value_of(fact: Fact, text: str) -> Scalar:
    """What was typed as a value of the fact; text that does not fit is returned as it is."""
    if fact.kind == "flag":
        return _FLAGS.get(text.casefold(), text)
    if fact.kind == "category":
        return {word.casefold(): word for word in fact.values}.get(text.casefold(), text)
    try:
        return float(text)
    except ValueError:
        return text


def _shown(value: Scalar | None) -> str:
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    return f"{value:g}" if isinstance(value, float) else str(value)


def _text(value: Any) -> str:
    """Text of a cell; "" where there is nothing."""
    text = "" if value is None else " ".join(str(value).split())
    return "" if text in ("nan", "<NA>", "NaT", "None") else text


def _year(value: Any) -> int | None:
    text = _text(value)
    try:
        return int(float(text)) if text else None
    except ValueError:
        return None
