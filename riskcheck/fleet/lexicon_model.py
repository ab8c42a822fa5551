"""The shape of wording files, and how they are read, layered and checked.

A wording file (``rules/wording/*.yaml``) is data a technician can extend.  Sections, all optional:
``spellings`` (word -> ways it is written), ``phrases`` (text with signs -> word), ``plain`` (words
that mean nothing here), ``around`` (words that may stand before a part or make it another
machine's), ``signals`` (what was done or said), ``topics`` (names of events),
``subjects`` (parts and jobs), ``quantities`` (values in the text) and ``lines`` (whole lines whose
meaning a shop filled in).  Later folders and files add to earlier ones; an entry of the same name
replaces the earlier one.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Annotated, Any, Literal

from pydantic import BaseModel, ConfigDict, Field, ValidationError

from riskcheck import yamlfile
from riskcheck.errors import RulebookError
from riskcheck.vocabulary import MARK_ORDER

ACTIONS = (
    "replace", "install", "reinstall", "remove", "repair", "clean", "lube", "adjust",
    "flush", "top", "drain", "charge", "service", "reset", "bleed", "reuse",
)  # fmt: skip
STATES = (
    "check", "good", "bad", "declined", "recommended", "quoted", "pending", "negation",
    "complaint", "found", "still", "only", "one", "all", "before", "customer_part", "used",
    "sublet", "absent", "cancelled", "sale", "noun_check", "other_part", "here", "beside",
)  # fmt: skip
KINDS = (
    *ACTIONS, "bare", "check", "good", "bad", "declined", "recommended", "not_done",
    "complaint", "absent", "lacking", "customer_part",
)  # fmt: skip

AROUND = ("passing", "stopping", "bare", "places", "machines")
NOTHING = "nothing"  # topic of a wording that a shop declared to be of no interest

Outcome = Annotated[str, Field(pattern=r"^[a-z_0-9]+ [a-z_]+$")]
Outcomes = Outcome | list[Outcome]


class _Strict(BaseModel):
    model_config = ConfigDict(extra="forbid", strict=True, frozen=True)


class Topic(_Strict):
    """One kind of event and the hazards it speaks about."""

    hazards: Annotated[list[str], Field(min_length=1)]
    says: str


class Together(_Strict):
    """What a job means when other parts are named in the same job."""

    parts: Annotated[list[str], Field(min_length=1)]
    does: dict[str, Outcomes]


class Subject(_Strict):
    """A part or job as shops call it, and what each thing done to it means.

    ``called``: phrases of words; all must stand near each other, in any order; ``a|b`` offers a
    choice.  ``topic``: where verdicts land that ``does`` does not name.  ``sounds_like``: hazards
    for which this part is only a look-alike.  ``outranks``: broader subjects that are not meant
    where they share a word with this one ("ground strap to heater plate" is no new heater).
    ``in_pairs``: named in the singular and without "both" or the like, it is one of several.
    """

    called: Annotated[list[str], Field(min_length=1)]
    topic: str | list[str] = ""
    does: dict[str, Outcomes] = {}
    only: dict[str, Outcomes] = {}
    one: dict[str, Outcomes] = {}
    together: list[Together] = []
    sounds_like: list[str] = []
    outranks: list[str] = []
    in_pairs: bool = False


class Bound(_Strict):
    """Limits of one judgement about a value; every given part must hold."""

    at_least: float | int | None = None
    above: float | int | None = None
    at_most: float | int | None = None
    below: float | int | None = None

    def holds(self, value: float) -> bool:
        """Whether ``value`` lies inside."""
        return (
            (self.at_least is None or value >= self.at_least)
            and (self.above is None or value > self.above)
            and (self.at_most is None or value <= self.at_most)
            and (self.below is None or value < self.below)
        )


class Form(_Strict):
    """How a value is written: words in order with ``#`` for each number, and its conversion.

    ``word?`` may be missing, ``a|b`` is a choice, ``~`` up to two other words.  ``also``: further
    quantities that take the same value.  ``over``: what the last number must be (``5/32``).
    ``week_year``: the number is a tyre's date code, week and year in four digits (49 CFR 574.5).
    """

    text: str
    times: float | int = 1
    plus: float | int = 0
    also: list[str] = []
    over: float | int | None = None
    week_year: bool = False


class Quantity(_Strict):
    """A measured value read out of a line.

    ``good`` and ``act`` judge it (between them it says nothing); ``percent_of``: judge it as a
    percentage of this quantity instead; ``pick``: which of several values counts ("lowest" of the
    whole line, "first" and "last" of one form).
    """

    says: str
    unit: str
    topic: str
    forms: Annotated[list[Form], Field(min_length=1)]
    near: list[str] = []
    range: Annotated[list[float | int], Field(min_length=2, max_length=2)]
    good: Bound | None = None
    act: Bound | None = None
    percent_of: str = ""
    pick: Literal["first", "lowest", "last"] = "first"
    source: str


class Meaning(_Strict):
    """The meaning a shop gave to one whole wording."""

    wording: str
    topic: str
    mark: str


class _File(_Strict):
    spellings: dict[str, list[str]] = {}
    phrases: dict[str, list[str]] = {}
    plain: list[str] = []
    around: dict[str, list[str]] = {}
    signals: dict[str, list[str]] = {}
    topics: dict[str, Topic] = {}
    subjects: dict[str, Subject] = {}
    quantities: dict[str, Quantity] = {}
    lines: list[Meaning] = []


@dataclass
class Wording:
    """All wording files of all folders as one."""

    spellings: dict[str, str] = field(default_factory=dict)
    phrases: dict[str, str] = field(default_factory=dict)
    plain: set[str] = field(default_factory=set)
    around: dict[str, list[str]] = field(default_factory=dict)
    signals: dict[str, list[str]] = field(default_factory=dict)
    topics: dict[str, Topic] = field(default_factory=dict)
    subjects: dict[str, Subject] = field(default_factory=dict)
    quantities: dict[str, Quantity] = field(default_factory=dict)
    lines: dict[str, list[Meaning]] = field(default_factory=dict)

    def measured_words(self) -> set[str]:
        """The words by which values are found."""
        forms = [form.text for each in self.quantities.values() for form in each.forms]
        near = [word for each in self.quantities.values() for word in each.near]
        words = {word for text in forms for word in text.replace("|", " ").split()}
        return {word.rstrip("?") for word in words if word.rstrip("?").isalpha()} | set(near)

    def spelled(self, words: Sequence[str]) -> tuple[str, ...]:
        """``words`` of a pattern as they come out of a line: in their listed spelling."""
        return tuple(self.spellings.get(word, word) for word in words)


def load_wording(dirs: Sequence[Path]) -> Wording:
    """Read and layer every ``*.yaml`` of each folder (or its ``wording`` folder), in order.

    Raises RulebookError with one line per fault: file, line, what is wrong, what would be right.
    """
    wording = Wording()
    faults: list[str] = []
    parsed: list[tuple[yamlfile.Document, _File]] = []
    for path in _files(dirs):
        document = yamlfile.read(path)
        faults.extend(fault.words() for fault in document.faults)
        if document.faults:
            continue
        try:
            file = _File.model_validate(document.data)
        except ValidationError as error:
            faults.extend(_shape_faults(document, error))
            continue
        parsed.append((document, file))
        _layer(wording, file)
    if not parsed and not faults:
        where = ", ".join(str(each) for each in dirs) or "no folder"
        faults.append(
            f"{where}:1: no wording files (*.yaml) found; name the folder that holds them"
        )
    for document, file in parsed:
        faults.extend(fault.words() for fault in _name_faults(document, file, wording))
    if faults:
        raise RulebookError(faults)
    return wording


def outcomes(value: Outcomes) -> tuple[tuple[str, str], ...]:
    """``topic mark`` texts as pairs."""
    texts = [value] if isinstance(value, str) else value
    pairs = (text.split(" ") for text in texts)
    return tuple((topic, mark) for topic, mark in pairs)


def topics_of(subject: Subject) -> tuple[str, ...]:
    """The topics on which plain verdicts about ``subject`` land."""
    if isinstance(subject.topic, list):
        return tuple(subject.topic)
    return (subject.topic,) if subject.topic else ()


def _files(dirs: Sequence[Path]) -> Iterator[Path]:
    for folder in dirs:
        inner = folder / "wording"
        yield from sorted((inner if inner.is_dir() else folder).glob("*.yaml"))


def _layer(wording: Wording, file: _File) -> None:
    for word, written in file.spellings.items():
        wording.spellings.setdefault(word.lower(), word.lower())
        wording.spellings.update({each.lower(): word.lower() for each in written})
    for word, written in file.phrases.items():
        wording.phrases.update({each.lower(): word.lower() for each in written})
    wording.plain.update(word.lower() for word in file.plain)
    for name, words in file.around.items():
        wording.around.setdefault(name, []).extend(word.lower() for word in words)
    for name, phrases in file.signals.items():
        known = wording.signals.setdefault(name, [])
        known.extend(each for each in phrases if each not in known)
    wording.topics.update(file.topics)
    wording.subjects.update(file.subjects)
    wording.quantities.update(file.quantities)
    for meaning in file.lines:
        wording.lines.setdefault(meaning.wording, []).append(meaning)


def _shape_faults(document: yamlfile.Document, error: ValidationError) -> list[str]:
    seen: dict[str, None] = {}
    for each in error.errors():
        where = tuple(step for step in each["loc"] if isinstance(step, str | int))
        what = f"{'.'.join(str(step) for step in where)}: {each['msg'].lower()}"
        fault = document.fault(where, what, "see the sections that a wording file may have")
        seen[fault.words()] = None
    return list(seen)


def _name_faults(
    document: yamlfile.Document, file: _File, wording: Wording
) -> Iterator[yamlfile.Fault]:
    for name in file.around:
        if name not in AROUND:
            what = f"no kind of word around a part is called {name}"
            yield document.fault(("around", name), what, f"use {', '.join(AROUND)}")
    for name in file.signals:
        if name not in ACTIONS and name not in STATES:
            known = ", ".join((*ACTIONS, *STATES))
            yield document.fault(("signals", name), f"no signal is called {name}", f"use {known}")
    for name, subject in file.subjects.items():
        yield from _subject_faults(document, name, subject, wording)
    for name, quantity in file.quantities.items():
        where = ("quantities", name)
        if quantity.topic not in wording.topics:
            yield document.fault((*where, "topic"), f"no topic is called {quantity.topic}")
        for index, form in enumerate(quantity.forms):
            if "#" not in form.text.split():
                yield document.fault((*where, "forms", index), "a form needs # for the number")
    for index, meaning in enumerate(file.lines):
        where_line = ("lines", index)
        if meaning.topic == NOTHING:
            continue
        if meaning.topic not in wording.topics:
            yield document.fault(where_line, f"no topic is called {meaning.topic}")
        if meaning.mark not in MARK_ORDER:
            yield document.fault(
                where_line, f"no mark is called {meaning.mark}", f"use {', '.join(MARK_ORDER)}"
            )


def _subject_faults(
    document: yamlfile.Document, name: str, subject: Subject, wording: Wording
) -> Iterator[yamlfile.Fault]:
    where: tuple[Any, ...] = ("subjects", name)
    for topic in topics_of(subject):
        if topic not in wording.topics:
            yield document.fault((*where, "topic"), f"no topic is called {topic}")
    tables = [("does", subject.does), ("only", subject.only), ("one", subject.one)]
    tables += [("together", each.does) for each in subject.together]
    for section, table in tables:
        for kind, value in table.items():
            if kind not in KINDS:
                yield document.fault(
                    (*where, section, kind), f"nothing can be {kind}", f"use {', '.join(KINDS)}"
                )
            for topic, mark in outcomes(value):
                if topic not in wording.topics:
                    yield document.fault((*where, section, kind), f"no topic is called {topic}")
                if mark not in MARK_ORDER:
                    yield document.fault((*where, section, kind), f"no mark is called {mark}")
    for each in subject.together:
        for part in each.parts:
            if part not in wording.subjects:
                yield document.fault((*where, "together"), f"no subject is called {part}")
    if not topics_of(subject) and not subject.sounds_like and not subject.does:
        yield document.fault(where, "the subject leads nowhere", "give a topic or sounds_like")
