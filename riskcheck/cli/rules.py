"""``riskcheck rules ...``: read, check, try, extend and compare the rulebook."""

from __future__ import annotations

import json
import sys
from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from riskcheck.cli.options import JsonOption, RulesOption
from riskcheck.cli.rules_diff import diff
from riskcheck.cli.rules_platforms import platforms
from riskcheck.cli.rules_words import facts, line
from riskcheck.errors import (
    EXIT_DONE,
    EXIT_NEEDS_ATTENTION,
    EXIT_NO_ANSWER,
    EXIT_RULEBOOK,
    UsageError,
)

if TYPE_CHECKING:
    from riskcheck.reasoning import Tried
    from riskcheck.rulebook import Rulebook

rules_app = typer.Typer(no_args_is_help=True, help="Read, check, try and extend the rules.")

rules_app.command()(platforms)
rules_app.command()(diff)
rules_app.command()(facts)
rules_app.command()(line)

IdArgument = Annotated[str, typer.Argument(help="Hazard id, as `riskcheck rules list` shows it.")]


@rules_app.command()
def check(
    folder: Annotated[
        Path | None, typer.Argument(help="Your own rule folder; the shipped rules lie below it.")
    ] = None,
    as_json: JsonOption = False,
) -> int:
    """Name every fault of the rules at once, with file, line and what would be right.

    Notes name what is worth a second look, such as a text still as the skeleton had it.

    Example: riskcheck rules check my_rules
    """
    from riskcheck import rulebook
    from riskcheck.reports.words import plural

    folders = _folders([folder] if folder else None)
    faults = rulebook.check(*folders)
    notes = rulebook.notes(*folders)
    wording = _wording_faults(folders)
    if as_json:
        told = [
            {**asdict(one), "file": str(one.file), "kind": kind}
            for kind, found in (("fault", faults), ("note", notes))
            for one in found
        ]
        told += [{"file": "", "line": 0, "what": words, "kind": "fault"} for words in wording]
        _print_json(told)
    else:
        count = len(faults) + len(wording)
        total = "No faults" if not count else plural(count, "fault")
        total += f", {plural(len(notes), 'note')}" if notes else ""
        _print([*(fault.words() for fault in faults), *wording])
        _print([*(f"note: {note.words()}" for note in notes), f"{total}."])
    return EXIT_RULEBOOK if faults or wording else EXIT_DONE


@rules_app.command(name="list")
def list_hazards(rules: RulesOption = None, as_json: JsonOption = False) -> int:
    """List every hazard with its title.

    Example: riskcheck rules list
    """
    book = _load(rules)
    if as_json:
        _print_json({hazard_id: hazard.title for hazard_id, hazard in book.hazards.items()})
        return EXIT_DONE
    width = max(map(len, book.hazards), default=0)
    _print(f"{hazard_id:<{width}}  {hazard.title}" for hazard_id, hazard in book.hazards.items())
    _print(f"replaced: {words}" for words in book.overrides)
    return EXIT_DONE


@rules_app.command()
def show(hazard_id: IdArgument, rules: RulesOption = None, as_json: JsonOption = False) -> int:
    """Show one hazard as a card to be read aloud.

    Example: riskcheck rules show brake-hose-ageing
    """
    import textwrap

    from riskcheck import rulebook

    book = _load(rules)
    (hazard,) = book.keeping([hazard_id]).hazards.values()
    card = rulebook.card(hazard, book.companions(hazard_id))
    if as_json:
        _print_json(asdict(card))
        return EXIT_DONE
    lines = [card.title, card.hazard_id]
    for section in card.sections:
        lines += ["", section.heading.upper()]
        for text in section.lines:
            indent = "    " if text.startswith("  ") else "  "
            lines += textwrap.wrap(
                text.strip(), 80, initial_indent=indent, subsequent_indent=indent + "  "
            )
    _print(lines)
    return EXIT_DONE


@rules_app.command()
def new(
    hazard_id: Annotated[str, typer.Argument(help="Id: small letters and hyphens.")],
    into: Annotated[Path, typer.Option("--into", help="Your own rule folder.")] = Path("my_rules"),
    like: Annotated[
        str, typer.Option("--like", help="Start from this shipped hazard, not from the skeleton.")
    ] = "",
) -> int:
    """Write a commented skeleton of a hazard and its cases, ready to be changed.

    With the id of a shipped hazard: a copy of that hazard, to be changed in your own folder.

    Example: riskcheck rules new liftgate-chain-wear --into my_rules
    """
    from riskcheck import rulebook
    from riskcheck.rulebook.folder import CASES_SUFFIX

    texts = {
        into / "hazards" / f"{hazard_id}{suffix}": text
        for suffix, text in zip(
            (".yaml", CASES_SUFFIX), rulebook.starting_texts(hazard_id, like), strict=True
        )
    }
    for path in texts:
        if path.exists():
            raise UsageError(f"{path} is already there; choose another id or edit that file.")
    for path, text in texts.items():
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8", newline="\n")
        _print([f"wrote {path}"])
    _print([f"Change them, then: riskcheck rules check {into}"])
    return EXIT_DONE


@rules_app.command(name="try")
def try_(
    hazard_id: IdArgument,
    fact: Annotated[
        list[str] | None,
        typer.Option("--fact", help="name=value; several values with | between them."),
    ] = None,
    rules: RulesOption = None,
    as_json: JsonOption = False,
) -> int:
    """Say what the rules conclude from facts typed in, and why, from a live chain.

    Example: riskcheck rules try brake-hose-ageing --fact hydraulic_brakes=yes
    """
    from riskcheck import reasoning

    book = _load(rules).keeping([hazard_id])
    facts = dict(_stated(book, pair) for pair in fact or [])
    tried = reasoning.try_facts(book, hazard_id, facts)
    if as_json:
        _print_json(
            {
                "hazard_id": hazard_id,
                "status": tried.status,
                "evidence": tried.evidence,
                "questions": list(tried.questions),
                "assumed": list(tried.trace.assumed),
                "fired": [asdict(step) for step in tried.trace.fired],
            }
        )
    else:
        _print(_tried(tried, book))
    return EXIT_NO_ANSWER if tried.status == "no_answer" else EXIT_DONE


@rules_app.command()
def cases(
    hazard_id: Annotated[str | None, typer.Argument(help="One hazard only.")] = None,
    rules: RulesOption = None,
) -> int:
    """Run the cases beside the hazards through the live rules engine.

    Example: riskcheck rules cases brake-hose-ageing
    """
    from riskcheck import reasoning

    book = _load(rules)
    book = book.keeping([hazard_id]) if hazard_id else book
    passed, failed = 0, 0
    with reasoning.Engine() as engine:
        for name in book.hazards:
            for result in reasoning.run_cases(book, name, engine):
                passed += result.passed
                failed += not result.passed
                _print(f"{name}: {result.name}: {words}" for words in result.differences)
    _print([f"{passed} cases as expected, {failed} not."])
    return EXIT_NEEDS_ATTENTION if failed else EXIT_DONE


def _wording_faults(folders: list[Path]) -> list[str]:
    """Faults of the wording files, which only the reader of service lines knows."""
    from riskcheck.errors import RulebookError
    from riskcheck.fleet import lexicon

    try:
        lexicon.load([folder for folder in folders if (folder / "wording").is_dir()])
    except RulebookError as error:
        return list(error.faults)
    return []


def _tried(tried: Tried, book: Rulebook) -> list[str]:
    import textwrap

    lines = [f"status: {tried.status.replace('_', ' ')}", f"evidence: {tried.evidence}"]
    lines += [f"assumed, as nothing was said: {words}" for words in tried.trace.assumed]
    if tried.trace.assumed:
        lines.append("what follows holds on these assumptions only:")
    for step in tried.trace.fired:
        lines.append(f"{step.finding}: {step.says.rstrip('.')}, because {step.because}")
    for name in tried.questions:
        asked = book.vocabulary[name]
        lines.append(f"find out: {asked.ask or asked.meaning} ({name})")
    return [out for text in lines for out in textwrap.wrap(text, 80, subsequent_indent="  ")]


def _stated(book: Rulebook, pair: str) -> tuple[str, Any]:
    """``name=value`` or ``name=value|value`` as a fact and its possible values."""
    from riskcheck.rulebook.validate import suggestion
    from riskcheck.rulebook.worksheet import typed_value

    name, equals, text = pair.partition("=")
    name = name.strip()
    if not equals or not text.strip():
        raise UsageError(f"--fact {pair!r} is not of the form name=value.")
    if name not in book.vocabulary:
        near = suggestion(name, list(book.vocabulary), "riskcheck rules facts")
        raise UsageError(f"there is no fact '{name}'; {near}")
    fact = book.vocabulary[name]
    typed = [typed_value(fact, word.strip()) for word in text.split("|")]
    for _, fault in typed:
        if fault:
            raise UsageError(f"--fact {pair}: {fault}")
    values = [value for value, _ in typed]
    return name, values if len(values) > 1 else values[0]


def _load(rules: list[Path] | None) -> Rulebook:
    from riskcheck import rulebook

    return rulebook.load(*_folders(rules))


def _folders(rules: list[Path] | None) -> list[Path]:
    from riskcheck import rulebook

    shipped = rulebook.shipped_dir()
    own = [folder for folder in rules or [] if folder.resolve() != shipped.resolve()]
    return [shipped, *own]


def _print(lines: Any) -> None:
    sys.stdout.writelines(f"{line}\n" for line in lines)


def _print_json(data: Any) -> None:
    sys.stdout.write(json.dumps(data, indent=2, ensure_ascii=False) + "\n")
