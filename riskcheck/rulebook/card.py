"""One hazard as a readable card: headed sections of plain lines, no looks."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from riskcheck.figures import SOURCE_WORDS, Figure
from riskcheck.rulebook.model import (
    Condition,
    EventRef,
    Finding,
    Hazard,
    Remedy,
    Scalar,
    WeibullLife,
)

_LIMITS = {
    "at_least": "at least",
    "above": "above",
    "at_most": "at most",
    "below": "below",
    "is_not": "other than",
}


@dataclass(frozen=True)
class Section:
    """A heading and the lines below it."""

    heading: str
    lines: tuple[str, ...]


@dataclass(frozen=True)
class Card:
    """A hazard ready to be read: id, title and sections in reading order."""

    hazard_id: str
    title: str
    sections: tuple[Section, ...]


def card(hazard: Hazard, companions: Mapping[str, Sequence[str]] | None = None) -> Card:
    """The hazard as headed lines, in the order in which one would explain it.

    ``companions``: hazards that travel with it, by shared cause (``Rulebook.companions``).
    """
    sections = [
        Section("What it is", _what(hazard)),
        Section("How bad", _harm(hazard)),
        Section("How soon", _life(hazard)),
        Section("What makes it sooner", _factors(hazard)),
        Section("What is concluded, and from what", _findings(hazard.findings)),
        Section("What can be done", tuple(_remedy(remedy) for remedy in hazard.remedies)),
        Section("A look", _look(hazard)),
        Section("What it costs", _money(hazard)),
        Section("Travels with", _together(companions or {})),
        Section("To the owner", (hazard.words.say, hazard.words.ask)),
        Section("Cautions", tuple(hazard.words.cautions)),
        Section("Where this can go wrong", (hazard.goes_wrong,)),
        Section("Sources", tuple(hazard.sources)),
    ]
    return Card(hazard.id, hazard.title, tuple(section for section in sections if section.lines))


def _together(companions: Mapping[str, Sequence[str]]) -> tuple[str, ...]:
    return tuple(
        f"{cause.replace('_', ' ')}: {', '.join(names)}" for cause, names in companions.items()
    )


def rule_words(rule: Mapping[str, Scalar | Condition], findings: Mapping[str, Finding]) -> str:
    """One rule as a sentence fragment: all parts joined by "and"."""
    return " and ".join(_entry(name, wanted, findings) for name, wanted in rule.items())


def _entry(name: str, wanted: Scalar | Condition, findings: Mapping[str, Finding]) -> str:
    words = name.replace("_", " ")
    if name in findings:
        return words if wanted else f"not {words}"
    if isinstance(wanted, Condition):
        given = wanted.model_dump(exclude_none=True)
        return f"{words} " + " and ".join(f"{_LIMITS[key]} {value}" for key, value in given.items())
    if isinstance(wanted, bool):
        return f"{words}: {'yes' if wanted else 'no'}"
    return f"{words}: {wanted}"


def _what(hazard: Hazard) -> tuple[str, ...]:
    seen = "the driver notices" if hazard.reveals == "by_itself" else "only a look finds it"
    return (
        f"System: {hazard.system}",
        f"Needs: {hazard.needs}",
        f"Mechanism: {hazard.mechanism}",
        f"Event counted: {hazard.event} ({seen})",
        f"Effect: {hazard.effect}",
    )


def _harm(hazard: Hazard) -> tuple[str, ...]:
    lines = [f"Severity: people {hazard.severity.people}, money {hazard.severity.money}"]
    if hazard.harm.per_event is not None:
        lines.append(f"Of 100,000 such events someone is hurt in {_rare(hazard.harm.per_event)}")
    if hazard.harm.per_year_present is not None:
        rate = _rare(hazard.harm.per_year_present)
        lines.append(f"Of 100,000 vehicles that have it someone is hurt in a year in {rate}")
    if hazard.becomes_costly_per_year is not None:
        words = hazard.becomes_costly_per_year.words().replace(" 1/y", "")
        lines.append(f"Once there it grows costly, share a year: {words}")
    urgency = hazard.urgency
    lines.append(f"Once there is a sign: {_urgent(urgency.sign)}")
    lines.append(f"Once it is confirmed: {_urgent(urgency.confirmed)}")
    return tuple(lines)


def _rare(figure: Figure) -> str:
    """A small share or rate as a count of 100,000: one denominator for all hazards."""
    middle, low, high = (
        f"{float(f'{each * 100_000:.2g}'):,g}" for each in (figure.value, *figure.range)
    )
    return f"about {middle} ({low} to {high}) [{SOURCE_WORDS[figure.source]}]"


def _urgent(word: str) -> str:
    return word.replace("_", " ")


def _life(hazard: Hazard) -> tuple[str, ...]:
    lines: list[str] = []
    if isinstance(hazard.life, WeibullLife):
        lines += [
            f"10 of 100 have had the event by {clock.b10.words()} ({clock.clock.replace('_', ' ')})"
            for clock in hazard.life.clocks
        ]
        lines.append(f"Shape: {hazard.life.shape.words()}")
    else:
        lines.append(f"Share faulty from the first day: {hazard.life.share.words()}")
    lines += [f"The clock starts at: {_events(ref)}" for ref in hazard.life.starts]
    if hazard.watch_window is not None:
        window = hazard.watch_window
        lines.append(f"Watched for: {window.length.words()} ({window.clock.replace('_', ' ')})")
    return tuple(lines)


def _events(ref: EventRef) -> str:
    topics = " or ".join(topic.replace("_", " ") for topic in ref.topics)
    return f"{topics}, {' or '.join(mark.replace('_', ' ') for mark in ref.marks)}"


def _factors(hazard: Hazard) -> tuple[str, ...]:
    return tuple(
        f"{factor.finding.replace('_', ' ')} ({factor.group}): times {factor.multiplier.words()}"
        for factor in hazard.factors
    )


def _findings(findings: Mapping[str, Finding]) -> tuple[str, ...]:
    lines: list[str] = []
    for name, finding in findings.items():
        lines.append(f"{name.replace('_', ' ')}: {finding.says}")
        lines += [f"  if {rule_words(rule, findings)}" for rule in finding.when]
    return tuple(lines)


def _remedy(remedy: Remedy) -> str:
    kept = f", age kept {remedy.kept_age.words()}" if remedy.kept_age else ""
    opens = f". Opens: {', '.join(remedy.opens)}" if remedy.opens else ""
    hides = f". Hides: {remedy.hides}" if remedy.hides else ""
    return f"{remedy.title}: {remedy.effect}{kept}. Proof: {remedy.proof}{opens}{hides}"


def _look(hazard: Hazard) -> tuple[str, ...]:
    if hazard.look is None:
        return ()
    look = hazard.look
    return (
        look.title,
        f"Takes {look.minutes.words()}, costs {look.cost.words()}",
        f"Finds, share of faults: {look.finds.words()}",
    )


def _money(hazard: Hazard) -> tuple[str, ...]:
    job = hazard.job
    lines = [f"Prevention: {job.title}, {job.hours.words()}, parts {job.parts.words()}"]
    for outcome in hazard.outcomes:
        tow = ", towed" if outcome.tow else ""
        lines.append(
            f"{outcome.name}: share {outcome.share.words()}, {outcome.cost.words()}, "
            f"{outcome.days_down.words()} down{tow}"
        )
    return tuple(lines)
