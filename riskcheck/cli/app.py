"""All commands; each parses, calls one function of riskcheck and prints what it returns."""

from __future__ import annotations

import typer

from riskcheck.cli.assess import assess
from riskcheck.cli.changes import changes
from riskcheck.cli.counter import counter
from riskcheck.cli.explain import explain
from riskcheck.cli.ground import ground
from riskcheck.cli.ledger import ledger_app
from riskcheck.cli.outreach import outreach
from riskcheck.cli.plan import plan
from riskcheck.cli.read import read
from riskcheck.cli.record import record
from riskcheck.cli.rules import rules_app

app = typer.Typer(
    no_args_is_help=True,
    add_completion=True,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
    help="From a fleet workbook to a list of customers to call, each with its reason.",
)
app.command()(read)
app.command()(assess)
app.command()(outreach)
app.command()(plan)
app.command()(explain)
app.command()(counter)
app.command()(ground)
app.command()(record)
app.command()(changes)
app.add_typer(ledger_app, name="ledger")
app.add_typer(rules_app, name="rules")
