"""``riskcheck rules facts`` and ``rules line``: what rules and service lines are made of."""

from __future__ import annotations

import json
import sys
import textwrap
from dataclasses import asdict
from typing import Annotated

import typer

from riskcheck.cli.options import JsonOption, RulesOption
from riskcheck.errors import EXIT_DONE

WIDTH = 80


def facts(
    word: Annotated[str, typer.Argument(help="Only facts with this in name or meaning.")] = "",
    rules: RulesOption = None,
    as_json: JsonOption = False,
) -> int:
    """List the facts that a rule may name: kind, meaning, where each is found.

    Example: riskcheck rules facts hose
    """
    from riskcheck import assessment
    from riskcheck.rulebook.facts import found_words

    book = assessment.load_rules(rules or [])
    wanted = word.casefold()
    found = [
        fact
        for fact in book.vocabulary.values()
        if wanted in f"{fact.name} {fact.meaning}".casefold()
    ]
    if as_json:
        told = [asdict(fact) for fact in found]
        sys.stdout.write(json.dumps(told, indent=2, ensure_ascii=False, default=dict) + "\n")
        return EXIT_DONE
    for fact in found:
        kind = fact.unit or (" or ".join(fact.values) if fact.values else "yes or no")
        _print(f"{fact.name} ({kind})", "", "  ")
        _print(fact.meaning, "    ")
        _print(found_words(fact), "    ")
    noun = "fact" if len(found) == 1 else "facts"
    _print(f"{len(found) or 'No'} {noun}.")
    return EXIT_DONE


def line(
    text: Annotated[str, typer.Argument(help="A service line as the shop would write it.")],
    rules: RulesOption = None,
    as_json: JsonOption = False,
) -> int:
    """Say what a service line is read as: topics, marks, values, and the hazards they speak of.

    Example: riskcheck rules line "brake hoses cracked lf, cust declined"
    """
    from riskcheck import assessment
    from riskcheck.fleet import lexicon
    from riskcheck.reports.machine import records

    book = assessment.load_rules(rules or [])
    read = lexicon.load(book.wording_dirs).read([text])
    if as_json:
        sys.stdout.write(json.dumps(records(read), indent=2, ensure_ascii=False) + "\n")
        return EXIT_DONE
    for row in read.to_dict("records"):
        value = f", {row['quantity']} {row['value']:g} {row['unit']}" if row["quantity"] else ""
        mark = row["mark"].replace("_", " ") or "a value only"
        hazards = f"; speaks of {row['hazards']}" if row["hazards"] else ""
        _print(f"{row['topic']}: {mark}{value}{hazards}", "", "  ")
    if read.empty:
        _print("Read as nothing: no topic of the rules' wordings is in it.")
    return EXIT_DONE


def _print(text: str, first: str = "", rest: str | None = None) -> None:
    lines = textwrap.wrap(
        text, WIDTH, initial_indent=first, subsequent_indent=first if rest is None else rest
    )
    sys.stdout.writelines(f"{line}\n" for line in lines)
