"""Conclusions on one hazard for every vehicle, by looking tables up."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt

from riskcheck.reasoning.bands import Bools, Floats, Ints
from riskcheck.reasoning.overflow import judge_by_bounds
from riskcheck.reasoning.sets import CellRows, FactSet
from riskcheck.reasoning.status import (
    CLOSED_CODE,
    NO_ANSWER_CODE,
    NOT_APPLICABLE,
    STATUS_NAMES,
    UNPROVEN_CODE,
    Verdicts,
    judge,
    world_status,
)
from riskcheck.reasoning.tables import HazardTables
from riskcheck.reasoning.worlds import (
    MOST_WORLDS,
    Patterns,
    compacted,
    expand,
    in_batches,
    patterns_of,
    world_counts,
)
from riskcheck.rulebook.compiled import CompiledHazard
from riskcheck.rulebook.model import CONFIRMED, SIGN

STATUS_FINDINGS = ("applies", "closed", "unproven", "window_over")
TRUE, FALSE, OPEN = 1, 0, -1
Trits = npt.NDArray[np.int8]


@dataclass(frozen=True)
class VehicleWorlds:
    """What ``risk`` sees of the worlds: grouped by vehicle, prior weights that sum to 1 each.

    ``vehicle``, ``exposed``, ``weight`` (w,); ``exposed`` covers unproven worlds too.
    ``answers``: fact -> int32 (w,), the cell that a question's fact has in the world, -1 where the
    vehicle has no such question.
    """

    vehicle: Ints
    exposed: Bools
    weight: Floats
    answers: Mapping[str, npt.NDArray[np.int32]]


@dataclass(frozen=True)
class Reasoned:
    """Conclusions on one hazard; all arrays (n,) follow the order of the vehicles.

    ``factors`` and ``findings_hold`` are 1 / 0 / -1 resp. the authored findings that hold in every
    world; a factor is judged in the worlds in which the hazard is live.  ``beyond_cap`` marks
    vehicles with more than 4,096 worlds: status by bounds, weights from a fixed sample.
    """

    hazard_id: str
    status: npt.NDArray[np.str_]
    evidence: npt.NDArray[np.str_]
    exposed_prior: Floats
    status_weights: Floats
    case_id: npt.NDArray[np.str_]
    questions: list[tuple[str, ...]]
    findings_hold: list[tuple[str, ...]]
    worlds: VehicleWorlds
    factors: Mapping[str, Trits]
    closed_reason: npt.NDArray[np.str_]
    beyond_cap: Bools
    findings: Mapping[str, Trits] = field(default_factory=dict)


def reason(
    sets: Mapping[str, FactSet],
    vehicles: int,
    compiled: CompiledHazard,
    tables: HazardTables,
    needed_weight: float,
) -> Reasoned:
    """Reason on one hazard.

    ``sets``: what is possible for each fact the hazard reads, for ``vehicles`` vehicles;
    ``needed_weight``: weight of live worlds from which a vehicle counts as exposed or unproven.
    """
    rows = {name: sets[name].cell_rows(band) for name, band in tables.bands.items()}
    case_id = _case_ids(tables, rows, vehicles)
    if tables.unanswered:
        return _no_answer(compiled, tables, case_id)
    core = _patterns(rows, compiled.status_facts, vehicles)
    verdicts, beyond = _judge_all(tables, rows, core, needed_weight)
    findings, in_live = _judge_findings(tables, rows, core)
    at = core.of_vehicle
    status = verdicts.status[at]
    questions = _questions(core, verdicts)
    closed_reason = np.where(
        status == CLOSED_CODE, np.where(verdicts.window_over[at], "window_over", "remedy"), ""
    )
    live_weight = verdicts.weights[:, UNPROVEN_CODE:].sum(axis=1)
    return Reasoned(
        compiled.hazard_id,
        np.array(STATUS_NAMES)[status],
        _evidence(in_live, status),
        live_weight[at],
        verdicts.weights[at],
        case_id,
        [questions[pattern] for pattern in at],
        _holding(findings, compiled),
        _vehicle_worlds(tables, rows, core, questions, live_weight),
        {name: in_live[name] for name in compiled.factor_findings},
        closed_reason,
        beyond[at],
        findings,
    )


def _patterns(rows: Mapping[str, CellRows], facts: Sequence[str], vehicles: int) -> Patterns:
    if facts:
        return patterns_of(rows, facts)
    return Patterns((), np.zeros((1, 0), dtype=np.int64), np.zeros(vehicles, dtype=np.int64))


def _status_findings(tables: HazardTables) -> list[str]:
    return [table.name for table in tables.findings if table.name in STATUS_FINDINGS]


def _judge_all(
    tables: HazardTables, rows: Mapping[str, CellRows], core: Patterns, needed_weight: float
) -> tuple[Verdicts, Bools]:
    count, width = core.rows.shape
    verdicts = Verdicts(
        np.zeros(count, dtype=np.int64),
        np.zeros((count, 4)),
        np.zeros(count, dtype=np.bool_),
        np.zeros((count, width), dtype=np.bool_),
        np.zeros((count, width)),
    )
    names = _status_findings(tables)
    widths = {fact: tables.bands[fact].cells for fact in core.facts}
    counts = world_counts(rows, core)
    for batch in in_batches(counts):
        worlds = expand(rows, core.facts, core.rows[batch])
        judged = judge(
            worlds, _truths(tables, worlds.cells, names, len(worlds.weight)), needed_weight, widths
        )
        _put(verdicts, batch, judged)
    beyond = counts > MOST_WORLDS
    for pattern in np.flatnonzero(beyond):
        judged = judge_by_bounds(tables, rows, core, int(pattern), names, needed_weight)
        _put(verdicts, np.array([pattern]), judged)
    return verdicts, beyond


def _put(into: Verdicts, places: Ints, judged: Verdicts) -> None:
    for name in ("status", "weights", "window_over", "parts", "information"):
        getattr(into, name)[places] = getattr(judged, name)


def _truths(
    tables: HazardTables, cells: Mapping[str, Ints], names: Sequence[str], worlds: int
) -> dict[str, Bools]:
    return tables.evaluate(cells or {"": np.zeros(worlds, dtype=np.int64)}, names)


def _judge_findings(
    tables: HazardTables, rows: Mapping[str, CellRows], core: Patterns
) -> tuple[dict[str, Trits], dict[str, Trits]]:
    """Every finding over all worlds, and over the worlds in which the hazard is live, (n,) each.

    Findings that read further facts are judged over those facts too, group by group, so that the
    number of worlds stays small.
    """
    groups: dict[tuple[str, ...], list[str]] = {}
    for table in tables.findings:
        extra = tuple(f for f in tables.facts_behind([table.name]) if f not in core.facts)
        groups.setdefault(extra, []).append(table.name)
    overall: dict[str, Trits] = {}
    in_live: dict[str, Trits] = {}
    for extra, names in groups.items():
        patterns = patterns_of(rows, extra, core) if extra else core
        for name, (everywhere, live) in _judge_group(tables, rows, patterns, names).items():
            overall[name] = everywhere[patterns.of_vehicle]
            in_live[name] = live[patterns.of_vehicle]
    order = [table.name for table in tables.findings]
    return {name: overall[name] for name in order}, {name: in_live[name] for name in order}


def _judge_group(
    tables: HazardTables, rows: Mapping[str, CellRows], patterns: Patterns, names: list[str]
) -> dict[str, tuple[Trits, Trits]]:
    count = len(patterns.rows)
    result = {
        name: (np.full(count, OPEN, dtype=np.int8), np.full(count, OPEN, dtype=np.int8))
        for name in names
    }
    wanted = [*names, *_status_findings(tables)]
    for batch in in_batches(world_counts(rows, patterns)):
        worlds = expand(rows, patterns.facts, patterns.rows[batch])
        truths = _truths(tables, worlds.cells, wanted, len(worlds.weight))
        status = world_status(truths)
        live = status >= UNPROVEN_CODE
        # Without a live world the closed ones speak; without those, none does.
        domain = np.where(worlds.some(live)[worlds.pattern], live, status == CLOSED_CODE)
        for name in names:
            truth = truths[name]
            result[name][0][batch] = _trits(worlds.every(truth), worlds.every(~truth))
            result[name][1][batch] = _trits(
                worlds.every(truth | ~domain) & worlds.some(domain),
                worlds.every(~truth | ~domain),
            )
    return result


def _trits(true: Bools, false: Bools) -> Trits:
    return np.where(true, TRUE, np.where(false, FALSE, OPEN)).astype(np.int8)


def _evidence(in_live: Mapping[str, Trits], status: Ints) -> npt.NDArray[np.str_]:
    nowhere = np.zeros(len(status), dtype=np.int8)
    applicable = status != NOT_APPLICABLE
    confirmed = (in_live.get(CONFIRMED, nowhere) == TRUE) & applicable
    sign = (in_live.get(SIGN, nowhere) == TRUE) & applicable
    return np.where(confirmed, "confirmed", np.where(sign, "sign", "none"))


def _questions(core: Patterns, verdicts: Verdicts) -> list[tuple[str, ...]]:
    """Per pattern: facts on which worlds part, most informative first, ties in fact order."""
    order = np.argsort(-np.round(verdicts.information, 12), axis=1, kind="stable")
    return [
        tuple(core.facts[place] for place in order[pattern] if verdicts.parts[pattern, place])
        for pattern in range(len(core.rows))
    ]


def _holding(findings: Mapping[str, Trits], compiled: CompiledHazard) -> list[tuple[str, ...]]:
    names = np.array([f.name for f in compiled.findings if not f.automatic], dtype=object)
    group = np.zeros(len(findings[names[0]]), dtype=np.int64)
    held: list[tuple[str, ...]] = [()]
    for name in names:
        distinct, group = compacted(group * 2 + (findings[name] == TRUE), 2 * len(held))
        held = [(*held[key // 2], str(name)) if key % 2 else held[key // 2] for key in distinct]
    return [held[place] for place in group]


def _vehicle_worlds(
    tables: HazardTables,
    rows: Mapping[str, CellRows],
    core: Patterns,
    questions: list[tuple[str, ...]],
    live_weight: Floats,
) -> VehicleWorlds:
    asked = sorted({fact for facts in questions for fact in facts})
    parted = np.array([bool(facts) for facts in questions], dtype=np.bool_)
    parted &= world_counts(rows, core) <= MOST_WORLDS
    pieces = [
        _merged(tables, rows, core, batch, questions, asked)
        for batch in in_batches(world_counts(rows, core), np.flatnonzero(parted))
    ]
    whole = np.flatnonzero(~parted)
    for exposed, weight in ((True, live_weight[whole]), (False, 1.0 - live_weight[whole])):
        kept = weight > 0
        answers = np.full((int(kept.sum()), len(asked)), -1, dtype=np.int32)
        pieces.append((whole[kept], np.full(int(kept.sum()), exposed), weight[kept], answers))
    pattern, exposed_all, weight_all, answers_all = (
        np.concatenate([piece[part] for piece in pieces]) for part in range(4)
    )
    order = np.argsort(pattern, kind="stable")
    count = np.bincount(pattern, minlength=len(core.rows))
    first = np.concatenate([[0], np.cumsum(count)[:-1]])
    mine = count[core.of_vehicle]
    vehicle = np.repeat(np.arange(len(mine)), mine)
    local = np.arange(len(vehicle)) - np.repeat(np.cumsum(mine) - mine, mine)
    take = order[first[core.of_vehicle][vehicle] + local]
    return VehicleWorlds(
        vehicle,
        exposed_all[take].astype(np.bool_),
        weight_all[take],
        {fact: answers_all[take, place] for place, fact in enumerate(asked)},
    )


def _merged(
    tables: HazardTables,
    rows: Mapping[str, CellRows],
    core: Patterns,
    batch: Ints,
    questions: list[tuple[str, ...]],
    asked: Sequence[str],
) -> tuple[Ints, Bools, Floats, npt.NDArray[np.int32]]:
    """Worlds of some patterns, those alike in exposure and in every answer added up."""
    worlds = expand(rows, core.facts, core.rows[batch])
    truths = _truths(tables, worlds.cells, _status_findings(tables), len(worlds.weight))
    live = world_status(truths) >= UNPROVEN_CODE
    group, groups = worlds.pattern * 2 + live, 2 * len(batch)
    answers = np.full((len(live), len(asked)), -1, dtype=np.int32)
    for place, fact in enumerate(asked):
        mine = np.array([fact in questions[pattern] for pattern in batch], dtype=np.bool_)
        answers[:, place] = np.where(mine[worlds.pattern], worlds.cells[fact], -1)
        width = tables.bands[fact].cells + 1
        distinct, group = compacted(group * width + answers[:, place] + 1, groups * width)
        groups = len(distinct)
    distinct, group = compacted(group, groups)
    example = np.empty(len(distinct), dtype=np.int64)
    example[group] = np.arange(len(group))
    weight = np.bincount(group, weights=worlds.weight).astype(np.float64)
    return batch[worlds.pattern[example]], live[example], weight, answers[example]


def _case_ids(
    tables: HazardTables, rows: Mapping[str, CellRows], vehicles: int
) -> npt.NDArray[np.str_]:
    """First 12 hex digits over hazard, rules and the possible cells of every fact it reads."""
    head = hashlib.sha256(f"{tables.hazard_id}|{tables.rules_digest}|".encode("ascii"))
    masks = [np.packbits(rows[fact].possible, axis=1)[rows[fact].row] for fact in sorted(rows)]
    joined = np.ascontiguousarray(np.concatenate(masks, axis=1)) if masks else np.empty((0, 0))
    patterns = joined.view(f"V{joined.shape[1]}").ravel().tolist() if masks else [b""] * vehicles
    known: dict[bytes, str] = {}
    for mask in patterns:
        if mask not in known:
            digest = head.copy()
            digest.update(mask)
            known[mask] = digest.hexdigest()[:12]
    ids = [known[mask] for mask in patterns]
    return np.array(ids, dtype="<U12")


def _no_answer(
    compiled: CompiledHazard, tables: HazardTables, case_id: npt.NDArray[np.str_]
) -> Reasoned:
    n = len(case_id)
    nothing = np.empty(0)
    unknown = np.full(n, OPEN, dtype=np.int8)
    return Reasoned(
        compiled.hazard_id,
        np.full(n, STATUS_NAMES[NO_ANSWER_CODE]),
        np.full(n, "none"),
        np.full(n, np.nan),
        np.full((n, 4), np.nan),
        case_id,
        [()] * n,
        [()] * n,
        VehicleWorlds(nothing.astype(np.int64), nothing.astype(np.bool_), nothing, {}),
        dict.fromkeys(compiled.factor_findings, unknown),
        np.full(n, ""),
        np.zeros(n, dtype=np.bool_),
        {table.name: unknown for table in tables.findings},
    )
