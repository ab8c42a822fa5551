"""The shape of a hazard file, of its cases and of the policy: data only, no logic.

A hazard is one failure mode of one design, readable aloud.  Its findings are rules over facts
(see ``riskcheck.vocabulary``) and earlier findings; every number is a ``Figure`` with a source.
The JSON Schema in ``rules/`` is generated from these classes.
"""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import AfterValidator, BaseModel, ConfigDict, Field

from riskcheck.figures import Figure, SourceTag
from riskcheck.rulebook.etiquette_policy import Etiquette, Shop
from riskcheck.rulebook.plan_policy import PlanPolicy
from riskcheck.vocabulary import ClockName, Mark

Roman = Literal["I", "II", "III", "IV"]
UrgencyWord = Literal["stop", "days", "week", "fortnight", "month", "season", "next_visit"]
Season = Literal["any", "before_frost", "after_salt", "before_heat", "before_towing", "tyre_change"]
Effect = Literal["eliminates", "renews", "lessens", "settles"]
Scalar = bool | int | float | str

URGENCY_DAYS: dict[str, int] = {"stop": 0, "days": 3, "week": 7, "fortnight": 14, "month": 30}

# Findings with a meaning of their own; every other finding is an intermediate step or a factor.
APPLIES, CLOSED, UNPROVEN, SIGN, CONFIRMED, WINDOW_OVER = (
    "applies",
    "closed",
    "unproven",
    "sign",
    "confirmed",
    "window_over",
)


class Strict(BaseModel):
    """No unknown keys, no silent conversion, immutable."""

    model_config = ConfigDict(extra="forbid", strict=True, frozen=True)


class Condition(Strict):
    """A comparison of one fact with constants, in the fact's unit; all parts must hold."""

    at_least: int | float | None = None
    above: int | float | None = None
    at_most: int | float | None = None
    below: int | float | None = None
    is_not: int | float | str | None = None


Rule = Annotated[dict[str, Scalar | Condition], Field(min_length=1, max_length=16)]


class Finding(Strict):
    """What is concluded (``says``) when any one of the rules in ``when`` holds.

    A rule is a mapping; all its entries must hold.  ``fact: value`` is equality,
    ``fact: {at_least: n}`` a comparison, ``finding: true`` / ``finding: false`` another finding.
    """

    says: str
    when: Annotated[list[Rule], Field(min_length=1, max_length=50)]


class EventRef(Strict):
    """Events of the record: any of these topics with any of these marks."""

    topics: Annotated[list[str], Field(min_length=1)]
    marks: Annotated[list[Mark], Field(min_length=1)]


class ClockLife(Strict):
    """B10 life on one clock: 10 of 100 such vehicles have had the event by then."""

    clock: ClockName
    b10: Figure


class WeibullLife(Strict):
    """Weibull life by shape and B10; two clocks mean "whichever is further through".

    ``starts`` empty: at first use of the vehicle; else at the last of these events.
    """

    model: Literal["weibull"]
    shape: Figure
    clocks: Annotated[list[ClockLife], Field(min_length=1, max_length=2)]
    starts: list[EventRef] = []


class ShareLife(Strict):
    """A fault that is there from day one in a share of jobs and is settled by one test."""

    model: Literal["share"]
    share: Figure
    starts: list[EventRef] = []


class Factor(Strict):
    """A rate multiplier that acts where ``finding`` holds; the largest in a group counts.

    ``share`` is how common the factor is in the population that the B10 speaks of.
    """

    finding: str
    group: str
    multiplier: Figure
    share: Figure
    acts: Literal["always", "from_seen"] = "always"


class Job(Strict):
    """A preventive job as the bay sees it.  ``hours`` in h, ``parts`` in USD."""

    title: str
    hours: Figure
    parts: Figure
    teardown: str
    skill: str


class Remedy(Strict):
    """A job that changes the hazard, how the record shows it, what proves it, what it opens.

    ``kept_age`` (q) is the share of virtual age kept after the job: 0 as new, 1 no effect.
    ``unseen_share``: how many such vehicles had this renewing job before our record began.
    """

    id: str
    title: str
    recorded_as: Annotated[list[EventRef], Field(min_length=1)]
    effect: Effect
    kept_age: Figure | None = None
    unseen_share: Figure | None = None
    proof: str
    opens: list[str] = []
    hides: str = ""


class Look(Strict):
    """The cheapest look or test that finds the fault; ``finds`` is the share it would find."""

    title: str
    recorded_as: list[EventRef]
    minutes: Figure
    cost: Figure
    finds: Figure


class Outcome(Strict):
    """One named way the event ends: its share of events, cost in USD, days down, tow."""

    name: str
    share: Figure
    cost: Figure
    days_down: Figure
    tow: bool


class Harm(Strict):
    """Harm to people: a ratio per event, or a rate per year while a hidden defect is present."""

    per_event: Figure | None = None
    per_year_present: Figure | None = None


class Severity(Strict):
    """Worst credible severity, categories adapted from MIL-STD-882E Table I.

    For money a vehicle's own loss may make it milder (``Policy.money_bands``), never worse.
    """

    people: Roman
    money: Roman


class Urgency(Strict):
    """How soon once there is a sign, or a confirmed fault."""

    sign: UrgencyWord
    confirmed: UrgencyWord


class Window(Strict):
    """Infant modes are watched only this long after their start."""

    clock: ClockName
    length: Figure


class Words(Strict):
    """What is said to the owner, asked of the owner, and told to the technician.

    ``say`` may use {many}, {low}, {high}, {of}, {period}: figures are computed, never typed.
    """

    say: str
    ask: str
    cautions: Annotated[list[str], Field(min_length=1)]


class Hazard(Strict):
    """One hazard: design it needs, mechanism, event, life, findings, remedies, costs, words.

    ``loss_group``: losses of one group cannot be had twice.  ``causes``: what it has in common
    with hazards that travel with it (salt, towing, ...), so that they are looked at together.
    """

    id: str
    title: str
    system: str
    needs: str
    mechanism: str
    event: str
    effect: str
    reveals: Literal["by_itself", "by_looking"]
    severity: Severity
    harm: Harm
    becomes_costly_per_year: Figure | None = None
    life: WeibullLife | ShareLife = Field(discriminator="model")
    factors: list[Factor] = []
    findings: Annotated[dict[str, Finding], Field(min_length=1)]
    remedies: Annotated[list[Remedy], Field(min_length=1)]
    look: Look | None = None
    watch_window: Window | None = None
    urgency: Urgency
    job: Job
    outcomes: Annotated[list[Outcome], Field(min_length=1)]
    loss_group: str
    causes: list[str] = []
    season: Season
    words: Words
    goes_wrong: str
    sources: list[str] = []


class Expect(Strict):
    """What a case must conclude; ``holds`` and ``fails`` name findings."""

    status: Literal["exposed", "unproven", "closed", "unknown", "not_applicable"]
    evidence: Literal["none", "sign", "confirmed"] = "none"
    holds: list[str] = []
    fails: list[str] = []
    questions: list[str] | None = None


CaseValue = Scalar | list[Scalar] | None


class Case(Strict):
    """One vehicle described by facts, and what the hazard's rules must conclude.

    ``facts`` not named are silent in the record and outside its coverage; null says the same;
    a list is a set of possible values.
    """

    name: str
    facts: dict[str, CaseValue]
    expect: Expect


class CaseFile(Strict):
    """The cases beside one hazard file."""

    cases: Annotated[list[Case], Field(min_length=1)]


def _ascending(bands: list[float]) -> list[float]:
    if not 0.0 < bands[0] < bands[1] < bands[2]:
        raise ValueError("money bands must be above zero and ascend: those of III, II and I")
    return bands


class Policy(Strict):
    """Shop policy: money, horizon, tolerance, capacity and etiquette (``rules/policy.yaml``).

    ``money_bands``: least loss in USD that counts as severity III, II and I, ascending.
    """

    labour_rate: Figure
    bay_hours_per_week: Figure
    floor_per_bay_hour: Figure
    tolerance_p_harm: Figure
    deferral_rate: Figure
    calls_per_day: Figure
    tow_cost: Figure
    harm_value: Figure = Figure(0.0, "USD", "invented")
    day_cost: dict[str, Figure]
    vehicle_value: dict[str, Figure]
    yearly_miles: dict[str, Figure]
    yearly_engine_hours: dict[str, Figure]
    yearly_cold_starts: Figure
    monthly_winter: Annotated[list[float], Field(min_length=12, max_length=12)]
    monthly_cold_starts: Annotated[list[float], Field(min_length=12, max_length=12)]
    seasons: dict[str, str]
    seasons_source: SourceTag = "invented"
    money_bands: Annotated[
        list[float], Field(min_length=3, max_length=3), AfterValidator(_ascending)
    ]
    status_weight: float
    horizon_months: int
    plan: PlanPolicy
    etiquette: Etiquette
    shop: Shop = Shop()


class Platform(Strict):
    """What is known of one make/model/engine/year group: fact name to value."""

    make: str
    model: str
    engine: str | None = None
    years: Annotated[list[int], Field(min_length=2, max_length=2)]
    features: dict[str, Scalar]
    how_known: str


class PlatformFile(Strict):
    """``rules/platforms.yaml``."""

    platforms: list[Platform]
