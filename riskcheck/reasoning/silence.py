"""What a fact may be when the record says nothing, and how a stated value becomes a set."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np

from riskcheck.reasoning.bands import Bools, Floats, Ints, may_be_absent
from riskcheck.reasoning.sets import (
    CategorySet,
    FactSet,
    NumberSet,
    category_set,
    number_set,
)
from riskcheck.vocabulary import Fact

# A stated "typical" range is the middle 90 % of what is seen, like every range in riskcheck.
TYPICAL_SHARE = 0.90
YES_WORDS = frozenset({"yes", "y", "true", "t", "1", "x"})
NO_WORDS = frozenset({"no", "n", "false", "f", "0"})


def silent_weights(fact: Fact) -> list[float]:
    """Weight of each code (and of *absent*, last) where nothing is said; NaN = impossible."""
    if fact.kind == "flag" and fact.silence == "on_file":
        return [1.0, np.nan]
    if fact.kind != "flag" and fact.silence == "on_file":
        return [*[np.nan] * len(fact.codes), 1.0]
    if fact.kind == "flag" and fact.reporting is not None:
        true = fact.reporting.true_if_silent()
        return [1.0 - true, true]
    return [fact.base.get(code, 0.0 if fact.base else 1.0) for code in fact.codes]


def silent_pieces(fact: Fact) -> tuple[list[tuple[int, int, float]], float]:
    """Pieces (low, high, share) of a number nobody wrote down, and the weight of its absence."""
    if fact.silence == "on_file":
        return [], 1.0
    first, last = fact.steps(fact.low), fact.steps(fact.high)
    pieces = [(first, last, 1.0)]
    if fact.typical is not None:
        low, high = fact.steps(fact.typical[0]), fact.steps(fact.typical[1])
        rest = (1.0 - TYPICAL_SHARE) / 2
        pieces = [(first, low - 1, rest), (low, high, TYPICAL_SHARE), (high + 1, last, rest)]
        pieces = [piece for piece in pieces if piece[0] <= piece[1]]
    if fact.silence == "coverage":
        true = fact.reporting.true_if_silent() if fact.reporting else 0.5
        return [(low, high, share * true) for low, high, share in pieces], 1.0 - true
    return pieces, np.nan


def code_of_words(fact: Fact, raw: Any) -> int | None:
    """The code that a cell or typed value names, or None when it names none."""
    words = " ".join(str(raw).strip().casefold().replace("_", " ").split())
    if fact.kind == "flag":
        return 1 if words in YES_WORDS else 0 if words in NO_WORDS else None
    names = [value.casefold().replace("_", " ") for value in fact.values]
    return names.index(words) if words in names else None


def steps_of_words(fact: Fact, raw: Any) -> int | None:
    """A number in whole steps, or None when it is no number or lies outside the fact's range."""
    try:
        value = float(raw)
    except (TypeError, ValueError):
        return None
    return fact.steps(value) if fact.low <= value <= fact.high else None


def set_of_values(fact: Fact, values: Sequence[Any]) -> FactSet:
    """Sets from stated values, one entry a vehicle: None is silence, a list is "one of these".

    Raises ValueError naming the fact when a value does not fit it.
    """
    listed = [value if isinstance(value, list) else [value] for value in values]
    silent = np.array([entry == [None] for entry in listed], dtype=np.bool_)
    if fact.kind == "number":
        vehicle, steps = [], []
        for place, entry in enumerate(listed):
            for value in entry if not silent[place] else []:
                vehicle.append(place)
                steps.append(_fits(fact, value, steps_of_words(fact, value)))
        exact = np.array(steps, dtype=np.int64)
        return numbers_or_silence(
            fact, np.array(vehicle, dtype=np.int64), exact, exact, np.ones(len(exact)), silent
        )
    rows: list[list[float]] = [silent_weights(fact)]
    row = np.zeros(len(listed), dtype=np.int64)
    for place, entry in enumerate(listed):
        if not silent[place]:
            codes = [_fits(fact, value, code_of_words(fact, value)) for value in entry]
            row[place] = len(rows)
            rows.append(weights_of_codes(fact, codes))
    return category_set(rows, row)


def weights_of_codes(fact: Fact, codes: Sequence[int]) -> list[float]:
    """Weights of a category known to be one of ``codes``: by base share, else even."""
    shares = [
        (fact.base.get(code, 0.0) if fact.base else 1.0) if number in codes else np.nan
        for number, code in enumerate(fact.codes)
    ]
    return [*shares, *([np.nan] if may_be_absent(fact) else [])]


def numbers_or_silence(
    fact: Fact, vehicle: Ints, low: Ints, high: Ints, share: Floats, silent: Bools
) -> NumberSet:
    """Pieces of the vehicles that have a value, and silence (n,) for those that have none."""
    pieces, absent = silent_pieces(fact)
    quiet = np.flatnonzero(silent)
    columns = list(zip(*pieces, strict=True)) or [(), (), ()]
    count = len(pieces)
    return number_set(
        np.concatenate([vehicle, np.repeat(quiet, count)]),
        np.concatenate([low, np.tile(np.array(columns[0], dtype=np.int64), len(quiet))]),
        np.concatenate([high, np.tile(np.array(columns[1], dtype=np.int64), len(quiet))]),
        np.concatenate([share, np.tile(np.array(columns[2], dtype=np.float64), len(quiet))]),
        np.where(silent, absent, np.nan),
    )


def overridden(original: FactSet, replacement: FactSet, chosen: Bools) -> FactSet:
    """``replacement`` where ``chosen`` (n,), else ``original``; both of one kind."""
    if isinstance(original, CategorySet) and isinstance(replacement, CategorySet):
        a, b = original.rows, replacement.rows
        rows = np.concatenate([np.where(part.possible, part.weight, np.nan) for part in (a, b)])
        return category_set(rows.tolist(), np.where(chosen, len(a.possible) + b.row, a.row))
    assert isinstance(original, NumberSet)
    assert isinstance(replacement, NumberSet)
    kept, new = ~chosen[original.vehicle], chosen[replacement.vehicle]
    return number_set(
        np.concatenate([original.vehicle[kept], replacement.vehicle[new]]),
        np.concatenate([original.low[kept], replacement.low[new]]),
        np.concatenate([original.high[kept], replacement.high[new]]),
        np.concatenate([original.share[kept], replacement.share[new]]),
        np.where(chosen, replacement.absent, original.absent),
    )


def _fits(fact: Fact, value: Any, found: int | None) -> int:
    if found is None:
        wanted = (
            f"a number from {fact.low:g} to {fact.high:g} {fact.unit}".rstrip()
            if fact.kind == "number"
            else "one of " + ", ".join(fact.codes)
        )
        raise ValueError(f"{fact.name} = {value!r} does not fit: give {wanted}")
    return found
