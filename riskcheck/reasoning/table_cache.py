"""Filled tables kept on disk under a digest of the rules, the bands and the engine's version.

One JSON file a hazard, with a checksum of its own: a file that is damaged, foreign or from another
rulebook is simply not used.
"""

from __future__ import annotations

import hashlib
import json
import os
import tempfile
from collections.abc import Mapping
from contextlib import suppress
from pathlib import Path
from typing import Any

import numpy as np
import platformdirs

from riskcheck.reasoning.bands import Bands, Ints
from riskcheck.reasoning.engine import engine_version
from riskcheck.rulebook.compiled import CompiledHazard, FactLiteral

FORMAT = 1


def default_cache_dir() -> Path:
    """The user's own cache folder for riskcheck; it may be deleted at any time."""
    return Path(platformdirs.user_cache_dir("riskcheck")) / "tables"


def digest_of(hazard: CompiledHazard, bands: Mapping[str, Bands]) -> tuple[str, str]:
    """(digest of the hazard's rules, digest under which its filled tables are kept)."""
    rules = [
        [finding.name, [[_literal(lit) for lit in rule.literals] for rule in finding.rules]]
        for finding in hazard.findings
    ]
    layout = [
        [name, list(band.fact.codes), band.low.tolist(), band.high.tolist(), band.has_absent]
        for name, band in sorted(bands.items())
    ]
    rules_digest = _sha256([hazard.hazard_id, rules, layout])
    return rules_digest, _sha256([FORMAT, engine_version(), rules_digest])


class TableCache:
    """Reads and writes filled tables; a cache that cannot be used costs time, never an answer."""

    def __init__(self, folder: Path | None) -> None:
        self._folder = folder

    def read(self, key: str, sizes: Mapping[str, int]) -> dict[str, Ints] | None:
        """The tables kept under ``key``, or None; ``sizes`` are the lengths they must have."""
        if self._folder is None:
            return None
        try:
            kept = json.loads((self._folder / f"{key}.json").read_text(encoding="ascii"))
            tables = kept["tables"]
            if kept["checksum"] != _sha256([key, tables]):
                return None
            if {name: len(fired) for name, fired in tables.items()} != dict(sizes):
                return None
            return {name: np.array(fired, dtype=np.int64) for name, fired in tables.items()}
        except (OSError, ValueError, KeyError, TypeError, AttributeError, OverflowError):
            return None

    def write(self, key: str, tables: Mapping[str, Ints]) -> None:
        """Keep ``tables`` under ``key``; the file appears whole or not at all."""
        if self._folder is None:
            return
        content = {name: fired.tolist() for name, fired in tables.items()}
        text = json.dumps({"checksum": _sha256([key, content]), "tables": content})
        with suppress(OSError):
            self._folder.mkdir(parents=True, exist_ok=True)
            handle, name = tempfile.mkstemp(dir=self._folder, suffix=".part")
            try:
                with os.fdopen(handle, "w", encoding="ascii") as file:
                    file.write(text)
                os.replace(name, self._folder / f"{key}.json")
            except OSError:
                os.unlink(name)


def _literal(literal: Any) -> list[Any]:
    if isinstance(literal, FactLiteral):
        return [literal.fact, literal.op, literal.constant]
    return [literal.finding, literal.wanted]


def _sha256(content: Any) -> str:
    canonical = json.dumps(content, sort_keys=True, separators=(",", ":"))
    return hashlib.sha256(canonical.encode("ascii")).hexdigest()
