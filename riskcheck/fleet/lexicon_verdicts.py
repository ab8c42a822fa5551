"""The one verdict of a clause: done, advised, refused, found, checked.

The weaker reading wins: whatever is refused, advised, negated or awaited was not done, however
many words of work stand beside it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace

from riskcheck.fleet.lexicon_model import ACTIONS
from riskcheck.fleet.lexicon_tokens import Token

ACTION_SET = frozenset(ACTIONS)
MODIFIERS = frozenset(
    {
        "only",
        "one",
        "all",
        "before",
        "customer_part",
        "used",
        "sublet",
        "still",
        "sale",
        "found",
        "other_part",
        "here",
        "beside",
        "prose",
    }
)
_BASE_FORMS = frozenset(
    {"replace", "repair", "clean", "adjust", "flush", "install", "lube", "grease", "drain",
     "service", "change", "bleed", "repl", "top", "charge", "overhaul"}
)  # fmt: skip
_JOB_NAMES = frozenset(
    {"flush", "flsh", "service", "svc", "srvc", "serv", "exchange", "exch", "maint", "change",
     "chg", "clean", "cleaning", "flushing", "overhaul", "refill", "top", "charge"}
)  # fmt: skip
JOINERS = frozenset({"&", "+", "/", "and", "with", "w", "incl", "new"})
_HEADS = (":", "-", "–", "—")
_NO_FAULT = "good: nofault"
_PLANNED = "recommended: planned"


@dataclass(frozen=True, slots=True)
class Signal:
    """A phrase that says what was done or found: its class and its token places."""

    name: str
    first: int
    last: int
    pattern: str


@dataclass(frozen=True, slots=True)
class Named:
    """A part or job named in a clause; ``bare``: by a noun that many machines share."""

    subject: str
    places: frozenset[int]
    pattern: str
    bare: bool = False


@dataclass(frozen=True, slots=True)
class Verdict:
    """What a clause says: its kind, the work done, and circumstances.

    kind: "" | did | bare | check | noun_check | good | bad | declined | recommended | not_done |
    absent | lacking | complaint | cancelled.  ``prefix``: the verdict stands before its
    parts.  ``other_part``: the clause also names a part of a part (a gasket, a cover) or a
    part of no interest here.  ``bare_form``: the work stands in its bare form ("replace").
    """

    kind: str = ""
    actions: tuple[str, ...] = ()
    circumstances: frozenset[str] = frozenset()
    also_bad: bool = False
    prefix: bool = False
    rechecks: bool = False
    other_part: bool = False
    bare_form: bool = False


@dataclass(frozen=True, slots=True)
class Mention:
    """A subject named in a clause.

    ``other_part``: "beside" where the clause also names another part, which may be what the
    verdict is about; "own" where the words name a part of it (an alternator bracket).
    ``several``: it is named in the plural; ``bare``: see Named.
    """

    subject: str
    other_part: str = ""
    several: bool = False
    bare: bool = False


@dataclass(frozen=True, slots=True)
class Statement:
    """What a clause says, without where it stands: the subjects named and the verdict.

    ``heads``: it names nothing, and a colon or dash puts it over what follows ("declined: ...");
    ``elsewhere``: it speaks of another machine.
    """

    mentions: tuple[Mention, ...]
    verdict: Verdict
    heads: bool = False
    elsewhere: bool = False


@dataclass(slots=True)
class Clause:
    """A stretch of a line with one verdict."""

    tokens: Sequence[Token]
    signals: list[Signal] = field(default_factory=list)
    named: list[Named] = field(default_factory=list)
    statement: Statement = Statement((), Verdict())

    @property
    def span(self) -> tuple[int, int]:
        """Where the clause stands in the line."""
        return self.tokens[0].start, self.tokens[-1].end


def state(clause: Clause, separator: str = "", talks: bool = False) -> Statement:
    """What a clause says about the subjects it names.

    ``separator``: the sign behind it; ``talks``: it has words that are no trade words, which
    beside the mere name of a job ("coolant flush on the list for fall") make it talk, not work.
    """
    other = _other_parts(clause)
    places: dict[str, frozenset[int]] = {each.subject: each.places for each in clause.named}
    bare = {each.subject for each in clause.named if each.bare}
    mentions = [
        Mention(name, _doubt(clause, spots, other - spots), _several(clause, spots), name in bare)
        for name, spots in places.items()
    ]
    work = {clause.tokens[each.first].text for each in clause.signals if each.name in ACTION_SET}
    said = _judge(clause)
    if talks and _only_names_a_job(clause):
        said = replace(said, circumstances=said.circumstances | {"prose"})
    verdict = replace(
        said,
        other_part=bool(other),
        bare_form=bool(work) and work <= _BASE_FORMS - {"repl", "clean"},
    )
    return Statement(tuple(mentions), verdict, not mentions and separator in _HEADS)


def _several(clause: Clause, places: frozenset[int]) -> bool:
    return any(clause.tokens[place].text.endswith("s") for place in places)


def _doubt(clause: Clause, places: frozenset[int], others: frozenset[int]) -> str:
    if not others:
        return ""
    return "own" if max(places) + 1 in others else "beside"


def _judge(clause: Clause) -> Verdict:
    """The one verdict of a clause; where words disagree, the weaker reading wins."""
    said = _negated(clause)
    done, undone, good, bad = said.done, said.undone, said.good, said.bad
    names = {signal.name for signal in clause.signals if signal not in said.denied_advice}
    circumstances = frozenset(names & MODIFIERS)
    if any(each.pattern == _NO_FAULT for each in clause.signals):
        good, bad = True, False
        circumstances |= {"no_fault"}
    advice = names & {"recommended", "quoted"}
    first_part = min((min(each.places) for each in clause.named), default=99)
    prefix = any(each.first <= first_part for each in clause.signals if each.name not in MODIFIERS)

    def verdict(kind: str, **more: bool) -> Verdict:
        acts = tuple(dict.fromkeys(done)) if kind == "did" else ()
        return Verdict(
            kind,
            acts,
            circumstances,
            prefix=prefix,
            rechecks="check" in names,
            **more,
        )

    if "cancelled" in names:
        return verdict("cancelled")
    if "declined" in names:
        return verdict("declined", also_bad=bad)
    if "complaint" in names:
        return verdict("good" if "no_fault" in circumstances else "complaint")
    if "absent" in names:
        return verdict("absent")
    if undone or said.denied or ("pending" in names and "found" not in names):
        return verdict("not_done", also_bad=bad)
    if said.lacking:
        return verdict("absent" if "here" in names else "lacking")
    if said.denied_advice and done:
        return verdict("not_done")
    if "quoted" in names:
        return verdict("quoted", also_bad=bad)
    if advice or _bare_advice(clause, bad):
        return verdict("bad" if bad else "recommended")
    if bad and ("still" in names or "found" in names):
        return verdict("bad")
    if done:
        return verdict("did")
    if bad:
        return verdict("bad")
    if good:
        if said.denied_advice:
            circumstances |= {"not_due"}
        return verdict("good")
    if "noun_check" in names:
        return verdict("noun_check")
    if "check" in names:
        last = [each for each in clause.signals if each.name == "check"][-1]
        trailing = last.last == len(clause.tokens) - 1 and last.first > 0
        noun = clause.tokens[last.last].text in ("check", "inspection", "test")
        return verdict("noun_check" if trailing and noun else "check")
    return Verdict("", (), circumstances)


@dataclass(slots=True)
class _Said:
    """What a clause says once its negations have found what they deny."""

    done: list[str] = field(default_factory=list)
    denied_advice: list[Signal] = field(default_factory=list)
    undone: bool = False
    good: bool = False
    bad: bool = False
    lacking: bool = False
    denied: bool = False


def _negated(clause: Clause) -> _Said:
    said = _Said()
    spoken = [each for each in clause.signals if each.name not in MODIFIERS]
    negation: Signal | None = None
    lacked: Signal | None = None
    for index, signal in enumerate(spoken):
        following = spoken[index + 1] if index + 1 < len(spoken) else None
        if signal is lacked:  # "no strap fitted": what is not there was not left undone
            negation = None
            continue
        if signal.name != "negation":
            _hear(said, clause, signal, negation is not None)
            if not _goes_on(signal, following):
                negation = None
            continue
        after = [place - signal.last for each in clause.named for place in each.places]
        word = clause.tokens[signal.last].word
        lacks = word == "no" and any(0 < gap <= 2 for gap in after) and following is not None
        if following is not None and following.first - signal.last <= 4:
            negation = signal
            if lacks and following.name in ACTION_SET:
                said.lacking, lacked = True, following
        elif signal.last == len(clause.tokens) - 1:
            said.denied = said.denied or bool(said.done) or not clause.named
            said.undone = said.undone or bool(said.done)
        elif word == "no" and any(0 < gap <= 2 for gap in after):
            said.lacking = True
    return said


def _goes_on(signal: Signal, following: Signal | None) -> bool:
    """Whether a denial of one fault holds for the word behind it too ("no burnt smell")."""
    return (
        following is not None
        and signal.name == following.name == "bad"
        and following.first == signal.last + 1
    )


def _hear(said: _Said, clause: Clause, signal: Signal, negated: bool) -> None:
    name = signal.name
    if name in ACTION_SET and _is_adjective(clause, signal):
        name = "good"
    if name in ACTION_SET:
        if negated:
            said.undone = True
        else:
            said.done.append(name)
    elif name in ("good", "bad"):
        praised = (name == "good") != negated
        said.good, said.bad = said.good or praised, said.bad or not praised
    elif negated and name == "check":
        said.undone = True
    elif negated and name in ("recommended", "quoted"):
        if signal.pattern == _PLANNED:  # "did not return for"
            said.undone = True
        said.good = True
        said.denied_advice.append(signal)


def _other_parts(clause: Clause) -> frozenset[int]:
    """Places of words for other parts, unless they are listed beside the part named."""
    found: set[int] = set()
    for each in clause.signals:
        if each.name == "other_part" and not (clause.named and _is_joined(clause, each.first)):
            found.update(range(each.first, each.last + 1))
    return frozenset(found)


def _only_names_a_job(clause: Clause) -> bool:
    """Whether the work is only the name of a job ("coolant flush"), nothing said of doing it."""
    work = {clause.tokens[each.first].text for each in clause.signals if each.name in ACTION_SET}
    return bool(work) and work <= _JOB_NAMES


def _is_joined(clause: Clause, place: int) -> bool:
    """Whether "and", "with" or the like stand before the word, perhaps with "new" or a number."""
    while place > 0 and clause.tokens[place - 1].word in ("replace", "all", "#", "one"):
        if clause.tokens[place - 1].text in ("new", "all", "both") or place == 1:
            place -= 1
            continue
        if clause.tokens[place - 1].word != "#":
            break
        place -= 1
    return place > 0 and clause.tokens[place - 1].word in JOINERS


def _is_adjective(clause: Clause, signal: Signal) -> bool:
    """ "sample clean" praises, "clean the sample" is work."""
    if clause.tokens[signal.first].text != "clean":
        return False
    before = clause.tokens[signal.first - 1].word if signal.first else "&"
    looked = any(each.name == "check" and each.last < signal.first for each in clause.signals)
    return looked or before not in ("&", "+", "and", "/")


def _bare_advice(clause: Clause, bad: bool) -> bool:
    """A verb in its bare form after a test or a fault is advice ("tested 412/730 replace")."""
    told = bad or any(each.name in ("check", "found") for each in clause.signals)
    if not told:
        return False
    first_told = min(
        each.first for each in clause.signals if each.name in ("check", "found", "bad", "negation")
    )
    return any(
        each.name in ACTION_SET
        and clause.tokens[each.first].text in _BASE_FORMS - {"repl", "clean"}
        and each.first > first_told
        and clause.tokens[each.first - 1].word not in ("&", "and", "+", "/")
        for each in clause.signals
    )
