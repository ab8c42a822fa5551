"""Where the sample lives, and its script as a module."""

from __future__ import annotations

import importlib
import sys
from pathlib import Path
from types import ModuleType

SAMPLE = Path(__file__).resolve().parents[2] / "sample_data"
WORKBOOK = SAMPLE / "fleet.xlsx"


def script(name: str = "make_sample") -> ModuleType:
    """A module of ``sample_data``."""
    if str(SAMPLE) not in sys.path:
        sys.path.insert(0, str(SAMPLE))
    return importlib.import_module(name)
