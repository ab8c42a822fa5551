"""Checks of ``platforms.yaml``: known features, possible values, no contradiction."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations

from riskcheck.rulebook.checks.base import Check
from riskcheck.rulebook.checks.values import constant_faults
from riskcheck.rulebook.folder import Draft, PlatformSource
from riskcheck.rulebook.model import Platform
from riskcheck.rulebook.validate import suggestion
from riskcheck.yamlfile import Fault


class PlatformFeatures(Check):
    """A platform entry gives facts that come from a column values that they can have."""

    def faults(self, draft: Draft) -> Iterator[Fault]:
        vocabulary = draft.vocabulary
        features = [fact.name for fact in vocabulary.derived_by("column")]
        for source in draft.platforms:
            for name, value in source.platform.features.items():
                where = ("platforms", source.index, "features", name)
                if name not in features:
                    if name not in draft.unread_facts:
                        what = f"'{name}' is no feature of a vehicle"
                        instead = suggestion(name, features, "facts.yaml")
                        yield source.document.fault(where, what, instead)
                    continue
                for what, instead in constant_faults(vocabulary[name], value):
                    yield source.document.fault(where, what, instead)


class PlatformYears(Check):
    """Years run forward."""

    def faults(self, draft: Draft) -> Iterator[Fault]:
        for source in draft.platforms:
            first, last = source.platform.years
            if first > last:
                where = ("platforms", source.index, "years")
                yield source.document.fault(
                    where, f"{first} is after {last}", "write [first, last]"
                )


class PlatformConflicts(Check):
    """Two entries that cover the same vehicle may not disagree on a feature."""

    def faults(self, draft: Draft) -> Iterator[Fault]:
        for one, two in combinations(draft.platforms, 2):
            if overlap(one.platform, two.platform):
                yield from _conflicts(one, two)


def overlap(one: Platform, two: Platform) -> bool:
    """Whether some vehicle may fall under both entries."""
    same_name = (one.make.casefold(), one.model.casefold()) == (
        two.make.casefold(),
        two.model.casefold(),
    )
    engines = {(one.engine or "").casefold(), (two.engine or "").casefold()}
    same_engine = len(engines - {""}) <= 1
    years = max(one.years[0], two.years[0]) <= min(one.years[1], two.years[1])
    return same_name and same_engine and years


def _conflicts(one: PlatformSource, two: PlatformSource) -> Iterator[Fault]:
    earlier = one.platform.features
    for name, value in two.platform.features.items():
        if name in earlier and earlier[name] != value:
            line = one.document.line_of(("platforms", one.index, "features", name))
            what = f"{name} is {value!r} here but {earlier[name]!r} on line {line}"
            where = ("platforms", two.index, "features", name)
            yield two.document.fault(where, what, "narrow the years or engine of one, or agree")
