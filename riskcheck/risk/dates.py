"""Act-by dates: the earliest of evidence, watch window, people, looks and money; and seasons."""

from __future__ import annotations

import calendar
import re
from datetime import date

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from riskcheck.risk.beliefs import Floats
from riskcheck.risk.branches import MIDDLE_RATE
from riskcheck.risk.hazard_figures import Figures
from riskcheck.risk.lines import DUE_WITHIN_DAYS
from riskcheck.risk.setting import Setting
from riskcheck.rulebook.model import URGENCY_DAYS, Hazard, Policy, ShareLife

Bools = NDArray[np.bool_]
Texts = NDArray[np.str_]

REASONS = ("confirmed", "sign", "window", "people", "look_due", "money", "season")
# Reasons that come with age or use; the others are days of the calendar.
BY_LIFE = ("people", "look_due", "money")
# What "before its season" means where the season has no date (from memory).
LATEST_SEASON_DAYS = 90.0
DAYS_A_MONTH = 365.25 / 12.0


def days_to_season(season: str, policy: Policy, as_of: date) -> float:
    """Days until the season's date (policy, MM-DD); NaN where the season has no date.

    A date that passed at most sixty days ago is late, not a year away: it is due today.
    A date in the policy may stand anywhere in its text, such as "by 10-15".
    """
    written = re.search(r"(\d{2})-(\d{2})", policy.seasons.get(season, ""))
    if written is None:
        return float("nan")
    month, day = int(written[1]), int(written[2])
    years = (as_of.year - 1, as_of.year, as_of.year + 1)
    until = ((_on(year, month, day) - as_of).days for year in years)
    return float(max(min(days for days in until if days >= -DUE_WITHIN_DAYS), 0))


def _on(year: int, month: int, day: int) -> date:
    return date(year, month, min(day, calendar.monthrange(year, month)[1]))


def act_by_of(
    frame: pd.DataFrame, hazard: Hazard, figures: Figures, setting: Setting
) -> dict[str, list[str | None] | list[str] | Floats]:
    """act_by_date (ISO text), reason, odometer, and days from the as-of date, per vehicle (n,).

    The odometer is given only where the reason runs on miles: see ``on_miles``.
    """
    n = len(frame)
    options = np.full((len(REASONS), n), np.nan)
    evidence = frame["evidence"].to_numpy()
    season = days_to_season(hazard.season, setting.policy, setting.as_of)
    said = [_word_days(word, season) for word in (hazard.urgency.confirmed, hazard.urgency.sign)]
    options[0] = np.where(evidence == "confirmed", said[0], np.nan)
    options[1] = np.where(evidence == "sign", said[1], np.nan)
    window = _window_days(hazard, figures, setting)
    options[2] = window
    rows, settled = figures.rows, frame["status"].isin(("exposed", "unproven")).to_numpy()
    money = 4 if hazard.reveals == "by_looking" else 5
    if len(rows):
        options[3, rows] = figures.answer.people_months * DAYS_A_MONTH
        options[money, rows] = figures.answer.act_months * DAYS_A_MONTH
    if hazard.reveals == "by_itself":
        # A job worth doing within the year is worth doing before the season that asks for it.
        options[6] = np.where(frame["net_benefit"].fillna(0.0) > 0.0, season, np.nan)
    options[3:, ~settled] = np.nan
    # A found fault is dated by its urgency; no sum of money makes it wait or hurry.
    options[2:, evidence == "confirmed"] = np.nan
    options[:, ~frame["status"].isin(("exposed", "unproven", "unknown")).to_numpy()] = np.nan
    told = np.fmin(options[0], options[1])
    dated = np.isfinite(options).any(axis=0)
    best = np.where(dated, np.nan_to_num(options, nan=np.inf).argmin(axis=0), 0)
    days = np.floor(options[best, np.arange(n)])
    when = np.datetime64(setting.as_of) + np.nan_to_num(days).astype("timedelta64[D]")
    reason = np.where(dated, np.array(REASONS)[best], "")
    by_miles = on_miles(reason, days, hazard, figures, setting)
    return {
        "act_by_date": [str(d) if ok else None for d, ok in zip(when, dated, strict=True)],
        "act_by_reason": [str(name) for name in reason],
        "act_by_odometer_mi": np.where(by_miles, np.round(_odometer(days, setting)), np.nan),
        "r_act_by_days": days,
        "r_window_days": window,
        "r_told_days": told,
        "x_look_due_date": _iso(options[4], setting.as_of),
        "x_people_due_date": _iso(options[3], setting.as_of),
    }


def on_miles(
    reason: Texts, days: Floats, hazard: Hazard, figures: Figures, setting: Setting
) -> Bools:
    """Whether what makes the date is driven to on miles, per vehicle (n,).

    ``reason``: act-by reasons; ``days`` until then.  A watch window runs on its own clock.  What
    comes with age runs on the clock of the life that is further through on that day, by the ratio
    of use to B10; on a tie, of the first.
    """
    by_life = np.isin(reason, BY_LIFE)
    window = hazard.watch_window is not None and hazard.watch_window.clock == "miles"
    driven = _leading_clock(days, hazard, figures, setting) == "miles"
    return np.asarray((by_life & driven) | ((reason == "window") & window))


def _leading_clock(days: Floats, hazard: Hazard, figures: Figures, setting: Setting) -> Texts:
    """Clock of the hazard's life that is further through ``days`` from today (n,)."""
    if isinstance(hazard.life, ShareLife):
        return np.full(len(days), "years")
    through = np.stack(
        [
            figures.past.now[:, place] + setting.usage.rates(life.clock)[:, MIDDLE_RATE]
            * days / 365.25
            for place, life in enumerate(hazard.life.clocks)
        ]
    )  # fmt: skip
    b10 = np.array([life.b10.value for life in hazard.life.clocks])[:, None]
    names = np.array([life.clock for life in hazard.life.clocks])
    return np.asarray(names[np.nan_to_num(through / b10).argmax(axis=0)])


def _word_days(word: str, season: float) -> float:
    """Days that an urgency word gives; the next visit has none."""
    if word == "season":
        return LATEST_SEASON_DAYS if np.isnan(season) else season
    return float(URGENCY_DAYS.get(word, np.nan))


def _window_days(hazard: Hazard, figures: Figures, setting: Setting) -> Floats:
    """Days until the watch window's use is gained; NaN without a window or start."""
    left = figures.ahead.window_left
    if hazard.watch_window is None:
        return np.full(len(left), np.nan)
    known = np.isfinite(left)
    dates = setting.usage.date_of(
        hazard.watch_window.clock, np.arange(len(left)), np.where(known, left, 0.0)
    )
    days = (dates.astype("datetime64[D]") - np.datetime64(setting.as_of)).astype("float64")
    return np.where(known & (left > 0.0) & ~np.isnat(dates), np.maximum(days, 0.0), np.nan)


def _odometer(days: Floats, setting: Setting) -> Floats:
    """Odometer expected ``days`` after the as-of date at the vehicle's middle rate (mi)."""
    a_year = np.asarray(setting.usage.rates("miles"))[:, MIDDLE_RATE]
    return np.asarray(setting.odometer_mi + a_year * np.nan_to_num(days) / 365.25)


def _iso(days: Floats, as_of: date) -> list[str | None]:
    when = np.datetime64(as_of) + np.nan_to_num(np.floor(days)).astype("timedelta64[D]")
    return [str(d) if ok else None for d, ok in zip(when, np.isfinite(days), strict=True)]
