"""Lines for a terminal: at most 80 columns wide, and nothing from the input that could steer it."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable

from riskcheck.sheets import one_line

WIDTH = 80
LABEL = 7


def wrapped(text: str, first: str = "", rest: str | None = None) -> list[str]:
    """One paragraph: ``first`` before its first line, ``rest`` before the others.

    Left out, ``rest`` is blank and as wide as ``first``.
    """
    following = " " * len(first) if rest is None else rest
    return textwrap.wrap(one_line(text), WIDTH, initial_indent=first, subsequent_indent=following)


def labelled(label: str, text: str) -> list[str]:
    """One paragraph behind a label in a column of its own."""
    return wrapped(text, f"{label:<{LABEL}}")


def shortened(text: str, indent: str = "", end: str = "...") -> str:
    """One line, cut between words where it is too long."""
    return indent + textwrap.shorten(one_line(text), WIDTH - len(indent), placeholder=end)


def joined(lines: Iterable[str]) -> str:
    """Lines as one text that ends with a line break."""
    return "\n".join(lines) + "\n"
