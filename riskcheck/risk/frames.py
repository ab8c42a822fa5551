"""The frame of exposures that pricing gives back."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pandas as pd

from riskcheck.reasoning.reasoned import Reasoned, VehicleWorlds
from riskcheck.risk import level
from riskcheck.risk.asking import bench_cost, best_questions
from riskcheck.risk.beliefs import Floats
from riskcheck.risk.dates import act_by_of, days_to_season
from riskcheck.risk.factors import acting
from riskcheck.risk.hazard_figures import Figures
from riskcheck.risk.history import clock_names
from riskcheck.risk.invented import behind_figures
from riskcheck.risk.numbers_of import numbers_of
from riskcheck.risk.setting import Setting
from riskcheck.rulebook.model import Hazard
from riskcheck.vocabulary import CLOCK_UNITS

RECORD_CONFLICT = "record_conflict"
SURPRISING = 0.01  # prior predictive survival below this: record or figure is wrong here


def exposure_frame(
    hazard: Hazard, reasoned: Reasoned, figures: Figures, setting: Setting
) -> pd.DataFrame:
    """One row per vehicle for one hazard; columns ``r_*`` are for ranking only."""
    vehicles, n = setting.fleet.vehicles, len(setting.usage.vehicle_ids)
    frame = pd.DataFrame(
        {
            "r_row": np.arange(n),
            "vehicle_id": vehicles["vehicle_id"].to_numpy(),
            "customer_id": vehicles["customer_id"].to_numpy(),
            "hazard_id": hazard.id,
            "status": reasoned.status,
            "evidence": reasoned.evidence,
            "case_id": reasoned.case_id,
            "usage": figures.past.now[:, 0],
            "usage_unit": CLOCK_UNITS[clock_names(hazard)[0]],
        }
    )
    numbers = numbers_of(hazard, reasoned, figures, setting)
    for name, values_ in numbers.items():
        frame[name] = values_
    _texts(frame, reasoned)
    _asking(frame, hazard, reasoned, figures, setting)
    _levels(frame, hazard, setting)
    _dates(frame, hazard, figures, setting)
    _details(frame, hazard, reasoned, figures)
    frame["r_invented"] = behind_figures(hazard, reasoned, figures, setting)
    live = frame["status"].isin(("exposed", "unproven", "unknown")).to_numpy()
    frame.loc[~live, [*numbers, "usage", "hours"]] = np.nan
    frame.loc[~live, ["usage_unit", "x_started", "x_factors"]] = ""
    return frame


def _texts(frame: pd.DataFrame, reasoned: Reasoned) -> None:
    """Findings and questions, with the surprise of a record that the belief cannot explain."""
    found = frame["evidence"].to_numpy() == "confirmed"
    conflict = (frame["x_surprise_chance"].to_numpy() < SURPRISING) & ~found
    frame["x_surprise"] = conflict
    findings = [
        [*hold, *([RECORD_CONFLICT] if odd else [])]
        for hold, odd in zip(reasoned.findings_hold, conflict, strict=True)
    ]
    questions = [
        [*([RECORD_CONFLICT] if odd else []), *asked]
        for asked, odd in zip(reasoned.questions, conflict, strict=True)
    ]
    frame["findings"] = ["; ".join(one) for one in findings]
    frame["questions"] = ["; ".join(one) for one in questions]


def _asking(
    frame: pd.DataFrame, hazard: Hazard, reasoned: Reasoned, figures: Figures, setting: Setting
) -> None:
    """The question worth most of each vehicle, and what it is worth."""
    at_bench = bench_cost(hazard, setting.policy)
    gain = _gain_if_exposed(frame, hazard)
    asked = best_questions(_worlds_today(frame, reasoned), gain, figures.look_cost, at_bench)
    frame["r_worth_asking"] = frame["x_worth_asking"] = asked.worth
    frame["r_ask_minutes"] = asked.minutes
    frame["x_ask"] = asked.facts
    frame["x_bench_cost"] = at_bench


def _worlds_today(frame: pd.DataFrame, reasoned: Reasoned) -> VehicleWorlds:
    """The worlds with the weight they have after what was lived through, as all figures do."""
    worlds = reasoned.worlds
    before = np.nan_to_num(np.asarray(reasoned.exposed_prior, dtype=np.float64), nan=0.5)
    before = np.clip(before, 1e-12, 1.0 - 1e-12)
    after = frame["exposed_weight"].fillna(pd.Series(before)).to_numpy(float)
    with_it, without = after / before, (1.0 - after) / (1.0 - before)
    moved = np.where(worlds.exposed, with_it[worlds.vehicle], without[worlds.vehicle])
    return replace(worlds, weight=worlds.weight * moved)


def _gain_if_exposed(frame: pd.DataFrame, hazard: Hazard) -> Floats:
    """W (n,) USD were the vehicle known to be exposed, zero where it has none.

    All of W grows with the weight of the exposure, but for the price of a hidden hazard's looks:
    a look costs the same whether it finds something or not.
    """
    weight = np.maximum(frame["exposed_weight"].fillna(1.0).to_numpy(float), 1e-9)
    net = frame["net_benefit"].fillna(0.0).to_numpy(float)
    if hazard.reveals == "by_itself":
        return np.asarray(net / weight)
    averted = frame["r_wait_gain"].fillna(0.0).to_numpy(float)
    return np.asarray(averted / weight - (averted - net))


def _levels(frame: pd.DataFrame, hazard: Hazard, setting: Setting) -> None:
    """Both codes, and severity, likelihood and level of the one that ranks higher (tie: people)."""
    live = frame["probability_12m"].notna().to_numpy()
    people = level.letters(frame["p_harm"].fillna(0.0).to_numpy(), level.HARM_DECIMALS)
    money = level.letters(frame["probability_12m"].fillna(0.0).to_numpy())
    grave = hazard.severity.people
    dear = level.money_severities(
        frame["cost_if_fails"].to_numpy(float), setting.policy.money_bands, hazard.severity.money
    )
    columns = {
        "people_level": level.levels(grave, people),
        "money_level": level.levels(dear, money),
        "people_code": level.codes(grave, people),
        "money_code": level.codes(dear, money),
    }
    lead = level.people_lead(columns["people_level"], columns["money_level"])
    columns["severity"] = np.where(lead, grave, dear)
    columns["likelihood"] = np.where(lead, people, money)
    columns["risk_level"] = np.where(lead, columns["people_level"], columns["money_level"])
    for name, words in columns.items():
        frame[name] = np.where(live, words, "").astype(object)
    frame["r_severity_people"] = grave


def _dates(frame: pd.DataFrame, hazard: Hazard, figures: Figures, setting: Setting) -> None:
    due = act_by_of(frame, hazard, figures, setting)
    for name, column in due.items():
        frame[name] = column
    frame["r_season_days"] = float(days_to_season(hazard.season, setting.policy, setting.as_of))
    ends = [setting.dates.ahead[name] for name in ("warranty", "goodwill")]
    frame["r_claim_days"] = np.fmin(*ends)
    frame["r_claim_reason"] = np.where(ends[0] <= np.nan_to_num(ends[1], nan=np.inf), "warranty",
                                       "goodwill")  # fmt: skip
    _look(frame, hazard, figures, setting)
    frame["r_urgency_word"] = hazard.urgency.sign
    left = figures.ahead.window_left
    watched = hazard.watch_window is not None
    opened = watched & figures.past.on_file & (left > 0.0)
    frame["r_opened_window"] = opened & np.isfinite(left)
    frame["r_conflict"] = frame["x_surprise"]
    frame["r_coming_in"] = setting.coming_in
    frame["x_coming_in"] = setting.coming_in
    frame["r_over_value"] = figures.cost_job.value > setting.value_usd
    frame["x_over_value"] = frame["r_over_value"]
    frame["x_loss_group"] = hazard.loss_group
    frame["hours"] = hazard.job.hours.value


def _look(frame: pd.DataFrame, hazard: Hazard, figures: Figures, setting: Setting) -> None:
    """What the combined look of a vehicle needs to know of this hazard."""
    look = hazard.look
    harm = hazard.harm.per_year_present
    frame["r_hidden"] = hazard.reveals == "by_looking"
    frame["r_look_minutes"] = look.minutes.value if look else np.nan
    frame["r_look_cost"] = look.cost.value if look else np.nan
    frame["r_look_finds"] = look.finds.value if look else 1.0
    frame["r_look_place"] = hazard.job.teardown
    looked = (np.datetime64(setting.as_of) - figures.past.ok_day) / np.timedelta64(1, "D")
    frame["r_days_since_look"] = np.asarray(looked, dtype=np.float64)
    costly = hazard.becomes_costly_per_year
    frame["r_costly_a_year"] = costly.value if costly else 0.0
    frame["r_loss_a_year"] = figures.loss_a_year
    frame["r_harm_a_year"] = harm.value if harm else 0.0


def _details(frame: pd.DataFrame, hazard: Hazard, reasoned: Reasoned, figures: Figures) -> None:
    frame["x_factors"] = acting(hazard.factors, reasoned.factors, len(frame))
    frame["x_started"] = _day_words(figures.past.started, "new")
    frame["x_last_good_look"] = _day_words(figures.past.ok_day, "")


def _day_words(days: np.ndarray, otherwise: str) -> list[str]:
    words = np.datetime_as_string(days.astype("datetime64[D]"))
    return [otherwise if word == "NaT" else str(word) for word in words]
