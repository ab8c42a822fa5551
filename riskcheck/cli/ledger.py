"""`riskcheck ledger`: look at what is remembered, copy it away, put it back, forget someone."""

from __future__ import annotations

import json
import sys
from pathlib import Path
from typing import Annotated

import typer

from riskcheck.cli.options import JsonOption, LedgerOption
from riskcheck.errors import EXIT_DONE

ledger_app = typer.Typer(
    no_args_is_help=True,
    rich_markup_mode=None,
    help="What is remembered between runs: show it, copy it, put it back, forget a customer.",
)
FleetOption = Annotated[
    Path | None, typer.Option("--fleet", help="The fleet whose ledger is meant.")
]


@ledger_app.command()
def show(
    fleet: FleetOption = None, ledger: LedgerOption = None, as_json: JsonOption = False
) -> int:
    """Say where the ledger is, how much it holds, and what in it waits for someone.

    Example: riskcheck ledger show --fleet sample_data/fleet.xlsx
    """
    from riskcheck.cli.ledger_place import named_ledger
    from riskcheck.reports import recorded_text, wrapping

    with named_ledger(ledger, fleet, create=False) as memory:
        held = recorded_text.held(memory)
    text = json.dumps(held, indent=2, ensure_ascii=False) + "\n"
    sys.stdout.write(text if as_json else wrapping.joined(recorded_text.held_lines(held)))
    return EXIT_DONE


@ledger_app.command()
def backup(
    target: Annotated[Path, typer.Argument(help="Where the copy goes.")],
    fleet: FleetOption = None,
    ledger: LedgerOption = None,
) -> int:
    """Copy the whole ledger into one file that SQLite and PostgreSQL ledgers can take back.

    Example: riskcheck ledger backup ledger-2026-10-01.gz --fleet sample_data/fleet.xlsx
    """
    from riskcheck.cli.ledger_place import named_ledger
    from riskcheck.reports import wrapping

    with named_ledger(ledger, fleet, create=False) as memory:
        counts = memory.backup(target)
    told = f"{target}: {sum(counts.values()):,} rows. It holds personal data: keep it as you keep "
    sys.stdout.write(wrapping.joined(wrapping.wrapped(f"{told}the ledger.")))
    return EXIT_DONE


@ledger_app.command()
def restore(
    source: Annotated[Path, typer.Argument(help="A file made by 'riskcheck ledger backup'.")],
    fleet: FleetOption = None,
    ledger: LedgerOption = None,
) -> int:
    """Put a copy back into a new or empty ledger, of either kind.

    Example: riskcheck ledger restore ledger-2026-10-01.gz --ledger new.sqlite
    """
    from riskcheck.cli.ledger_place import named_ledger

    with named_ledger(ledger, fleet) as memory:
        counts = memory.restore(source)
        sys.stdout.write(f"{memory.where}: {sum(counts.values()):,} rows put back\n")
    return EXIT_DONE


@ledger_app.command()
def purge(
    customer: Annotated[str, typer.Option("--customer", help="Customer id as in the fleet.")],
    also: Annotated[
        list[str] | None,
        typer.Option("--also", help="A name or number to strike out of free text as well."),
    ] = None,
    fleet: FleetOption = None,
    ledger: LedgerOption = None,
) -> int:
    """Forget one customer: rows, notes, snapshots. What the bay found stays as a bare count.

    Example: riskcheck ledger purge --customer C012 --also "555 0123" --fleet fleet.xlsx
    """
    from riskcheck.cli.ledger_place import named_ledger
    from riskcheck.reports import recorded_text, wrapping

    with named_ledger(ledger, fleet, create=False) as memory:
        removed = memory.forget(customer, also or [])
    sys.stdout.write(wrapping.joined(recorded_text.forgotten(customer, removed)))
    return EXIT_DONE
