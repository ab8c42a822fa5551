"""One combined look a vehicle: which hidden hazards to look for together, and when to call for it.

Priced one by one, nearly every hidden hazard of an older vehicle is due for a look and nearly every
customer would be telephoned about a dozen of them.  A shop decides otherwise, and rightly: the
vehicle is lifted once, everything due is looked at in that visit, and a customer who is in every
few months is not telephoned for it.  The rules, in words:

1. A *member* is a hazard that only looking finds, with no sign on file, whose own look is due or
   whose chance of harm is over the line, and that was not looked at within the year.  One that is
   ten times over the line is a member again as soon as its own look is due, whenever the last was.
2. Members at one place share the time of getting there: the longest look counts in full, each
   further one at the place at half (wheels-off work saves 40 to 60 %, from memory).
3. A combined look is called for when a member's chance of harm is over the tolerance line and the
   vehicle has not been in for a year (less the sixty days that count as soon): the yearly look is
   overdue.  A year is what 49 CFR 396.17 sets for commercial vehicles; for others it is common
   practice.  A vehicle that was in within the year gets the look on its next ticket.  A member that
   is ten times over the line is called for whatever the visits (for the default line that is the
   1e-4 a year which HSE, Reducing Risks, Protecting People, 2001, gives as the limit for the
   public, from memory).  **Only rules 1, 3 and 6 move an exposure over the line from a call to the
   next visit.**
4. Below the line a look is called for only where it is overdue and what it averts in a year
   (loss, and harm at its policy value) beats the whole look's cost and clears the shop's floor.
   A look averts what is there today and nothing that comes later (``losses_averted``), and what
   several faults would destroy together it saves once (``losses``).
5. A due inspection, and a warranty or goodwill that ends while faults are likely to be found, are
   dates of their own; so is a season, for the hazards that belong to it.
6. A vehicle booked in within ten days is not called; the look goes on that ticket, unless a member
   is ten times over the line.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from riskcheck.risk.beliefs import Floats
from riskcheck.risk.lines import DUE_WITHIN_DAYS, LEAST_VISIT_HOURS, LIVE, LOOK_WEIGHT, Line
from riskcheck.risk.losses import spared

LOOK_EVERY_DAYS = 365.0
SHARED = 0.5
LIMIT_OVER_LINE = 10.0
IN_LOOK, NEXT_VISIT = "in_combined_look", "look_at_next_visit"
DATES = ("inspection", "warranty", "goodwill")
Bools = NDArray[np.bool_]
Ints = NDArray[np.int64]
# Places where one may look without moving the vehicle: on the lift, or under the bonnet.
PLACES = {
    "lift": ("WHEELS-OFF", "UNDER-LIFT", "DRIVELINE-OUT", "EXHAUST-OFF"),
    "bonnet": ("BATTERY-OPEN", "LOF", "COOLANT-DRAIN", "BRAKE-BLEED", "INTAKE-ACCESS",
               "INTAKE-OFF", "FUEL-OPEN", "FRONT-COVER"),
}  # fmt: skip
PLACE_OF = {group: place for place, groups in PLACES.items() for group in groups}


class VehicleDates(NamedTuple):
    """Per vehicle (n,), in days: since the last visit, and until each date (NaN where none).

    ``ahead``: name in ``DATES`` -> days; a passed inspection is negative and still counts, a
    passed warranty does not.
    """

    since_visit: Floats
    ahead: dict[str, Floats]


class Sums(NamedTuple):
    """Sums over some rows of each vehicle (n,): hours, USD, chance of harm a year, USD averted."""

    hours: Floats
    cost: Floats
    harm: Floats
    averted: Floats

    def pays(self, floor: float) -> Bools:
        """Whether the look beats its cost and earns the floor for its hours, at least for one."""
        net = self.averted - self.cost
        paid = net >= floor * np.maximum(self.hours, LEAST_VISIT_HOURS)
        return np.asarray(paid & (net > 0.0) & (self.hours > 0.0))


def combined_looks(rows: pd.DataFrame, line: Line, dates: VehicleDates) -> pd.DataFrame:
    """What becomes of every row that is a matter of looking.

    ``rows``: row (vehicle index), hazard_id, status, evidence, hidden, opened_window, p_harm,
    exposed_weight, act_by_days, season_days, net_benefit, look_minutes, look_cost, look_place,
    look_finds, days_since_look, probability_now, costly_a_year, loss_a_year, harm_a_year,
    x_loss_group, coming_in, conflict, repair_chance (USD of repairs likely to be found).  The index
    counts from 0.  Returns, same index: member, lead (bool), tier (NaN: not decided here), reason,
    days (date of a lead), hours, cost, harm, averted (of the whole look), with (its hazard ids).
    """
    at = rows["row"].to_numpy(dtype=np.int64)
    n = len(dates.since_visit)
    over = _over_line(rows, line)
    candidate = _candidates(rows)
    doubtful = rows["conflict"].to_numpy(bool) & ~over  # asked about first, see ``ranking``
    p_harm = rows["p_harm"].to_numpy(float)
    far = over & (p_harm >= LIMIT_OVER_LINE * line.tolerance)
    due = _due(rows)
    settled = _looked_lately(rows) & ~(far & due)
    member = candidate & (over | due) & ~settled & ~doubtful
    whole = _sums(rows, member, line, n)
    overdue = ~(dates.since_visit <= LOOK_EVERY_DAYS - DUE_WITHIN_DAYS)
    limit = _any(at, member & far, n)
    people = _any(at, member & over, n) & (overdue | limit)
    coming = _any(at, rows["coming_in"].to_numpy(bool), n) & ~limit
    reason, days = _dated(rows, member, whole, line, dates)
    reason = np.where((reason == "") & overdue & whole.pays(line.floor), "look_due", reason)
    called = (people | (reason != "")) & ~coming
    near = rows["season_days"].to_numpy(float) <= DUE_WITHIN_DAYS
    of_season = (reason == "season")[at] & ~people[at]
    lead = _lead(at, member & called[at] & (near | ~of_season), over, rows)
    tier = np.full(len(rows), np.nan)
    tier[candidate & (over | member)] = 7.0
    tier[lead] = np.where(people[at[lead]], 3.0, 4.0)
    words = np.full(len(rows), "", dtype=object)
    words[tier == 7.0] = NEXT_VISIT
    words[(tier == 7.0) & called[at] & member] = IN_LOOK
    words[(tier == 7.0) & coming[at]] = "already_coming_in"
    unknown = rows["status"].eq("unknown").to_numpy()
    words[lead] = np.where(
        people[at], np.where(unknown, "look_harm_over_line", "harm_over_line"), reason[at]
    )[lead]
    return pd.DataFrame(
        {
            "member": member, "lead": lead, "tier": tier, "reason": words,
            "days": np.where(lead, days[at], np.nan), "hours": _of(whole.hours, at, member),
            "cost": _of(whole.cost, at, member), "harm": _of(whole.harm, at, member),
            "averted": _of(whole.averted, at, member), "with": _names(rows, at, member),
        },
        index=rows.index,
    )  # fmt: skip


def _candidates(rows: pd.DataFrame) -> Bools:
    """Hidden, live, no sign on file, not our own open work, and there is a look for it."""
    return np.asarray(
        rows["hidden"]
        & rows["status"].isin(LIVE)
        & rows["evidence"].eq("none")
        & ~rows["opened_window"]
        & rows["look_minutes"].notna(),
        dtype=bool,
    )


def _over_line(rows: pd.DataFrame, line: Line) -> Bools:
    """Over the tolerance line; an unknown if it would be so exposed and may well be."""
    weight = rows["exposed_weight"].to_numpy(float)
    harm = rows["p_harm"].to_numpy(float)
    unknown = rows["status"].eq("unknown").to_numpy()
    given = harm / np.maximum(weight, 1e-12)
    likely = (weight >= LOOK_WEIGHT) & line.over(given)
    return np.asarray(np.where(unknown, likely, line.over(harm)), dtype=bool)


def _due(rows: pd.DataFrame) -> Bools:
    known = rows["status"].isin(("exposed", "unproven")).to_numpy()
    return np.asarray(known & (rows["act_by_days"].to_numpy(float) <= DUE_WITHIN_DAYS), dtype=bool)


def _looked_lately(rows: pd.DataFrame) -> Bools:
    since = rows["days_since_look"].to_numpy(float)
    return np.asarray(since < LOOK_EVERY_DAYS - DUE_WITHIN_DAYS, dtype=bool)


def _sums(rows: pd.DataFrame, chosen: Bools, line: Line, n: int) -> Sums:
    """Sums over the chosen rows of each vehicle, with the time at one place shared."""
    part = rows[chosen]
    at = part["row"].to_numpy(dtype=np.int64)
    place = part["look_place"].map(lambda group: PLACE_OF.get(group, group))
    order = part.assign(place=place).sort_values("look_minutes", ascending=False, kind="stable")
    first = ~order.duplicated(["row", "place"]).reindex(part.index).to_numpy(dtype=bool)
    share = np.where(first, 1.0, SHARED)
    summed = (
        share * part["look_minutes"].to_numpy(float) / 60.0,
        share * part["look_cost"].to_numpy(float),
        part["p_harm"].fillna(0.0).to_numpy(float),
        _spared(part) * losses_averted(part) + harm_averted(part, line),
    )
    return Sums(*(np.asarray(np.bincount(at, one, n), dtype=np.float64) for one in summed))


def losses_averted(rows: pd.DataFrame) -> Floats:
    """Loss that a look today averts within a year, each row by itself (n,), in USD.

    finds · P(there today) · y · L, with y = (1 − exp(−κ))/κ the years that the fault would stay
    there and not have turned costly within the year (κ = costly_a_year; y = 1 where κ is 0).
    L = C_f·κ is the loss a year, so L·y is C_f times the chance of turning costly within the year.
    A fault that comes after the look is none of its doing.
    """
    loss = rows["loss_a_year"].fillna(0.0).to_numpy(float)
    return np.asarray(_there(rows) * _years(rows) * loss, dtype=np.float64)


def harm_averted(rows: pd.DataFrame, line: Line) -> Floats:
    """The same for harm: finds · P(there today) · y · ρ · value of a harm averted (n,), in USD."""
    harm = line.harm_value * rows["harm_a_year"].to_numpy(float)
    return np.asarray(_there(rows) * _years(rows) * harm, dtype=np.float64)


def _there(rows: pd.DataFrame) -> Floats:
    now = rows["probability_now"].fillna(0.0).to_numpy(float)
    return np.asarray(rows["look_finds"].to_numpy(float) * now, dtype=np.float64)


def _years(rows: pd.DataFrame) -> Floats:
    rate = np.maximum(rows["costly_a_year"].to_numpy(float), 0.0)
    years = np.divide(-np.expm1(-rate), rate, out=np.ones(len(rate)), where=rate > 0.0)
    return np.asarray(years, dtype=np.float64)


def _spared(rows: pd.DataFrame) -> Floats:
    """Chance that no dearer loss of the vehicle's loss group comes within the year (n,)."""
    rate = np.maximum(rows["costly_a_year"].to_numpy(float), 0.0)
    cost = rows["loss_a_year"].fillna(0.0).to_numpy(float) / np.maximum(rate, 1e-12)
    table = pd.DataFrame(
        {
            "at": rows["row"].to_numpy(), "group": rows["x_loss_group"].to_numpy(),
            "dear": -cost, "chance": _there(rows) * -np.expm1(-rate),
        }
    ).sort_values(["at", "group", "dear"], kind="stable")  # fmt: skip
    first = ~table.duplicated(["at", "group"]).to_numpy()
    table["spared"] = spared(table["chance"].to_numpy(float), first)
    return np.asarray(table["spared"].sort_index(), dtype=np.float64)


def _dated(
    rows: pd.DataFrame, member: Bools, whole: Sums, line: Line, dates: VehicleDates
) -> tuple[NDArray[np.object_], Floats]:
    """Reason code and days of the first date within sixty days, per vehicle (n,)."""
    at = rows["row"].to_numpy(dtype=np.int64)
    n = len(dates.since_visit)
    near = member & (rows["season_days"].to_numpy(float) <= DUE_WITHIN_DAYS)
    seasonal = _sums(rows, near, line, n).pays(line.floor)
    season = np.full(n, np.nan)
    season[at[near]] = rows["season_days"].to_numpy(float)[near]
    repairs = rows["repair_chance"].fillna(0.0).to_numpy(float)
    found = np.bincount(at[member], repairs[member], n)
    worth = {
        "inspection": whole.hours > 0.0,
        "warranty": found > whole.cost,
        "goodwill": found > whole.cost,
        "season": seasonal,
    }
    options = {**dates.ahead, "season": season}
    reason, days = np.full(n, "", dtype=object), np.full(n, np.inf)
    for name, until in options.items():
        first = worth[name] & (until <= DUE_WITHIN_DAYS) & (until < days)
        reason[first], days[first] = name, until[first]
    return reason, np.where(np.isfinite(days), days, np.nan)


def _lead(at: Ints, chosen: Bools, over: Bools, rows: pd.DataFrame) -> Bools:
    """One row a vehicle: over the line first, then most harm, then most loss averted."""
    loss = losses_averted(rows)
    order = pd.DataFrame(
        {"at": at, "over": ~over, "harm": -rows["p_harm"].to_numpy(float), "loss": -loss}
    )[chosen].sort_values(["at", "over", "harm", "loss"], kind="stable")
    lead = np.zeros(len(rows), dtype=bool)
    lead[order.drop_duplicates("at").index.to_numpy(dtype=np.int64)] = True
    return lead


def _any(at: Ints, condition: Bools, n: int) -> Bools:
    return np.asarray(np.bincount(at[condition], minlength=n) > 0)


def _of(values: Floats, at: Ints, member: Bools) -> Floats:
    return np.where(member, values[at], np.nan)


def _names(rows: pd.DataFrame, at: Ints, member: Bools) -> list[str]:
    part = rows[member]
    joined = part.groupby(at[member])["hazard_id"].agg(lambda ids: "; ".join(sorted(ids)))
    return [str(joined[vehicle]) if own else "" for vehicle, own in zip(at, member, strict=True)]
