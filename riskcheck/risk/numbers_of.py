"""The number columns of one hazard: chances, what waiting costs, what is lost, what is averted."""

from __future__ import annotations

import numpy as np

from riskcheck.reasoning.reasoned import Reasoned
from riskcheck.risk.beliefs import Floats
from riskcheck.risk.hazard_figures import Figures
from riskcheck.risk.history import Bools, Ints
from riskcheck.risk.money import harm_12m
from riskcheck.risk.setting import Setting
from riskcheck.rulebook.model import Hazard


def numbers_of(
    hazard: Hazard, reasoned: Reasoned, figures: Figures, setting: Setting
) -> dict[str, Floats]:
    """Number columns (n,), NaN outside the priced rows; a found fault has chance one."""
    n = len(setting.usage.vehicle_ids)
    found = np.asarray(reasoned.evidence == "confirmed")
    out = {name: _over_all(values, figures.rows, n) for name, values in _chances(figures).items()}
    for name, column in out.items():
        if not name.startswith("x_p_after"):
            column[found] = 1.0
    out["p_harm"] = harm_12m(hazard, out["probability_now"], out["probability_12m"])
    for name, cost in (
        ("cost_if_fails", figures.cost_failure),
        ("cost_to_prevent", figures.cost_job),
    ):
        out[name] = cost.value.copy()
        out[f"x_{name}_low"], out[f"x_{name}_high"] = cost.low.copy(), cost.high.copy()
    out |= _waiting(hazard, figures, setting, (out, found))
    out["x_surprise_chance"] = _over_all(figures.answer.survival, figures.rows, n)
    out["x_m"] = figures.m.copy()
    out["x_cost_look"] = np.full(n, figures.look_cost)
    out["r_repair_chance"] = out["probability_now"] * figures.cost_job.value
    return out


def _at(figures: Figures) -> dict[float, int]:
    return {month: place for place, month in enumerate(figures.ahead.months)}


def _table(values: Floats, figures: Figures, width: int) -> Floats:
    """A table of the answer, with its columns even where nothing was asked."""
    return values if len(figures.rows) else np.zeros((0, width))


def _chances(figures: Figures) -> dict[str, Floats]:
    """Chances of the priced rows (r,) with their ranges."""
    a, at = figures.answer, _at(figures)
    path = _table(a.path, figures, len(at))
    span = {
        name: _table(values, figures, 2)
        for name, values in (("", a.p_range), ("3", a.p3_range), ("6", a.p6_range),
                             ("12", a.p12_range), ("now", a.now_range), ("given", a.p_given))
    }  # fmt: skip
    return {
        "probability": a.p, "probability_low": span[""][:, 0], "probability_high": span[""][:, 1],
        "probability_now": a.now, "probability_12m": a.p12,
        "x_p1": path[:, at[1.0]],
        "x_p3": path[:, at[3.0]], "x_p3_low": span["3"][:, 0], "x_p3_high": span["3"][:, 1],
        "x_p6": path[:, at[6.0]], "x_p6_low": span["6"][:, 0], "x_p6_high": span["6"][:, 1],
        "x_p12": a.p12, "x_p12_low": span["12"][:, 0], "x_p12_high": span["12"][:, 1],
        "x_now_low": span["now"][:, 0], "x_now_high": span["now"][:, 1],
        "x_if_exposed": a.p / np.maximum(a.exposed, 1e-12),
        "x_if_exposed_low": span["given"][:, 0], "x_if_exposed_high": span["given"][:, 1],
        "x_p_after_job": a.after_job, "x_p_after_partial": a.after_part,
        "exposed_weight": a.exposed,
    }  # fmt: skip


def _waiting(
    hazard: Hazard, figures: Figures, setting: Setting, known: tuple[dict[str, Floats], Bools]
) -> dict[str, Floats]:
    """W by month, and what is likely lost or averted.  ``known``: chances so far and found (n,)."""
    chances, found = known
    at, n = _at(figures), len(found)
    loss = figures.cost_failure.value - figures.cost_job.value
    waits = _table(figures.answer.waits, figures, len(at))
    present = _table(figures.answer.present, figures, len(at))
    months = {"net_benefit": setting.horizon, "wait_month": 1.0, "x_wait_3": 3.0, "x_wait_6": 6.0,
              "x_wait_12": 12.0}  # fmt: skip
    out = {
        name: np.where(found, loss, _over_all(waits[:, at[month]], figures.rows, n))
        for name, month in months.items()
    }
    until_horizon = _over_all(present[:, at[setting.horizon]], figures.rows, n)
    yearly = hazard.becomes_costly_per_year
    gain, costly = loss * chances["probability"], chances["probability"]
    if hazard.reveals == "by_looking":
        gain = figures.loss_a_year * until_horizon
        costly = (yearly.value if yearly else 0.0) * until_horizon
    out["r_wait_gain"] = np.where(found, loss, gain)
    costly = np.minimum(costly, chances["probability"])
    out["x_loss_chance"] = np.where(found, 1.0, costly)
    out["x_loss_cap"] = figures.loss_cap.copy()
    out["r_present_year"] = _over_all(present[:, at[12.0]], figures.rows, n)
    return out


def _over_all(values: Floats, rows: Ints, n: int) -> Floats:
    """Values of the priced rows in their places among all n vehicles, NaN elsewhere."""
    out = np.full(n, np.nan)
    out[rows] = values
    return out
