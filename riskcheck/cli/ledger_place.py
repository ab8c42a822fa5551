"""Which ledger a command means when it is given a workbook, a vehicle or nothing at all."""

from __future__ import annotations

import getpass
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path

from riskcheck.errors import InputError, UsageError
from riskcheck.ledger import FILE_NAME, Ledger, beside, open_ledger


def named_ledger(
    ledger: str | None, fleet: Path | None, near: Sequence[Path] = (), *, create: bool = True
) -> Ledger:
    """The ledger named by the option, else beside the fleet, else the one that workbooks lead to.

    ``near``: returned workbooks, which say what they were made from.  Else it is the only ledger
    in the working folder or beside one of the files, else one folder above the files or below the
    working folder.  Raises UsageError if none or several are found.
    """
    if ledger:
        return open_ledger(ledger, create=create)
    if fleet is not None:
        if not fleet.exists():
            raise UsageError(f"There is no fleet file {fleet}.")
        return open_ledger(beside(fleet), create=create)
    led = _led_to(near)
    own = [path.resolve().parent for path in near]
    found = [path for path in led if path.is_file()]
    below = sorted(path.parent for path in Path.cwd().glob(f"*/{FILE_NAME}"))
    for folders in ([Path.cwd(), *own], [*(folder.parent for folder in own), *below]):
        found = found or sorted({f / FILE_NAME for f in folders if (f / FILE_NAME).is_file()})
    if len(found) == 1:
        return open_ledger(found[0], create=False)
    if not found and len(led) == 1:
        return open_ledger(led[0], create=create)
    if not found:
        raise UsageError(
            f"There is no {FILE_NAME} in this folder or in one right below it. Add --fleet and the "
            "fleet file it lies beside (--fleet FLEET.xlsx), or --ledger and the ledger itself."
        )
    raise UsageError(
        "Several ledgers are near. Add one of these: "
        + ", ".join(f"--ledger {path}" for path in found)
    )


def _led_to(workbooks: Sequence[Path]) -> list[Path]:
    """The ledgers that returned workbooks say they were made with, each once."""
    from riskcheck.actions.returned import origin_of

    ledgers: list[Path] = []
    for path in workbooks:
        try:
            fleet, kept = origin_of(path)
        except InputError:
            continue  # whoever reads it for its rows says what is wrong with it
        if kept is not None:
            ledgers.append(kept)
        elif fleet is not None:
            ledgers.append(beside(fleet))
    return sorted(set(ledgers))


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
