"""From the record to virtual age: starts, renewals, partial renewals and good looks.

One pass over the events of all vehicles together, first events first (Kijima 1989: age after an
imperfect remedy = q · age before).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from riskcheck.fleet.events import in_order, matching
from riskcheck.risk.beliefs import Floats
from riskcheck.rulebook.model import EventRef, Hazard, ShareLife, WeibullLife
from riskcheck.usage import Usage
from riskcheck.vocabulary import ClockName

Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]
Days = NDArray[np.datetime64]
RESETS, LESSENS, LOOKS = 0, 1, 2
# A renewing job that no line shows: invented defaults, as a share of vehicles past the usual
# time and the usual time as shares of the B10 life on the first clock.
UNSEEN_SHARE, UNSEEN_FROM, UNSEEN_TO = 0.60, 0.55, 1.0
UNSEEN_SLICES = 5


@dataclass(frozen=True, eq=False)
class Lived:
    """Virtual age of one hazard's part on n vehicles, C clocks, s stretches.

    lived_from, lived_to (n, s, C): stretches before the current one (partial renewals);
    current_from (n, C) and now (n, C): the current stretch; ok_at (n, C): last good look or
    renewal; offset (n, C): use since new at virtual age 0.  started: date the clock counts from
    (NaT: new); ok_day: last good look (NaT: none); on_file (n,): a start or renewal is on file.
    seen (n, C): virtual age at which a physical finding was seen, today's where none was.
    """

    lived_from: Floats
    lived_to: Floats
    current_from: Floats
    now: Floats
    ok_at: Floats
    offset: Floats
    started: Days
    ok_day: Days
    on_file: NDArray[np.bool_]
    seen: Floats


def clock_names(hazard: Hazard) -> tuple[ClockName, ...]:
    """The clocks that the hazard's life runs on."""
    if isinstance(hazard.life, WeibullLife):
        return tuple(clock.clock for clock in hazard.life.clocks)
    return (hazard.watch_window.clock,) if hazard.watch_window else ("years",)


def relevant_events(hazard: Hazard, events: pd.DataFrame) -> pd.DataFrame:
    """Events that move this hazard's clock, with ``kind`` and ``kept_age``, first to last."""
    life: WeibullLife | ShareLife = hazard.life
    parts = [_tagged(events, life.starts, RESETS, 0.0)]
    for remedy in hazard.remedies:
        if remedy.effect in ("renews", "lessens"):
            kept = remedy.kept_age.value if remedy.kept_age else 0.0
            kind = RESETS if kept <= 0.0 else LESSENS
            parts.append(_tagged(events, remedy.recorded_as, kind, kept))
    if hazard.look is not None:
        parts.append(_tagged(events, hazard.look.recorded_as, LOOKS, 1.0))
    found = pd.concat([part for part in parts if len(part)] or [parts[0]], ignore_index=True)
    return in_order(found)


def _tagged(events: pd.DataFrame, refs: Sequence[EventRef], kind: int, kept: float) -> pd.DataFrame:
    found = [matching(events, ref.topics, ref.marks) for ref in refs]
    joined = pd.concat(found).drop_duplicates() if found else events.iloc[:0]
    return joined.assign(kind=kind, kept_age=kept)


def lived(hazard: Hazard, events: pd.DataFrame, usage: Usage) -> Lived:
    """What the record says of this hazard's part, for every vehicle of ``usage``."""
    clocks = clock_names(hazard)
    now = np.stack([usage.now(clock)[1] for clock in clocks], axis=1)
    found = relevant_events(hazard, events)
    index = pd.Index(usage.vehicle_ids).get_indexer(pd.Index(found["vehicle_id"]))
    at = _usage_at(clocks, found, index, usage)
    known = (index >= 0) & np.isfinite(at).all(axis=1)
    table = pd.DataFrame({"row": index, "place": np.arange(len(index))})[known]
    table["turn"] = table.groupby("row").cumcount()
    return _walk(table, found, at, now)


def _usage_at(
    clocks: Sequence[ClockName], found: pd.DataFrame, index: Ints, usage: Usage
) -> Floats:
    """Use since new at each event (m, C); the odometer of the line itself where there is one."""
    out = np.full((len(found), len(clocks)), np.nan)
    inside = index >= 0
    low = found["date_lo"].to_numpy("datetime64[ns]")
    high = found["date_hi"].to_numpy("datetime64[ns]")
    for place, clock in enumerate(clocks):
        out[inside, place] = usage.at(clock, index[inside], low[inside], high[inside])[1]
        if clock in ("miles", "engine_hours"):
            column = "odometer_mi" if clock == "miles" else "engine_hours"
            said = pd.to_numeric(found[column], errors="coerce").to_numpy(
                "float64", na_value=np.nan
            )
            out[:, place] = np.where(np.isfinite(said), said, out[:, place])
    return out


def _walk(table: pd.DataFrame, found: pd.DataFrame, at: Floats, now: Floats) -> Lived:
    """Play the events turn by turn; every vehicle has at most one event a turn."""
    n, clocks = now.shape
    offset, base, ok_at = (np.zeros((n, clocks)) for _ in range(3))
    started = np.full(n, np.datetime64("NaT", "ns"), dtype="datetime64[ns]")
    ok_day, on_file = started.copy(), np.zeros(n, dtype=bool)
    stretches: list[tuple[Floats, Floats]] = []
    day = found["date_hi"].to_numpy("datetime64[ns]")
    kinds, kept = found["kind"].to_numpy(), found["kept_age"].to_numpy("float64")
    for _, turn in table.groupby("turn"):
        row, place = turn["row"].to_numpy(), turn["place"].to_numpy()
        age = np.maximum(np.minimum(at[place], now[row]) - offset[row], 0.0)
        kind = kinds[place]
        reset, part, look = (kind == code for code in (RESETS, LESSENS, LOOKS))
        for start, end in stretches:
            start[row[reset]] = end[row[reset]] = 0.0
        if part.any():
            start, end = np.zeros((n, clocks)), np.zeros((n, clocks))
            start[row[part]], end[row[part]] = base[row[part]], age[part]
            stretches.append((start, end))
        after = np.where(reset[:, None], 0.0, age * kept[place][:, None])
        offset[row] += np.where(look[:, None], 0.0, age - after)
        base[row] = np.where(look[:, None], base[row], after)
        ok_at[row] = after
        began = row[reset]
        started[began], on_file[began] = day[place][reset], True
        ok_day[row] = np.where(reset, np.datetime64("NaT", "ns"), day[place])
    pairs = stretches or [(np.zeros((n, clocks)), np.zeros((n, clocks)))]
    virtual = np.maximum(np.nan_to_num(now) - offset, 0.0)
    return Lived(
        lived_from=np.stack([start for start, _ in pairs], axis=1),
        lived_to=np.stack([end for _, end in pairs], axis=1),
        current_from=base,
        now=virtual,
        ok_at=np.minimum(ok_at, virtual),
        offset=offset,
        started=started,
        ok_day=ok_day,
        on_file=on_file,
        seen=virtual,
    )


def seen_since(past: Lived, day: Days, clocks: Sequence[ClockName], usage: Usage) -> Lived:
    """The same with the virtual age on the ``day`` (n,) a finding was seen; NaT: today."""
    everyone = np.arange(len(day))
    at = np.stack([usage.at(clock, everyone, day, day)[1] for clock in clocks], axis=1)
    age = np.clip(at - past.offset, past.current_from, past.now)
    return replace(past, seen=np.where(np.isfinite(age), age, past.now))


def unseen_renewals(
    hazard: Hazard, coverage: pd.DataFrame, usage: Usage, past: Lived
) -> tuple[Floats, Floats]:
    """Renewals that happened before our record began: when, and how likely.

    Only where no start or renewal is on file.  The last such job is taken as spread evenly over
    the usual interval that ends where our record begins; its five slices' midpoints stand for it.
    Returns (at (n, 5) use since new on the first clock, weight (n,) of all five together).
    """
    n = len(past.now)
    nothing = np.zeros((n, UNSEEN_SLICES)), np.zeros(n)
    if not isinstance(hazard.life, WeibullLife) or not _renewal_may_hide(hazard):
        return nothing
    clock = hazard.life.clocks[0]
    earliest, latest = UNSEEN_FROM * clock.b10.value, UNSEEN_TO * clock.b10.value
    before = _record_began(clock.clock, coverage, usage)
    before = np.clip(np.nan_to_num(before), 0.0, past.now[:, 0])
    low = np.maximum(earliest, before - latest)
    middles = (np.arange(UNSEEN_SLICES) + 0.5) / UNSEEN_SLICES
    at = low[:, None] + middles * np.maximum(before - low, 0.0)[:, None]
    ramp = np.clip((before - earliest) / (latest - earliest), 0.0, 1.0)
    return at, np.where(past.on_file, 0.0, _unseen_share(hazard) * ramp)


def _unseen_share(hazard: Hazard) -> float:
    """Share of such vehicles that were renewed before our record began."""
    stated = [remedy.unseen_share for remedy in hazard.remedies if remedy.unseen_share]
    return stated[0].value if stated else UNSEEN_SHARE


def _renewal_may_hide(hazard: Hazard) -> bool:
    """Whether the clock starts with the vehicle or at the very job that renews the part.

    Where the clock starts at other work (a wheel taken off), no start on file is no renewal.
    """
    renewing = {
        topic
        for remedy in hazard.remedies
        if remedy.effect == "renews" and (remedy.kept_age is None or remedy.kept_age.value <= 0.0)
        for ref in remedy.recorded_as
        for topic in ref.topics
    }
    starts = {topic for ref in hazard.life.starts for topic in ref.topics}
    return bool(renewing) and starts <= renewing


def _record_began(clock: ClockName, coverage: pd.DataFrame, usage: Usage) -> Floats:
    """Use since new when the record begins (n,); today where there is no record at all."""
    before = np.asarray(usage.now(clock)[1], dtype=np.float64).copy()
    index = pd.Index(usage.vehicle_ids).get_indexer(pd.Index(coverage["vehicle_id"]))
    inside = index >= 0
    dates = pd.to_datetime(coverage["from_date"]).to_numpy("datetime64[ns]")[inside]
    began = usage.at(clock, index[inside], dates, dates)[1]
    known = np.isfinite(began)
    before[index[inside][known]] = began[known]
    return before
