"""First-of-batch stop: what the first few looks found, against what was expected of them."""

from __future__ import annotations

import math

import pandas as pd
from scipy.stats import betabinom

from riskcheck.actions.plan.jobs import LOOK
from riskcheck.figures import Figure
from riskcheck.rulebook import Rulebook
from riskcheck.rulebook.plan_policy import PlanPolicy

FOUND, NOT_FOUND = "found", "not_found"
DEVIATIONS_IN_RANGE = 3.29  # a 90 % range is about so many standard deviations wide
COLUMNS = (
    "hazard_id", "vehicle_kind", "looks", "first", "estimate", "estimate_low", "estimate_high",
    "applies", "found", "looked_at", "decision", "tail",
)  # fmt: skip


def trial_frame(
    frame: pd.DataFrame,
    exposures: pd.DataFrame,
    kinds: pd.Series,
    outcomes: pd.DataFrame,
    book: Rulebook,
) -> pd.DataFrame:
    """One row for each hazard and kind of vehicle with twice as many looks as a first few.

    ``first``: the job ids to do first, by day; ``estimate``: the share on which a look would find
    it; ``applies``: the share to which it applies.  ``outcomes``: vehicle_id, hazard_id, outcome.
    ``decision`` (code): wait (too few recorded), go_on, widen, call_off, or keep_looking where few
    were found but people could be hurt.
    """
    plan = book.policy.plan
    few = int(plan.pilot_jobs.value)
    looks = frame[frame["kind"].eq(LOOK) & frame["date"].notna()].explode("hazard_ids")
    looks = looks.rename(columns={"hazard_ids": "hazard_id"})
    chances = exposures.set_index(["vehicle_id", "hazard_id"])[
        ["probability_now", "x_now_low", "x_now_high", "exposed_weight"]
    ]
    known = outcomes[outcomes["outcome"].isin([FOUND, NOT_FOUND])]
    known = known.assign(kind=known["vehicle_id"].map(kinds))
    rows = []
    looks["vehicle_kind"] = looks["vehicle_id"].map(kinds)
    for names, own in looks.groupby(["hazard_id", "vehicle_kind"]):
        hazard_id, kind = (str(name) for name in pd.Index([names])[0])
        done = known[known["hazard_id"].eq(hazard_id) & known["kind"].eq(kind)]
        if len(own) < 2 * few and done.empty:
            continue
        hazard = book.hazards[hazard_id]
        pairs = pd.MultiIndex.from_arrays([own["vehicle_id"], [hazard_id] * len(own)])
        finds = hazard.look.finds.value if hazard.look else 1.0
        mean, low, high, applies = chances.reindex(pairs).mean().to_numpy(dtype=float)
        mean, low, high = finds * mean, finds * low, finds * high
        estimate = Figure(mean, "1", "shop_data", min(low, mean), max(high, mean))
        found = int(done["outcome"].eq(FOUND).sum())
        decision, tail = decide(estimate, found, len(done), plan)
        if decision == "call_off" and hazard.severity.people in ("I", "II"):
            decision = "keep_looking"
        first = own.sort_values(["date", "rank"], kind="stable")["job_id"].head(few)
        rows.append(
            (
                hazard_id, kind, len(own), "; ".join(first), mean, low, high, applies, found,
                len(done), decision, tail,
            )
        )  # fmt: skip
    return pd.DataFrame(rows, columns=list(COLUMNS))


def decide(estimate: Figure, found: int, looked_at: int, plan: PlanPolicy) -> tuple[str, float]:
    """What the first few of a batch say of the rest, and the tail chance behind it.

    The estimate with its 90 % range becomes a beta belief; ``found`` of ``looked_at`` is judged by
    the beta-binomial: call off (or look before doing more) where so few, widen where so many,
    would come up with a chance below ``pilot_tail``.
    """
    if looked_at < int(plan.pilot_jobs.value):
        return "wait", math.nan
    a, b = beta_of(estimate)
    few = float(betabinom.cdf(found, looked_at, a, b))
    many = float(betabinom.sf(found - 1, looked_at, a, b))
    if few < plan.pilot_tail.value:
        return "call_off", few
    return ("widen", many) if many < plan.pilot_tail.value else ("go_on", min(few, many))


def beta_of(estimate: Figure) -> tuple[float, float]:
    """Beta parameters with the estimate as mean and the spread of its 90 % range."""
    mean = min(max(estimate.value, 0.005), 0.995)
    low, high = estimate.range
    spread = max((high - low) / DEVIATIONS_IN_RANGE, 0.01)
    size = max(mean * (1.0 - mean) / spread**2 - 1.0, 1.0)
    return mean * size, (1.0 - mean) * size
