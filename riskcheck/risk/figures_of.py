"""Chances, cost of waiting and act-by of the exposures of one hazard: arrays in, arrays out."""

from __future__ import annotations

import math
from dataclasses import dataclass, fields

import numpy as np

from riskcheck.risk import act_by
from riskcheck.risk.beliefs import Floats, LifeBelief, ShareBelief
from riskcheck.risk.histories import Histories
from riskcheck.risk.life import Posterior, posterior
from riskcheck.risk.side_by_side import in_order
from riskcheck.risk.unrevealed import LOOKBACK, gathered_before, years_present

MONTHS_FIXED = (0.0, 1.0, 3.0, 6.0, 12.0)
MONTHS_FAR = (24.0, 36.0, 60.0, 96.0, 120.0)  # an act-by date further off than this is left blank
KEPT_BYTES = 32_000_000  # just below the most that the GNU C library learns from (32 MiB)
NODES_AT_ONCE = 800_000  # few calls for each thread, yet working arrays of some megabytes


@dataclass(frozen=True, eq=False)
class Question:
    """What is asked of r exposures: histories, use ahead at months (t,), costs and lines.

    gain (r, 5, t, C); pace (r, C); a_year (r,); cost_failure, cost_job, saved_rate (r,): USD and
    USD per unit of the first clock (revealed).  look_cost, loss_a_year (r,): hidden;
    harm_a_year: chance of harm per year present; tolerance: of harm per year.  ``own_pace``: the
    alternatives come in fives, each with its own of the five paces (see ``today``).  kept_by_job,
    kept_by_part: share of age kept by the leading job and by the best one that only lessens.
    costly_a_year: rate at which a hidden fault that is there turns costly; m_widths (r, 2): how
    uncertain the rate multiplier is (see ``factors.widths``).
    """

    histories: Histories
    months: Floats
    gain: Floats
    pace: Floats
    a_year: Floats
    loss: Floats
    saved_rate: Floats
    look_cost: Floats
    loss_a_year: Floats
    harm_a_year: float
    tolerance: float
    horizon: float
    hidden: bool
    finds: float = 1.0
    own_pace: bool = False
    kept_by_job: float = math.nan
    kept_by_part: float = math.nan
    costly_a_year: float = 0.0
    m_widths: Floats | None = None

    def part(self, rows: slice) -> Question:
        """The same question for some of the exposures."""
        changed = {
            field.name: getattr(self, field.name)[rows]
            for field in fields(self)
            if isinstance(getattr(self, field.name), np.ndarray) and field.name != "months"
        }
        kept = {f.name: getattr(self, f.name) for f in fields(self) if f.name not in changed}
        return Question(**{**kept, **changed, "histories": self.histories.take(rows)})


@dataclass(frozen=True, eq=False)
class Answer:
    """Figures per exposure (r,); ranges (r, 2) hold the 5 and 95 % points.

    p_given (r, 2): that of p over the worlds with the exposure.  after_job, after_part: the chance
    by the horizon if that job were done today (NaN: no such job).
    path (r, t): chance by each month at the mean rate; waits (r, t): W, what waiting until then
    costs in USD; present (r, t): expected years until then of a hidden event that is there, unfound
    and not turned costly.
    act_months: when acting or looking pays; people_months: when the harm line is reached; NaN
    where never within ten years.
    """

    now: Floats
    now_range: Floats
    p: Floats
    p_range: Floats
    p_given: Floats
    after_job: Floats
    after_part: Floats
    p12: Floats
    p12_range: Floats
    p3_range: Floats
    p6_range: Floats
    path: Floats
    exposed: Floats
    survival: Floats
    waits: Floats
    present: Floats
    act_months: Floats
    people_months: Floats


def month_points(horizon: float) -> Floats:
    """Months at which chances are worked out for a horizon."""
    return np.array(sorted({*MONTHS_FIXED, horizon, *MONTHS_FAR}))


def answer(belief: LifeBelief | ShareBelief, question: Question) -> Answer:
    """Price the exposures, some megabytes of working arrays at a time."""
    if isinstance(belief, ShareBelief):
        return _share_answer(belief, question)
    _keep_freed_memory()
    rows, alternatives = question.histories.prior.shape
    size = max(1, NODES_AT_ONCE // (alternatives * belief.nodes * 5))
    parts = [slice(start, start + size) for start in range(0, rows, size)]
    return _joined(in_order(lambda part: _life_answer(belief, question.part(part)), parts))


def _joined(answers: list[Answer]) -> Answer:
    """The answers one after another; each column's parts are freed once they are joined."""
    columns = {f.name: [getattr(one, f.name) for one in answers] for f in fields(Answer)}
    answers.clear()
    return Answer(**{name: np.concatenate(columns.pop(name)) for name in list(columns)})


def _keep_freed_memory() -> None:
    """Free one large block, so that the C library keeps the smaller ones that are freed later.

    It learns from the blocks that are freed: otherwise each working array is handed back to the
    system and cleared afresh at its next use, nearly a third of the time (GNU C library,
    mallopt(3), M_MMAP_THRESHOLD; elsewhere this does nothing).
    """
    np.empty(KEPT_BYTES, dtype=np.uint8)


def _life_answer(belief: LifeBelief, q: Question) -> Answer:
    past = q.histories
    belief = belief if q.m_widths is None else belief.widened(q.m_widths)
    state = posterior(belief, past, q.finds, q.costly_a_year if q.hidden else None)
    along = q.gain.mean(axis=1)[:, None]
    if q.own_pace:
        along = np.tile(q.gain, (1, past.now.shape[1] // q.gain.shape[1], 1, 1))
    usage = past.now[:, :, None, :] + along
    clear = state.clear(usage)
    path = state.chance_of(clear)
    at = {month: place for place, month in enumerate(q.months)}

    def at_pace(month: float) -> Floats:
        """What ``clear`` gives at the five paces, or at one where no more are to be told apart."""
        gain = q.gain[:, :, at[month]]
        if q.own_pace or np.array_equal(gain, np.broadcast_to(gain[:, :1], gain.shape)):
            return clear[:, :, at[month], None]
        return state.clear(past.now[:, :, None] + gain[:, None])

    def after(kept: float) -> Floats:
        if math.isnan(kept):
            return np.full(len(past.absent), np.nan)
        return state.chance_after(kept, np.broadcast_to(along, usage.shape)[:, :, at[q.horizon]])

    far = at_pace(q.horizon)
    p = state.chance_of(far).mean(axis=1)
    p_range, p_given = (each[:, 0] for each in state.ranges_of(far[:, :, None]))
    ranged = [at[month] for month in ((0.0, 3.0, 6.0) if q.hidden else (3.0, 6.0))]
    *now_range, p3_range, p6_range = state.ranges_of(clear[:, :, ranged, None])[0].swapaxes(0, 1)
    p12, p12_range = p, p_range
    if q.horizon != 12.0:
        year = at_pace(12.0)
        p12, p12_range = state.chance_of(year).mean(axis=1), state.range_of(year)
    known = (path, p, usage, clear)
    waits = _hidden(state, q, path) if q.hidden else _revealed(state, q, known)
    return Answer(
        now=path[:, 0],
        now_range=now_range[0] if q.hidden else np.zeros_like(p_range),
        p=p,
        p_range=p_range,
        p_given=p_given,
        after_job=after(q.kept_by_job),
        after_part=after(q.kept_by_part),
        p12=p12,
        p12_range=p12_range,
        p3_range=p3_range,
        p6_range=p6_range,
        path=path,
        exposed=state.exposed,
        survival=state.survival,
        **waits,
    )


def _revealed(
    state: Posterior, q: Question, known: tuple[Floats, Floats, Floats, Floats]
) -> dict[str, Floats]:
    """Cost of waiting and act-by where the event reveals itself."""
    path, p, usage, clear = known
    lead = q.gain.mean(axis=1)[:, :, 0]
    exposed = np.maximum(state.exposed, 1e-12)
    used = act_by.running_integral(1.0 - path / exposed[:, None], lead)
    at = {month: place for place, month in enumerate(q.months)}
    rate = state.rate(usage, q.pace, clear)
    months = np.broadcast_to(q.months, rate.shape)
    threshold = np.divide(q.saved_rate, q.loss, out=np.full(len(p), np.inf), where=q.loss > 0.0)
    saved = q.saved_rate * state.exposed
    chance = path.copy()
    chance[:, at[q.horizon]] = p  # the horizon's own figure knows the spread of the pace too
    return {
        "waits": act_by.net_of_waiting(q.loss[:, None], chance, saved[:, None], used),
        "present": np.zeros_like(path),
        "act_months": act_by.first_reached(rate, months, threshold),
        "people_months": np.full(len(p), np.nan),
    }


def _hidden(state: Posterior, q: Question, path: Floats) -> dict[str, Floats]:
    """Cost of not looking, and when the next look is due, where only looking finds the event."""
    past = q.histories
    assert past.pace is not None
    assert state.before is not None
    since = _mix(past.prior, (past.now - past.ok_at)[..., 0] / past.pace)
    back = -since[:, None] * (1.0 - LOOKBACK)
    ahead = q.months / 12.0
    years = np.concatenate((back[:, :-1], np.broadcast_to(ahead, path.shape)), axis=1)
    gone = gathered_before(state.before, since)
    present, present_ahead = years_present(path, ahead, q.costly_a_year)
    gathered = np.concatenate((gone[:, :-1], gone[:, -1:] + present_ahead), axis=1)
    pace = np.concatenate((state.before[:, :-1], present), axis=1)
    due, people = (
        act_by.first_gathered(gathered, pace, years, level) for level in _levels(q, len(path))
    )
    interval = np.where(np.isnan(due), q.months[-1] / 12.0 + since, due + since)
    look_share = q.months / 12.0 / np.maximum(interval, 1e-3)[:, None]
    return {
        "waits": act_by.net_of_not_looking(
            q.loss_a_year[:, None], present_ahead, q.look_cost[:, None], look_share
        ),
        "present": present_ahead,
        "act_months": np.maximum(due * 12.0, 0.0),
        "people_months": np.maximum(people * 12.0, 0.0),
    }


def _levels(q: Question, count: int) -> tuple[Floats, Floats]:
    """Years present (n,) at which a look pays, and at which harm reaches the line; inf: never."""
    costs = np.full(count, np.inf)
    np.divide(q.look_cost, q.loss_a_year, out=costs, where=q.loss_a_year > 0.0)
    line = q.tolerance / q.harm_a_year if q.harm_a_year > 0.0 else np.inf
    return costs, np.full(count, line)


def _mix(prior: Floats, values: Floats) -> Floats:
    """Mean over alternatives (r, h) by prior weight."""
    total = np.maximum(prior.sum(axis=1), 1e-300)
    return np.asarray((prior * values).sum(axis=1) / total, dtype=np.float64)


def _share_answer(belief: ShareBelief, q: Question) -> Answer:
    """Day-one faults: the chance is there from the start and does not grow."""
    past, m = q.histories, q.histories.m_past
    exposed = past.prior.sum(axis=1)
    silent = np.zeros(len(m))
    if past.pace is not None:
        silent = _mix(past.prior, past.now[..., 0] / past.pace)
    fade = np.exp(-q.costly_a_year * silent)
    p, spread, given = belief.after_silence(m, exposed, fade)
    path = np.ascontiguousarray(np.broadcast_to(p[:, None], (len(p), len(q.months))))
    years = np.broadcast_to(q.months / 12.0, path.shape)
    present, gathered = years_present(path, q.months / 12.0, q.costly_a_year)
    due, people = (
        12.0 * act_by.first_gathered(gathered, present, years, level)
        for level in _levels(q, len(p))
    )
    none = np.full(len(p), np.nan)
    return Answer(
        now=p, now_range=spread, p=p, p_range=spread, p_given=given, after_job=none,
        after_part=none, p12=p, p12_range=spread, p3_range=spread, p6_range=spread,
        path=path, exposed=exposed, survival=np.ones(len(p)),
        # One test settles it: putting the test off saves only the interest on its price.
        waits=q.loss_a_year[:, None] * gathered - q.saved_rate[:, None] * years, present=gathered,
        act_months=due, people_months=people,
    )  # fmt: skip
