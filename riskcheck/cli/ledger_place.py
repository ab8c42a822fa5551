"""Which ledger a command means when it is given a workbook, a vehicle or nothing at all."""

from __future__ import annotations

import getpass
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path

from riskcheck.errors import UsageError
from riskcheck.ledger import FILE_NAME, Ledger, beside, open_ledger


def named_ledger(
    ledger: str | None, fleet: Path | None, near: Sequence[Path] = (), *, create: bool = True
) -> Ledger:
    """The ledger named by the option, else beside the fleet, else the only one near some files.

    "Near" is the working folder and the folder of each file, else the folder above it.  Raises
    UsageError if none or several are found.
    """
    if ledger:
        return open_ledger(ledger, create=create)
    if fleet is not None:
        if not fleet.exists():
            raise UsageError(f"There is no fleet file {fleet}.")
        return open_ledger(beside(fleet), create=create)
    own = [path.resolve().parent for path in near]
    found: list[Path] = []
    for folders in ([Path.cwd(), *own], [folder.parent for folder in own]):
        found = found or sorted({f / FILE_NAME for f in folders if (f / FILE_NAME).is_file()})
    if len(found) == 1:
        return open_ledger(found[0], create=False)
    if not found:
        raise UsageError(
            "Which ledger? Say --fleet FLEET.xlsx (its ledger lies beside it) or --ledger FILE."
        )
    raise UsageError(
        "Several ledgers are near: " + ", ".join(str(path) for path in found) + ". Say --ledger."
    )


@contextmanager
def ledger_if_any(ledger: str | None, fleet: Path, without: bool) -> Iterator[Ledger | None]:
    """The ledger named, else the one beside the fleet if there is one; None otherwise.

    For commands that only read it: none is ever made.
    """
    if without or (ledger is None and not beside(fleet).exists()):
        yield None
        return
    with open_ledger(ledger or beside(fleet), create=False) as kept:
        yield kept


def who(by: str) -> str:
    """The name to write down: as given, else the login name."""
    from riskcheck.sheets import one_line

    try:
        return one_line(by).strip() or getpass.getuser()
    except (KeyError, OSError):
        return "someone"
