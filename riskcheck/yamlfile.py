"""The only door to YAML: data with line numbers, and every YAML trap refused by name.

Plain YAML 1.1 turns ``no`` into false, ``010`` into 8, ``1:30`` into 90, ``1e5`` into text, and
lets the last of two equal keys win in silence.  A rule file in which any of that happens says
something its author did not mean, so each is a fault with a line and a remedy, never a guess.
Rule files are data: tags, anchors and aliases are refused, size and depth are capped.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import Any

import yaml

from riskcheck.errors import RulebookError

MAX_BYTES = 1_000_000
MAX_DEPTH = 40

Where = tuple[str | int, ...]

_Loader: Any = getattr(yaml, "CSafeLoader", yaml.SafeLoader)

_NUMBER_TRAPS: tuple[tuple[re.Pattern[str], str, str], ...] = (
    (
        re.compile(r"[-+]?0[0-9_]+(\.[0-9]*)?"),
        "has a leading zero, which YAML reads as an octal number or as text",
        "write the number without the zero, or put it in quotes if it is a code",
    ),
    (
        re.compile(r"[-+]?0[xob][0-9a-fA-F_]+"),
        "is written in another number base",
        "write it as an ordinary decimal number, or put it in quotes if it is a code",
    ),
    (
        re.compile(r"[-+]?[0-9][0-9_]*(:[0-5]?[0-9])+(\.[0-9_]*)?"),
        "is read by YAML as a base-60 number",
        "write one plain number, or put it in quotes if text is meant",
    ),
    (
        re.compile(r"[-+]?[0-9]*\.?[0-9]+[eE][-+]?[0-9]+|[-+]?[0-9]+\.[eE][-+]?[0-9]+"),
        "is in exponent notation, part of which YAML reads as text",
        "write all digits out (100000, 0.00001), or put it in quotes if text is meant",
    ),
    (
        re.compile(r"[-+]?[0-9]+(,[0-9]+)+(\.[0-9]+)?|[-+]?[0-9]+(_[0-9]+)+(\.[0-9]+)?"),
        "has digit separators, which YAML does not read as you would",
        "write the digits without separators (1000, 1.5): no commas in numbers",
    ),
    (
        re.compile(r"[-+]?\.(inf|Inf|INF)|\.(nan|NaN|NAN)"),
        "is not a finite number",
        "write a finite number",
    ),
)

_IMPLICIT = "tag:yaml.org,2002:"


@dataclass(frozen=True, order=True)
class Fault:
    """One thing wrong in a rule file: where, what is wrong, what would be right."""

    file: Path
    line: int
    what: str
    instead: str

    def words(self) -> str:
        """``file:line: what is wrong; what would be right``, one line."""
        remedy = f"; {self.instead}" if self.instead else ""
        return f"{self.file}:{self.line}: {self.what}{remedy}"


@dataclass(frozen=True)
class Document:
    """One YAML file: plain data, and the line on which every entry stands.

    ``data`` is dict, list, str, int, float, bool, date or None, nested; keys are text.
    ``lines`` maps a path of keys and list positions to a line, counted from 1.
    """

    path: Path
    data: Any
    lines: Mapping[Where, int] = field(repr=False)
    faults: tuple[Fault, ...] = ()

    def line_of(self, where: Sequence[str | int]) -> int:
        """Line of the entry at ``where``, or of its nearest enclosing entry that exists."""
        steps = tuple(where)
        while steps and steps not in self.lines:
            steps = steps[:-1]
        return self.lines.get(steps, 1)

    def at(self, where: Sequence[str | int]) -> Any:
        """The entry at ``where``; None where there is no such entry."""
        value = self.data
        for part in where:
            try:
                value = value[part]
            except (KeyError, IndexError, TypeError):
                return None
        return value

    def fault(self, where: Sequence[str | int], what: str, instead: str = "") -> Fault:
        """A fault that stands at ``where`` in this file."""
        return Fault(self.path, self.line_of(where), what, instead)


def load(path: Path) -> Document:
    """Read one YAML file.

    Raises RulebookError, naming every trap with its line, if the file is not clean YAML data.
    """
    document = read(path)
    if document.faults:
        raise RulebookError([fault.words() for fault in document.faults])
    return document


def read(path: Path) -> Document:
    """Read one YAML file, collecting faults instead of raising them.

    ``data`` is None where the text could not be read at all.
    """
    try:
        raw = path.read_bytes()
    except OSError as error:
        reason = error.strerror or str(error)
        return _unreadable(path, 1, f"cannot be read: {reason}", "check the name and the rights")
    if len(raw) > MAX_BYTES:
        return _unreadable(
            path, 1, f"is larger than {MAX_BYTES:,} bytes", "split it into several files"
        )
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = raw.count(b"\n", 0, error.start) + 1
        return _unreadable(path, line, "is not UTF-8 text", "save the file as UTF-8")
    return parse(text, path)


def parse(text: str, path: Path) -> Document:
    """As ``read``, from text; ``path`` is only the name used in faults."""
    builder = _Builder(path)
    try:
        data = builder.build(text)
    except yaml.YAMLError as error:
        line, what = _syntax_fault(error, text)
        if tab := _tab_line(text, line):
            instead = "put spaces in its place: YAML indents with spaces only"
            return _unreadable(path, tab, "is indented by a tab here", instead)
        builder.fault(line, what, "see the lines just above it: indentation, quotes, colons")
        data = None
    except _TooDeepError as error:
        builder.fault(error.line, f"is nested deeper than {MAX_DEPTH} levels", "flatten it")
        data = None
    return Document(path, data, builder.lines, tuple(builder.faults))


def dump(data: Any) -> str:
    """Plain data as YAML text that ``parse`` reads back without a fault; keys keep their order."""
    return yaml.dump(
        data, Dumper=_Dumper, sort_keys=False, allow_unicode=True, width=96, line_break="\n"
    )


class _TooDeepError(Exception):
    def __init__(self, line: int) -> None:
        super().__init__(line)
        self.line = line


class _Builder:
    """Builds plain data straight from parser events, so that no alias is ever expanded."""

    def __init__(self, path: Path) -> None:
        self.path = path
        self.lines: dict[Where, int] = {}
        self.faults: list[Fault] = []
        self._resolve: Any = None

    def fault(self, line: int, what: str, instead: str) -> None:
        self.faults.append(Fault(self.path, line, what, instead))

    def build(self, text: str) -> Any:
        loader = _Loader(text)
        self._resolve = loader.resolve
        try:
            return self._stream(_events(loader))
        finally:
            loader.dispose()

    def _stream(self, events: Iterator[Any]) -> Any:
        data: Any = None
        documents = 0
        for event in events:
            if isinstance(event, yaml.DocumentStartEvent):
                documents += 1
                if documents == 2:
                    self.fault(_line(event), "a second document starts here", "use one per file")
            elif isinstance(event, yaml.NodeEvent):
                value = self._node(event, events, ())
                data = value if documents == 1 else data
        if documents == 0 or (data is None and not self.faults):
            self.fault(1, "the file is empty", "write the entries or delete the file")
        return data

    def _node(self, event: Any, events: Iterator[Any], where: Where) -> Any:
        self.lines.setdefault(where, _line(event))
        if len(where) > MAX_DEPTH:
            raise _TooDeepError(_line(event))
        if event.anchor is not None:
            sign = "*" if isinstance(event, yaml.AliasEvent) else "&"
            self.fault(
                _line(event),
                f"{sign}{event.anchor}: anchors and aliases are not allowed in rule files",
                "write the entry out where it is needed, or put text that begins so in quotes",
            )
        if isinstance(event, yaml.AliasEvent):
            return None
        if isinstance(event, yaml.ScalarEvent):
            return self._scalar(event)
        self._refuse_tag(event)
        if isinstance(event, yaml.SequenceStartEvent):
            return self._sequence(events, where)
        return self._mapping(events, where)

    def _refuse_tag(self, event: Any) -> None:
        if event.tag is not None and event.tag != "!":
            self.fault(_line(event), f"the tag {event.tag} is not allowed", "remove the tag")

    def _sequence(self, events: Iterator[Any], where: Where) -> list[Any]:
        items: list[Any] = []
        for event in events:
            if isinstance(event, yaml.SequenceEndEvent):
                break
            items.append(self._node(event, events, (*where, len(items))))
        return items

    def _mapping(self, events: Iterator[Any], where: Where) -> dict[str, Any]:
        entries: dict[str, Any] = {}
        for event in events:
            if isinstance(event, yaml.MappingEndEvent):
                break
            line = _line(event)
            after = next(iter(reversed(entries.values())), None)
            digits = isinstance(event, yaml.ScalarEvent) and event.value.isdigit()
            if digits and type(after) is int and event.implicit[0]:
                self._comma_number(after, event)
                told = len(self.faults)
                self._node(next(events), events, (*where, event.value))
                del self.faults[told:]
                continue
            key = self._key(event, events, where)
            if key in entries:
                first = self.lines[(*where, key)]
                self.fault(
                    line,
                    f"'{key}' is already written on line {first}; YAML would keep only the last",
                    "keep one of the two",
                )
            self.lines[(*where, key)] = line
            entries[key] = self._node(next(events), events, (*where, key))
        return entries

    def _comma_number(self, before: int, event: Any) -> None:
        """``{value: 1,260}`` reaches YAML as the number 1 and a key 260 without a value."""
        tail: str = event.value
        decimal = f"{before}.{tail}".rstrip("0").rstrip(".")
        self.fault(
            _line(event),
            f"{before},{tail} has a comma, which ends the number here",
            f"write {before}{tail} or {decimal}: no commas in numbers",
        )

    def _key(self, event: Any, events: Iterator[Any], where: Where) -> str:
        if not isinstance(event, yaml.ScalarEvent):
            self._node(event, events, (*where, ""))
            self.fault(_line(event), "a key must be a word", "check the indentation and brackets")
            return ""
        key: str = event.value
        if event.implicit[0] and self._tag(event) in ("bool", "null", "int", "float", "timestamp"):
            self.fault(
                _line(event),
                f"the key {key or '(nothing)'} is not read as a word by YAML",
                f'put it in quotes: "{key}"',
            )
        elif event.implicit[0] and key == "<<":
            self.fault(_line(event), "merge keys are not allowed", "write the entries out")
        return key

    def _tag(self, event: Any) -> str:
        tag: str = self._resolve(yaml.ScalarNode, event.value, (True, False))
        return tag.removeprefix(_IMPLICIT)

    def _scalar(self, event: Any) -> Any:
        self._refuse_tag(event)
        text: str = event.value
        if not event.implicit[0]:
            return text
        for pattern, what, instead in _NUMBER_TRAPS:
            if pattern.fullmatch(text):
                self.fault(_line(event), f"{text} {what}", instead)
                return text
        return self._plain(event, text, self._tag(event))

    def _plain(self, event: Any, text: str, tag: str) -> Any:
        if tag == "bool":
            return self._flag(event, text)
        if tag == "int":
            return int(text)
        if tag == "float":
            return float(text)
        if tag == "timestamp":
            return self._date(event, text)
        if tag == "null":
            if text == "":
                self.fault(_line(event), "nothing is written here", "write a value, [] or null")
            return None
        return text

    def _flag(self, event: Any, text: str) -> bool | str:
        if text in ("true", "false"):
            return text == "true"
        meant = "true" if text.lower() in ("yes", "on", "true") else "false"
        self.fault(
            _line(event),
            f"{text} is read by YAML as {meant}",
            f'write {meant}, or "{text}" in quotes if the word itself is meant',
        )
        return meant == "true"

    def _date(self, event: Any, text: str) -> date | str:
        try:
            return date.fromisoformat(text)
        except ValueError:
            self.fault(_line(event), f"{text} is not a plain date", "write YYYY-MM-DD")
            return text


def _events(loader: Any) -> Iterator[Any]:
    while loader.check_event():
        yield loader.get_event()


def _line(event: Any) -> int:
    return int(event.start_mark.line) + 1


def _unreadable(path: Path, line: int, what: str, instead: str) -> Document:
    return Document(path, None, {}, (Fault(path, line, f"the file {what}", instead),))


def _tab_line(text: str, line: int) -> int:
    """Line of the nearest tab in an indentation at or just above ``line``, 0 without one."""
    above = text.splitlines()[:line]
    for number in range(len(above), max(len(above) - 2, 0), -1):
        if re.match(r" *\t", above[number - 1]):
            return number
    return 0


def _syntax_fault(error: yaml.YAMLError, text: str) -> tuple[int, str]:
    mark = getattr(error, "problem_mark", None)
    if mark is not None:
        problem = str(getattr(error, "problem", "") or "the text does not parse")
        return int(mark.line) + 1, f"this is not YAML: {problem}"
    position = int(getattr(error, "position", 0))
    return text.count("\n", 0, position) + 1, "a character here is not allowed in YAML"


class _Dumper(yaml.SafeDumper):
    """Writes text in quotes wherever the reader above would otherwise refuse it."""

    def ignore_aliases(self, data: Any) -> bool:
        return True


def _represent_text(dumper: yaml.SafeDumper, text: str) -> yaml.ScalarNode:
    trap = any(pattern.fullmatch(text) for pattern, _, _ in _NUMBER_TRAPS)
    return dumper.represent_scalar(f"{_IMPLICIT}str", text, style='"' if trap else None)


def _represent_number(dumper: yaml.SafeDumper, number: float) -> yaml.ScalarNode:
    if not math.isfinite(number):
        raise ValueError(f"{number} is not a finite number and has no place in a rule file")
    digits = format(Decimal(repr(number)), "f")
    return dumper.represent_scalar(f"{_IMPLICIT}float", digits if "." in digits else f"{digits}.0")


_Dumper.add_representer(str, _represent_text)
_Dumper.add_representer(float, _represent_number)
