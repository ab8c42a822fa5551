"""The worker process: the only place where durable-rules runs.

Started as a plain script by ``engine.py`` so that a crash or a hang of the C extension costs one
process and nothing else.  It imports only the standard library and durable-rules, and speaks JSON
lines: one request on stdin, one answer on stdout.

    {"op": "load", "ruleset": NAME, "rules": [{"all": [...], "adds": FINDING | null}, ...],
     "markers": [NAME, ...]}                                  ->  {"loaded": NAME}
    {"op": "run", "ruleset": NAME, "sessions": [[[name, int], ...], ...]}
                                                              ->  {"fired": [[rule, ...], ...]}
Anything that goes wrong inside the engine answers {"error": TEXT}.

How the engine must be driven (each point was measured, see DEVELOPERS): no dispatcher thread, one
live session at a time, facts one by one, one marker a stratum asserted last, a ``_done`` rule that
always fires, actions made by a factory, exceptions read from the returned state.
"""

from __future__ import annotations

import json
import sys
from collections.abc import Callable
from typing import Any, TextIO

DONE = -1
SESSION_IDS = 64


def _serve(requests: TextIO, answers: TextIO) -> None:
    from durable import engine

    class QuietHost(engine.Host):  # type: ignore[misc]
        """A host without the dispatcher thread, which reads freed memory after a deletion."""

        def _run(self) -> None:
            return

    driver = _Driver(QuietHost(), engine.MessageNotHandledException)
    for line in requests:
        request = json.loads(line)
        try:
            answer = driver.load(request) if request["op"] == "load" else driver.run(request)
        except Exception as error:
            answer = {"error": f"{type(error).__name__}: {getattr(error, 'message', error)}"}
        answers.write(json.dumps(answer) + "\n")
        answers.flush()


class _Driver:
    """Registered rulesets and the one session that is alive."""

    def __init__(self, host: Any, not_handled: type[Exception]) -> None:
        self._host = host
        self._not_handled = not_handled
        self._markers: dict[str, list[str]] = {}
        self._fired: list[int] = []
        self._found: set[str] = set()
        self._session = 0

    def load(self, request: dict[str, Any]) -> dict[str, Any]:
        name, markers = request["ruleset"], request["markers"]
        rules: dict[str, Any] = {
            f"r{number}": {"all": rule["all"], "run": self._action(name, number, rule["adds"])}
            for number, rule in enumerate(request["rules"])
        }
        rules["_done"] = {"all": [{"last": {"name": "_done"}}], "run": self._action(name, DONE, "")}
        self._host.register_rulesets({name: rules})
        self._markers[name] = [*markers, "_done"]
        return {"loaded": name}

    def run(self, request: dict[str, Any]) -> dict[str, Any]:
        name = request["ruleset"]
        return {"fired": [self._one_session(name, facts) for facts in request["sessions"]]}

    def _action(self, ruleset: str, number: int, adds: str) -> Callable[[Any], None]:
        def act(closure: Any) -> None:
            self._fired.append(number)
            if adds and adds not in self._found:
                self._found.add(adds)
                try:
                    closure.assert_fact({"name": adds, "value": 1, "id": adds})
                except self._not_handled:
                    return  # no rule reads this finding

        return act

    def _one_session(self, ruleset: str, facts: list[list[Any]]) -> list[int]:
        # Session ids are ours and few: the engine compares them by a 32-bit hash only.
        session = f"s{self._session}"
        self._session = (self._session + 1) % SESSION_IDS
        self._fired, self._found = [], set()
        for name, value in facts:
            self._tell(ruleset, session, name, value)
        for marker in self._markers[ruleset]:
            self._tell(ruleset, session, marker, 1)
        self._host.delete_state(ruleset, session)
        if self._fired[-1:] != [DONE]:
            raise RuntimeError(f"the session did not come to its end: rules fired {self._fired}")
        return list(dict.fromkeys(self._fired[:-1]))

    def _tell(self, ruleset: str, session: str, name: str, value: int) -> None:
        fact = {"id": name, "sid": session, "name": name, "value": value}
        try:
            state = self._host.assert_fact(ruleset, fact)
        except self._not_handled:
            return  # no rule is waiting for this fact
        if isinstance(state, dict) and "exception" in state:
            raise RuntimeError(state["exception"])


if __name__ == "__main__":
    _serve(sys.stdin, sys.stdout)
