"""Mapping files: which of a shop's headings means which field, kept in a small CSV."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from pathlib import Path

import pandas as pd

from riskcheck.errors import UsageError
from riskcheck.fleet.fields import KINDS
from riskcheck.fleet.model import Fleet
from riskcheck.fleet.tables import IGNORE
from riskcheck.sheets import read_grids, write_csv
from riskcheck.vocabulary import Vocabulary


def parse_mapping(items: Iterable[str], vocabulary: Vocabulary) -> dict[str, str]:
    """Headings to fields from "Heading=field" items and from files named among them.

    Raises UsageError for an item without "=" that is no file, or a field nobody knows.
    """
    mapping: dict[str, str] = {}
    for item in items:
        heading, sign, field = item.rpartition("=")
        if sign:
            mapping[heading.strip()] = field.strip()
        elif Path(item).is_file():
            mapping |= read_mapping(Path(item))
        else:
            raise UsageError(f'--map wants "Their heading=field" or a mapping file, not {item!r}.')
    _check(mapping, vocabulary)
    return mapping


def read_mapping(path: Path) -> dict[str, str]:
    """Headings to fields of a mapping file (columns heading, field; others are ignored)."""
    rows = read_grids(path)[0].cells.astype(str)
    names = [name.strip().casefold() for name in rows.iloc[0]] if len(rows) else []
    if "heading" not in names or "field" not in names:
        raise UsageError(f"{path.name} is no mapping file: it needs the columns heading and field.")
    body = rows.iloc[1:]
    pairs = zip(body[names.index("heading")], body[names.index("field")], strict=True)
    return {heading.strip(): field.strip() for heading, field in pairs if field.strip()}


def write_mapping(fleet: Fleet, path: Path) -> Path:
    """All headings of a fleet with the field each was taken for; blanks are to be filled in."""
    found = fleet.reports[fleet.reports["heading"] != ""]
    return write_csv(path, found[["heading", "field", "sheet", "confidence", "how"]])


def known_fields(vocabulary: Vocabulary) -> list[str]:
    """Every field a heading may be mapped to."""
    fields = {field.name for kind in KINDS for field in kind.fields}
    return sorted(fields | {fact.name for fact in vocabulary.derived_by("column")} | {IGNORE})


def _check(mapping: Mapping[str, str], vocabulary: Vocabulary) -> None:
    known = known_fields(vocabulary)
    for heading, field in mapping.items():
        if field not in known:
            raise UsageError(
                f"--map {heading}={field}: no field is called {field!r}. "
                f"Fields: {', '.join(known)}."
            )


def unsure_headings(fleet: Fleet) -> pd.DataFrame:
    """Headings that were not sure enough to be used, with the mapping that would settle each."""
    return fleet.reports[fleet.reports["how"].str.startswith("not sure")].reset_index(drop=True)
