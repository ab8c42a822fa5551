"""Helpers for long histories: the same reading, shared among processor cores.

Each helper is a plain child process that gets the wording and a share of the distinct lines and
gives back what they say.  A line's reading depends on the line alone, so the shares cannot change
the result; a helper that fails leaves its share to the parent.
"""

from __future__ import annotations

import contextlib
import gc
import os
import pickle
import subprocess
import sys
import threading
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field

from riskcheck.fleet.lexicon_events import Row
from riskcheck.fleet.lexicon_model import Wording

ENOUGH = 40_000  # distinct lines for which a helper's start pays (measured)
_MOST = 4
_COMMAND = ("-m", "riskcheck.fleet.lexicon_crew")


@dataclass(slots=True)
class Found:
    """What distinct lines say.

    ``rows``: the different lists of events met; ``readings``: which of them each line has; the
    rest holds, per event and in order, what belongs to its own line.
    """

    rows: list[tuple[Row, ...]] = field(default_factory=list)
    readings: list[int] = field(default_factory=list)
    words: list[str] = field(default_factory=list)
    quantities: list[str] = field(default_factory=list)
    values: list[float] = field(default_factory=list)
    units: list[str] = field(default_factory=list)

    def extend(self, more: Found) -> None:
        """Append what the following lines say."""
        known = len(self.rows)
        self.rows += more.rows
        self.readings += [known + each for each in more.readings]
        self.words += more.words
        self.quantities += more.quantities
        self.values += more.values
        self.units += more.units


def cores() -> int:
    """How many processor cores this process may use, at most ``_MOST``."""
    available = len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count()
    return min(_MOST, available or 1)


def share_out(wording: Wording, lines: list[str], collect: Callable[[list[str]], Found]) -> Found:
    """``collect(lines)``, with the help of other cores where there are many lines."""
    helpers = cores() - 1
    if len(lines) < ENOUGH or helpers < 1:
        return collect(lines)
    size = -(-len(lines) // (helpers + 1))
    shares = [lines[low : low + size] for low in range(0, len(lines), size)]
    crew = [_Helper(wording, share) for share in shares[1:]]
    found = collect(shares[0])
    for helper, share in zip(crew, shares[1:], strict=True):
        found.extend(helper.answer() or collect(share))
    return found


@contextlib.contextmanager
def uncollected() -> Iterator[None]:
    """Without the search for cyclic garbage: millions of small lasting objects, none cyclic."""
    was = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was:
            gc.enable()


class _Helper:
    """One child process at work on its share."""

    def __init__(self, wording: Wording, lines: Sequence[str]) -> None:
        self._process = subprocess.Popen(
            [sys.executable, *_COMMAND],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            env={**os.environ, "PYTHONPATH": os.pathsep.join(path for path in sys.path if path)},
        )
        self._task = pickle.dumps((wording, lines))
        self._answer = b""
        self._talk = threading.Thread(target=self._exchange, daemon=True)
        self._talk.start()

    def _exchange(self) -> None:
        self._answer, _ = self._process.communicate(self._task)

    def answer(self) -> Found | None:
        """What the share says; None if the helper failed."""
        self._talk.join()
        if self._process.returncode:
            return None
        found: Found = pickle.loads(self._answer)
        return found


def _work() -> None:
    from riskcheck.fleet.lexicon import Lexicon

    wording, lines = pickle.loads(sys.stdin.buffer.read())
    sys.stdout.buffer.write(pickle.dumps(Lexicon(wording).collect(lines)))


if __name__ == "__main__":
    _work()
