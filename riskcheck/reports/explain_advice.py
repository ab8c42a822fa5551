"""What to say about one hazard: chance, waiting, money, choices, the job, its proof and limits."""

from __future__ import annotations

from dataclasses import replace

import pandas as pd

from riskcheck.explain import HazardView
from riskcheck.explain.view import Choice
from riskcheck.reports import chances, owner, words
from riskcheck.reports.explain_terms import (
    EFFECT_WORDS,
    LATER_WORDS,
    SEVERITY_WORDS,
    Line,
    denominator,
    period,
    price,
)

SIGN_APART = "says look, by its own date; these figures know only what the rules rate it at"
LEAVE_PARKED = "Leave it where it stands and decide later"


def chance_lines(view: HazardView, months: int) -> list[Line]:
    """Chance today and ahead with one denominator; that it was found; or that there is none."""
    row, of = view.row, denominator(view)
    told = chances.form(row)
    if told == "found":
        return [Line("found: not a matter of chance")]
    if told == "none":
        return [Line("no figure: closed on file" if row["status"] == "closed" else "no figure")]
    if told == "if_it_applies":
        together = f"{words.about(row['probability'], of)} of {of:,} described like it"
        return [
            *_if_it_applies(view, months, of, always=True),
            Line(together, f"Together, {period(months).lower()}", "exposure/probability"),
        ]
    lines = [
        Line(words.frequency(c.p, c.low, c.high, of), period(c.months), f"chances/{place}")
        for place, c in enumerate(view.chances)
    ]
    if view.by_look is not None:
        lines.insert(
            1,
            Line(chances.by_look(row, view.hazard, of), "A look today would find it on", "by_look"),
        )
    if row["evidence"] == "sign":
        lines.append(Line(SIGN_APART, "The sign on file"))
    if view.hazard.reveals == "by_itself":
        unseen = "not that anybody has noticed; it shows itself when it happens"
        lines.insert(0, Line(unseen, "There today"))
    return lines


def chance_owner_lines(view: HazardView, months: int) -> list[Line]:
    """The same without figures that would inform nobody."""
    told = chances.form(view.row)
    if told == "if_it_applies":
        return _if_it_applies(view, months, denominator(view))
    if told == "wide":
        return [Line(chances.chance(view.row, view.hazard, months))]
    return chance_lines(view, months)


def _if_it_applies(view: HazardView, months: int, of: int, *, always: bool = False) -> list[Line]:
    """Whether it applies, the chance if it does (``always``: however wide), what would tell."""
    row, hazard = view.row, view.hazard
    sure = "most likely: it does" if chances.most_likely_applies(row) else "not known; it does"
    applies = f"{sure} to {chances.applies_to(row, of)}"
    share = view.if_it_applies
    assert share is not None
    lines = [Line(applies, "Does it apply", "exposure/exposed_weight")]
    if chances.stated(row) is None and not always:
        told = f"how likely is not known either ({chances.why_wide(row, hazard)})"
        lines.append(Line(told, "If it does"))
    else:
        told = words.frequency(share.p, share.low, share.high, of)
        lines.append(Line(told, f"If it does, {period(months).lower()}", "if_it_applies"))
    tells = "the answer to the question below" if view.questions else ""
    look = chances.what_tells(hazard).removesuffix(" tells") if hazard.look else ""
    return [*lines, Line(" or ".join(part for part in (tells, look) if part), "What tells")]


def people_lines(view: HazardView, months: int) -> list[Line]:
    """What it can mean for people and for money, apart, with the matrix codes."""
    row = view.row
    plain = people_plain_lines(view, months)
    codes = {"People": row["people_code"], "Money": row["money_code"]}
    return [
        replace(line, text=f"{line.text} ({codes[line.label]})") if line.label in codes else line
        for line in plain
    ]


def people_owner_lines(view: HazardView, months: int) -> list[Line]:
    """The same, with what the levels mean."""
    meaning = "Low, Medium, Serious and High: how bad it can be together with how often it is so"
    lines = people_plain_lines(view, months)
    return [*lines, Line(meaning, "The levels")] if lines else []


def people_plain_lines(view: HazardView, months: int) -> list[Line]:
    """What it can mean for people and for money, apart."""
    row = view.row
    if not row["risk_level"]:
        return []
    people = f"{SEVERITY_WORDS[view.hazard.severity.people]}; risk level {row['people_level']}"
    return [
        Line(people, "People", "exposure/people_level"),
        Line(f"risk level {row['money_level']}", "Money", "exposure/money_level"),
        Line(view.hazard.effect, "What it can lead to"),
    ]


def wait_lines(view: HazardView, months: int) -> list[Line]:
    """No-later-than date with its reason, what waiting costs, what would shorten the wait."""
    row, lines = view.row, []
    latest = owner.no_later_than(row, view.as_of)
    visit = owner.when(row, view.as_of) if owner.waits(row) else ""
    reason = words.ACT_BY_REASONS.get(row["act_by_reason"], row["act_by_reason"])
    if latest:
        lines.append(Line(f"{latest}: {reason}", "No later than", "exposure/act_by_date"))
    elif visit:
        lines.append(Line(f"{visit}: {reason}", "When"))
    soon = owner.urgency(row, view.hazard)
    if soon:
        lines.append(Line(soon, "How soon"))
    if view.waits:
        lines.append(Line(_waiting(view), "Waiting, on average", "waits"))
    if view.sooner and view.waits:
        lines.append(Line("; ".join(held.says for held in view.sooner), "Do not wait so long if"))
    return lines


def _waiting(view: HazardView) -> str:
    """ "costs about $2 in a month, $25 in a year"; savings are told as savings."""
    told: list[str] = []
    verb = ""
    for wait in view.waits:
        now = "costs about" if wait.usd > 0 else "saves about"
        said = f"{words.money(abs(wait.usd))} in {words.period(wait.months)}"
        told.append(said if now == verb else f"{now} {said}")
        verb = now
    return ", ".join(told)


def cost_lines(view: HazardView, months: int) -> list[Line]:
    """Cost now and later."""
    by_kind = {choice.kind: (place, choice) for place, choice in enumerate(view.choices)}
    lines = []
    found = view.row["evidence"] == "confirmed"
    for kind, label, after in (
        ("job", "The job now", ""),
        (
            "leave",
            "If it is left" if found else "If it happens",
            ", an estimate before anything is seen at the bench",
        ),
    ):
        place, choice = by_kind[kind]  # type: ignore[index]
        told = price(choice.price)
        if told:
            lines.append(Line(told + after, label, f"choices/{place}/price"))
    return lines


def choice_lines(view: HazardView, months: int) -> list[Line]:
    """Every choice: doing nothing, the cheapest check, the job, what shops do, another opinion."""
    lines = [
        _choice(view, choice, months, f"choices/{place}")
        for place, choice in enumerate(view.choices)
        if choice.kind not in ("other_remedy", "second_opinion")
    ]
    done = "; ".join(
        f"{choice.title} ({EFFECT_WORDS[choice.effect]})"
        for choice in view.choices
        if choice.kind == "other_remedy"
    )
    opinion = "take this page along: it holds the evidence and the figures another shop needs"
    return [*lines, Line(done, "What shops do"), Line(opinion, "Second opinion")]


def _choice(view: HazardView, choice: Choice, months: int, at: str) -> Line:
    of, told = denominator(view), price(choice.price)
    match choice.kind:
        case "leave":
            # A vehicle that is not to be driven has one way of waiting: where it stands.
            label = LEAVE_PARKED if parked(view) else "Do nothing for now"
            return Line(_leaving(view, choice, months, of), label, at)
        case "ask":
            return Line(choice.title, "Answer one question, free", at)
        case "look":
            missed = words.count_of(choice.leaves, of)
            text = (
                f"{choice.title}: about {choice.hours * 60:.0f} min, {told}; "
                f"misses about {missed} of {of:,} such faults"
            )
            return Line(text, "Cheapest check", at)
        case _:
            text = f"{choice.title}: about {choice.hours:g} h" + (f", {told}" if told else "")
            return Line(text, "The full job", at)


def parked(view: HazardView) -> bool:
    """Whether what was found keeps the vehicle where it stands."""
    row = view.row
    return bool(row["evidence"] == "confirmed" and view.hazard.urgency.confirmed == "stop")


def _leaving(view: HazardView, choice: Choice, months: int, of: int) -> str:
    if view.row["evidence"] == "confirmed":
        return f"it was found and no repair is on file; it can lead to {view.hazard.effect}"
    chance = next((c for c in view.chances if c.months == months), None)
    if chance is None:
        return "nothing is asked of you"
    told = price(choice.price)
    cost = f"; if it happens, about {told}" if told else ""
    match chances.form(view.row):
        case "if_it_applies":
            known = chances.if_it_applies(view.row, view.hazard, months, of)
            return f"not known whether it applies; {known}{cost}"
        case "wide":
            return f"how likely it is by then is not known{cost}"
    many = words.frequency(chance.p, chance.low, chance.high, of)
    return f"{many} have it {words.period(months)} on{cost}"


def job_lines(view: HazardView, months: int) -> list[Line]:
    """The job, its hours and skill, and what it shares with other work on this vehicle."""
    job = view.hazard.job
    low, high = job.hours.range
    lines = [Line(f"{job.title}: {job.hours.value:g} h ({low:g} to {high:g}), skill {job.skill}")]
    shared = words.listing(title for _, title in view.shares_with)
    lines.append(
        Line(shared, f"Same teardown ({job.teardown}) as")
        if shared
        else Line(f"teardown {job.teardown}; no other work waiting behind it", "Shares")
    )
    return lines


def proof_lines(view: HazardView, months: int) -> list[Line]:
    """The measurement to take after each remedy."""
    return [Line(limit.proof, limit.title) for limit in view.limits]


def limit_lines(view: HazardView, months: int) -> list[Line]:
    """What each remedy does not cover, and the hazards it opens."""
    lines = []
    for limit in view.limits:
        opened = words.listing(title for _, title in limit.opens)
        opens = f" Opens, and is watched from then on: {opened}." if opened else ""
        if limit.hides or opens:
            hides = f"{limit.hides}." if limit.hides else "nothing known to hide."
            lines.append(Line(hides + opens, limit.title))
    return lines


def say_lines(view: HazardView, months: int) -> list[Line]:
    """The sentence for the owner, with this vehicle's own figures."""
    row = view.row
    if row["evidence"] != "confirmed" and not view.chances:
        return []
    return [Line(owner.sentence(row, view.hazard, months, denominator(view)))]


def ask_lines(view: HazardView, months: int) -> list[Line]:
    """The question for the owner."""
    return [Line(view.hazard.words.ask)]


def caution_lines(view: HazardView, months: int) -> list[Line]:
    """Cautions for whoever puts a hand to it."""
    return [Line(caution) for caution in view.hazard.words.cautions]


def place_lines(view: HazardView, months: int) -> list[Line]:
    """The group it is called in, and why."""
    row = view.row
    if pd.isna(row["tier"]):
        return []
    reason = reason_words(row["x_tier_reason"])
    return [Line(f"{words.TIER_WORDS[int(row['tier'])]}: {reason} ({row['x_key']})")]


def reason_words(code: str) -> str:
    """Why something stands in its group of the list."""
    known = words.TIER_REASONS | words.ACT_BY_REASONS
    return LATER_WORDS.get(code) or known.get(code) or code.replace("_", " ")
