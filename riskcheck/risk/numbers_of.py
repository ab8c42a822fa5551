"""The number columns of one hazard: chances, what waiting costs, what is lost, what is averted."""

from __future__ import annotations

import numpy as np

from riskcheck.reasoning.reasoned import Reasoned
from riskcheck.risk.beliefs import Floats
from riskcheck.risk.hazard_figures import Figures
from riskcheck.risk.history import Bools, Ints
from riskcheck.risk.money import harm_12m
from riskcheck.risk.setting import Setting
from riskcheck.risk.unrevealed import years_there
from riskcheck.rulebook.model import Hazard


def numbers_of(
    hazard: Hazard, reasoned: Reasoned, figures: Figures, setting: Setting
) -> dict[str, Floats]:
    """Number columns (n,), NaN outside the priced rows; a found fault has chance one."""
    n = len(setting.usage.vehicle_ids)
    found = np.asarray(reasoned.evidence == "confirmed")
    chances = _chances(figures, setting.horizon)
    out = {name: _over_all(values, figures.rows, n) for name, values in chances.items()}
    for name, column in out.items():
        if not name.startswith("x_p_after"):
            column[found] = 1.0
    out["x_present_year"] = _present(hazard, figures, 12.0, found)
    out["p_harm"] = harm_12m(hazard, out["probability_12m"], out["x_present_year"])
    for name, cost in (
        ("cost_if_fails", figures.cost_failure),
        ("cost_to_prevent", figures.cost_job),
    ):
        out[name] = cost.value.copy()
        out[f"x_{name}_low"], out[f"x_{name}_high"] = cost.low.copy(), cost.high.copy()
    out |= _waiting(hazard, figures, setting, (out, found))
    out["x_surprise_chance"] = _over_all(figures.answer.survival, figures.rows, n)
    out["x_m"] = figures.m.copy()
    out["x_unseen"] = figures.unseen.copy()
    out["x_use_wide"] = figures.use_wide.astype(np.float64)
    out["x_cost_look"] = np.full(n, figures.look_cost)
    out["r_repair_chance"] = out["probability_now"] * figures.cost_job.value
    return out


def _at(figures: Figures) -> dict[float, int]:
    return {month: place for place, month in enumerate(figures.ahead.months)}


def _table(values: Floats, figures: Figures, width: int) -> Floats:
    """A table of the answer, with its columns even where nothing was asked."""
    return values if len(figures.rows) else np.zeros((0, width))


def _chances(figures: Figures, horizon: float) -> dict[str, Floats]:
    """Chances of the priced rows (r,) with their ranges; ``horizon`` in months."""
    a, at = figures.answer, _at(figures)
    path = _table(a.path, figures, len(at))
    ranges = {3.0: a.p3_range, 6.0: a.p6_range, 12.0: a.p12_range}
    means = {3.0: path[:, at[3.0]], 6.0: path[:, at[6.0]], 12.0: a.p12}
    # The horizon's own chance knows the spread of the pace: one month has one figure.
    ranges[horizon], means[horizon] = a.p_range, a.p
    out = {
        "probability_12m": a.p12, "x_p1": path[:, at[1.0]],
        "x_p_after_job": a.after_job, "x_p_after_partial": a.after_part,
        "exposed_weight": a.exposed,
        **_ranged("probability", a.p, _table(a.p_range, figures, 2)),
        **_ranged("x_now", a.now, _table(a.now_range, figures, 2)),
        **_ranged("x_if_exposed", a.p / np.maximum(a.exposed, 1e-12),
                  _table(a.p_given, figures, 2)),
    }  # fmt: skip
    for month in (3.0, 6.0, 12.0):
        out |= _ranged(f"x_p{month:.0f}", means[month], _table(ranges[month], figures, 2))
    out["probability_now"] = out.pop("x_now")
    return out


def _ranged(name: str, mean: Floats, span: Floats) -> dict[str, Floats]:
    """A chance (r,) and its range (r, 2), which holds it.

    A mean can lie outside its own 5 and 95 % points where a few histories carry nearly all of it;
    that end is then the mean: the range grows past 90 %, it never shrinks.
    """
    return {
        name: mean,
        f"{name}_low": np.minimum(span[:, 0], mean),
        f"{name}_high": np.maximum(span[:, 1], mean),
    }


def _waiting(
    hazard: Hazard, figures: Figures, setting: Setting, known: tuple[dict[str, Floats], Bools]
) -> dict[str, Floats]:
    """W by month, and what is likely lost or averted.  ``known``: chances so far and found (n,)."""
    chances, found = known
    at, n = _at(figures), len(found)
    loss = figures.cost_failure.value - figures.cost_job.value
    waits = _table(figures.answer.waits, figures, len(at))
    months = {"net_benefit": setting.horizon, "wait_month": 1.0, "x_wait_3": 3.0, "x_wait_6": 6.0,
              "x_wait_12": 12.0}  # fmt: skip
    out = {
        name: np.where(
            found,
            _leaving_found(hazard, figures, setting, month),
            _over_all(waits[:, at[month]], figures.rows, n),
        )
        for name, month in months.items()
    }
    until_horizon = _present(hazard, figures, setting.horizon, found)
    yearly = hazard.becomes_costly_per_year
    gain, costly = loss * chances["probability"], chances["probability"]
    if hazard.reveals == "by_looking":
        gain = figures.loss_a_year * until_horizon
        costly = (yearly.value if yearly else 0.0) * until_horizon
    out["r_wait_gain"] = gain
    out["x_loss_chance"] = costly
    out["x_loss_cap"] = figures.loss_cap.copy()
    return out


def _present(hazard: Hazard, figures: Figures, months: float, found: Bools) -> Floats:
    """Years (n,) of the next ``months`` that the fault is there and silent; a found one is."""
    at, yearly = _at(figures), hazard.becomes_costly_per_year
    present = _table(figures.answer.present, figures, len(at))
    there = years_there(np.asarray(months / 12.0), yearly.value if yearly else 0.0)
    return np.where(found, there, _over_all(present[:, at[months]], figures.rows, len(found)))


def _leaving_found(hazard: Hazard, figures: Figures, setting: Setting, months: float) -> Floats:
    """W of a found fault left for ``months``, (n,) USD.

    An event that shows itself has happened: C_f − C_p, whenever.  A hidden one is there but turns
    costly at its yearly rate κ, and putting the job off saves the interest on its price:
    C_f·(1 − exp(−κt)) − r·C_p·t.
    """
    if hazard.reveals == "by_itself":
        return np.asarray(figures.cost_failure.value - figures.cost_job.value)
    years, yearly = np.asarray(months / 12.0), hazard.becomes_costly_per_year
    saved = setting.policy.deferral_rate.value * figures.cost_job.value * years
    there = years_there(years, yearly.value if yearly else 0.0)
    return np.asarray(figures.loss_a_year * there - saved, dtype=np.float64)


def _over_all(values: Floats, rows: Ints, n: int) -> Floats:
    """Values of the priced rows in their places among all n vehicles, NaN elsewhere."""
    out = np.full(n, np.nan)
    out[rows] = values
    return out
