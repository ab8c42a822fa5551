"""One small truth table a finding, filled by durable-rules, looked up for every vehicle.

A finding reads facts (by band) and earlier findings (yes or no); the engine is asked once for
every combination.  The answer is the set of rules that fired, as a bit mask; 0 means the finding
does not hold.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from math import prod
from pathlib import Path

import numpy as np

from riskcheck.errors import RulebookError
from riskcheck.reasoning.bands import Bands, Bools, Ints, bands_of
from riskcheck.reasoning.engine import Engine, NoAnswerError
from riskcheck.reasoning.engine_rules import for_finding
from riskcheck.reasoning.table_cache import TableCache, digest_of
from riskcheck.rulebook.compiled import CompiledFinding, CompiledHazard
from riskcheck.vocabulary import Vocabulary

MOST_CELLS = 20_000


@dataclass(frozen=True)
class FindingTable:
    """``fired`` (cells,) int64: bit r is set where rule r fired, over facts then findings.

    ``strides`` belong to ``facts`` followed by ``findings``.
    """

    name: str
    automatic: bool
    facts: tuple[str, ...]
    findings: tuple[str, ...]
    strides: tuple[int, ...]
    fired: Ints

    def rules_fired(self, cells: Mapping[str, Ints], truths: Mapping[str, Bools]) -> Ints:
        """Bit masks of the rules that fire for each world, from its cells and earlier findings."""
        place = np.zeros(_length(cells, truths), dtype=np.int64)
        for name, stride in zip((*self.facts, *self.findings), self.strides, strict=True):
            place += (cells[name] if name in self.facts else truths[name]) * stride
        return self.fired[place]


@dataclass(frozen=True)
class HazardTables:
    """All tables of one hazard in dependency order.

    ``unanswered``: findings for which the engine was lost; the hazard then has no answers.
    """

    hazard_id: str
    rules_digest: str
    bands: Mapping[str, Bands]
    findings: tuple[FindingTable, ...]
    unanswered: tuple[str, ...] = ()

    def evaluate(
        self, cells: Mapping[str, Ints], names: Iterable[str] | None = None
    ) -> dict[str, Bools]:
        """Truth (w,) of the named findings (default all) and those behind them, for w worlds."""
        wanted = self.behind(names) if names is not None else None
        truths: dict[str, Bools] = {}
        for table in self.findings:
            if wanted is None or table.name in wanted:
                truths[table.name] = table.rules_fired(cells, truths) != 0
        return truths

    def behind(self, names: Iterable[str]) -> frozenset[str]:
        """These findings and all earlier ones they rest on."""
        wanted = set(names)
        for table in reversed(self.findings):
            if table.name in wanted:
                wanted.update(table.findings)
        return frozenset(wanted)

    def facts_behind(self, names: Iterable[str]) -> tuple[str, ...]:
        """Facts read by these findings or any behind them, sorted."""
        wanted = self.behind(names)
        return tuple(sorted({f for t in self.findings if t.name in wanted for f in t.facts}))


def tables_for(
    hazards: Sequence[CompiledHazard],
    vocabulary: Vocabulary,
    engine: Engine,
    cache_dir: Path | None = None,
) -> dict[str, HazardTables]:
    """Tables of every hazard, from the cache where rules and engine are unchanged.

    ``cache_dir`` None keeps nothing on disk.  Raises RulebookError for a table above
    ``MOST_CELLS`` cells.
    """
    cache = TableCache(cache_dir)
    return {
        hazard.hazard_id: _hazard_tables(hazard, vocabulary, engine, cache) for hazard in hazards
    }


def _hazard_tables(
    hazard: CompiledHazard, vocabulary: Vocabulary, engine: Engine, cache: TableCache
) -> HazardTables:
    bands = {
        name: bands_of(vocabulary[name], hazard.constants.get(name, ())) for name in hazard.facts
    }
    shapes = {finding.name: _shape(hazard, finding, bands) for finding in hazard.findings}
    rules_digest, cache_key = digest_of(hazard, bands)
    filled = cache.read(cache_key, {name: prod(shape) for name, shape in shapes.items()})
    unanswered: list[str] = []
    if filled is None:
        filled = {}
        for finding in hazard.findings:
            try:
                filled[finding.name] = _fill(hazard, finding, bands, vocabulary, engine)
            except NoAnswerError:
                unanswered.append(finding.name)
                filled[finding.name] = np.zeros(prod(shapes[finding.name]), dtype=np.int64)
        if not unanswered:
            cache.write(cache_key, filled)
    tables = tuple(
        FindingTable(
            finding.name,
            finding.automatic,
            finding.facts_read,
            finding.findings_read,
            _strides(shapes[finding.name]),
            filled[finding.name],
        )
        for finding in hazard.findings
    )
    return HazardTables(hazard.hazard_id, rules_digest, bands, tables, tuple(unanswered))


def _fill(
    hazard: CompiledHazard,
    finding: CompiledFinding,
    bands: Mapping[str, Bands],
    vocabulary: Vocabulary,
    engine: Engine,
) -> Ints:
    choices: list[list[tuple[str, int | None]]] = [
        [(name, value) for value in bands[name].representatives] for name in finding.facts_read
    ]
    choices += [[(name, None), (name, 1)] for name in finding.findings_read]
    sessions = [
        [(name, value) for name, value in combination if value is not None]
        for combination in itertools.product(*choices)
    ]
    answers = engine.run(for_finding(hazard.hazard_id, finding, vocabulary), sessions)
    return np.array([sum(1 << rule for rule in fired) for fired in answers], dtype=np.int64)


def _shape(
    hazard: CompiledHazard, finding: CompiledFinding, bands: Mapping[str, Bands]
) -> tuple[int, ...]:
    shape = (
        *(bands[name].cells for name in finding.facts_read),
        *(2 for _ in finding.findings_read),
    )
    if prod(shape) > MOST_CELLS:
        raise RulebookError(
            [
                f"{hazard.hazard_id}: finding {finding.name} has {prod(shape):,} combinations to "
                f"decide, more than {MOST_CELLS:,}: split it into findings that read fewer facts"
            ]
        )
    return shape


def _strides(shape: tuple[int, ...]) -> tuple[int, ...]:
    return tuple(prod(shape[place + 1 :]) for place in range(len(shape)))


def _length(cells: Mapping[str, Ints], truths: Mapping[str, Bools]) -> int:
    return len(next(iter((*cells.values(), *truths.values()))))
