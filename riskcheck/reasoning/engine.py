"""The fence around durable-rules: a worker process with a wall-clock limit.

The engine is a C extension that can crash or hang on unlucky input, so it runs in a process of its
own.  Losing that process costs one retry; losing it again costs the answers asked for at that
moment and nothing else, and the caller is told which finding it was.
"""

from __future__ import annotations

import json
import queue
import subprocess
import sys
import threading
from collections.abc import Iterator, Sequence
from importlib.metadata import version
from pathlib import Path
from types import TracebackType
from typing import Any

from riskcheck.errors import InternalError
from riskcheck.reasoning.engine_rules import RuleSet

Session = Sequence[tuple[str, int]]
"""The facts of one session: (name, whole number) pairs; a missing value is left out."""

WORKER = Path(__file__).with_name("engine_worker.py")
# The engine keeps a few kB of every session and every ruleset, so a worker is retired in time.
SESSIONS_PER_WORKER = 20_000
RULESETS_PER_WORKER = 1_000
SESSIONS_PER_REQUEST = 500
TRIES = 2


class NoAnswerError(Exception):
    """The engine was lost twice over one question; ``about`` names hazard and finding."""

    def __init__(self, about: str, why: str) -> None:
        super().__init__(f"{about}: {why}")
        self.about = about
        self.why = why


class _LostError(Exception):
    """The worker crashed or went silent."""


def engine_version() -> str:
    """The installed durable-rules version, without importing it."""
    return version("durable-rules")


class Engine:
    """Runs sessions in a worker process.  Use as a context manager.

    ``limit_s``: wall-clock seconds the worker may take for one request of at most
    ``SESSIONS_PER_REQUEST`` sessions before it is taken for hung.
    ``sessions_run`` counts the sessions that were answered, ``restarts`` the workers lost.
    """

    def __init__(self, *, limit_s: float = 30.0, tries: int = TRIES) -> None:
        self.limit_s = limit_s
        self.tries = tries
        self.sessions_run = 0
        self.restarts = 0
        self._worker: _Worker | None = None

    def __enter__(self) -> Engine:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.close()

    @property
    def worker_pid(self) -> int | None:
        """Process id of the live worker, or None."""
        return self._worker.process.pid if self._worker else None

    def close(self) -> None:
        """End the worker; the next request starts a new one."""
        if self._worker is not None:
            self._worker.end()
            self._worker = None

    def run(self, ruleset: RuleSet, sessions: Sequence[Session]) -> list[list[int]]:
        """Rule numbers that fired, in order of first firing, for each session.

        Raises NoAnswerError when the worker was lost ``tries`` times over the same request, and
        InternalError when the engine itself refused the rules or facts.
        """
        fired: list[list[int]] = []
        for start in range(0, len(sessions), SESSIONS_PER_REQUEST):
            fired += self._retried(ruleset, sessions[start : start + SESSIONS_PER_REQUEST])
        return fired

    def _retried(self, ruleset: RuleSet, sessions: Sequence[Session]) -> list[list[int]]:
        why = ""
        for _ in range(self.tries):
            try:
                answer = self._ask(ruleset, sessions)
            except _LostError as lost:
                why = str(lost)
                self.restarts += 1
                self.close()
            else:
                self.sessions_run += len(sessions)
                return answer
        raise NoAnswerError(ruleset.about, why)

    def _ask(self, ruleset: RuleSet, sessions: Sequence[Session]) -> list[list[int]]:
        worker = self._ready_worker()
        if ruleset.name not in worker.loaded:
            worker.call(
                {
                    "op": "load",
                    "ruleset": ruleset.name,
                    "rules": list(ruleset.rules),
                    "markers": list(ruleset.markers),
                },
                self.limit_s,
                ruleset.about,
            )
            worker.loaded.add(ruleset.name)
        request = {"op": "run", "ruleset": ruleset.name, "sessions": sessions}
        answer = worker.call(request, self.limit_s, ruleset.about)
        worker.sessions += len(sessions)
        fired: list[list[int]] = answer["fired"]
        return fired

    def _ready_worker(self) -> _Worker:
        worker = self._worker
        if worker and (
            worker.sessions >= SESSIONS_PER_WORKER or len(worker.loaded) >= RULESETS_PER_WORKER
        ):
            self.close()
            worker = None
        if worker is None:
            worker = self._worker = _Worker()
        return worker


class _Worker:
    """One process, its pipes and the thread that reads its answers (portable, no select)."""

    def __init__(self) -> None:
        # -P keeps this folder off the module path: our trace.py must not shadow Python's own.
        self.process = subprocess.Popen(
            [sys.executable, "-P", str(WORKER)],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            text=True,
            encoding="utf-8",
        )
        self.loaded: set[str] = set()
        self.sessions = 0
        self._answers: queue.Queue[str | None] = queue.Queue()
        self._reader = threading.Thread(target=self._read, daemon=True)
        self._reader.start()

    def _read(self) -> None:
        for line in self._lines():
            self._answers.put(line)
        self._answers.put(None)

    def _lines(self) -> Iterator[str]:
        assert self.process.stdout is not None
        yield from self.process.stdout

    def call(self, request: dict[str, Any], limit_s: float, about: str) -> dict[str, Any]:
        """One request, one answer.  Raises _LostError on crash or silence."""
        assert self.process.stdin is not None
        try:
            self.process.stdin.write(json.dumps(request) + "\n")
            self.process.stdin.flush()
            line = self._answers.get(timeout=limit_s)
        except (BrokenPipeError, OSError) as error:
            raise _LostError("the rules engine's process ended unexpectedly") from error
        except queue.Empty as error:
            raise _LostError(f"no answer from the rules engine in {limit_s:g} s") from error
        if line is None:
            raise _LostError("the rules engine's process ended unexpectedly")
        answer: dict[str, Any] = json.loads(line)
        if "error" in answer:
            raise InternalError(f"the rules engine refused {about}: {answer['error']}")
        return answer

    def end(self) -> None:
        """Stop the process for good, frozen or not, and release the pipes."""
        self.process.kill()
        self.process.wait()
        self._reader.join()
        for pipe in (self.process.stdin, self.process.stdout):
            if pipe is not None:
                try:
                    pipe.close()
                except OSError:
                    continue  # unsent bytes for a dead process
