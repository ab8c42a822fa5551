"""Keys by which a row of a call sheet is known again when the workbook comes back."""

from __future__ import annotations

import hashlib

HEADING = "Row key"
DIGITS = 12


def row_key(contact: str, vehicle_id: str, hazard_id: str, sheet_kind: str) -> str:
    """12 hex digits of SHA-256 over "contact|vehicle_id|hazard_id|sheet_kind".

    The same reason for the same contact on the same sheet has the same key in every run, so that
    what was typed beside it last month still belongs to it.
    """
    said = "|".join((contact, vehicle_id, hazard_id, sheet_kind))
    return hashlib.sha256(said.encode()).hexdigest()[:DIGITS]
