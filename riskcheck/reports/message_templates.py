"""Message templates: sandboxed, layered, and refused where they claim too much.

A template may read what it is given and no more.  Every line of a finished message knows the
template line it came from, so that a fault can be mended where it stands.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any, NamedTuple

import jinja2
from jinja2.sandbox import SandboxedEnvironment

from riskcheck import calm
from riskcheck.errors import RulebookError

KINDS = ("script", "text", "email_subject", "email", "letter")
SHIPPED = Path(__file__).parent / "templates" / "messages"
LARGEST_TEMPLATE = 100_000
LONGEST_MESSAGE = 20_000
_TAG = re.compile(r"(\{\{.*?\}\}|\{%.*?%\}|\{#.*?#\})", re.S)
_MARK = re.compile("\x01([^\x01\x02]*):(\\d+)\x02")
_CONTROLS = re.compile("[\x00-\x08\x0b-\x1f]")


class Flaw(NamedTuple):
    """What is wrong with a message: the template file, its line, and what to say instead."""

    file: str
    line: int
    words: str

    def told(self) -> str:
        """ "letter.txt.j2:12: ..." """
        return f"{self.file}:{self.line}: {self.words}"


class Message(NamedTuple):
    """A finished text and its flaws; a text with flaws must not be written."""

    text: str
    flaws: tuple[Flaw, ...]


class Templates:
    """The templates of a shop: its own folders, last one first, over the shipped ones.

    Raises RulebookError with file and line where a template cannot be read, is no template, or
    claims too much by itself.
    """

    def __init__(self, folders: Sequence[Path] = ()) -> None:
        places = [*(str(folder) for folder in reversed(folders)), str(SHIPPED)]
        self._environment = SandboxedEnvironment(
            loader=_Marked(places),
            undefined=jinja2.StrictUndefined,
            autoescape=False,  # plain text; nothing here is shown by a browser
            trim_blocks=True,
            lstrip_blocks=True,
            keep_trailing_newline=False,
        )
        faults = [fault for kind in KINDS for fault in self._faults(kind)]
        if faults:
            raise RulebookError(faults)

    def render(self, kind: str, context: Mapping[str, Any], names: Iterable[str] = ()) -> Message:
        """One message; ``names`` are people's own words in it, which are not judged.

        Raises RulebookError where the template asks for something that is not there.
        """
        name = _file(kind)
        try:
            marked = self._environment.get_template(name).render(**context)
        except (jinja2.TemplateError, TypeError, ValueError, ArithmeticError) as error:
            raise RulebookError([_place(error, name)]) from error
        if len(marked) > LONGEST_MESSAGE:
            raise RulebookError([f"{name}: the message has more than {LONGEST_MESSAGE:,} letters"])
        text, origins = _unmarked(marked)
        flaws = tuple(
            Flaw(*(origins[fault.line - 1] or (name, 1)), fault.words())
            for fault in calm.faults(text, names=names)
        )
        return Message(text.strip("\n") + "\n", flaws)

    def _faults(self, kind: str) -> Iterator[str]:
        name = _file(kind)
        try:
            source, file, _ = _source(self._environment, name)
            self._environment.parse(source, name, file)
        except (jinja2.TemplateError, UnicodeDecodeError, ValueError) as error:
            yield _place(error, name)
            return
        typed = _TAG.sub(lambda tag: re.sub(r"[^\n]", " ", tag.group(0)), _MARK.sub("", source))
        for fault in calm.faults(typed):
            yield f"{file}:{fault.line}: {fault.words()}"
        for chance in calm.chances(typed):
            yield (
                f'{file}:{chance.line}: a typed chance, "{chance.word}": figures are computed, '
                "use {{ lead.say }} or {{ lead.why }}"
            )


class _Marked(jinja2.FileSystemLoader):
    """Loads a template and marks the beginning of each line of text with its place."""

    def get_source(self, environment: jinja2.Environment, template: str) -> tuple[str, str, Any]:
        source, file, fresh = super().get_source(environment, template)
        if len(source) > LARGEST_TEMPLATE:
            raise ValueError(f"the template has more than {LARGEST_TEMPLATE:,} letters")
        return marked_lines(_CONTROLS.sub("", source), template), file, fresh


def marked_lines(source: str, name: str) -> str:
    """The template with a mark before each line of text; lines that begin with a tag have none."""
    out: list[str] = []
    line, at = 1, 0
    for part in _TAG.split(source):
        pieces = [part] if _TAG.fullmatch(part) else part.splitlines(keepends=True)
        for piece in pieces:
            starts = at == 0 or source[at - 1] == "\n"
            silent = source[at:].lstrip(" \t").startswith(("{%", "{#"))
            out.append(f"\x01{name}:{line}\x02" if starts and not silent else "")
            out.append(piece)
            line, at = line + piece.count("\n"), at + len(piece)
    return "".join(out)


def _unmarked(marked: str) -> tuple[str, list[tuple[str, int] | None]]:
    """The text without marks, and for each of its lines the template file and line."""
    lines, origins = [], []
    origin: tuple[str, int] | None = None
    for line in marked.split("\n"):
        found = _MARK.findall(line)
        if found:
            origin = (found[0][0], int(found[0][1]))
        lines.append(_MARK.sub("", line))
        origins.append(origin)
    return "\n".join(lines), origins


def _source(environment: SandboxedEnvironment, name: str) -> tuple[str, str, Any]:
    loader = environment.loader
    assert loader is not None
    source, file, fresh = loader.get_source(environment, name)
    return source, str(file), fresh


def _file(kind: str) -> str:
    return f"{kind}.txt.j2"


def _place(error: Exception, name: str) -> str:
    line = getattr(error, "lineno", None) or _line_of(error)
    where = f"{getattr(error, 'filename', None) or name}" + (f":{line}" if line else "")
    return f"{where}: {getattr(error, 'message', None) or error}"


def _line_of(error: Exception) -> int:
    """The template line at which rendering stopped, as jinja writes it into the traceback."""
    line, trace = 0, error.__traceback__
    while trace is not None:
        if trace.tb_frame.f_code.co_filename.endswith(".j2"):
            line = trace.tb_lineno
        trace = trace.tb_next
    return line
