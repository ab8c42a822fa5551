"""Facts of the vehicle itself: sheet columns, platform entries, age, physics of columns."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np
import pandas as pd

from riskcheck.physics import FACT_FUNCTIONS
from riskcheck.reasoning.bands import Floats, Ints
from riskcheck.reasoning.derived import Derived, pieces_of_range
from riskcheck.reasoning.record import Record
from riskcheck.reasoning.sets import CategorySet, NumberSet, category_set
from riskcheck.reasoning.silence import (
    code_of_words,
    numbers_or_silence,
    silent_weights,
    steps_of_words,
    weights_of_codes,
)
from riskcheck.rulebook.model import Platform
from riskcheck.vocabulary import Fact

# How many vehicles' worth of weight the general base rate keeps against the fleet's own counts
# (common practice, no source).
BASE_RATE_VEHICLES = 10.0
_PLATFORM_KEYS = ["make", "model", "engine", "model_year"]


def column(fact: Fact, record: Record) -> Derived:
    """What the vehicle sheet says, else what the platform entry says, else silence."""
    said = stated(fact, record)
    if fact.kind != "number":
        return Derived(_categories(fact, record, said), sources=_cell_sources(fact, record, said))
    place, steps = [], []
    for vehicle, codes in enumerate(said["codes"]):
        place += [vehicle] * len(codes)
        steps += codes
    value = np.array(steps, dtype=np.int64)
    silent = np.array([not codes for codes in said["codes"]], dtype=np.bool_)
    numbers = numbers_or_silence(
        fact, np.array(place, dtype=np.int64), value, value, np.ones(len(value)), silent
    )
    return Derived(numbers, sources=_cell_sources(fact, record, said))


def age(fact: Fact, record: Record) -> Derived:
    """Usage on a clock since the vehicle was new."""
    everyone = np.arange(record.size)
    edges = record.usage.now(fact.derivation.params["clock"])
    vehicle, low, high, share, unknown = pieces_of_range(fact, everyone, *edges)
    silent = np.zeros(record.size, dtype=np.bool_)
    numbers = numbers_or_silence(fact, vehicle, low, high, share, silent)
    return Derived(numbers, unplaced=unknown)


def physics(fact: Fact, record: Record, sets: Mapping[str, Any]) -> Derived:
    """A named function of other facts, where each of them has exactly one value."""
    params = fact.derivation.params
    inputs = {
        name: single_value(sets[name], record.vocabulary[name], record.size)
        for name in params["inputs"]
    }
    value = np.asarray(FACT_FUNCTIONS[params["function"]](**inputs), dtype=np.float64)
    known = np.isfinite(value)
    place = np.flatnonzero(known)
    if fact.kind == "flag":
        row = np.where(known, (np.nan_to_num(value) > 0.5).astype(np.int64), 2)
        rows = [[1.0, np.nan], [np.nan, 1.0], silent_weights(fact)]
        return Derived(category_set(rows, row))
    steps = np.rint(np.clip(value[known], fact.low, fact.high) / fact.resolution).astype(np.int64)
    return Derived(numbers_or_silence(fact, place, steps, steps, np.ones(len(place)), ~known))


def single_value(facts: CategorySet | NumberSet, fact: Fact, size: int) -> Floats:
    """The value (n,) where exactly one is possible, else NaN; codes for categories."""
    value = np.full(size, np.nan)
    if isinstance(facts, CategorySet):
        alone = facts.rows.certain()
        code = facts.rows.possible.argmax(axis=1)[facts.rows.row]
        value[alone & (code < len(fact.codes))] = code[alone & (code < len(fact.codes))]
        return value
    pieces = np.bincount(facts.vehicle, minlength=size)
    one = (pieces[facts.vehicle] == 1) & (facts.low == facts.high)
    one &= np.isnan(facts.absent)[facts.vehicle]
    value[facts.vehicle[one]] = facts.low[one] * fact.resolution
    return value


def stated(fact: Fact, record: Record) -> pd.DataFrame:
    """Per vehicle: ``codes`` (list of codes or steps, empty = silent), ``raw`` and ``how``."""
    name = fact.derivation.params.get("name") or fact.name
    vehicles = record.fleet.vehicles
    raw = vehicles[name] if name in vehicles else pd.Series([None] * record.size, dtype=object)
    known: dict[str, list[int]] = {}
    codes: list[list[int]] = []
    for value in raw:
        text = "" if value is None or value is pd.NA or value != value else str(value).strip()
        if text not in known:
            known[text] = _read(fact, text)
        codes.append(known[text])
    how = ["sheet" if found else "" for found in codes]
    from_platform = _platform_codes(fact, record)
    for place, found in enumerate(codes):
        if not found and from_platform[place]:
            codes[place], how[place] = from_platform[place], "platform"
    return pd.DataFrame({"codes": pd.Series(codes, dtype=object), "raw": list(raw), "how": how})


def _read(fact: Fact, text: str) -> list[int]:
    """Codes named by a cell; "a or b" names both; a word that is none of them names nothing."""
    if not text:
        return []
    parts = [text]
    if fact.kind != "number":
        parts = text.replace("/", " or ").replace("|", " or ").split(" or ")
    read = steps_of_words if fact.kind == "number" else code_of_words
    found = [read(fact, part) for part in parts]
    return sorted({code for code in found if code is not None}) if None not in found else []


def _platform_codes(fact: Fact, record: Record) -> list[list[int]]:
    entries = [entry for entry in record.platforms if fact.name in entry.features]
    if not entries:
        return [[] for _ in range(record.size)]
    keys = record.fleet.vehicles.reindex(columns=_PLATFORM_KEYS)
    found: dict[tuple[str, ...], list[int]] = {}
    answers: list[list[int]] = []
    for values in keys.itertuples(index=False, name=None):
        key = tuple("" if v is None or v is pd.NA or v != v else str(v) for v in values)
        if key not in found:
            found[key] = _features_of(fact, record.platforms, key)
        answers.append(found[key])
    return answers


def _features_of(fact: Fact, platforms: tuple[Platform, ...], key: tuple[str, ...]) -> list[int]:
    """Every value that a platform entry fitting this vehicle gives; none if it may be of neither.

    Of several entries that fit for want of an engine or year each may be the right one: one that
    is silent about the fact leaves it open, unless all its vehicles are also those of an entry
    that speaks.  With engine and year on file every entry that fits is true of the vehicle.
    """
    make, model, engine, year = (text.strip().casefold() for text in key)
    fitting = [
        entry
        for entry in platforms
        if (entry.make.casefold(), entry.model.casefold()) == (make, model)
        and (not engine or entry.engine is None or entry.engine.casefold() == engine)
        and (not year or entry.years[0] <= int(float(year)) <= entry.years[1])
    ]
    speaking = [entry for entry in fitting if fact.name in entry.features]
    for entry in fitting:
        if not (engine and year) and not any(_within(entry, other) for other in speaking):
            return []
    codes: set[int] = set()
    for entry in speaking:
        value = entry.features[fact.name]
        code = (steps_of_words if fact.kind == "number" else code_of_words)(fact, value)
        if code is None:
            return []
        codes.add(code)
    return sorted(codes)


def _within(inner: Platform, outer: Platform) -> bool:
    """Whether every vehicle of one entry is also of the other, make and model being the same."""
    engine = (inner.engine or "").casefold()
    same_engine = outer.engine is None or outer.engine.casefold() == engine
    years = outer.years[0] <= inner.years[0] and inner.years[1] <= outer.years[1]
    return same_engine and years


def _categories(fact: Fact, record: Record, said: pd.DataFrame) -> CategorySet:
    """Rows for what is said, and for silence by platform frequency shrunk toward the base."""
    rows: list[list[float]] = []
    places: dict[tuple[object, ...], int] = {}
    row = np.empty(record.size, dtype=np.int64)
    groups = _platform_groups(record)
    frequency = _platform_frequency(fact, groups, said)
    for vehicle, codes in enumerate(said["codes"]):
        silent_at_random = not codes and fact.silence == "at_random"
        key = (
            ("silent", int(groups[vehicle]) if silent_at_random else -1)
            if not codes
            else ("said", *codes)
        )
        if key not in places:
            places[key] = len(rows)
            if codes:
                rows.append(weights_of_codes(fact, codes))
            elif silent_at_random:
                rows.append(frequency[groups[vehicle]].tolist())
            else:
                rows.append(silent_weights(fact))
        row[vehicle] = places[key]
    return category_set(rows or [silent_weights(fact)], row)


def _platform_groups(record: Record) -> Ints:
    """Vehicles of one make, model and engine share a number (n,)."""
    keys = record.fleet.vehicles.reindex(columns=_PLATFORM_KEYS[:3]).fillna("").astype(str)
    return np.asarray(keys.groupby(_PLATFORM_KEYS[:3], sort=True).ngroup(), dtype=np.int64)


def _platform_frequency(fact: Fact, groups: Ints, said: pd.DataFrame) -> Floats:
    width = len(fact.codes)
    base = np.array(silent_weights(fact)[:width])
    base = np.nan_to_num(base) / max(np.nansum(base), 1e-300)
    counts = np.zeros((int(np.max(groups, initial=0)) + 1, width))
    for vehicle, codes in enumerate(said["codes"]):
        if len(codes) == 1 and said["how"].iat[vehicle] == "sheet":
            counts[groups[vehicle], codes[0]] += 1
    seen = counts.sum(axis=1, keepdims=True)
    shrunk: Floats = (counts + BASE_RATE_VEHICLES * base) / (seen + BASE_RATE_VEHICLES)
    return shrunk


def _cell_sources(fact: Fact, record: Record, said: pd.DataFrame) -> pd.DataFrame:
    vehicles = record.fleet.vehicles
    place = np.flatnonzero((said["how"] != "").to_numpy())
    on_sheet = (said["how"].iloc[place] == "sheet").to_numpy()
    source = vehicles.iloc[place]
    group = (
        source[_PLATFORM_KEYS[0]]
        .astype(str)
        .str.cat(source[list(_PLATFORM_KEYS[1:])].astype(str), sep=" ")
    )
    platform = "known of this platform: " + group
    name = fact.derivation.params.get("name") or fact.name
    words, cells = _as_written(record, name, place)
    return pd.DataFrame(
        {
            "place": place,
            "words": np.where(on_sheet, words, platform),
            "file": np.where(on_sheet, source["file"], "platforms.yaml"),
            "sheet": np.where(on_sheet, source["sheet"], ""),
            "cell": np.where(on_sheet, cells, ""),
            "date": "",
        }
    )


def _as_written(record: Record, name: str, place: Ints) -> tuple[Any, Any]:
    """(words, addresses) of the cells that state a fact of the vehicles at ``place`` (m,)."""
    if name not in record.fleet.written:
        blank = np.full(len(place), "", dtype=object)
        return blank, blank
    cells = record.fleet.written[name].iloc[place]
    words = cells["words"].astype(object).fillna("").to_numpy()
    rows = cells["row"].astype("string").fillna("").astype(object)
    addresses = cells["letters"].astype(object).fillna("").to_numpy() + rows.to_numpy()
    return words, addresses
