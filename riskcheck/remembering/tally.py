"""What came of the calls: contacts, bookings, finds, hours, and the find rate beside the estimate.

The interval is Wilson's score interval (E. B. Wilson, J. Am. Stat. Assoc. 22 (1927) 209-212) as
computed by ``scipy.stats``.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass

import pandas as pd

from riskcheck.actions.etiquette import BAY_RESULTS, CONTACT_RESULTS
from riskcheck.ledger import Ledger
from riskcheck.rulebook.model import Hazard

LEVEL = 0.90  # as every range in riskcheck
# Nobody was spoken to; a letter or text that went out is no answer yet.
NOT_REACHED = frozenset({"no_answer", "message_left", "wrong_number", "sent"})
FOUND = ("found", "failed")


@dataclass(frozen=True)
class Rate:
    """Finds among looks against what was estimated for the same looks.

    ``expected``: the sum, over the looks, of the chance of being there that the run before each of
    them gave, times the share that a look finds; ``low``/``high``:
    Wilson interval of the find rate; ``compared``: looks that had an estimate.
    """

    found: int
    looks: int
    low: float
    high: float
    compared: int
    compared_found: int
    expected: float

    @property
    def verdict(self) -> str:
        """Where the estimate lies: above | within | below the interval of what was found, or ""."""
        if not self.compared:
            return ""
        low, high = wilson(self.compared_found, self.compared)
        estimate = self.expected / self.compared
        return "below" if estimate < low else "above" if estimate > high else "within"


@dataclass(frozen=True)
class Tally:
    """Counts from ``since`` to ``until``, both included.

    ``hours`` sums the finds whose hours were written down, ``without_hours`` counts the others.
    """

    since: dt.date
    until: dt.date
    calls: int
    reached: int
    results: dict[str, int]
    outcomes: dict[str, int]
    hours: float
    without_hours: int
    rate: Rate

    @property
    def booked(self) -> int:
        """How many contacts ended in a booking."""
        return self.results.get("booked", 0)


def tally(ledger: Ledger, since: dt.date, until: dt.date, hazards: Mapping[str, Hazard]) -> Tally:
    """Count what was recorded about the days ``since`` to ``until``.

    ``hazards``: by id, for the share of faults that their looks find; a look at a hazard that is
    no longer there counts as finding all.
    """
    shares = {name: one.look.finds.value for name, one in hazards.items() if one.look}
    said = ledger.contacts()
    day = said["date"].fillna(pd.to_datetime(said["at"].str[:10]))
    said = said[_between(day, since, until) & said["result"].isin(list(CONTACT_RESULTS))]
    seen = ledger.outcomes()
    seen = seen[_between(seen["date"], since, until)]
    results = said["result"].value_counts()
    outcomes = seen["outcome"].value_counts()
    return Tally(
        since,
        until,
        len(said),
        int((~said["result"].isin(NOT_REACHED)).sum()),
        {code: int(results[code]) for code in CONTACT_RESULTS if code in results},
        {code: int(outcomes[code]) for code in BAY_RESULTS if code in outcomes},
        float(seen["hours"].sum()),
        int(seen["hours"].isna().sum()),
        _rate(seen, _estimates(ledger, seen) * seen["hazard_id"].map(shares).fillna(1.0)),
    )


def wilson(found: int, looks: int, level: float = LEVEL) -> tuple[float, float]:
    """Wilson score interval of a rate; (0, 1) where nothing was looked at."""
    from scipy.stats import binomtest

    if not looks:
        return 0.0, 1.0
    interval = binomtest(found, looks).proportion_ci(confidence_level=level, method="wilson")
    return float(interval.low), float(interval.high)


def _between(day: pd.Series, since: dt.date, until: dt.date) -> pd.Series:
    return (day >= pd.Timestamp(since)) & (day <= pd.Timestamp(until))


def _estimates(ledger: Ledger, finds: pd.DataFrame) -> pd.Series:
    """The chance that the last run on or before each look gave it; NaN where there is none.

    Only what is hidden until somebody looks has such a chance; for the rest a run says 0.
    """
    runs = ledger.runs()
    chance = pd.Series(float("nan"), index=finds.index)
    run_of = [
        str(earlier["run_id"].iloc[-1]) if len(earlier := runs[runs["as_of"] <= day]) else ""
        for day in finds["date"]
    ]
    for run_id in sorted(set(run_of) - {""}):
        said = ledger.snapshot(run_id).set_index(["vehicle_id", "hazard_id"])["probability_now"]
        own = finds[[run == run_id for run in run_of]]
        pairs = pd.MultiIndex.from_frame(own[["vehicle_id", "hazard_id"]])
        chance.loc[own.index] = said.reindex(pairs).to_numpy()
    return chance.where(chance > 0.0)


def _rate(finds: pd.DataFrame, chance: pd.Series) -> Rate:
    found = finds["outcome"].isin(FOUND)
    low, high = wilson(int(found.sum()), len(finds))
    known = chance.notna()
    return Rate(
        int(found.sum()),
        len(finds),
        low,
        high,
        int(known.sum()),
        int((found & known).sum()),
        float(chance[known].sum()),
    )
