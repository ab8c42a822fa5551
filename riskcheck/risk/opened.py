"""What a job opens elsewhere, with its price: no remedy is sold as if it came alone.

Every remedy of the rulebook names the hazards that it opens (a wheel that was off may come loose).
Their chance is that of the first watch window after the job, or of a year where there is none, for
a vehicle in ordinary use; the look that closes the matter again is priced beside it.
"""

from __future__ import annotations

import numpy as np
import pandas as pd

from riskcheck.risk.beliefs import Floats, LifeBelief
from riskcheck.risk.hazard_figures import belief_of
from riskcheck.risk.histories import survived
from riskcheck.risk.history import clock_names
from riskcheck.risk.life import posterior
from riskcheck.risk.money import by_class, failure_cost
from riskcheck.risk.unrevealed import years_present
from riskcheck.rulebook.book import Rulebook
from riskcheck.rulebook.model import Hazard, Policy
from riskcheck.vocabulary import CLOCK_UNITS, ClockName

COLUMNS = [
    "hazard_id", "remedy_id", "opens", "within", "unit", "chance", "chance_low", "chance_high",
    "cost_if_fails", "expected_cost", "harm", "look_minutes", "look_cost",
]  # fmt: skip


def opened(rulebook: Rulebook) -> pd.DataFrame:
    """One row per remedy and hazard it opens.

    within, unit: use for which the chance (with its 5 and 95 % points) holds; cost_if_fails and
    expected_cost = chance·cost in USD for a vehicle of the first duty class (a hidden hazard's by
    its yearly rate of turning costly over that time); harm: chance that someone is hurt in that
    time; look_minutes, look_cost: the re-check (NaN where the hazard has no look).
    """
    rows = [
        (hazard.id, remedy.id, *_priced(rulebook.hazards[name], rulebook.policy))
        for hazard in rulebook.hazards.values()
        for remedy in hazard.remedies
        for name in remedy.opens
        if name in rulebook.hazards
    ]
    return pd.DataFrame(rows, columns=COLUMNS)


def _priced(hazard: Hazard, policy: Policy) -> tuple[object, ...]:
    clock = clock_names(hazard)[0]
    within, years = _watched(hazard, clock, policy)
    chance, low, high, present_years = _chance(hazard, within, years)
    duty = [next(iter(policy.vehicle_value))]
    value = by_class(policy.vehicle_value, duty).value
    cost = float(failure_cost(hazard, policy, value, by_class(policy.day_cost, duty)).value[0])
    yearly = hazard.becomes_costly_per_year
    per_year, per_event = hazard.harm.per_year_present, hazard.harm.per_event
    costly = chance
    if hazard.reveals == "by_looking":
        costly = (yearly.value if yearly else 0.0) * present_years
    harm = (per_year.value * present_years if per_year else 0.0) + (
        per_event.value * chance if per_event else 0.0
    )
    look = hazard.look
    recheck = (look.minutes.value, look.cost.value) if look else (np.nan, np.nan)
    unit = CLOCK_UNITS[clock]
    return hazard.id, within, unit, chance, low, high, cost, costly * cost, harm, *recheck


def _watched(hazard: Hazard, clock: ClockName, policy: Policy) -> tuple[float, float]:
    """Use on the hazard's clock that is looked at, and the years it takes in ordinary use."""
    a_year = {
        "miles": next(iter(policy.yearly_miles.values())).value,
        "engine_hours": next(iter(policy.yearly_engine_hours.values())).value,
        "cold_starts": policy.yearly_cold_starts.value,
    }
    window = hazard.watch_window
    if window is None:
        return a_year.get(clock, 1.0), 1.0
    years = window.length.value / a_year.get(window.clock, 1.0)
    within = window.length.value if window.clock == clock else years * a_year.get(clock, 1.0)
    return within, years


def _chance(hazard: Hazard, within: float, years: float) -> tuple[float, float, float, float]:
    """Chance by the end, its range, and expected years there and not turned costly until then."""
    belief, costly = belief_of(hazard), hazard.becomes_costly_per_year
    yearly = costly.value if costly else 0.0
    times: Floats = np.linspace(0.0, years, 21)
    if not isinstance(belief, LifeBelief):
        one = np.ones(1)
        p, spread, _ = belief.after_silence(one, one, one)
        path, (low, high) = np.full(len(times), p[0]), spread[0]
    else:
        ends = np.full(belief.clocks, within)
        if belief.clocks > 1:
            ends[1:] = years
        new = [0.0] * belief.clocks
        state = posterior(belief, survived([], new, new))
        clear = state.clear((times[:, None] / years * ends)[None, None])
        path, (low, high) = state.chance_of(clear)[0], state.range_of(clear[:, :, -1:])[0]
    present = years_present(path[None], times, yearly)[1][0, -1]
    return float(path[-1]), float(low), float(high), float(present)
