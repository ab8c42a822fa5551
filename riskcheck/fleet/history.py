"""Sense across rows: which odometer readings of a vehicle cannot be true, and which can.

Certain slips (a unit switch, a tenfold value, engine hours, where only that fits between the
readings before and after) are put right; a reading that contradicts its neighbours without a
certain cure is left out and named, with the value that would fit if there is just one.  A vehicle
that merely drives a lot is left alone, and no one is accused: readings disagree, that is all.

Rules: common practice, no source (at most 700 miles a day between two visits, a two-driver
long-haul day; engine hours are between 1/60 and 1/20 of the miles).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import numpy.typing as npt
import pandas as pd

KM_PER_MILE = 1.609344  # NIST SP 811, Appendix B
MAX_MILES_A_DAY = 700.0
SLACK_MILES = 100.0  # readings of one day may differ by so much (common practice)
MAX_READINGS = 3_000  # of one vehicle; more are no history of one vehicle
FINDING_COLUMNS = ["at", "was", "now", "hours", "proposed", "action", "reason"]
_REPEATED_DAYS = 60
_HOURS_RATIO = (20.0, 60.0)
_CERTAIN_HOURS = 3  # so many readings in a row that fit as hours settle it (choice, no source)
_CURES = (
    ("kilometres in a miles column", 1 / KM_PER_MILE),
    ("a digit too many (tenfold)", 0.1),
    ("a digit dropped (a tenth)", 10.0),
)
Numbers = npt.NDArray[np.float64]
Days = npt.NDArray[np.int64]


@dataclass(frozen=True)
class Finding:
    """One reading of a vehicle (its place), what it now counts as, and why.

    ``now`` and ``hours`` are NaN where nothing counts; ``proposed`` is the value that would fit,
    NaN where there is none or more than one.
    """

    place: int
    reason: str
    now: float = np.nan
    hours: float = np.nan
    proposed: float = np.nan


@dataclass(frozen=True)
class Sense:
    """Readings after the check, and what was done (FINDING_COLUMNS; ``at`` is an index label).

    ``action`` is "repaired" where a certain cure was applied, else "noted" (left out).
    """

    readings: pd.DataFrame
    findings: pd.DataFrame


def check_odometers(readings: pd.DataFrame) -> Sense:
    """Go through the readings of each vehicle in order of date.

    ``readings`` as in the contract with a unique index.
    """
    miles, hours = readings["odometer_mi"].copy(), readings["engine_hours"].copy()
    rows: list[list[object]] = []
    dated = readings[readings["odometer_mi"].notna() & readings["date"].notna()]
    for at in suspects(dated):
        group = dated.loc[at]
        days = group["date"].to_numpy(dtype="datetime64[D]").astype(np.int64)
        for found in sense(days, group["odometer_mi"].to_numpy(dtype=float)):
            label = group.index[found.place]
            sure = found.now == found.now or found.hours == found.hours
            action = "repaired" if sure else "noted"
            rows.append([label, float(miles.loc[label]), found.now, found.hours, found.proposed,
                         action, found.reason])  # fmt: skip
            miles.loc[label] = found.now
            if found.hours == found.hours:
                hours.loc[label] = found.hours
    findings = pd.DataFrame(rows, columns=FINDING_COLUMNS)
    return Sense(readings.assign(odometer_mi=miles, engine_hours=hours), findings)


def suspects(dated: pd.DataFrame) -> list[pd.Index]:
    """Index labels of each vehicle with a fall, an impossible rate or a value standing still."""
    codes, _ = pd.factorize(dated["vehicle_id"])
    order = np.lexsort((dated["date"].to_numpy(), codes))
    vehicle, miles = codes[order], dated["odometer_mi"].to_numpy()[order]
    days = dated["date"].to_numpy()[order].astype("datetime64[D]").astype(np.int64)
    same = vehicle[1:] == vehicle[:-1]
    step, gap = np.diff(miles), np.diff(days)
    odd = (step < -SLACK_MILES) | (step > MAX_MILES_A_DAY * np.maximum(gap, 1) + SLACK_MILES)
    odd |= (step == 0) & (gap > _REPEATED_DAYS)
    names = np.unique(vehicle[1:][odd & same])
    starts = np.searchsorted(vehicle, names, side="left")
    ends = np.searchsorted(vehicle, names, side="right")
    return [dated.index[order[start:end]] for start, end in zip(starts, ends, strict=True)]


def sense(days: Days, miles: Numbers) -> list[Finding]:
    """What is odd about the readings of one vehicle, in order of date."""
    if len(miles) > MAX_READINGS:
        words = f"{len(miles):,} readings under one name are no history of one vehicle"
        return [Finding(place, words) for place in range(len(miles))]
    chain = _best_chain(days, miles)
    within = set(chain)
    out = [place for place in range(len(miles)) if place not in within]
    if _replaced(days, miles, out) and not _slipped_alike(days, miles, chain, out):
        return _replaced_instrument(days, miles, chain, out)
    if len(out) * 2 >= len(miles):
        words = "readings disagree and none of them settles which is right: look at the odometer"
        return [Finding(place, words, proposed=_only_cure(days, miles, place)) for place in
                range(len(miles))]  # fmt: skip
    found = _as_hours(days, miles, chain, out)
    told = {finding.place for finding in found}
    found += [_judged(days, miles, chain, place) for place in out if place not in told]
    return sorted(found + _standing_still(days, miles, chain), key=lambda item: item.place)


def _judged(days: Days, miles: Numbers, chain: Sequence[int], place: int) -> Finding:
    """A reading outside the chain: cured if only one cure fits between both neighbours."""
    cures, bounded = _cures(days, miles, chain, place)
    slips = _digit_slips(days, miles, chain, place)
    if len(cures) == 1 and bounded and all(_near(value, cures[0][1]) for _, value in slips):
        words, value = cures[0]
        return Finding(
            place, words + ": only so does it fit between the readings before and after", value
        )
    likely = cures or slips  # a slip of a digit is proposed only where nothing simpler fits
    one = len(likely) == 1 and not (bounded and cures and slips)
    hint = f"; it would fit as {likely[0][1]:,.0f} ({likely[0][0]})" if one else ""
    words = f"does not fit between the readings before and after{hint}: look at the odometer"
    return Finding(place, words, proposed=likely[0][1] if one else np.nan)


def _near(one: float, other: float) -> bool:
    return abs(one - other) <= SLACK_MILES


def _cures(
    days: Days, miles: Numbers, chain: Sequence[int], place: int
) -> tuple[list[tuple[str, float]], bool]:
    """Known slips that would explain a reading, and whether both neighbours are there to tell."""
    low, high = _room(days, miles, chain, place)
    cures = [
        (words, round(float(miles[place] * factor), 1))
        for words, factor in _CURES
        if low <= miles[place] * factor <= high
    ]
    return cures, chain[0] < place < chain[-1]


def _digit_slips(
    days: Days, miles: Numbers, chain: Sequence[int], place: int
) -> list[tuple[str, float]]:
    """Readings that two swapped neighbouring digits, or a digit typed twice, would explain."""
    low, high = _room(days, miles, chain, place)
    written = f"{miles[place]:.0f}"
    swapped = {written[:i] + written[i + 1] + written[i] + written[i + 2 :]
               for i in range(len(written) - 1)}  # fmt: skip
    shorter = {written[:i] + written[i + 1 :] for i in range(1, len(written))
               if written[i] == written[i - 1]}  # fmt: skip
    fits: dict[float, str] = {}
    for words, texts in (("two digits swapped", swapped), ("a digit written twice", shorter)):
        fits |= {float(text): words for text in sorted(texts - {written})
                 if low <= float(text) <= high}  # fmt: skip
    return [(words, value) for value, words in fits.items()]


def _only_cure(days: Days, miles: Numbers, place: int) -> float:
    """The one value that would fit with the reading before (or else after) this one."""
    other = place - 1 if place else 1
    if other >= len(miles):
        return np.nan
    cures, _ = _cures(days, miles, [other], place)
    return cures[0][1] if len(cures) == 1 else np.nan


def _best_chain(days: Days, miles: Numbers) -> list[int]:
    """Of the longest runs the one whose outsiders are best explained; then the latest."""

    def explained(chain: list[int]) -> int:
        within = set(chain)
        judged = [_cures(days, miles, chain, place) for place in range(len(miles))
                  if place not in within]  # fmt: skip
        return sum(len(cures) == 1 and bounded for cures, bounded in judged)

    chains = _longest_chains(days, miles)
    return chains[0] if len(chains) == 1 else max(reversed(chains), key=explained)


def _longest_chains(days: Days, miles: Numbers) -> list[list[int]]:
    """Places of the longest runs of readings that can all be true together, one for each end."""
    best = np.ones(len(miles), dtype=int)
    before = np.full(len(miles), -1)
    for place in range(1, len(miles)):
        step = miles[place] - miles[:place]
        room = MAX_MILES_A_DAY * np.maximum(days[place] - days[:place], 1) + SLACK_MILES
        fits = np.flatnonzero((step >= -SLACK_MILES) & (step <= room))
        if len(fits):
            last = fits[np.argmax(best[fits])]
            best[place], before[place] = best[last] + 1, last
    chains = []
    for end in np.flatnonzero(best == best.max()):
        chain, place = [], int(end)
        while place >= 0:
            chain.append(place)
            place = int(before[place])
        chains.append(chain[::-1])
    return chains


def _room(days: Days, miles: Numbers, chain: Sequence[int], place: int) -> tuple[float, float]:
    """Between which values a reading at ``place`` would agree with its neighbours."""
    earlier = [at for at in chain if at < place]
    later = [at for at in chain if at > place]
    low = miles[earlier[-1]] - SLACK_MILES if earlier else 0.0
    high = miles[later[0]] + SLACK_MILES if later else np.inf
    if earlier and not later:
        high = low + MAX_MILES_A_DAY * max(int(days[place] - days[earlier[-1]]), 1)
    return float(low), float(high)


def _replaced(days: Days, miles: Numbers, out: list[int]) -> bool:
    """Whether what does not fit is one unbroken, itself rising tail (or head) of two or more.

    Such a step down followed by an ordinary slope is what another instrument leaves behind.
    """
    rest = len(miles) - len(out)
    if len(out) < 2 or rest < 2 or out != list(range(out[0], out[-1] + 1)):
        return False
    first = out[0] if out[-1] == len(miles) - 1 else out[-1] + 1
    at_edge = out[-1] == len(miles) - 1 or out[0] == 0
    down = first > 0 and miles[first] < miles[first - 1]
    return bool(at_edge and down and len(_longest_chains(days[out], miles[out])[0]) == len(out))


def _slipped_alike(days: Days, miles: Numbers, chain: Sequence[int], out: Sequence[int]) -> bool:
    """Whether one and the same known slip explains all of them."""
    words = {tuple(name for name, _ in _cures(days, miles, chain, place)[0]) for place in out}
    return len(words) == 1 and len(next(iter(words))) == 1


def _replaced_instrument(
    days: Days, miles: Numbers, chain: Sequence[int], out: Sequence[int]
) -> list[Finding]:
    """The readings after the step, each with what it would be if the old ones ran on."""
    after = list(out) if out[-1] == len(miles) - 1 else list(chain)
    before = [place for place in range(len(miles)) if place < after[0]]
    span = days[after[-1]] - days[after[0]]
    pace = (miles[after[-1]] - miles[after[0]]) / span if span > 0 else 0.0
    gap = float(days[after[0]] - days[before[-1]]) * pace
    offset = float(miles[before[-1]] + gap - miles[after[0]])
    words = (
        "lower than before and rising again: the instrument may have been replaced. About "
        f"{offset:,.0f} miles would have to be added: look for the old reading in the records"
    )
    return [
        Finding(place, words, proposed=round(float(miles[place]) + offset, 0)) for place in after
    ]


def _as_hours(
    days: Days, miles: Numbers, chain: Sequence[int], out: Sequence[int]
) -> list[Finding]:
    """Readings that fit as engine hours: between 1/60 and 1/20 of the miles, and rising."""
    if len(chain) < 2:
        return []
    due = np.interp(days[list(out)], days[chain], miles[chain])
    ratio = due / np.maximum(miles[list(out)], 1.0)
    some = [place for place, share in zip(out, ratio, strict=True)
            if _HOURS_RATIO[0] <= share <= _HOURS_RATIO[1]]  # fmt: skip
    if len(some) < 2 or np.any(np.diff(miles[some]) < 0):
        return []
    words = f"engine hours in the miles column (the miles around are {np.median(ratio):.0f} times)"
    sure = len(some) >= _CERTAIN_HOURS
    doubt = "" if sure else ": left out; look which of the two it is"
    return [
        Finding(place, words + doubt, hours=float(miles[place]) if sure else np.nan)
        for place in some
    ]


def _standing_still(days: Days, miles: Numbers, chain: Sequence[int]) -> list[Finding]:
    """Readings copied forward: the same value for more than 60 days while it moves elsewhere."""
    words = "the same reading as at the visit before, more than 60 days earlier"
    return [
        Finding(after, words + ": taken as copied, not read")
        for before, after in pairwise(chain)
        if miles[after] == miles[before] and days[after] - days[before] > _REPEATED_DAYS
    ]
