"""JSON Schema of every kind of rule file, so that editors complete and check while typing."""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Any

from riskcheck.rulebook.facts import FactFile
from riskcheck.rulebook.model import CaseFile, Hazard, PlatformFile, Policy
from riskcheck.rulebook.validate import schema_of

DIALECT = "https://json-schema.org/draft/2020-12/schema"

FILES: Mapping[str, Any] = {
    "hazard.schema.json": Hazard,
    "cases.schema.json": CaseFile,
    "facts.schema.json": FactFile,
    "policy.schema.json": Policy,
    "platforms.schema.json": PlatformFile,
}


def schema_files() -> dict[str, str]:
    """File name to JSON text, as kept in ``rules/``."""
    return {
        name: json.dumps({"$schema": DIALECT, **schema_of(kind)}, indent=1, sort_keys=True) + "\n"
        for name, kind in FILES.items()
    }
