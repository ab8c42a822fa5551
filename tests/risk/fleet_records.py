"""Simulated fleets as a shop keeps them, taken all the way through the program, and compared.

What a hazard file states goes to the simulator (``fleet_lives``) as plain numbers; what it leaves
as records is read, timed, reasoned about and priced as any fleet is.
"""

from __future__ import annotations

import csv
import datetime as dt
import functools
import importlib.util
import sys
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import openpyxl

from riskcheck import assessment, reasoning, risk, usage

_spec = importlib.util.spec_from_file_location(
    "fleet_lives", Path(__file__).parent / "fleet_lives.py"
)
assert _spec is not None
assert _spec.loader is not None
lives = importlib.util.module_from_spec(_spec)
sys.modules["fleet_lives"] = lives  # dataclasses look their module up
_spec.loader.exec_module(lives)

AS_OF = dt.date(2026, 10, 1)
HORIZON = 24
BELT, HOSE = "timing-belt-overdue", "brake-hose-ageing"
BOOT, WHEEL = "cv-prop-boot-split", "wheel-retorque-missed"
LINES = {
    BELT: {"renewed": "replaced timing belt kit", "seen": "oil leaking on timing belt"},
    HOSE: {"renewed": "replaced all brake hoses", "bad": "brake hose found cracked",
           "good": "brake hoses inspected - good", "seen": "brake pulls left"},
    BOOT: {"renewed": "replaced cv shaft", "bad": "cv boot found split",
           "good": "cv boots inspected - ok", "seen": "cv axle clicking on turns"},
    WHEEL: {"renewed": "wheels re-torqued", "good": "wheels re-torqued"},
}  # fmt: skip
# Invented: share of visits with a look, and with a renewal that nothing called for.
AT_VISITS = {BELT: (0.0, 0.04), HOSE: (0.2, 0.02), BOOT: (0.3, 0.03), WHEEL: (0.0, 0.0)}
WINDOW_MI = 500.0
# Findings that rest on one column each; a great heat works on hoses and belts.
HEADINGS = {
    "salted_brackets": "Road salt", "hot_braking": "Hot climate",
    "cold_region": "Freezing winters", "raised": "Plow or lift", "gravel": "Unpaved roads",
    "dual_wheels": "Dual rear wheels", "dirty_faces": "Wheel faces dirty",
    "mixed_seats": "Wheel seats mixed",
}  # fmt: skip
SAME_FOR_ALL = {
    "Duty": "retail", "Timing drive": "dry belt", "Interference engine": "yes",
    "Hydraulic brakes": "yes", "CV axles": "yes", "Tows often": "no", "Heavy idle": "no",
}  # fmt: skip
NEVER = ("single_hose_renewed", "belt_alone_renewed", "belt_in_diluted_oil")


@functools.cache
def book():
    """The shipped rulebook, these four hazards only."""
    return assessment.limited(assessment.load_rules(()), list(LINES))


def three(figure):
    """A stated figure as (value, low, high)."""
    return (figure.value, *figure.range)


@functools.cache
def part_of(name):
    """What a shipped hazard file states, for the simulator."""
    hazard = book().hazards[name]
    hidden = hazard.reveals == "by_looking"
    shares = [remedy.unseen_share.value for remedy in hazard.remedies if remedy.unseen_share]
    looks, renewals = AT_VISITS[name]
    return lives.Part(
        name=name,
        shape=three(hazard.life.shape),
        b10={clock.clock: three(clock.b10) for clock in hazard.life.clocks},
        factors=tuple(
            lives.Factor(f.finding, three(f.multiplier), f.share.value, f.acts == "from_seen")
            for f in hazard.factors
        ),
        renewed_before=shares[0] if shares else 0.0,
        lines=LINES[name],
        finds=hazard.look.finds.value if hidden else 1.0,
        costly_a_year=hazard.becomes_costly_per_year.value if hidden else None,
        look_share=looks,
        renew_share=renewals,
    )


@dataclass(frozen=True, eq=False)
class Simulated:
    """A fleet, its facts by heading, the parts on it today, and last looks or re-checks."""

    made: object
    facts: dict
    parts: dict
    second: dict


def simulated(count, habits, seed):
    """A fleet of ``count`` vehicles that bear all four parts, with its record."""
    rng = np.random.default_rng(seed)
    parts = {name: part_of(name) for name in LINES}
    yearly = three(book().policy.yearly_miles["retail"])
    made = lives.fleet(count, parts.values(), yearly, habits, rng)
    made.holds.update(dict.fromkeys(NEVER, np.zeros(count, dtype=bool)))
    made.holds["hard_climate_or_idle"] = made.holds["hot_braking"]
    on, second = {}, {}
    for name in (BELT, HOSE, BOOT):
        on[name], second[name] = lives.live(parts[name], made, habits, rng)
    with np.errstate(invalid="ignore"):
        rotated = (rng.random(made.visits.shape) < 0.2) | (made.visits > -26.0)
    who, visit = np.nonzero(np.isfinite(made.visits) & rotated)
    made.write_line(who, made.visits[who, visit], "rotate tires")
    fact = book().vocabulary["wheels_rechecked"].reporting
    works = {"rotate tires", LINES[HOSE]["renewed"], LINES[BOOT]["renewed"]}
    on[WHEEL], second[WHEEL] = lives.after_work(
        parts[WHEEL], made, works, (fact.base, fact.seen_if_true), rng
    )
    facts = {heading: np.full(count, word) for heading, word in SAME_FOR_ALL.items()}
    for finding, heading in HEADINGS.items():
        yes = np.where(made.holds[finding], "yes", "no")
        facts[heading] = yes if habits.told else np.full(count, "")
    return Simulated(made, facts, on, second)


def sheets_of(fleet, count=None):
    """The two sheets of a shop's workbook, rows of cells: vehicles and history.

    ``count``: only so many of the vehicles.
    """
    made, facts = fleet.made, fleet.facts
    count = len(made.began) if count is None else count

    def date(day):
        return AS_OF + dt.timedelta(int(day))

    vehicles = [["Vehicle ID", "Customer ID", "In service", *facts]]
    vehicles += [
        [f"V{row:05d}", f"C{row:05d}", date(day), *(str(column[row]) for column in facts.values())]
        for row, day in enumerate(np.round(made.use.start[:count] * lives.YEAR))
    ]
    who = np.concatenate([line[0] for line in made.lines]).astype(int)
    day = np.concatenate([line[1] for line in made.lines])
    text = np.concatenate([np.full(len(line[0]), line[2], dtype=object) for line in made.lines])
    miles = np.floor(made.use.at("miles", day / lives.YEAR, who))
    history = [["Vehicle ID", "Date", "Odometer", "Description", "Status"]]
    history += [
        [f"V{who[at]:05d}", date(day[at]), int(miles[at]), text[at], "closed"]
        for at in np.lexsort((np.arange(len(who)), day, who))
        if who[at] < count
    ]
    return {"Vehicles": vehicles, "History": history}


def write_csv(fleet, folder, count=None):
    """The sheets as csv files in ``folder``."""
    folder.mkdir(parents=True, exist_ok=True)
    for name, rows in sheets_of(fleet, count).items():
        with (folder / f"{name.lower()}.csv").open("w", newline="") as out:
            csv.writer(out).writerows(rows)
    return folder


def write_xlsx(fleet, path, count=None):
    """The sheets as one workbook."""
    workbook = openpyxl.Workbook(write_only=True)
    for name, rows in sheets_of(fleet, count).items():
        sheet = workbook.create_sheet(name)
        for row in rows:
            sheet.append(row)
    workbook.save(path)
    return path


def exposures_of(source, horizon=HORIZON):
    """Exposures of a fleet as ``assessment.assess`` gets them, without the calls it plans then."""
    fleet = assessment.read(source, book(), AS_OF)
    clocks = usage.clocks(fleet.vehicles, fleet.readings, fleet.events, book().policy, AS_OF)
    cache = reasoning.default_cache_dir()
    reasoned = reasoning.reason_all(fleet, clocks, book(), AS_OF, cache_dir=cache)
    return risk.price(book(), reasoned.hazards, fleet, clocks, AS_OF, horizon).exposures


@dataclass(frozen=True, eq=False)
class Compared:
    """Told and true of the priced exposures (r,): chance and range, true chance, what happened."""

    p: np.ndarray
    low: np.ndarray
    high: np.ndarray
    truth: np.ndarray
    happened: np.ndarray

    def part(self, rows):
        """The same for some of the exposures."""
        return Compared(*(value[rows] for value in vars(self).values()))

    @property
    def counts(self):
        """Predicted and seen counts, and by how many standard errors seen exceeds predicted."""
        error = np.sqrt(max(float((self.p * (1.0 - self.p)).sum()), 1.0))
        return self.p.sum(), self.happened.sum(), (self.happened.sum() - self.p.sum()) / error

    @property
    def excess(self):
        """True over told chances as a share, and in standard errors of the paired difference."""
        gap = self.truth - self.p
        error = max(gap.std() * np.sqrt(len(gap)), 1e-9)
        return gap.sum() / self.p.sum(), gap.sum() / error

    @property
    def held(self):
        """Share of exposures whose range holds the true chance."""
        return float(((self.low <= self.truth) & (self.truth <= self.high)).mean())

    @property
    def brier(self):
        """Brier score of what was told, and of the base rate alone."""
        base = self.happened.mean()
        return float(((self.p - self.happened) ** 2).mean()), float(base * (1.0 - base))

    def groups(self, count):
        """The exposures in ``count`` groups of one size by told chance, lowest first."""
        return [self.part(g) for g in np.array_split(np.argsort(self.p, kind="stable"), count)]


COLUMNS = {
    "now": ("probability_now", "x_now_low", "x_now_high", 0.0),
    "12 months": ("probability_12m", "x_p12_low", "x_p12_high", 1.0),
    "24 months": ("probability", "probability_low", "probability_high", 2.0),
}


def compare(fleet, exposures, name, when):
    """Told against true for one hazard; ``when`` one of ``COLUMNS``."""
    rows = exposures[exposures["hazard_id"] == name]
    told, low, high, years = COLUMNS[when]
    made, on, part = fleet.made, fleet.parts[name], part_of(name)
    until = np.full(len(rows), years)
    if name == WHEEL:
        # The hazard is one of the first miles after the work: later it counts as over.
        first = made.use.at("miles", np.nan_to_num(on.since))
        over = made.use.at("miles", np.zeros(len(rows))) - first >= WINDOW_MI
        until = np.minimum(until, made.use.when("miles", first + WINDOW_MI))
        bears = ~fleet.second[name] & ~over
        truth = lives.true_chance(part, made, on, np.full(len(rows), np.nan), until)
    else:
        bears = np.ones(len(rows), dtype=bool)
        truth = lives.true_chance(part, made, on, fleet.second[name], until)
    happened = bears & (on.came <= until)
    if part.costly_a_year is None:
        happened &= on.came > 0.0
    live = rows["probability"].notna().to_numpy()
    values = [rows[column].to_numpy("float64") for column in (told, low, high)]
    return Compared(*(value[live] for value in (*values, np.where(bears, truth, 0.0), happened)))
