"""What a report needs to know of a finished run (the assessment satisfies it)."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from pathlib import Path
from typing import Protocol

import pandas as pd

from riskcheck.actions.outreach import Outreach
from riskcheck.fleet import Fleet
from riskcheck.rulebook import Rulebook


class Run(Protocol):
    """A finished run: inputs, exposures and the outreach planned from them."""

    @property
    def path(self) -> Path: ...
    @property
    def as_of(self) -> dt.date: ...
    @property
    def horizon_months(self) -> int: ...
    @property
    def rulebook(self) -> Rulebook: ...
    @property
    def fleet(self) -> Fleet: ...
    @property
    def exposures(self) -> pd.DataFrame: ...
    @property
    def outreach(self) -> Outreach: ...
    @property
    def digests(self) -> Mapping[str, str]: ...
