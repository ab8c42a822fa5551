"""What every check has in common: one kind of fault, found in a draft of the rulebook."""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Iterator
from typing import ClassVar

from riskcheck.rulebook.folder import Draft, HazardSource
from riskcheck.rulebook.model import Condition, Scalar
from riskcheck.yamlfile import Fault, Where


class Check(ABC):
    """One kind of fault.

    ``blocks``: the fault would make an answer wrong, so that the rulebook may not be used at all;
    otherwise it is reported by ``riskcheck rules check`` only.
    """

    blocks: ClassVar[bool] = True

    @abstractmethod
    def faults(self, draft: Draft) -> Iterator[Fault]:
        """Every fault of this kind."""


class HazardCheck(Check):
    """A check that looks at one hazard at a time."""

    def faults(self, draft: Draft) -> Iterator[Fault]:
        """Every fault of this kind, hazard by hazard."""
        for source in draft.hazards.values():
            yield from self.in_hazard(source, draft)

    @abstractmethod
    def in_hazard(self, source: HazardSource, draft: Draft) -> Iterator[Fault]:
        """Every fault of this kind in one hazard."""


RuleEntry = tuple[Where, str, str, Scalar | Condition]


def rule_entries(source: HazardSource) -> Iterator[RuleEntry]:
    """Every entry of every rule: (where, finding, name read, wanted)."""
    for finding, body in source.hazard.findings.items():
        for index, rule in enumerate(body.when):
            for name, wanted in rule.items():
                yield ("findings", finding, "when", index, name), finding, name, wanted
