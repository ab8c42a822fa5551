"""Which vehicle is meant: by id, unit number, plate, VIN or the VIN's last eight."""

from __future__ import annotations

import pandas as pd
from rapidfuzz import process

from riskcheck.errors import UsageError

VIN_TAIL = 8


def find_vehicle(vehicles: pd.DataFrame, wanted: str) -> str:
    """The vehicle_id that ``wanted`` names, whatever its case and spacing.

    ``vehicles``: frame with vehicle_id, unit, plate, vin (str).  An exact id wins over the rest.
    Raises UsageError when nothing or more than one vehicle answers to it, with the candidates.
    """
    key = _folded(wanted)
    found = _matches(vehicles, key)
    if len(found) == 1:
        return found[0]
    if found:
        raise UsageError(
            f"{wanted!r} is the name of {len(found)} vehicles: {', '.join(found[:10])}. "
            "Say which one by its vehicle id."
        )
    names = [str(name) for name in vehicles["vehicle_id"]]
    near = [name for name, _, _ in process.extract(wanted, names, limit=3, score_cutoff=60)]
    hint = f" Did you mean {' or '.join(near)}?" if near else ""
    raise UsageError(
        f"No vehicle answers to {wanted!r} by id, unit number, plate, VIN or its last eight.{hint}"
    )


def _matches(vehicles: pd.DataFrame, key: str) -> list[str]:
    for column in ("vehicle_id", "unit", "plate", "vin"):
        hit = vehicles[vehicles[column].map(_folded) == key]
        if key and len(hit):
            return [str(name) for name in hit["vehicle_id"]]
    if len(key) == VIN_TAIL:
        hit = vehicles[vehicles["vin"].map(_folded).str[-VIN_TAIL:] == key]
        return [str(name) for name in hit["vehicle_id"]]
    return []


def _folded(name: object) -> str:
    text = "" if name is None or name is pd.NA else str(name)
    return "".join(character for character in text.casefold() if character.isalnum())
