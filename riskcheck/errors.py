"""Every error a person can meet, in one place.

RiskcheckError                    anything riskcheck raises on purpose
├── UsageError           exit 2   the call itself is wrong (ambiguous vehicle, bad option)
├── InputError           exit 3   the fleet file cannot be used
├── RulebookError        exit 4   the rules cannot be used
└── InternalError        exit 70  our own fault (tables and engine disagree, rows do not add up)

The message is written for the person who has to act: what is wrong, where, what to do.
"""

from __future__ import annotations

EXIT_DONE = 0
EXIT_NEEDS_ATTENTION = 1
EXIT_USAGE = 2
EXIT_INPUT = 3
EXIT_RULEBOOK = 4
EXIT_NO_ANSWER = 5
EXIT_INTERNAL = 70
EXIT_INTERRUPTED = 130


class RiskcheckError(Exception):
    """Base of every error that riskcheck raises on purpose."""

    exit_code = EXIT_INTERNAL


class UsageError(RiskcheckError):
    """The command or call is wrong; the message says what would be right."""

    exit_code = EXIT_USAGE


class InputError(RiskcheckError):
    """The fleet input cannot be used at all; the message says why and what to do."""

    exit_code = EXIT_INPUT


class RulebookError(RiskcheckError):
    """The rulebook cannot be used; carries one line per fault."""

    exit_code = EXIT_RULEBOOK

    def __init__(self, faults: list[str]) -> None:
        super().__init__("\n".join(faults))
        self.faults = faults


class InternalError(RiskcheckError):
    """Two parts of riskcheck that must agree do not: our own fault, never the input's."""

    exit_code = EXIT_INTERNAL
