"""Would the list be another one if the odometer readings in doubt were what they seem to mean?"""

from __future__ import annotations

import pandas as pd

from riskcheck import fleet as fleets
from riskcheck.assessment import Assessment, Progress, judge

PAIR = ["vehicle_id", "hazard_id"]
COLUMNS = [
    *PAIR, "tier_used", "tier_proposed", "probability_used", "probability_proposed", "cells",
]  # fmt: skip


def moved_by_doubt(run: Assessment, progress: Progress = lambda stage: None) -> pd.DataFrame:
    """The exposures whose tier hangs on an odometer reading that was left out or looks odd.

    Returns COLUMNS, most pressing first: tiers (Int64, NA: not ranked) and probabilities with the
    readings as used and as proposed in ``fleet.doubts``, and the cells in doubt ("Service!E323;
    ...").  Only the vehicles in doubt are judged, twice: what the rest of the fleet tells about
    their use is the same on both sides, so a difference is due to the readings alone.
    """
    doubts = run.fleet.doubts
    open_ = doubts[doubts["proposed_mi"].notna()]
    if open_.empty:
        return pd.DataFrame(columns=COLUMNS)
    progress("trying doubtful odometers the other way")
    part = fleets.of_vehicles(run.fleet, set(open_["vehicle_id"]))
    sides = [
        judge(
            fleet,
            run.rulebook,
            source=run.path,
            as_of=run.as_of,
            horizon_months=run.horizon_months,
            corrections=run.corrections,
        ).exposures[[*PAIR, "tier", "probability"]]
        for fleet in (part, fleets.believed(part, open_))
    ]
    both = sides[0].merge(sides[1], on=PAIR, suffixes=("_used", "_proposed"))
    tiers = ["tier_used", "tier_proposed"]
    both[tiers] = both[tiers].astype("Int64")
    moved = both[both["tier_used"].fillna(0) != both["tier_proposed"].fillna(0)]
    places = open_["sheet"].astype(str) + "!" + open_["cell"].astype(str)
    cells = places.groupby(open_["vehicle_id"]).agg("; ".join)
    told = moved.assign(cells=moved["vehicle_id"].map(cells), _tier=moved[tiers].min(axis=1))
    ordered = told.sort_values(["_tier", *PAIR], kind="stable", ignore_index=True)
    return ordered[COLUMNS]
