"""Figures of one hazard for all vehicles: from record and findings to chances and dates."""

from __future__ import annotations

from dataclasses import dataclass, fields, replace

import numpy as np

from riskcheck.reasoning.reasoned import Reasoned
from riskcheck.risk import act_by, money
from riskcheck.risk.beliefs import Floats, LifeBelief, ShareBelief, life_belief, share_belief
from riskcheck.risk.branches import Ahead, grouped, histories, pace_so_far, use_ahead
from riskcheck.risk.factors import multiplier, widths, without_findings
from riskcheck.risk.figures_of import Answer, Question, answer, month_points
from riskcheck.risk.history import (
    Bools,
    Ints,
    Lived,
    clock_names,
    lived,
    seen_since,
    unseen_renewals,
)
from riskcheck.risk.money import downtime_cost, failure_cost, job_cost
from riskcheck.risk.seen import first_seen
from riskcheck.risk.setting import Setting
from riskcheck.risk.today import split, spread_today
from riskcheck.rulebook.model import Hazard, ShareLife

LIVE = ("exposed", "unproven", "unknown")
STEPS_A_B10, B10S = 100, 6.0
PACE_STEPS = 10.0  # two-clock schedules share a curve within 10 % of the same pace


@dataclass(frozen=True, eq=False)
class Figures:
    """Everything worked out for one hazard; ``rows`` (r,) are the vehicles that are priced.

    past, ahead, cost_failure, cost_job, m, loss_cap (what the vehicle can cost at most), unseen
    (weight of a renewal before the record) and use_wide (today's use is a wide range itself) are
    for all n vehicles, ``answer`` for the rows.
    """

    rows: Ints
    answer: Answer
    past: Lived
    ahead: Ahead
    cost_failure: money.Spread
    cost_job: money.Spread
    look_cost: float
    loss_a_year: Floats
    m: Floats
    loss_cap: Floats
    unseen: Floats
    use_wide: Bools


def belief_of(hazard: Hazard) -> LifeBelief | ShareBelief:
    """The belief that a hazard file states about its life."""
    life = hazard.life
    if isinstance(life, ShareLife):
        return share_belief(life.share)
    return life_belief(life.shape, [clock.b10 for clock in life.clocks])


def figures_of(hazard: Hazard, reasoned: Reasoned, setting: Setting) -> Figures:
    """Work out the figures of every exposed, unproven and unknown vehicle."""
    usage, policy = setting.usage, setting.policy
    n = len(usage.vehicle_ids)
    past = lived(hazard, setting.fleet.events, usage)
    seen = first_seen(hazard, reasoned, setting.fleet, setting.vocabulary)
    past = seen_since(past, seen, clock_names(hazard), usage)
    ahead = use_ahead(hazard, usage, past, month_points(setting.horizon))
    always = multiplier(hazard.factors, reasoned.factors, n)
    m_past = always * without_findings(hazard.factors, reasoned.factors, n)
    m_ahead = always * multiplier(hazard.factors, reasoned.factors, n, "from_seen")
    m_widths = widths(hazard.factors, reasoned.factors, n)
    failure = failure_cost(hazard, policy, setting.value_usd, setting.day_cost)
    job = job_cost(hazard, policy, n)
    yearly = hazard.becomes_costly_per_year
    loss_a_year = failure.value * (yearly.value if yearly else 0.0)
    look_cost = hazard.look.cost.value if hazard.look else float(job.value[0]) if n else 0.0
    clock_known = np.isfinite(ahead.gain[:, 0, 0, 0]) & np.isfinite(past.now).all(axis=1)
    rows = np.flatnonzero(np.isin(reasoned.status, LIVE) & clock_known)
    cap = setting.value_usd + downtime_cost(hazard, policy, setting.day_cost)
    unseen = unseen_renewals(hazard, setting.fleet.coverage, usage, past)
    belief = belief_of(hazard)
    spread = spread_today(clock_names(hazard), usage, past)
    wide = spread.wide & isinstance(belief, LifeBelief)
    draft = Figures(
        rows, _nothing(), past, ahead, failure, job, look_cost, loss_a_year, m_ahead, cap,
        unseen[1], wide,
    )  # fmt: skip
    saved, dated = _saved_rate(hazard, belief, draft, (m_past, setting))
    exposed = np.asarray(reasoned.exposed_prior, dtype=np.float64)
    parts: list[tuple[Ints, Answer]] = []
    pace = pace_so_far(hazard, usage, setting.usual_miles)
    pace = np.where(np.isnan(pace), ahead.a_year, pace)
    if isinstance(belief, ShareBelief) and hazard.life.starts:
        # A job of unknown date may have been yesterday: its silence tells nothing.
        pace = np.where(past.on_file, pace, np.inf)
    for chosen in _alike(rows, unseen[1] > 0.0, wide):
        past_rows = histories(
            hazard, past, chosen, (unseen[0][chosen], unseen[1][chosen]), exposed[chosen],
            (m_past[chosen], m_ahead[chosen]), pace[chosen],
        )  # fmt: skip
        own_pace = bool(wide[chosen[0]])
        if own_pace:
            past_rows = split(past_rows, spread.of(chosen), hazard.reveals == "by_looking")
        question = _question(hazard, draft, setting, (chosen, past_rows, saved[chosen]))
        question = replace(question, own_pace=own_pace, m_widths=m_widths[chosen])
        parts.append((chosen, answer_once(belief, question)))
    result = _together(rows, parts)
    due = np.where(dated[rows], result.act_months, np.nan)
    return replace(draft, answer=replace(result, act_months=due))


def _alike(rows: Ints, *marks: Bools) -> list[Ints]:
    """The rows in groups that agree on every mark (n,), empty groups left out."""
    groups = [rows]
    for mark in marks:
        groups = [part[mark[part] == state] for part in groups for state in (False, True)]
    return [part for part in groups if len(part)]


def _question(
    hazard: Hazard, draft: Figures, setting: Setting, chosen: tuple[Ints, object, Floats]
) -> Question:
    rows, past_rows, saved = chosen
    harm, yearly = hazard.harm.per_year_present, hazard.becomes_costly_per_year
    hidden = hazard.reveals == "by_looking"
    # An event that shows itself is never overlooked, whatever a look for its signs would find.
    finds = hazard.look.finds.value if hazard.look and hidden else 1.0
    return Question(
        histories=past_rows,  # type: ignore[arg-type]
        months=draft.ahead.months,
        gain=draft.ahead.gain[rows],
        pace=draft.ahead.pace[rows],
        a_year=draft.ahead.a_year[rows],
        loss=draft.cost_failure.value[rows] - draft.cost_job.value[rows],
        saved_rate=saved,
        look_cost=np.full(len(rows), draft.look_cost),
        loss_a_year=draft.loss_a_year[rows],
        harm_a_year=harm.value if harm else 0.0,
        tolerance=setting.policy.tolerance_p_harm.value,
        horizon=setting.horizon,
        hidden=hidden,
        finds=finds,
        kept_by_job=_kept(hazard, "renews"),
        kept_by_part=_kept(hazard, "lessens"),
        costly_a_year=yearly.value if yearly else 0.0,
    )


def answer_once(belief: LifeBelief | ShareBelief, question: Question) -> Answer:
    """Answer each distinct question once and hand the result to all who asked it."""
    past = question.histories
    arrays = [value for value in vars(past).values() if value is not None]
    arrays += [
        getattr(question, f.name)
        for f in fields(Question)
        if isinstance(getattr(question, f.name), np.ndarray) and f.name != "months"
    ]
    rows = len(past.absent)
    flat = [array.reshape(rows, -1) for array in arrays]
    first, place = grouped(np.ascontiguousarray(c) for table in flat for c in table.T)
    if len(first) == rows:
        return answer(belief, question)
    chosen = first.astype(np.int64)
    once = answer(belief, question.part(chosen))  # type: ignore[arg-type]
    return Answer(**{f.name: getattr(once, f.name)[place] for f in fields(Answer)})


def _saved_rate(
    hazard: Hazard, belief: LifeBelief | ShareBelief, draft: Figures, known: tuple[Floats, Setting]
) -> tuple[Floats, Bools]:
    """What putting the job off saves per unit of use: g* of a renewing job, else r·C_p/ū.

    ``known``: rate multiplier of a new part (n,), on which nothing was seen yet, and the setting.
    A job that renews only in part saves at least as little as a new part would: g* of the new one
    is the rate, and no money date is given.  Also whether one is given: not where no schedule
    gains anything.
    """
    m_new, setting = known
    dated = np.ones(len(draft.past.now), dtype=bool)
    rate = setting.policy.deferral_rate.value
    planned, failure = draft.cost_job.value, draft.cost_failure.value
    if isinstance(belief, ShareBelief):
        return np.full(len(planned), rate * draft.look_cost), dated  # a year
    saved = act_by.one_off_cost_rate(planned, rate, draft.ahead.a_year)
    kept = kept_by_leading_job(hazard)
    if kept is None or hazard.reveals == "by_looking":
        return saved, dated
    rows, b10 = draft.rows, float(belief.middle_b10[0])
    pace = np.exp(
        np.round(np.log(np.maximum(draft.ahead.pace[rows], 1e-9)) * PACE_STEPS) / PACE_STEPS
    )
    first, place = grouped([m_new[rows], *np.ascontiguousarray(pace.T)])
    for number, row in enumerate(first):
        members = rows[place == number]
        part = act_by.survivor(
            belief, float(m_new[rows[row]]), pace[row], b10 / STEPS_A_B10, B10S * b10
        )
        schedule = act_by.age_replacement(part, planned[members], failure[members])
        saved[members] = schedule.cost_rate
        dated[members] = schedule.gains & (kept <= 0.0)
    return saved, dated


def _kept(hazard: Hazard, effect: str) -> float:
    """Least share of age kept by a remedy of this effect; NaN where there is none."""
    kept = [
        remedy.kept_age.value if remedy.kept_age else 0.0
        for remedy in hazard.remedies
        if remedy.effect == effect
    ]
    return min(kept, default=float("nan"))


def kept_by_leading_job(hazard: Hazard) -> float | None:
    """Share of age that the hazard's leading remedy keeps; None where it renews nothing."""
    for remedy in hazard.remedies:
        if remedy.effect in ("renews", "eliminates"):
            kept = remedy.kept_age.value if remedy.kept_age else 0.0
            return kept if remedy.effect == "renews" else None
    return None


def _nothing() -> Answer:
    empty = np.zeros(0)
    return Answer(**{f.name: empty for f in fields(Answer)})


def _together(rows: Ints, parts: list[tuple[Ints, Answer]]) -> Answer:
    """Answers of the parts in the order of ``rows``."""
    if not parts:
        return _nothing()
    order = np.argsort(np.concatenate([chosen for chosen, _ in parts]), kind="stable")
    return Answer(
        **{
            f.name: np.concatenate([getattr(part, f.name) for _, part in parts])[order]
            for f in fields(Answer)
        }
    )
