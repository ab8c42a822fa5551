"""Sense across rows: which odometer readings of a vehicle cannot be true, and which can.

Certain slips (a unit switch or a tenfold value that fits exactly between its neighbours) are
put right; a reading that contradicts its neighbours without a certain cure is left out of the
readings and named.  A vehicle that merely drives a lot is left alone, and no one is accused:
readings disagree, that is all.

Rules: common practice, no source (neighbours within 5 % of a unit ratio; at most 700 miles a day
between two visits, a two-driver long-haul day).
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import pandas as pd

KM_PER_MILE = 1.609344  # NIST SP 811, Appendix B
MAX_MILES_A_DAY = 700.0
SLACK_MILES = 100.0  # readings of one day may differ by so much (common practice)
_REPEATED_DAYS = 60
_CURES = (
    ("kilometres in a miles column", 1 / KM_PER_MILE),
    ("a digit too many (tenfold)", 0.1),
    ("a digit dropped (a tenth)", 10.0),
)


@dataclass(frozen=True)
class Sense:
    """Readings after the check, and what was done: index of the reading, now, action, reason."""

    readings: pd.DataFrame
    findings: pd.DataFrame


def check_odometers(readings: pd.DataFrame) -> Sense:
    """Go through the readings of each vehicle in order of date.

    ``readings`` as in the contract with a unique index.  Returns them with certain cures applied
    and contradicted values blanked, and findings with columns at (index label), was, now ("" if
    blanked), action ("repaired" or "noted"), reason.
    """
    miles = readings["odometer_mi"].copy()
    findings: list[tuple[object, float, float, str]] = []
    dated = readings[readings["odometer_mi"].notna() & readings["date"].notna()]
    dated = dated.sort_values(["vehicle_id", "date"], kind="stable")
    for at in _suspect_vehicles(dated):
        group = dated.loc[at]
        days = group["date"].to_numpy(dtype="datetime64[D]").astype(np.int64)
        for place, now, reason in _sense(days, group["odometer_mi"].to_numpy(dtype=float)):
            label = group.index[place]
            findings.append((label, float(miles.loc[label]), now, reason))
            miles.loc[label] = now
    table = pd.DataFrame(findings, columns=["at", "was", "now", "reason"])
    table["action"] = np.where(table["now"].isna(), "noted", "repaired")
    return Sense(readings.assign(odometer_mi=miles), table)


def _suspect_vehicles(dated: pd.DataFrame) -> list[pd.Index]:
    """Index labels of each vehicle with a fall, an impossible rate or a value standing still."""
    same = dated["vehicle_id"].eq(dated["vehicle_id"].shift())
    step = dated["odometer_mi"].diff().where(same)
    days = dated["date"].diff().dt.days.where(same)
    odd = (step < -SLACK_MILES) | (step > MAX_MILES_A_DAY * days.clip(lower=1) + SLACK_MILES)
    odd |= (step == 0) & (days > _REPEATED_DAYS)
    names = dated.loc[odd, "vehicle_id"].unique()
    some = dated[dated["vehicle_id"].isin(names)]
    return [group.index for _, group in some.groupby("vehicle_id", sort=True)]


def _sense(days: np.ndarray, miles: np.ndarray) -> list[tuple[int, float, str]]:
    """(place, value now or NaN, reason) for the readings of one vehicle."""
    chain = _best_chain(days, miles)
    out = [place for place in range(len(miles)) if place not in chain]
    found: list[tuple[int, float, str]] = []
    if len(out) * 2 > len(miles):
        return [(p, np.nan, "readings disagree and none of them settles which is right")
                for p in range(len(miles))]  # fmt: skip
    swap = _replaced_cluster(days, miles, out)
    if swap:
        words = "lower than before and rising again: the instrument may have been replaced"
        return [(place, np.nan, words) for place in out]
    for place in out:
        cures, bounded = _cures(days, miles, chain, place)
        if len(cures) == 1 and bounded:
            found.append((place, cures[0][1], cures[0][0] + ": only so does it fit between "
                          "the readings before and after"))  # fmt: skip
        else:
            hint = f"; it would fit as {cures[0][1]:,.0f} ({cures[0][0]})" if cures else ""
            found.append((place, np.nan, "does not fit between the readings before and after" + hint
                          + ": look at the odometer"))  # fmt: skip
    return found + _standing_still(days, miles, chain)


def _cures(
    days: np.ndarray, miles: np.ndarray, chain: list[int], place: int
) -> tuple[list[tuple[str, float]], bool]:
    """Known slips that would explain a reading, and whether both neighbours are there to tell."""
    low, high = _room(days, miles, chain, place)
    cures = [
        (words, round(float(miles[place] * factor), 1))
        for words, factor in _CURES
        if low <= miles[place] * factor <= high
    ]
    later = any(at > place for at in chain)
    return cures, later and any(at < place for at in chain)


def _best_chain(days: np.ndarray, miles: np.ndarray) -> list[int]:
    """Of the longest runs the one whose outsiders are best explained; then the latest."""

    def explained(chain: list[int]) -> int:
        out = [place for place in range(len(miles)) if place not in chain]
        judged = [_cures(days, miles, chain, place) for place in out]
        return sum(len(cures) == 1 and bounded for cures, bounded in judged)

    chains = _longest_chains(days, miles)
    return max(reversed(chains), key=explained)


def _longest_chains(days: np.ndarray, miles: np.ndarray) -> list[list[int]]:
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


def _room(days: np.ndarray, miles: np.ndarray, chain: list[int], place: int) -> tuple[float, float]:
    """Between which values a reading at ``place`` would agree with its neighbours."""
    earlier = [at for at in chain if at < place]
    later = [at for at in chain if at > place]
    low = miles[earlier[-1]] - SLACK_MILES if earlier else 0.0
    high = miles[later[0]] + SLACK_MILES if later else np.inf
    if earlier and not later:
        high = low + MAX_MILES_A_DAY * max(days[place] - days[earlier[-1]], 1)
    return low, high


def _replaced_cluster(days: np.ndarray, miles: np.ndarray, out: list[int]) -> bool:
    """Whether what does not fit is one unbroken, itself rising tail (or head) of three or more."""
    if len(out) < 3 or out != list(range(out[0], out[-1] + 1)):
        return False
    at_edge = out[-1] == len(miles) - 1 or out[0] == 0
    return at_edge and len(_longest_chains(days[out], miles[out])[0]) == len(out)


def _standing_still(
    days: np.ndarray, miles: np.ndarray, chain: list[int]
) -> list[tuple[int, float, str]]:
    """Readings copied forward: the same value for more than 60 days while it moves elsewhere."""
    found = []
    for before, after in pairwise(chain):
        if miles[after] == miles[before] and days[after] - days[before] > _REPEATED_DAYS:
            words = "the same reading as at the visit before, more than 60 days earlier"
            found.append((after, np.nan, words + ": taken as copied, not read"))
    return found
