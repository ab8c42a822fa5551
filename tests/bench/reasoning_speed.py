"""Pairs a second: table look-up, live sessions and a hand-written mask on one fleet.

    python tests/bench/reasoning_speed.py [VEHICLES] [SAMPLED_SESSIONS]

The fleet is random (invented, fixed seed): every fact the rules read is known for most vehicles
and open for some.  Sessions are run for a stated sample of vehicles, all hazards, in one world
each, and every finding is asserted equal to the tables.  The pandas mask is one hazard's status
written out by hand, asserted equal where the record is certain.
"""

from __future__ import annotations

import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import numpy as np
import pandas as pd

from riskcheck import rulebook
from riskcheck.reasoning.audit import agreement
from riskcheck.reasoning.derive_columns import single_value
from riskcheck.reasoning.engine import Engine
from riskcheck.reasoning.evidence import Evidence
from riskcheck.reasoning.reasoned import reason
from riskcheck.reasoning.reasoning import compile_all
from riskcheck.reasoning.sets import FactSet, category_set
from riskcheck.reasoning.silence import numbers_or_silence, silent_weights, weights_of_codes
from riskcheck.reasoning.tables import tables_for
from riskcheck.reasoning.trace import chain_case, random_world
from riskcheck.rulebook.book import Rulebook
from riskcheck.vocabulary import Fact

SILENT_SHARE = 0.10
MASKED = "brake-hose-ageing"
_SEED = 31


def random_set(fact: Fact, vehicles: int, rng: np.random.Generator) -> FactSet:
    """Known values for most vehicles, silence for ``SILENT_SHARE`` of them."""
    silent = rng.random(vehicles) < SILENT_SHARE
    if fact.kind == "number":
        place = np.flatnonzero(~silent)
        steps = rng.integers(fact.steps(fact.low), fact.steps(fact.high) + 1, len(place))
        return numbers_or_silence(fact, place, steps, steps, np.ones(len(place)), silent)
    rows = [weights_of_codes(fact, [code]) for code in range(len(fact.codes))]
    row = np.where(silent, len(rows), rng.integers(0, len(rows), vehicles))
    return category_set([*rows, silent_weights(fact)], row)


def random_fleet(book: Rulebook, vehicles: int) -> Evidence:
    """Evidence on every fact that any hazard reads."""
    rng = np.random.default_rng(_SEED)
    facts = sorted({name for hazard in compile_all(book).values() for name in hazard.facts})
    sets = {name: random_set(book.vocabulary[name], vehicles, rng) for name in facts}
    names = tuple(f"v{number}" for number in range(vehicles))
    return Evidence(names, book.vocabulary, sets, pd.DataFrame())


@contextmanager
def timed(times: dict[str, float], name: str) -> Iterator[None]:
    """Adds the seconds spent to ``times[name]``."""
    start = time.perf_counter()
    yield
    times[name] = times.get(name, 0.0) + time.perf_counter() - start


def measure(vehicles: int = 20_000, sampled: int = 500) -> dict[str, float]:
    """Pairs a second of each way, and the seconds behind them."""
    book = rulebook.load()
    compiled = compile_all(book)
    evidence = random_fleet(book, vehicles)
    times: dict[str, float] = {}
    with tempfile.TemporaryDirectory() as folder, Engine() as engine:
        for name in ("tables cold", "tables warm"):
            with timed(times, name):
                tables = tables_for(list(compiled.values()), book.vocabulary, engine, Path(folder))
        with timed(times, "look-up"):
            reasoned = {
                name: reason(evidence.sets, vehicles, hazard, tables[name], 0.90)
                for name, hazard in compiled.items()
            }
        rng = np.random.default_rng(_SEED)
        places = rng.choice(vehicles, size=min(sampled, vehicles), replace=False)
        for name, hazard in compiled.items():
            rows = {n: evidence.sets[n].cell_rows(b) for n, b in tables[name].bands.items()}
            cases = [
                chain_case(
                    hazard,
                    tables[name],
                    evidence.sets,
                    evidence.vehicle_ids[place],
                    int(place),
                    random_world(tables[name], rows, int(place), rng),
                )
                for place in places
            ]
            with timed(times, "sessions"):
                answered = agreement(cases, evidence, engine)  # raises on any difference
            assert all(answered)
        times["sessions run"] = float(len(places) * len(compiled))
    frame = value_frame(evidence, sorted(compiled[MASKED].status_facts))
    with timed(times, "mask"):
        by_mask = brake_hose_status(frame)
    certain = frame.notna().all(axis=1).to_numpy()
    assert (by_mask == reasoned[MASKED].status)[certain].all()
    pairs = vehicles * len(compiled)
    return {
        "pairs": float(pairs),
        "pairs/s, tables cold": pairs / (times["tables cold"] + times["look-up"]),
        "pairs/s, tables warm": pairs / (times["tables warm"] + times["look-up"]),
        "pairs/s, live sessions": times["sessions run"] / times["sessions"],
        "pairs/s, one hazard's status as a pandas mask": vehicles / times["mask"],
        "unknown pairs": float(sum((r.status == "unknown").sum() for r in reasoned.values())),
        **{f"s {name}": seconds for name, seconds in times.items()},
    }


def value_frame(evidence: Evidence, names: list[str]) -> pd.DataFrame:
    """One column a fact: code or value in its unit where exactly one is possible, else NaN."""
    size = len(evidence.vehicle_ids)
    return pd.DataFrame(
        {name: single_value(evidence.sets[name], evidence.vocabulary[name], size) for name in names}
    )


def brake_hose_status(frame: pd.DataFrame) -> np.ndarray:
    """The status rules of brake-hose-ageing written out by hand: no worlds, no trace."""
    found_bad = frame["brake_hose_found_bad"] == 1
    applies = (frame["hydraulic_brakes"] == 1) | found_bad
    closed = applies & (frame["years_since_brake_hoses"] < 6) & ~found_bad
    return np.select([closed, applies], ["closed", "exposed"], "not_applicable")


def main() -> None:
    """Print every figure, one a line."""
    numbers = [int(argument) for argument in sys.argv[1:]]
    for name, figure in measure(*numbers).items():
        print(f"{name:<50} {figure:>14,.2f}")


if __name__ == "__main__":
    main()
