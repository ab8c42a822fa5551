"""What is remembered between runs: the only place that touches the database library.

    with open_ledger("riskcheck-ledger.sqlite") as ledger:
        ledger.contacts()

The same code serves an SQLite file and a PostgreSQL database named by its URL.
"""

from pathlib import Path

from riskcheck.ledger.contacts import LooseRow, Merge, TypedCell
from riskcheck.ledger.facts import OUTCOMES, Consent, Correction, Outcome
from riskcheck.ledger.running import Run
from riskcheck.ledger.store import Ledger, open_ledger

FILE_NAME = "riskcheck-ledger.sqlite"


def beside(fleet: Path) -> Path:
    """The default ledger of a fleet: in the folder of its file, or in the folder that it is."""
    folder = fleet if fleet.is_dir() else fleet.parent
    return folder / FILE_NAME


__all__ = [
    "FILE_NAME",
    "OUTCOMES",
    "Consent",
    "Correction",
    "Ledger",
    "LooseRow",
    "Merge",
    "Outcome",
    "Run",
    "TypedCell",
    "beside",
    "open_ledger",
]
