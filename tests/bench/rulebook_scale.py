"""How compile time, tables and look-up grow with the number of hazards.

    python tests/bench/rulebook_scale.py [VEHICLES] [HAZARDS ...]

Generated hazards are the shipped ones with every constant moved to a place of its own (fixed
seed), so that they are as large as real ones and no two share a table.  The fleet is random, as
in ``reasoning_speed``.  Growth is the exponent of the least-squares line through log(seconds or
cells) over log(hazards): 1 is linear.  Pricing grows with the pairs, not with the rules, and has
a benchmark of its own.
"""

from __future__ import annotations

import resource
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path

import numpy as np
from reasoning_speed import random_fleet

from riskcheck import rulebook
from riskcheck.reasoning.engine import Engine
from riskcheck.reasoning.reasoned import reason
from riskcheck.reasoning.reasoning import compile_all
from riskcheck.reasoning.tables import tables_for
from riskcheck.rulebook.book import Rulebook
from riskcheck.rulebook.model import Condition, Finding, Hazard
from riskcheck.vocabulary import Vocabulary

HAZARDS = (75, 150, 300)
VEHICLES = 20_000
_SEED = 31


def generated(book: Rulebook, count: int) -> Rulebook:
    """``count`` hazards made from the shipped ones, constants moved within a fact's range."""
    rng = np.random.default_rng(_SEED)
    shipped = list(book.hazards.values())
    hazards = {}
    for number in range(count):
        pattern = shipped[number * 7 % len(shipped)]
        hazards[f"made-{number:04d}"] = _moved(pattern, f"made-{number:04d}", book.vocabulary, rng)
    return replace(book, hazards=hazards, digest=f"{book.digest}-{count}")


def _moved(hazard: Hazard, name: str, vocabulary: Vocabulary, rng: np.random.Generator) -> Hazard:
    scale = float(rng.uniform(0.5, 1.5))
    findings = {
        key: Finding(
            says=finding.says,
            when=[
                {fact: _scaled(wanted, fact, scale, vocabulary) for fact, wanted in rule.items()}
                for rule in finding.when
            ],
        )
        for key, finding in hazard.findings.items()
    }
    return hazard.model_copy(update={"id": name, "findings": findings})


def _scaled(wanted: object, name: str, scale: float, vocabulary: Vocabulary) -> object:
    """A condition with its number moved; everything else as it is.

    One scale serves a whole hazard, so that the order of its constants stays.
    """
    if not isinstance(wanted, Condition) or isinstance(wanted.is_not, str):
        return wanted
    fact = vocabulary[name]
    moved = {}
    for key, value in wanted.model_dump(exclude_none=True).items():
        steps = min(max(round(value * scale / fact.resolution), fact.steps(fact.low) + 1),
                    fact.steps(fact.high) - 1)  # fmt: skip
        moved[key] = round(steps * fact.resolution, 9)
    return Condition(**moved)


def cpu_seconds() -> float:
    """Processor seconds of this process and of the engine workers that have ended."""
    spent = [resource.getrusage(who) for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)]
    return sum(each.ru_utime + each.ru_stime for each in spent)


@contextmanager
def lap(laps: dict[str, float], name: str) -> Iterator[None]:
    """Wall seconds and processor seconds of one stage; a busy machine spoils only the first."""
    wall, cpu = time.perf_counter(), cpu_seconds()
    yield
    laps[f"wall s {name}"] = time.perf_counter() - wall
    laps[f"cpu s {name}"] = cpu_seconds() - cpu


def measure(hazards: int, vehicles: int) -> dict[str, float]:
    """Seconds of each stage, cells of the tables, pairs with an open status."""
    book = generated(rulebook.load(), hazards)
    laps: dict[str, float] = {}
    with lap(laps, "compiling"):
        compiled = compile_all(book)
    with tempfile.TemporaryDirectory() as folder:
        for name in ("tables, asked of the engine", "tables, kept from before"):
            with lap(laps, name), Engine() as engine:
                tables = tables_for(list(compiled.values()), book.vocabulary, engine, Path(folder))
    cells = [len(table.fired) for each in tables.values() for table in each.findings]
    laps |= {"cells in all tables": float(sum(cells)), "cells of the largest": float(max(cells))}
    evidence = random_fleet(book, vehicles)
    live = 0
    with lap(laps, "look-up"):
        for name, hazard in compiled.items():
            status = reason(evidence.sets, vehicles, hazard, tables[name], 0.90).status
            live += int(np.isin(status, ["exposed", "unproven", "unknown"]).sum())
    laps["pairs"] = float(hazards * vehicles)
    laps["pairs that ask for something"] = float(live)
    laps["peak memory, MB"] = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024.0
    return laps


def growth(hazards: list[int], figures: list[float]) -> float:
    """Exponent of the figures over the number of hazards."""
    return float(np.polyfit(np.log(hazards), np.log(figures), 1)[0])


def main() -> None:
    """Print every figure for every size, then the growth of those that may grow."""
    numbers = [int(argument) for argument in sys.argv[1:]]
    vehicles, sizes = (numbers[:1] or [VEHICLES])[0], numbers[1:] or list(HAZARDS)
    found = {size: measure(size, vehicles) for size in sizes}
    print(f"{vehicles:,} vehicles".ljust(38), *(f"{size:>12,}" for size in sizes), "      growth")
    for name in found[sizes[0]]:
        figures = [found[size][name] for size in sizes]
        grows = growth(sizes, figures) if len(sizes) > 1 else float("nan")
        print(name.ljust(38), *(f"{figure:>12,.2f}" for figure in figures), f"{grows:>12.2f}")


if __name__ == "__main__":
    main()
